use crate::names::DeclKind;
use crate::types::schema::{ACCEPT, BlockSchema, Part, Quantities, known, optional, required};
use crate::units::Kind;

pub const SHEET: BlockSchema = BlockSchema {
    name: "sheet",
    meaning: "A kind of sheet that is bought.",
    entries: &[
        required("material", &[Part::Reference("material", &[DeclKind::Material])], "What the sheet is made of."),
        required(
            "thickness",
            &[known("thickness", Kind::Length, 0.3, 50.0, "mm")],
            "Nominal thickness; without a tolerance, the sheet standard's for this kind and thickness applies.",
        ),
        required(
            "colour",
            &[Part::OneWord("colour", &["clear", "white", "black", "other"])],
            "How the sheet takes radiation.",
        ),
        optional(
            "size",
            &[Part::List(
                "size",
                Quantities { kind: Kind::Length, low: 10.0, high: 10_000.0, unit: "mm", known: false },
                2,
                2,
            )],
            "not known; no check whether a blank fits",
            "Width and length of the stock sheet.",
        ),
        ACCEPT,
    ],
};

pub const LOT: BlockSchema = BlockSchema {
    name: "lot",
    meaning: "Sheet of one delivery, as it lies on the rack.",
    entries: &[
        required("sheet", &[Part::Reference("sheet", &[DeclKind::Sheet])], "Which sheet it is."),
        required(
            "measured",
            &[Part::List(
                "measured",
                Quantities { kind: Kind::Length, low: 0.3, high: 50.0, unit: "mm", known: true },
                1,
                1000,
            )],
            "Thickness measured at several places.",
        ),
        optional(
            "stored",
            &[Part::OneWord("stored", &["dry", "damp"])],
            "not known",
            "How the sheet was kept; damp sheet blisters lower.",
        ),
        ACCEPT,
    ],
};
