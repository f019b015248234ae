use crate::names::DeclKind;
use crate::types::schema::{ACCEPT, BlockSchema, EntrySchema, Many, Part, exact, known, optional, required};
use crate::units::Kind;

const SETTINGS: BlockSchema = BlockSchema {
    name: "bend",
    meaning: "How one bend, or every bend, is made.",
    entries: &[
        optional("on", &[Part::Local("arm", "arm")], "the bench's only arm", "The arm that makes the bend."),
        optional(
            "heat",
            &[Part::Stages("stages")],
            "not given, which a rule reports",
            "How long and how strongly the line is heated: a time, stages, or `computed`.",
        ),
        optional(
            "transfer",
            &[exact("transfer", Kind::Time, 0.2, 60.0, "s")],
            "3 s",
            "The longest time from heater off to bend finished; what is known is half of it to all of it.",
        ),
        optional(
            "set",
            &[Part::OneOf(&[&[Part::Word("computed")], &[exact("set", Kind::Time, 0.0, 3600.0, "s")]])],
            "not given, which a rule reports",
            "How long the arm holds the bend: a time, or `computed`.",
        ),
        optional(
            "swing",
            &[exact("swing", Kind::Angle, 0.0, 180.0, "deg")],
            "the bend's angle and its springback",
            "The angle at which the arm's stop is set.",
        ),
        optional(
            "fence",
            &[Part::OneWord("fence", &["front", "back"])],
            "the end of the longer side, unless only the other can be clamped",
            "Which end of the sheet is pushed against the fence.",
        ),
        optional(
            "face",
            &[Part::OneWord("face", &["up", "down"])],
            "follows from the bend's direction",
            "Which of the profile's faces lies on the base while this bend is made: `down` as it is drawn, `up` turned over.",
        ),
        ACCEPT,
    ],
};

const EXPECT: EntrySchema = optional(
    "expect",
    &[Part::Expectation("expectation")],
    "nothing is expected",
    "A condition that must hold over everything that is known.",
)
.many(Many::Any);

pub const RECIPE: BlockSchema = BlockSchema {
    name: "recipe",
    meaning: "How a part is made on a bench.",
    entries: &[
        required(
            "ambient",
            &[known("ambient", Kind::Temperature, -20.0, 50.0, "degC")],
            "Temperature of the room and of the sheet before it is heated.",
        ),
        optional("every", &[Part::Word("bend")], "no common settings", "Settings for every bend.").block(&SETTINGS),
        optional(
            "bend",
            &[Part::Local("bend", "bend")],
            "no settings of its own",
            "Settings for one bend, by name or number.",
        )
        .block(&SETTINGS)
        .many(Many::Keyed),
        optional(
            "order",
            &[Part::Order("order")],
            "required as soon as there are two bends",
            "The bends in the order in which they are made; `with` joins two that are made at once on two arms. `computed` looks for the order with the fewest turn-overs, then swing changes, then fence changes, that hits nothing.",
        ),
        optional(
            "film",
            &[Part::OneWord("film", &["peeled", "left"])],
            "peeled",
            "Whether the sheet's protective film is peeled from the zone before it is heated, or left on.",
        ),
        EXPECT,
        ACCEPT,
    ],
};

pub const BATCH: BlockSchema = BlockSchema {
    name: "batch",
    meaning: "Runs of recipes that are made together.",
    entries: &[
        required(
            "run",
            &[
                Part::Reference("recipe", &[DeclKind::Recipe]),
                Part::Count("times", 1, 100_000),
                Part::Word("times"),
                Part::Maybe("plus", &[Part::Count("spare", 0, 10_000), Part::Word("spare")]),
                Part::Maybe("from", &[Part::Reference("lot", &[DeclKind::Lot])]),
            ],
            "A recipe, how often, spares, and the lot its sheet is taken from.",
        )
        .many(Many::Any),
        EXPECT,
        ACCEPT,
    ],
};
