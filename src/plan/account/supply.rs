//! Figures of supply, fuses and leads.

use crate::model::{Heater, Supply, Wiring};
use crate::physics::supply;
use crate::plan::account::{Case, Figure, Group, Ledger, Origin, of_lines, over_corners, plain};
use crate::units::Known;

const OHM: &str = "Ohm's law";

fn figure(
    name: impl Into<String>,
    value: Known,
    units: &'static [&'static str],
    formula: (&'static str, &'static str),
    inputs: Vec<String>,
) -> Figure {
    plain(Group::Supply, name, value, units, formula, inputs)
}

/// What the bend's heater draws, and what has to carry it.
pub(super) fn figures(case: &Case<'_>, ledger: &mut Ledger) {
    let settings = &case.plan.recipe.bends[case.bend];
    let heater = &case.plan.recipe.bench.arms[settings.arm].heater;
    let made = &case.plan.bends[case.bend];
    let source = &heater.supply;
    let current = Known::from(&made.electric.current);
    let volts = Known::from(&source.voltage.value);
    ledger.input("voltage", "U", volts, "V", Origin::Place(source.voltage.span));
    let formula = match (heater.wiring, source.at_wire) {
        (Wiring::Single, true) => "I = U / R, U at the wire",
        (Wiring::Series, true) => "I = U / (R1 + R2), U at the wire",
        (Wiring::Parallel, true) => "I = U (1/R1 + 1/R2), U at the wire",
        (Wiring::Single, false) => "I = U / (Rl + R)",
        (Wiring::Series, false) => "I = U / (Rl + R1 + R2)",
        (Wiring::Parallel, false) => "I = U / (Rl + R1 R2 / (R1 + R2))",
    };
    let mut inputs = of_lines(heater, "hot resistance");
    inputs.extend(["voltage".to_owned(), "resistance of the leads".to_owned()]);
    ledger.figure(figure("current of the heater", current, &["A"], (formula, OHM), inputs));
    leads(heater, current, ledger);
    drawn(case, source, ledger);
    fuses(heater, current, ledger);
    energy(case, heater, ledger);
}

/// Resistance, drop and current density of the leads.
fn leads(heater: &Heater, current: Known, ledger: &mut Ledger) {
    let leads = &heater.leads;
    let resistivity = Known::from(&leads.metal.resistivity);
    let (length, area) = (Known::from(&leads.length.value), Known::from(&leads.area.value));
    let ohms = over_corners([resistivity, length, area], |[rho, length, area]| 2.0 * rho * length / area);
    let origin = Origin::Declared(leads.metal.name.clone(), "resistivity");
    let rho = ledger.input("resistivity of the leads", "ρ", resistivity, "ohm*mm2/m", origin);
    let long = ledger.input("length of one lead", "l", length, "m", Origin::Place(leads.length.span));
    let section = ledger.input("section of a lead", "A", area, "mm2", Origin::Place(leads.area.span));
    let formula = ("Rl = 2 ρ l / A, at 20 °C", "definition of resistivity");
    let cold = figure("resistance of the leads", ohms, &["mohm"], formula, vec![rho, long, section.clone()]);
    ledger.figure(cold.simplified("Terminals, switch and fuse are not counted, and a warm lead has a little more."));
    let drop = over_corners([current, ohms], |[current, ohms]| supply::lead_drop(current, ohms));
    let inputs = vec!["current of the heater".to_owned(), "resistance of the leads".to_owned()];
    let drop = figure("drop in the leads", drop, &["V"], ("I Rl", OHM), inputs);
    ledger.figure(if heater.supply.at_wire {
        drop.simplified("The voltage was measured at the wire: the supply gives this much more at its terminals.")
    } else {
        drop
    });
    let density = over_corners([current, area], |[current, area]| current / area);
    let inputs = vec!["current of the heater".to_owned(), section];
    let density = figure("current density in the leads", density, &["A/mm2"], ("I / A", "definition"), inputs);
    ledger.figure(density.simplified("What a lead may carry is for the local code to say; it is not judged here."));
}

/// What is drawn at once from the supply.
fn drawn(case: &Case<'_>, source: &Supply, ledger: &mut Ledger) {
    let Some(drawn) = case.plan.currents.get(&source.id).map(Known::from) else { return };
    let origin = Origin::Entry(source.voltage.span, "continuous", "80 %, which is common practice");
    let share = ledger.input("continuous share", "c", Known::exact(source.continuous), "%", origin);
    let rated = Known::from(&source.rated.value);
    let rating = ledger.input("rating of the supply", "", rated, "A", Origin::Place(source.rated.span));
    let limit = rated.low * source.continuous;
    let inputs = vec!["current of the heater".to_owned(), rating, share.clone()];
    let formula = ("the most that bends made at once draw, steady", "sum of currents");
    let most = figure("drawn from the supply", drawn, &["A"], formula, inputs);
    ledger.figure(most.at_most(limit, "rating × continuous share").simplified(
        "Batches are counted one part after the other. Inrush of the cold wire is a few per cent more for seconds.",
    ));
    if let Some(fuse) = source.fuse {
        let name = ledger.input("fuse of the supply", "", Known::exact(fuse.value), "A", Origin::Place(fuse.span));
        let inputs = vec![name, share, "drawn from the supply".to_owned()];
        ledger.figure(margin("margin of the supply's fuse", fuse.value * source.continuous, drawn, inputs));
    }
}

/// What is left of the heater's own fuse.
fn fuses(heater: &Heater, current: Known, ledger: &mut Ledger) {
    let Some(fuse) = heater.fuse else { return };
    let continuous = heater.supply.continuous;
    let name = ledger.input("fuse of the heater", "", Known::exact(fuse.value), "A", Origin::Place(fuse.span));
    let inputs = vec![name, "continuous share".to_owned(), "current of the heater".to_owned()];
    ledger.figure(margin("margin of the heater's fuse", fuse.value * continuous, current, inputs));
}

fn margin(name: &str, allowed: f64, current: Known, inputs: Vec<String>) -> Figure {
    let left = Known::between(allowed - current.nominal, allowed - current.high, allowed - current.low);
    let formula = ("fuse × continuous share − I", "common practice for fuses under load for long");
    figure(name, left, &["A"], formula, inputs).at_least(0.0, "what the fuse carries for long")
}

/// What the heaters take.
fn energy(case: &Case<'_>, heater: &Heater, ledger: &mut Ledger) {
    let made = &case.plan.bends[case.bend];
    let seconds: f64 = made.heat.iter().map(|level| level.time * level.share).sum();
    let length = Known::from(&heater.length.value);
    let powers = made
        .electric
        .lines
        .iter()
        .map(|line| over_corners([Known::from(&line.line_power), length], |[power, length]| power * length));
    let power = powers.fold(Known::exact(0.0), |sum, power| supply::sum(&[sum, power]));
    let bend = Known::between(power.nominal * seconds, power.low * seconds, power.high * seconds);
    let formula = ("Σ P × share × time over the stages", "definition");
    let mut inputs = of_lines(heater, "power");
    inputs.push("heat time".to_owned());
    let simple = "At the steady power of the hot wire; what leads and supply lose comes on top.";
    ledger.figure(figure("energy of the bend", bend, &["kJ", "Wh"], formula, inputs).simplified(simple));
    let part = Known::from(&case.plan.energy);
    let formula = ("sum over the bends of one part", "definition");
    let inputs = vec!["energy of the bend".to_owned()];
    ledger.figure(figure("energy of one part", part, &["kJ", "Wh"], formula, inputs));
}
