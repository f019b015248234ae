use crate::names::DeclKind;
use crate::types::schema::{ACCEPT, BlockSchema, Many, Part, exact, known, optional, required};
use crate::units::Kind;

const BASE: BlockSchema = BlockSchema {
    name: "base",
    meaning: "The table on which the fixed side lies.",
    entries: &[
        required(
            "depth",
            &[known("depth", Kind::Length, 20.0, 5000.0, "mm")],
            "From the bend line of an arm at its front edge to its rear edge.",
        ),
        required("width", &[known("width", Kind::Length, 20.0, 5000.0, "mm")], "Along the bend line."),
        required("thickness", &[known("thickness", Kind::Length, 1.0, 500.0, "mm")], "Of the table's top."),
        required("surface", &[Part::OneWord("surface", &SURFACES)], "What the sheet lies on."),
    ],
};

const SURFACES: [&str; 4] = ["wood", "metal", "cloth", "air"];

const ARM: BlockSchema = BlockSchema {
    name: "arm",
    meaning: "A swinging arm with its heater.",
    entries: &[
        required("heater", &[Part::Reference("heater", &[DeclKind::Heater])], "The heater at its hinge."),
        required("depth", &[known("depth", Kind::Length, 5.0, 2000.0, "mm")], "From the bend line to its free edge."),
        required("thickness", &[known("thickness", Kind::Length, 1.0, 300.0, "mm")], "Of the arm."),
        required(
            "swings",
            &[known("swings", Kind::Angle, 0.0, 180.0, "deg")],
            "Range of angles it can swing through and stop at.",
        ),
        required(
            "place",
            &[known("place", Kind::Length, 0.0, 5000.0, "mm")],
            "Where its bend line lies, from the base's front edge; a range for an arm that slides.",
        ),
        optional("surface", &[Part::OneWord("surface", &SURFACES)], "as the base", "What the arm's face is made of."),
        optional(
            "hinge",
            &[known("height", Kind::Length, -50.0, 50.0, "mm")],
            "on the bend's own axis",
            "Height of the hinge above the base's surface.",
        ),
    ],
};

const FENCE: BlockSchema = BlockSchema {
    name: "fence",
    meaning: "The stop that the sheet's edge is pushed against.",
    entries: &[
        required(
            "reach",
            &[known("reach", Kind::Length, 0.0, 5000.0, "mm")],
            "Range of distances from the bend line at which it can be set.",
        ),
        required(
            "reads",
            &[exact("reads", Kind::Length, 0.01, 10.0, "mm")],
            "Smallest step that can be set: its distances are told in whole steps.",
        ),
        optional(
            "height",
            &[known("height", Kind::Length, 0.2, 500.0, "mm")],
            "15 mm (our assumption)",
            "Of the fence above the base's surface; one that is lower than the sheet fits under the clamp.",
        ),
        optional(
            "thickness",
            &[known("thickness", Kind::Length, 0.2, 500.0, "mm")],
            "10 mm (our assumption)",
            "Of the fence, away from the bend line.",
        ),
    ],
};

const CLAMP: BlockSchema = BlockSchema {
    name: "clamp",
    meaning: "The bar that holds the fixed side down.",
    entries: &[
        required("height", &[known("height", Kind::Length, 1.0, 500.0, "mm")], "Of the bar above the sheet."),
        required("depth", &[known("depth", Kind::Length, 1.0, 500.0, "mm")], "Of the bar, away from the bend line."),
        required("inset", &[known("inset", Kind::Length, 0.0, 200.0, "mm")], "From the bend line to the bar."),
        required(
            "grip",
            &[known("grip", Kind::Length, 1.0, 200.0, "mm")],
            "The least leg that must lie under the bar.",
        ),
    ],
};

const HANDLING: BlockSchema = BlockSchema {
    name: "handling",
    meaning: "How long hands take; waiting for people is never counted.",
    entries: &[
        required(
            "load",
            &[exact("load", Kind::Time, 0.0, 3600.0, "s")],
            "Lay the sheet in and clamp it, before the first bend.",
        ),
        required(
            "reposition",
            &[exact("reposition", Kind::Time, 0.0, 3600.0, "s")],
            "Unclamp, shift and clamp again, between two bends.",
        ),
        required("unload", &[exact("unload", Kind::Time, 0.0, 3600.0, "s")], "Take the part out, after the last bend."),
        optional(
            "turn_over",
            &[exact("turn_over", Kind::Time, 0.0, 3600.0, "s")],
            "5 s",
            "Turn the sheet over, on top of the reposition.",
        ),
        optional(
            "swing_change",
            &[exact("swing_change", Kind::Time, 0.0, 3600.0, "s")],
            "20 s",
            "Set the arm's stop to another angle.",
        ),
        optional(
            "fence_change",
            &[exact("fence_change", Kind::Time, 0.0, 3600.0, "s")],
            "10 s",
            "Set the fence to another distance.",
        ),
    ],
};

pub const BENCH: BlockSchema = BlockSchema {
    name: "bench",
    meaning: "A line bender: base, arms, fence, clamp and hands.",
    entries: &[
        required("base", &[], "The table on which the fixed side lies.").block(&BASE),
        required("arm", &[Part::NewName("name")], "A swinging arm with its heater.").block(&ARM).many(Many::Keyed),
        required("fence", &[], "The stop that the sheet's edge is pushed against.").block(&FENCE),
        required("clamp", &[], "The bar that holds the fixed side down.").block(&CLAMP),
        required("handling", &[], "How long hands take.").block(&HANDLING),
        optional("operators", &[Part::Count("operators", 1, 20)], "1", "People at the bench."),
        optional(
            "controller",
            &[Part::Reference("controller", &[DeclKind::Controller])],
            "none: timed by hand",
            "What switches the heaters and calls the operator.",
        ),
        ACCEPT,
    ],
};
