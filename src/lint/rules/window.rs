//! What the rules about heat windows share.

use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::physics::window::{Span, Unknown};
use crate::plan::Thermal;
use crate::report::Figure;
use crate::text::Span as Place;

/// A bend with a given heat time and its window.
pub struct GivenHeat<'a> {
    pub bend: String,
    /// All stages together, s.
    pub time: f64,
    pub place: Place,
    pub thermal: &'a Thermal,
}

/// Every bend whose heat time is given and whose window is known.
pub fn given_heats<'a>(view: RecipeView<'a>) -> Vec<GivenHeat<'a>> {
    let given = |(index, thermal): (usize, &'a Option<Thermal>)| {
        let Heat::Stages(stages) = &view.recipe.bends[index].heat else { return None };
        Some(GivenHeat {
            bend: view.recipe.part.bend_label(index),
            time: stages.value.iter().map(|level| level.time).sum(),
            place: stages.span,
            thermal: thermal.as_ref()?,
        })
    };
    view.windows.iter().enumerate().filter_map(given).collect()
}

/// A time of a window against a limit, s; what is never reached within the horizon counts as its end.
pub fn figure(name: &str, span: Span, limit: Option<(f64, &str)>) -> Figure {
    let seconds = |time: f64| if time.is_finite() { time } else { crate::plan::HORIZON };
    Figure {
        name: name.to_owned(),
        value: seconds(span.nominal),
        low: seconds(span.low),
        high: seconds(span.high),
        unit: "s".to_owned(),
        limit: limit.map(|limit| limit.0),
        limit_source: limit.map(|limit| limit.1.to_owned()),
    }
}

/// An unknown in words.
pub fn words(unknown: Unknown) -> &'static str {
    match unknown {
        Unknown::Kappa => "how much of the heat reaches the sheet",
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
            "Bend trial strips to either side, and note where they blister or spring back."
        }
        _ => "Bend trial strips on this heater and write what they show: `calibrated { factor … }`.",
    }
}
