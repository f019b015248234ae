use crate::names::DeclKind;
use crate::types::schema::{ACCEPT, BlockSchema, EntrySchema, Many, Part, exact, known, optional, required};
use crate::units::Kind;

const RADIUS: &[Part] = &[
    Part::Word("radius"),
    Part::OneOf(&[&[Part::Word("free")], &[exact("radius", Kind::Length, 0.0, 500.0, "mm")]]),
    Part::Maybe("as", &[Part::NewName("name")]),
];

/// A stretch of the profile that `repeat` repeats.
static STRETCH: BlockSchema =
    BlockSchema { name: "repeat", meaning: "A stretch of the profile that comes again.", entries: &STRETCHES };

const LEG: EntrySchema = optional(
    "leg",
    &[exact("length", Kind::Length, 0.1, 5000.0, "mm"), Part::Allowance("allowed", Kind::Length)],
    "none",
    "A straight stretch, and what the drawing allows.",
)
.many(Many::Any);

const BEND: EntrySchema = optional(
    "bend",
    &[
        Part::OneWord("direction", &["up", "down"]),
        Part::OneOf(&[
            &[
                Part::Word("to"),
                exact("included", Kind::Angle, 5.0, 179.0, "deg"),
                Part::Word("included"),
                Part::Allowance("allowed", Kind::Angle),
                Part::OneOf(&[RADIUS]),
            ],
            &[
                exact("turned", Kind::Angle, 1.0, 175.0, "deg"),
                Part::Allowance("allowed", Kind::Angle),
                Part::OneOf(&[RADIUS]),
            ],
        ]),
    ],
    "none",
    "A bend: its direction, the angle turned (or `to … included`), the radius of its inside face and perhaps a name.",
)
.many(Many::Any);

/// A static, since a stretch can hold stretches.
static STRETCHES: [EntrySchema; 3] = [
    LEG,
    BEND,
    optional(
        "repeat",
        &[Part::Count("times", 1, 100), Part::Maybe("as", &[Part::NewName("name")])],
        "none",
        "A stretch of the profile that comes several times.",
    )
    .block(&STRETCH)
    .many(Many::Any),
];

const PROFILE: BlockSchema = BlockSchema {
    name: "profile",
    meaning: "The cross-section, read from one end: legs with bends between them.",
    entries: &STRETCHES,
};

pub const PART: BlockSchema = BlockSchema {
    name: "part",
    meaning: "What is made: a sheet, a width and a profile.",
    entries: &[
        required("sheet", &[Part::Reference("sheet", &[DeclKind::Sheet])], "The sheet it is made of."),
        required("width", &[exact("width", Kind::Length, 5.0, 5000.0, "mm")], "Length of the bend lines."),
        optional(
            "good",
            &[Part::OneWord("good", &["outside", "inside"])],
            "neither face matters",
            "The face that must stay good: the upper one of the flat profile is inside of a bend up.",
        ),
        optional(
            "springback",
            &[known("springback", Kind::Angle, 0.0, 45.0, "deg")],
            "0 deg, known to 0..5 deg",
            "By how much a bend of this part opens after release, as measured; the arm swings that much further.",
        ),
        required(
            "profile",
            &[Part::OneWord("measured", &["outside", "inside", "neutral"])],
            "The cross-section; `outside`, `inside` or `neutral` says to which line the legs are measured.",
        )
        .block(&PROFILE),
        ACCEPT,
    ],
};
