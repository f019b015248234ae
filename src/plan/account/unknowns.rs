//! The unknowns of a window as inputs: their names, and where their bounds come from.

use crate::model::{Colour, Recipe, Storage};
use crate::physics::window::Unknown;
use crate::plan::account::{Basis, Case, Ledger, Origin, of_lines};

/// Name, letter and unit of an unknown.
pub(super) fn named(unknown: Unknown) -> (&'static str, &'static str, &'static str) {
    match unknown {
        Unknown::Kappa => ("calibration factor", "κ", ""),
        Unknown::Resistance => ("factor on the hot resistance", "", ""),
        Unknown::WireEmissivity => ("emissivity of the wire", "ε", ""),
        Unknown::Absorptance => ("absorptance of the sheet", "a", ""),
        Unknown::Reflectance => ("reflectance of the shield", "ρs", ""),
        Unknown::PlumeBelow => ("share of the hot air taken, line below", "χ", ""),
        Unknown::PlumeAbove => ("share of the hot air taken, line above", "χ", ""),
        Unknown::PlumePeak => ("share of that peaked over the wire", "ψ", ""),
        Unknown::SinkFactor => ("factor on radiation into the opening", "φ", ""),
        Unknown::ShieldLoss => ("loss of the shield", "", "W/(m K)"),
        Unknown::ShieldRise => ("shield above the room at the start", "", "K"),
        Unknown::Gap => ("gap", "g", "mm"),
        Unknown::SecondGap => ("gap of the second line", "g", "mm"),
        Unknown::Channel => ("channel", "w", "mm"),
        Unknown::Conductivity => ("conductivity of the sheet", "k", "W/(m K)"),
        Unknown::SpecificHeat => ("factor on the specific heat", "", ""),
        Unknown::Density => ("density of the sheet", "ρ", "kg/m3"),
        Unknown::Emissivity => ("emissivity of the sheet", "ε", ""),
        Unknown::FirstFace => ("loss of the first face", "h", "W/(m2 K)"),
        Unknown::SecondFace => ("loss of the second face", "h", "W/(m2 K)"),
        Unknown::FirstSetting => ("loss of the first face in the arm", "h", "W/(m2 K)"),
        Unknown::SecondSetting => ("loss of the second face in the arm", "h", "W/(m2 K)"),
        Unknown::Softened => ("softening temperature", "", "degC"),
        Unknown::Forming => ("forming temperature", "", "degC"),
        Unknown::Ceiling => ("blister temperature", "", "degC"),
        Unknown::Release => ("release temperature", "", "degC"),
        Unknown::Thickness => ("thickness", "h", "mm"),
        Unknown::Ambient => ("room temperature", "Ta", "degC"),
        Unknown::Voltage => ("voltage", "U", "V"),
        Unknown::Transfer => ("transfer", "", "s"),
    }
}

/// Takes in every unknown that plays a part in this bend, and gives their names back.
pub(super) fn inputs(case: &Case<'_>, ledger: &mut Ledger) -> Vec<String> {
    let Some(study) = case.study else { return Vec::new() };
    let recipe = &case.plan.recipe;
    let heater = &recipe.bench.arms[recipe.bends[case.bend].arm].heater;
    let two = heater.lines.len() > 1;
    let above = |place| heater.lines.iter().any(|line| line.place == place);
    let plays = |unknown: &Unknown| match unknown {
        Unknown::SecondGap => two,
        Unknown::PlumeBelow => above(crate::model::LinePlace::Below),
        Unknown::PlumeAbove => above(crate::model::LinePlace::Above),
        Unknown::ShieldLoss | Unknown::ShieldRise => heater.shield.is_some(),
        _ => true,
    };
    let taken = Unknown::ALL.into_iter().filter(plays).map(|unknown| {
        let (name, symbol, unit) = named(unknown);
        ledger.input(name, symbol, study.unknowns.get(unknown), unit, origin(case, recipe, unknown))
    });
    taken.collect()
}

/// Where the bounds of an unknown come from.
fn origin(case: &Case<'_>, recipe: &Recipe, unknown: Unknown) -> Origin {
    let settings = &recipe.bends[case.bend];
    let arm = &recipe.bench.arms[settings.arm];
    let heater = &arm.heater;
    let sheet = &recipe.part.sheet;
    let material = &sheet.material;
    let calibration = heater.calibration.as_ref().filter(|calibration| calibration.sheet == sheet.id);
    if let Some(calibration) = calibration
        && (unknown == Unknown::Kappa || unknown.is_calibrated_away())
    {
        return Origin::Place(calibration.factor.span);
    }
    let place = |given: Option<crate::text::Span>| {
        given.map_or(Origin::Model(Basis::Unpublished, "the model's default"), Origin::Place)
    };
    match unknown {
        Unknown::Kappa => Origin::Model(Basis::Unpublished, "until trial strips have calibrated the heater"),
        Unknown::Resistance => {
            Origin::Figure(of_lines(heater, "hot resistance").into_iter().next().unwrap_or_default())
        }
        Unknown::WireEmissivity => place(heater.lines.first().map(|line| line.wire.alloy.emissivity.span)),
        Unknown::Absorptance if sheet.colour == Colour::Black => Origin::Model(
            Basis::Unpublished,
            "nominal as the published emissivity of black cast sheet; its bounds have no source",
        ),
        Unknown::Absorptance => {
            Origin::Model(Basis::Unpublished, "by the sheet's colour: clear sheet passes part of the radiation")
        }
        Unknown::ShieldRise => Origin::Model(
            Basis::Computed,
            "from the warm-up to what the shield settles at; lowest: half of the warm-up, or none",
        ),
        Unknown::Gap => place(heater.lines.first().map(|line| line.gap.span)),
        Unknown::SecondGap => place(heater.lines.last().map(|line| line.gap.span)),
        Unknown::Channel => Origin::Place(heater.channel.span),
        Unknown::Conductivity => place(material.conductivity.as_ref().map(|given| given.span)),
        Unknown::SpecificHeat => Origin::Entry(material.density.span, "specific_heat", "not known"),
        Unknown::Density => Origin::Place(material.density.span),
        Unknown::Emissivity => place(material.emissivity.as_ref().map(|given| given.span)),
        Unknown::FirstSetting => Origin::Model(Basis::Unpublished, "by what lies under the sheet in the arm"),
        Unknown::Softened => place(material.softened.as_ref().map(|given| given.span)),
        Unknown::Forming => place(material.forming.as_ref().map(|given| given.span)),
        Unknown::Ceiling if case.lot.is_some_and(|lot| lot.stored == Some(Storage::Damp)) => {
            Origin::Model(Basis::Unpublished, "the material's `ceiling`, lowered by 20 K for a damp lot")
        }
        Unknown::Ceiling => place(material.ceiling.as_ref().map(|given| given.span)),
        Unknown::Release => place(material.release.as_ref().map(|given| given.span)),
        Unknown::Thickness => match case.lot.and_then(|lot| lot.measured.first()) {
            Some(measured) => Origin::Place(measured.span),
            None if sheet.by_standard => {
                Origin::Entry(material.density.span, "thickness_tolerance", "the sheet standard")
            }
            None => Origin::Place(sheet.thickness.span),
        },
        Unknown::Ambient => Origin::Place(recipe.ambient.span),
        Unknown::Voltage => Origin::Place(heater.supply.voltage.span),
        Unknown::Transfer => {
            Origin::Entry(settings.span, "transfer", "at most 3 s, and half of what is allowed at least")
        }
        _ => Origin::Model(Basis::Unpublished, "the model's default"),
    }
}
