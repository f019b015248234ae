use crate::types::schema::{BlockSchema, EntrySchema, Many, Part, known, optional, required};
use crate::units::Kind;

/// `at 150 degC`, then a value: one point of a curve over temperature.
const fn curve(word: &'static str, pattern: &'static [Part], meaning: &'static str) -> EntrySchema {
    optional(word, pattern, "constant, or not known", meaning).many(Many::Any)
}

const TEMPERATURE: Part = known("at", Kind::Temperature, -60.0, 2000.0, "degC");

pub const MATERIAL: BlockSchema = BlockSchema {
    name: "material",
    meaning: "A sheet material and what is known about it.",
    entries: &[
        required("density", &[known("density", Kind::Density, 10.0, 5000.0, "kg/m3")], "Mass per volume."),
        optional(
            "conductivity",
            &[known("conductivity", Kind::Conductivity, 0.01, 5.0, "W/(m K)")],
            "not known: no times can be computed",
            "Thermal conductivity.",
        ),
        curve(
            "specific_heat",
            &[known("value", Kind::SpecificHeat, 100.0, 10_000.0, "J/(kg K)"), Part::Maybe("at", &[TEMPERATURE])],
            "Specific heat, one entry for each temperature; between them it runs straight.",
        ),
        optional(
            "softened",
            &[known("softened", Kind::Temperature, 20.0, 400.0, "degC")],
            "not known: no times can be computed",
            "Vicat softening temperature: the coldest point of a bend must be at least this warm.",
        ),
        optional(
            "forming",
            &[known("forming", Kind::Temperature, 20.0, 400.0, "degC")],
            "not known: no times can be computed",
            "Low end of the forming window: the mean through the sheet must be at least this warm.",
        ),
        optional(
            "ceiling",
            &[known("ceiling", Kind::Temperature, 20.0, 500.0, "degC")],
            "not known: no times can be computed",
            "Where the sheet blisters; no point may be hotter.",
        ),
        optional(
            "release",
            &[known("release", Kind::Temperature, 0.0, 300.0, "degC")],
            "not known: no times can be computed",
            "Below this the bend keeps its angle when it is let go.",
        ),
        optional(
            "decomposes",
            &[known("decomposes", Kind::Temperature, 50.0, 800.0, "degC")],
            "not known",
            "Where the sheet begins to decompose: fumes, then fire.",
        ),
        optional(
            "emissivity",
            &[known("emissivity", Kind::Ratio, 0.0, 1.0, "")],
            "0.9, known to 0.8..1",
            "How well its surface radiates.",
        ),
        optional(
            "expansion",
            &[known("expansion", Kind::Expansion, 0.0, 1000.0, "um/(m K)")],
            "not known",
            "Relative growth for each kelvin.",
        ),
        optional(
            "thickness_tolerance",
            &[Part::OneOf(&[
                &[
                    Part::Word("fixed"),
                    known("fixed", Kind::Length, 0.0, 10.0, "mm"),
                    Part::Word("plus"),
                    known("share", Kind::Ratio, 0.0, 100.0, "%"),
                ],
                &[
                    Part::Word("below"),
                    known("limit", Kind::Length, 0.0, 50.0, "mm"),
                    known("thin", Kind::Ratio, 0.0, 100.0, "%"),
                    Part::Word("else"),
                    known("thick", Kind::Ratio, 0.0, 100.0, "%"),
                ],
            ])],
            "not known: every sheet must give one",
            "What the sheet standard allows: a fixed length plus a share of the thickness, or two shares.",
        ),
        optional(
            "neutral_line",
            &[known("neutral_line", Kind::Ratio, 0.0, 1.0, "")],
            "0.5",
            "Where the line lies that keeps its length in a bend, as a share of the thickness from the inside.",
        ),
        optional(
            "least_radius",
            &[known("least_radius", Kind::Ratio, 0.0, 20.0, "")],
            "not known",
            "Least inside radius, in thicknesses.",
        ),
        optional(
            "heated_width",
            &[known("heated_width", Kind::Ratio, 0.0, 20.0, "")],
            "not known",
            "Least width of the heated zone, in thicknesses.",
        ),
        optional(
            "one_face_up_to",
            &[known("one_face_up_to", Kind::Length, 0.1, 50.0, "mm")],
            "not known",
            "Thickest sheet that is heated from one face.",
        ),
        optional(
            "fumes",
            &[Part::OneWord("fumes", &["irritating", "corrosive"])],
            "irritating",
            "What the sheet gives off when it is overheated; `corrosive` for PVC, which must never be.",
        ),
        optional(
            "computed_times",
            &[Part::OneWord("computed_times", &["yes", "no"])],
            "yes",
            "Whether its thermal data are good enough to compute times from; `no` where they are only from memory.",
        ),
    ],
};

pub const ALLOY: BlockSchema = BlockSchema {
    name: "alloy",
    meaning: "A resistance alloy and what is known about it.",
    entries: &[
        required(
            "resistivity",
            &[known("resistivity", Kind::Resistivity, 1e-8, 1e-5, "ohm*m")],
            "Electrical resistivity at 20 degC.",
        ),
        curve(
            "hot_factor",
            &[known("value", Kind::Ratio, 0.5, 3.0, ""), Part::Word("at"), TEMPERATURE],
            "Resistance as a multiple of the one at 20 degC.",
        ),
        required("density", &[known("density", Kind::Density, 1000.0, 25_000.0, "kg/m3")], "Mass per volume."),
        curve(
            "specific_heat",
            &[known("value", Kind::SpecificHeat, 100.0, 2000.0, "J/(kg K)"), Part::Maybe("at", &[TEMPERATURE])],
            "Specific heat, one entry for each temperature; between them it runs straight.",
        ),
        curve(
            "mean_expansion",
            &[known("value", Kind::Expansion, 0.0, 100.0, "um/(m K)"), Part::Maybe("at", &[TEMPERATURE])],
            "Mean relative growth for each kelvin from 20 degC up to the temperature.",
        ),
        required("limit", &[known("limit", Kind::Temperature, 100.0, 2000.0, "degC")], "Hottest the wire may run."),
        required("emissivity", &[known("emissivity", Kind::Ratio, 0.05, 1.0, "")], "Of the oxidised wire."),
    ],
};

pub const METAL: BlockSchema = BlockSchema {
    name: "metal",
    meaning: "A metal of leads and shields.",
    entries: &[
        required(
            "resistivity",
            &[known("resistivity", Kind::Resistivity, 1e-9, 1e-5, "ohm*m")],
            "Electrical resistivity at 20 degC.",
        ),
        optional(
            "temperature_coefficient",
            &[known("temperature_coefficient", Kind::Expansion, 0.0, 1.0, "%/K")],
            "0 %/K",
            "Rise of the resistivity for each kelvin above 20 degC.",
        ),
        required("density", &[known("density", Kind::Density, 1000.0, 25_000.0, "kg/m3")], "Mass per volume."),
        required(
            "specific_heat",
            &[known("specific_heat", Kind::SpecificHeat, 50.0, 2000.0, "J/(kg K)")],
            "Specific heat at room temperature.",
        ),
    ],
};
