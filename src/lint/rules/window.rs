//! What the rules about heat windows share.

use crate::lint::registry::Rule;
use crate::lint::run::RecipeView;
use crate::model::{Heat, Level};
use crate::physics::window::{Span, Unknown};
use crate::plan::Thermal;
use crate::report::{Diagnostic, Figure};
use crate::text::Span as Place;
use crate::types::any_of;

/// Bends that have one window and one time: one finding serves them all.
pub struct Group<'a> {
    /// Their names, in the order of the profile.
    pub bends: Vec<String>,
    /// Where to point at; the first is the primary place.
    pub places: Vec<Place>,
    /// The given time the rule is about, s; 0 where it is about none.
    pub time: f64,
    /// Their window.
    pub thermal: &'a Thermal,
}

impl Group<'_> {
    /// ``bend `lip` ``, ``bends `front` and `back` ``.
    pub fn names(&self) -> String {
        let names: Vec<String> = self.bends.iter().map(|bend| format!("`{bend}`")).collect();
        let word = if names.len() == 1 { "bend" } else { "bends" };
        format!("{word} {}", any_of(&names).replace(" or ", " and "))
    }

    /// A finding of a rule at the group's places.
    pub fn finding(&self, rule: &Rule, headline: String) -> Diagnostic {
        let finding = rule.finding(self.places[0], headline);
        self.places.iter().skip(1).fold(finding, |finding, place| finding.also(*place, "here too"))
    }

    /// `is` or `are`.
    pub fn are(&self) -> &'static str {
        if self.bends.len() == 1 { "is" } else { "are" }
    }
}

/// Every bend whose window is known, by window and time; `fires` says about which time and where, if the rule applies.
pub fn groups<'a>(view: RecipeView<'a>, fires: impl Fn(usize, &Thermal) -> Option<(f64, Place)>) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for (index, thermal) in view.windows.iter().enumerate() {
        let Some(thermal) = thermal else { continue };
        let Some((time, place)) = fires(index, thermal) else { continue };
        let bend = view.recipe.part.bend_label(index);
        let same = |group: &&mut Group<'a>| group.time.to_bits() == time.to_bits() && alike(group.thermal, thermal);
        match groups.iter_mut().find(same) {
            Some(group) => {
                group.bends.push(bend);
                if !group.places.contains(&place) {
                    group.places.push(place);
                }
            }
            None => groups.push(Group { bends: vec![bend], places: vec![place], time, thermal }),
        }
    }
    groups
}

/// Windows that differ by less than this are told as one, s: no finding shows less.
const TOLD: f64 = 0.05;

/// Whether two windows are the same as far as anything is told of them: bends of much the same angle are, on one heater.
fn alike(one: &Thermal, two: &Thermal) -> bool {
    let near = |a: f64, b: f64| a.to_bits() == b.to_bits() || (a - b).abs() < TOLD;
    let spans = |a: Span, b: Span| near(a.nominal, b.nominal) && near(a.low, b.low) && near(a.high, b.high);
    let (a, b) = (&one.window, &two.window);
    let sets = match (a.set, b.set) {
        (Some(a), Some(b)) => spans(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let voids = match (a.void_after, b.void_after) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a == b,
    };
    let closings = a.closings.len() == b.closings.len()
        && a.closings.iter().zip(&b.closings).all(|(a, b)| {
            a.unknown == b.unknown && near(a.ready_later, b.ready_later) && near(a.over_earlier, b.over_earlier)
        });
    let same = (a.verdict, one.calibrated, one.from_memory) == (b.verdict, two.calibrated, two.from_memory);
    same && one.openings == two.openings
        && spans(a.ready, b.ready)
        && spans(a.over, b.over)
        && sets
        && voids
        && closings
}

/// All stages together, s.
pub fn total(stages: &[Level]) -> f64 {
    stages.iter().map(|level| level.time).sum()
}

/// A given heat time, all stages together (s), and its place.
pub fn given_heat(view: RecipeView<'_>, bend: usize) -> Option<(f64, Place)> {
    match &view.recipe.bends[bend].heat {
        Heat::Stages(stages) => Some((total(&stages.value), stages.span)),
        Heat::Computed(_) | Heat::Missing => None,
    }
}

/// A time of a window against a limit, s; infinite where it is never reached.
pub fn figure(name: &str, span: Span, limit: Option<(f64, &str)>) -> Figure {
    Figure {
        name: name.to_owned(),
        value: span.nominal,
        low: span.low,
        high: span.high,
        unit: "s".to_owned(),
        limit: limit.map(|limit| limit.0),
        limit_source: limit.map(|limit| limit.1.to_owned()),
    }
}

/// What to write in place of a time that is wrong.
pub fn instead(thermal: &Thermal, entry: &str) -> String {
    if thermal.from_memory {
        "a time that trial strips have shown to be right".to_owned()
    } else {
        format!("`{entry} computed`")
    }
}

/// An unknown in words.
pub fn words(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Kappa => "the coupling factor, how much of the heat reaches the sheet",
        Unknown::Resistance => "the wire's resistance",
        Unknown::WireEmissivity => "the wire's emissivity",
        Unknown::Absorptance => "how the sheet takes the wire's radiation",
        Unknown::Reflectance => "how the shield reflects",
        Unknown::PlumeBelow | Unknown::PlumeAbove | Unknown::PlumePeak => "what the sheet takes of the hot air",
        Unknown::SinkFactor => "how the sheet radiates into the opening",
        Unknown::ShieldLoss => "what the shield loses",
        Unknown::ShieldRise => "how warm the shield is at the start",
        Unknown::Gap | Unknown::SecondGap => "the gap",
        Unknown::Channel => "the channel",
        Unknown::Conductivity => "the sheet's conductivity",
        Unknown::SpecificHeat => "the sheet's specific heat",
        Unknown::Density => "the sheet's density",
        Unknown::Emissivity => "the sheet's emissivity",
        Unknown::FirstFace | Unknown::SecondFace => "what the faces lose",
        Unknown::FirstSetting | Unknown::SecondSetting => "what the faces lose in the arm",
        Unknown::Softened => "where the sheet softens",
        Unknown::Forming => "where the sheet can be formed",
        Unknown::Ceiling => "where the sheet blisters",
        Unknown::Release => "where the bend keeps its angle",
        Unknown::Thickness => "the thickness",
        Unknown::Ambient => "the room temperature",
        Unknown::Voltage => "the voltage",
        Unknown::Transfer => "the transfer",
    }
}

/// What to measure about an unknown.
pub fn remedy(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Thickness => "Measure the lot and run it `from` that lot: the heat time then follows the sheet.",
        Unknown::Ambient => {
            "Narrow `ambient` to what the room really is, or keep one recipe for winter and one for summer."
        }
        Unknown::Voltage => "Measure the voltage at the hot wire, and write it with a smaller tolerance.",
        Unknown::Transfer => "Shorten the transfer.",
        Unknown::ShieldRise => "Warm the line up before the first part: `warm_up 3 min`.",
        Unknown::Ceiling | Unknown::Release | Unknown::FirstSetting | Unknown::SecondSetting => {
            "Bend trial strips to either side; copy the material (`material mine from …`) and write the `ceiling` and `release` you saw."
        }
        _ => "Bend trial strips on this heater and write what they show: `calibrated { factor … }`.",
    }
}
