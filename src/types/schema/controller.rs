use crate::names::DeclKind;
use crate::types::schema::{ACCEPT, BlockSchema, Many, Part, exact, optional, required};
use crate::units::Kind;

pub const CONTROLLER: BlockSchema = BlockSchema {
    name: "controller",
    meaning: "What switches the heaters, reads the switches and calls the operator.",
    entries: &[
        required(
            "output",
            &[
                Part::Count("pin", 0, 255),
                Part::OneOf(&[
                    &[Part::Word("heats"), Part::Reference("heater", &[DeclKind::Heater])],
                    &[Part::Word("isolates"), Part::Reference("supply", &[DeclKind::Supply])],
                    &[Part::Word("lamp")],
                    &[Part::Word("buzzer")],
                ]),
            ],
            "What a pin switches: a heater, a second switch in series with the supply, the lamp or the buzzer.",
        )
        .many(Many::Keyed),
        required(
            "input",
            &[
                Part::Count("pin", 0, 255),
                Part::OneOf(&[
                    &[Part::Word("start_button"), Part::Maybe("normally_closed", &[])],
                    &[
                        Part::Word("stop_button"),
                        Part::Maybe("normally_closed", &[]),
                        Part::Maybe("breaks", &[Part::Reference("breaks", &[DeclKind::Supply])]),
                    ],
                    &[Part::Word("down"), Part::Local("arm", "arm"), Part::Maybe("normally_closed", &[])],
                    &[Part::Word("home"), Part::Local("arm", "arm"), Part::Maybe("normally_closed", &[])],
                    &[Part::Word("current"), Part::Reference("of", &[DeclKind::Heater, DeclKind::Supply])],
                    &[Part::Word("row_button"), Part::Maybe("normally_closed", &[])],
                    &[Part::Word("guard"), Part::Maybe("normally_closed", &[])],
                ]),
            ],
            "What a pin reads: a button, an arm's end switch, a heater's current, or a guard.",
        )
        .many(Many::Keyed),
        optional(
            "heat_limit",
            &[exact("heat_limit", Kind::Time, 1.0, 3600.0, "s")],
            "no limit, which a rule reports",
            "No heater may stay on longer than this, whatever a program says.",
        ),
        optional(
            "program_space",
            &[Part::Count("bytes", 64, 1_000_000)],
            "2048",
            "Bytes that the controller has for one program.",
        ),
        ACCEPT,
    ],
};
