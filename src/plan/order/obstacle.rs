//! What stands in the way of a bend, and how it is said.

use serde::{Deserialize, Serialize};

use crate::model::{FenceSide, Recipe};
use crate::physics::collide::{Thing, Touch};
use crate::plan::order::{Choice, Lay, Names};
use crate::units::{Kind, Unit, preferred_unit, show_rounded};

/// Why a bend cannot be made as it is laid in.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Obstacle {
    /// The flat side is too short to be clamped, by so much, m.
    Grip(f64),
    /// The fence cannot be set at this distance, m.
    Fence(f64),
    /// Two things would be at one place.
    Touch(Touch),
}

/// `start` or `end`: the end of the profile on the side that is clamped.
pub fn end_word(side: FenceSide) -> &'static str {
    if side == FenceSide::Front { "start" } else { "end" }
}

/// A length in mm, to a tenth.
pub fn millimetres(metres: f64) -> String {
    let tenths = libm::round(metres.abs() * 1e4) / 10.0;
    let digits = if tenths >= 100.0 {
        4
    } else if tenths >= 10.0 {
        3
    } else if tenths >= 1.0 {
        2
    } else {
        1
    };
    Unit::parse("mm").map_or_else(|_| String::new(), |unit| show_rounded(tenths / 1e3, &unit, digits))
}

/// An angle to a degree, a small one more closely.
fn degrees(angle: f64) -> String {
    let digits = if angle.to_degrees() >= 99.5 { 3 } else { 2 };
    preferred_unit(Kind::Angle, false).map_or_else(String::new, |unit| show_rounded(angle, &unit, digits))
}

impl Obstacle {
    /// What is in the way, as a sentence without its full stop.
    pub fn words(&self, recipe: &Recipe, lay: &Lay, bend: usize) -> String {
        match self {
            Self::Grip(lacks) => {
                format!("the side to be clamped is {} too short for the clamp's grip", millimetres(*lacks))
            }
            Self::Fence(distance) => format!("the fence cannot be set at {}", millimetres(*distance)),
            Self::Touch(touch) => touch_words(recipe, lay, bend, touch),
        }
    }
}

/// The words for a thing in a pose.
pub fn thing_words(recipe: &Recipe, lay: &Lay, bend: usize, thing: Thing) -> String {
    let stretch = |stretches: &[crate::physics::collide::Stretch], place: usize| {
        stretches.get(place).map_or_else(String::new, |stretch| match Names::of(stretch.name) {
            Names::Leg(leg) => format!("leg {}", leg + 1),
            Names::Bend(bend) => format!("bend `{}`", recipe.part.bend_label(bend)),
        })
    };
    match thing {
        Thing::Zone => format!("the soft bend `{}`", recipe.part.bend_label(bend)),
        Thing::Fixed(place) => stretch(&lay.pose.fixed, place),
        Thing::Moving(place) => stretch(&lay.pose.moving, place),
        Thing::Arm => {
            let arm = recipe.bends.get(bend).and_then(|settings| recipe.bench.arms.get(settings.arm));
            format!("arm `{}`", arm.map_or("", |arm| arm.name.as_str()))
        }
        Thing::Clamp => "the clamp bar".to_owned(),
        Thing::Base => "the base".to_owned(),
        Thing::Above => "the line above".to_owned(),
        Thing::Fence => "the fence".to_owned(),
    }
}

/// A touch, as a sentence without its full stop.
pub fn touch_words(recipe: &Recipe, lay: &Lay, bend: usize, touch: &Touch) -> String {
    let first = thing_words(recipe, lay, bend, touch.first);
    let second = thing_words(recipe, lay, bend, touch.second);
    // What rests in the base or under the clamp does so from the moment the sheet is laid in.
    let laid_in = touch.angle <= 0.0;
    let at = if laid_in {
        "as the sheet is laid in".to_owned()
    } else {
        format!("with the arm at {}", degrees(touch.angle))
    };
    // A sheet that was bought is thinner or thicker than its name.
    let (thickness, expected) = (lay.pose.swing.thickness, recipe.part.sheet.thickness.value.nominal());
    let sheet = if (thickness - expected).abs() > 1e-9 {
        format!(", if the sheet is {} thick", millimetres(thickness))
    } else {
        String::new()
    };
    if touch.collides {
        let verb = match (laid_in, touch.first) {
            (true, Thing::Fence) => "has no room under",
            (true, _) => "stands in",
            (false, _) => "hits",
        };
        format!("{first} {verb} {second} {at}{sheet}")
    } else {
        format!("{first} grazes {second} {at}{sheet}")
    }
}

/// `bend X with the end clamped`.
pub fn choice_words(recipe: &Recipe, choice: Choice) -> String {
    format!("`{}` with the {} clamped", recipe.part.bend_label(choice.bend), end_word(choice.side))
}
