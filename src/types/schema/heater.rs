use crate::names::DeclKind;
use crate::types::schema::{ACCEPT, BlockSchema, Many, Part, exact, known, optional, required};
use crate::units::Kind;

pub const WIRE: BlockSchema = BlockSchema {
    name: "wire",
    meaning: "A resistance wire.",
    entries: &[
        required("alloy", &[Part::Reference("alloy", &[DeclKind::Alloy])], "What the wire is made of."),
        required("size", &[Part::Gauge("size")], "Wire size by gauge, 10 to 40 AWG.").instead_of(&["diameter"]),
        required("diameter", &[known("diameter", Kind::Length, 0.05, 3.0, "mm")], "Diameter of the bare wire.")
            .instead_of(&["size"]),
        optional(
            "measured",
            &[
                known("resistance", Kind::Resistance, 0.001, 10_000.0, "ohm"),
                Part::Word("at"),
                known("temperature", Kind::Temperature, -40.0, 60.0, "degC"),
                Part::Word("for"),
                known("length", Kind::Length, 1.0, 100_000.0, "mm"),
            ],
            "follows from alloy and size",
            "Cold resistance measured on a piece of this wire; it replaces what alloy and size give.",
        ),
        ACCEPT,
    ],
};

pub const SUPPLY: BlockSchema = BlockSchema {
    name: "supply",
    meaning: "What feeds the heaters.",
    entries: &[
        required(
            "voltage",
            &[
                known("voltage", Kind::Voltage, 0.5, 1000.0, "V"),
                Part::Maybe("at", &[Part::OneWord("at", &["wire", "terminals"])]),
            ],
            "Voltage under load, measured at the wire or at the supply's terminals (then the drop in the leads is computed; this holds if nothing is said).",
        ),
        required("kind", &[Part::OneWord("kind", &["dc", "ac"])], "Direct or alternating current."),
        required("rated", &[known("rated", Kind::Current, 0.1, 1000.0, "A")], "Current the supply is rated for."),
        optional(
            "continuous",
            &[exact("continuous", Kind::Ratio, 10.0, 100.0, "%")],
            "80 %",
            "Share of the rating that may be drawn for more than a few seconds.",
        ),
        optional(
            "fuse",
            &[exact("fuse", Kind::Current, 0.1, 1000.0, "A")],
            "no fuse, which a rule reports",
            "Fuse between the supply and all it feeds.",
        ),
        ACCEPT,
    ],
};

const LINE: BlockSchema = BlockSchema {
    name: "line",
    meaning: "One heated wire and where it runs.",
    entries: &[
        required("wire", &[Part::Reference("wire", &[DeclKind::Wire])], "The wire."),
        required("gap", &[known("gap", Kind::Length, 0.5, 100.0, "mm")], "From the wire's axis to the sheet's face."),
    ],
};

const SHIELD: BlockSchema = BlockSchema {
    name: "shield",
    meaning: "The channel around the wire.",
    entries: &[
        required("metal", &[Part::Reference("metal", &[DeclKind::Metal])], "What the shield is made of."),
        required("mass", &[known("mass", Kind::MassPerLength, 0.001, 50.0, "kg/m")], "Its mass per length."),
    ],
};

const LEADS: BlockSchema = BlockSchema {
    name: "leads",
    meaning: "The two conductors between supply and wire.",
    entries: &[
        required("metal", &[Part::Reference("metal", &[DeclKind::Metal])], "What the conductors are made of."),
        required("area", &[known("area", Kind::Area, 0.05, 500.0, "mm2")], "Cross-section of one conductor.")
            .instead_of(&["size"]),
        required("size", &[Part::Gauge("size")], "Conductor size by gauge, 4/0 to 30 AWG.").instead_of(&["area"]),
        required(
            "length",
            &[known("length", Kind::Length, 0.01, 100.0, "m")],
            "From supply to wire, one way; the current goes there and back.",
        ),
    ],
};

const SPRING: BlockSchema = BlockSchema {
    name: "spring",
    meaning: "The spring that keeps the wire taut as it grows.",
    entries: &[
        required("rate", &[known("rate", Kind::Stiffness, 0.001, 1000.0, "N/mm")], "Force per travel."),
        required("preload", &[known("preload", Kind::Force, 0.01, 1000.0, "N")], "Force on the cold wire."),
        required("travel", &[known("travel", Kind::Length, 0.1, 500.0, "mm")], "Travel that is left when cold."),
    ],
};

const CALIBRATED: BlockSchema = BlockSchema {
    name: "calibrated",
    meaning: "What trial strips on this heater have shown.",
    entries: &[
        required(
            "factor",
            &[known("factor", Kind::Ratio, 0.1, 5.0, "")],
            "Heat that reaches the sheet, as a share of the model's.",
        ),
        required("sheet", &[Part::Reference("sheet", &[DeclKind::Sheet])], "The sheet of the trials."),
        required("on", &[Part::Date("on")], "The day of the trials."),
        required("trials", &[Part::Count("trials", 1, 10_000)], "How many strips were bent."),
    ],
};

pub const HEATER: BlockSchema = BlockSchema {
    name: "heater",
    meaning: "A line heater: wire, shield, leads and spring.",
    entries: &[
        required(
            "line",
            &[Part::OneWord("place", &["below", "above"])],
            "A heated wire below or above the sheet; one of each heats both faces.",
        )
        .block(&LINE)
        .many(Many::Keyed),
        optional(
            "wired",
            &[Part::OneWord("wired", &["parallel", "series"])],
            "there is one line only",
            "How two lines are connected; required with two.",
        ),
        required("length", &[known("length", Kind::Length, 20.0, 5000.0, "mm")], "Heated length of the wire."),
        required(
            "channel",
            &[known("channel", Kind::Length, 2.0, 300.0, "mm")],
            "Opening of the heat shield, across the line.",
        ),
        optional("shield", &[], "no shield, which a rule reports", "The channel around the wire.").block(&SHIELD),
        required("supply", &[Part::Reference("supply", &[DeclKind::Supply])], "What feeds it."),
        required(
            "switch",
            &[Part::OneWord("switch", &["solid_state", "relay"])],
            "What switches it; a relay takes no part power.",
        ),
        optional(
            "fuse",
            &[exact("fuse", Kind::Current, 0.1, 1000.0, "A")],
            "no fuse of its own",
            "Fuse of this heater.",
        ),
        required("leads", &[], "The conductors between supply and wire.").block(&LEADS),
        optional("spring", &[], "no spring, which a rule reports", "What keeps the wire taut.").block(&SPRING),
        optional(
            "warm_up",
            &[exact("warm_up", Kind::Time, 1.0, 3600.0, "s")],
            "the shield starts cold",
            "How long the line runs without a sheet before the first part.",
        ),
        optional(
            "calibrated",
            &[],
            "not calibrated: wide bounds, and windows that are only nominal",
            "What trial strips on this heater have shown.",
        )
        .block(&CALIBRATED),
        ACCEPT,
    ],
};
