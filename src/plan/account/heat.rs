//! Figures of the heat in the sheet.

use crate::model::{LinePlace, Radius};
use crate::physics::coupling::Coupling;
use crate::physics::window::{Span, Unknown};
use crate::physics::wire::radiation;
use crate::plan::account::{Case, Figure, Group, Ledger, line_suffix, over_corners, plain, unknowns};
use crate::plan::{Study, Thermal};
use crate::units::Known;

const SOLVER: (&str, &str) = (
    "solved: wire, shield and half of the section as one system",
    "ρ c(T) ∂T/∂t = ∇·(k ∇T), checked against independent solutions; what couples line and sheet has no published source",
);
const SECTION: &str = "The middle of a long line: the ends of the bend line are colder, and more so the less the wire goes \
past the sheet. Still air; half of the section, so that both sides are alike.";

fn figure(
    name: &str,
    value: Known,
    units: &'static [&'static str],
    formula: (&'static str, &'static str),
    inputs: Vec<String>,
) -> Figure {
    plain(Group::Heat, name, value, units, formula, inputs)
}

/// What reaches the sheet, when it is ready, over and set, and what the heat that is used leads to.
pub(super) fn figures(case: &Case<'_>, ledger: &mut Ledger) {
    let made = &case.plan.bends[case.bend];
    let heat: f64 = made.heat.iter().map(|level| level.time).sum();
    let from = ("given by the recipe", "choice");
    let (Some(study), Some(thermal)) = (case.study, &made.thermal) else {
        ledger.figure(figure("heat time", Known::exact(heat), &["s"], from, Vec::new()));
        ledger.figure(figure("set time", Known::exact(made.set), &["s"], from, Vec::new()));
        return;
    };
    let all = unknowns::inputs(case, ledger);
    absorbed(case, study, ledger);
    window(thermal, (heat, made.set), &all, ledger);
    ends(case, study, thermal, ledger);
}

/// What the sheet takes of the first line's heat, hot and steady.
fn absorbed(case: &Case<'_>, study: &Study, ledger: &mut Ledger) {
    let recipe = &case.plan.recipe;
    let heater = &recipe.bench.arms[recipe.bends[case.bend].arm].heater;
    for (index, (line, electric)) in heater.lines.iter().zip(&case.plan.bends[case.bend].electric.lines).enumerate() {
        let Ok(made_of) = crate::plan::electric::alloy(&line.wire.alloy) else { return };
        let get = |unknown: Unknown| study.unknowns.get(unknown);
        let above = line.place == LinePlace::Above;
        let (plume, gap) = (
            if above { Unknown::PlumeAbove } else { Unknown::PlumeBelow },
            if index == 0 { Unknown::Gap } else { Unknown::SecondGap },
        );
        let diameter = line.wire.diameter.value.nominal();
        let ambient = get(Unknown::Ambient).nominal;
        let emissivity = get(Unknown::WireEmissivity);
        // Of the line's power the wire radiates a share that depends on its emissivity; the rest goes into the air.
        let radiated = |power: f64, emissivity: f64| {
            let wire =
                crate::physics::wire::Wire { alloy: &made_of, diameter, length: 1.0, resistance: 1.0, emissivity };
            let hot = wire.temperature_at_power(power, ambient).unwrap_or(ambient);
            radiation(diameter, emissivity, hot, ambient)
        };
        let power = Known::from(&electric.line_power);
        let shares =
            [Unknown::Kappa, Unknown::Absorptance, Unknown::Reflectance, plume, gap, Unknown::Channel].map(get);
        let [kappa, absorptance, reflectance, plume_share, gap_at, channel] = shares;
        let all = [kappa, absorptance, reflectance, plume_share, gap_at, channel, power, emissivity];
        let taken =
            over_corners(all, |[kappa, absorptance, reflectance, plume_share, gap, channel, power, emissivity]| {
                let coupling = Coupling { kappa, absorptance, reflectance, plume_share, plume_peak: 0.0, gap, channel };
                let radiated = radiated(power, emissivity);
                coupling.absorbed(radiated, power - radiated)
            });
        let place = line_suffix(heater.lines.len(), line.place);
        let used = [
            Unknown::Kappa,
            Unknown::Absorptance,
            Unknown::Reflectance,
            plume,
            gap,
            Unknown::Channel,
            Unknown::WireEmissivity,
        ];
        let mut inputs: Vec<String> = used.iter().map(|unknown| unknowns::named(*unknown).0.to_owned()).collect();
        inputs.push(format!("line power{place}"));
        let formula = (
            "κ { a P'rad [Fd + ρs (1 − Fd)] + χ P'conv }, Fd = atan(w / 2g) / π",
            "Fd: geometry; the rest is a model of this project with no published source",
        );
        let name = format!("heat offered to the sheet{place}");
        ledger.figure(figure(&name, taken, &["W/in", "W/m"], formula, inputs).simplified(
            "Shield and sheet are grey and the hot air gives a fixed share: a calibration takes all of this in.",
        ));
        let part = |known: f64, power: f64| known / power;
        let nominal = part(taken.nominal, power.nominal);
        let share = Known::between(nominal, part(taken.low, power.low), part(taken.high, power.high));
        let inputs = vec![name, format!("line power{place}")];
        let name = format!("share of the line power{place}");
        ledger.figure(figure(&name, share, &["%"], ("heat offered / P'", "definition"), inputs));
    }
}

/// Ready, over and set.
fn window(thermal: &Thermal, (heat, hold): (f64, f64), all: &[String], ledger: &mut Ledger) {
    let window = &thermal.window;
    let known = |span: Span| Known { nominal: span.nominal, low: span.low, high: span.high };
    let inputs = || all.to_vec();
    ledger.figure(figure("ready", known(window.ready), &["s"], SOLVER, inputs()).simplified(SECTION));
    ledger.figure(figure("over", known(window.over), &["s"], SOLVER, inputs()).simplified(SECTION));
    let from = ("given, or the middle of the window", "choice; kept inside what is proved");
    let inputs_of = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let used = figure("heat time", Known::exact(heat), &["s"], from, inputs_of(&["ready", "over"]));
    ledger.figure(used.at_most(window.over.nominal, "over, nominal"));
    let after = Known::between(heat - window.ready.nominal, heat - window.ready.high, heat - window.ready.low);
    let after = figure("heat after ready", after, &["s"], ("heat time − ready", "difference"), inputs_of(&["ready"]));
    ledger.figure(after.at_least(0.0, "ready"));
    let before = Known::between(window.over.nominal - heat, window.over.low - heat, window.over.high - heat);
    let before = figure("heat before over", before, &["s"], ("over − heat time", "difference"), inputs_of(&["over"]));
    ledger.figure(before.at_least(0.0, "over"));
    if let Some(void) = window.void_after {
        let beyond = figure("from over to decomposition", Known::exact(void), &["s"], SOLVER, inputs_of(&["over"]));
        ledger.figure(beyond.simplified("At the nominal only; beyond 220 °C the model says nothing."));
    }
    if let Some(set) = window.set {
        ledger.figure(figure("set", known(set), &["s"], SOLVER, inputs()).simplified(
            "After the heat time as it is: where the unknowns leave the sheet cold it sets at once. An arm that is warm from the \
             parts before holds heat longer.",
        ));
    }
    let from = ("given, or `set`", "choice; its nominal, or its longest where the window is proved");
    ledger.figure(figure("set time", Known::exact(hold), &["s"], from, inputs_of(&["set"])));
}

/// What the heat leads to.
fn ends(case: &Case<'_>, study: &Study, thermal: &Thermal, ledger: &mut Ledger) {
    let ends = &study.ends;
    let inputs = || vec!["heat time".to_owned(), "transfer".to_owned()];
    let limit = |unknown: Unknown| study.unknowns.get(unknown).nominal;
    let hot = figure("hottest point at heater off", known_part(ends.hottest), &["degC"], SOLVER, inputs());
    ledger.figure(hot.at_most(limit(Unknown::Ceiling), "blister temperature, nominal").simplified(SECTION));
    let cold = figure("coldest point of the bend when bent", known_part(ends.coldest), &["degC"], SOLVER, inputs());
    ledger.figure(cold.at_least(limit(Unknown::Softened), "softening temperature, nominal"));
    let mean = figure("mean at the line when bent", known_part(ends.mean), &["degC"], SOLVER, inputs());
    ledger.figure(mean.at_least(limit(Unknown::Forming), "forming temperature, nominal"));
    let width = figure("softened width", ends.softened_width, &["mm"], SOLVER, inputs());
    let recipe = &case.plan.recipe;
    let (bend, line) = (&recipe.part.bends[case.bend], &case.plan.blank.lines[case.bend]);
    ledger.figure(if bend.radius == Radius::Free {
        width
    } else {
        width.at_least(line.arc.nominal(), "length of the arc")
    });
    if bend.radius == Radius::Free {
        let formula = ("softened width / θ − K h", "the heated zone is evenly curved");
        let inputs = vec!["softened width".to_owned(), "angle".to_owned(), "thickness".to_owned()];
        ledger.figure(figure("radius of the free bend", Known::exact(thermal.radius), &["mm"], formula, inputs));
    }
    let taken = figure("heat taken by the sheet", ends.taken, &["kJ/m"], SOLVER, inputs());
    ledger.figure(taken.simplified("Net of what the sheet loses while it is heated. Where the unknowns take the sheet past 220 °C, the upper bound means \
         nothing but more."));
    if recipe.bench.arms[recipe.bends[case.bend].arm].heater.shield.is_some() {
        let shield = figure("shield at heater off", ends.shield, &["degC"], SOLVER, inputs());
        ledger.figure(shield.simplified("One temperature for the whole shield."));
    }
}

/// A temperature of the sheet as far as the model means anything: past decomposition it is only known to be beyond.
fn known_part(temperature: Known) -> Known {
    let void = crate::plan::thermal::VOID_CELSIUS + 273.15;
    let part = |temperature: f64| if temperature > void { f64::INFINITY } else { temperature };
    Known { nominal: part(temperature.nominal), low: part(temperature.low), high: part(temperature.high) }
}
