//! Figures of the hot wire.

use crate::model::{Curve, Heater, Line};
use crate::physics::table::Table;
use crate::plan::LineElectric;
use crate::plan::account::{Case, Figure, Group, Ledger, Origin, line_suffix, over_corners, plain};
use crate::plan::hot_wire::{HotWire, TABLES, hot_wire};
use crate::units::{Bounded, Known};

/// What the balance of a wire leaves out.
const FREE: &str = "The wire is taken as bare in free, still air at room temperature: the shield and the sheet above it \
throw heat back and make it hotter, a draught makes it cooler.";

/// The wire of each line of the bend's heater.
pub(super) fn figures(case: &Case<'_>, ledger: &mut Ledger) {
    let settings = &case.plan.recipe.bends[case.bend];
    let heater = &case.plan.recipe.bench.arms[settings.arm].heater;
    let ambient = Known::from(&case.plan.recipe.ambient.value);
    let room = ledger.input("room temperature", "Ta", ambient, "degC", Origin::Place(case.plan.recipe.ambient.span));
    for (line, electric) in heater.lines.iter().zip(&case.plan.bends[case.bend].electric.lines) {
        let place = line_suffix(heater.lines.len(), line.place);
        one(&One { heater, line, electric, ambient, room: &room, place }, ledger);
    }
}

/// One line of a heater.
struct One<'a> {
    heater: &'a Heater,
    line: &'a Line,
    electric: &'a LineElectric,
    ambient: Known,
    room: &'a str,
    place: &'static str,
}

impl One<'_> {
    fn name(&self, what: &str) -> String {
        format!("{what}{}", self.place)
    }

    fn figure(
        &self,
        what: &str,
        value: Known,
        units: &'static [&'static str],
        formula: (&'static str, &'static str),
        inputs: Vec<String>,
    ) -> Figure {
        plain(Group::Wire, self.name(what), value, units, formula, inputs)
    }
}

fn one(one: &One<'_>, ledger: &mut Ledger) {
    electric(one, ledger);
    let Some(hot) = hot_wire(one.heater, one.line, one.electric, one.ambient) else { return };
    heat(one, ledger, hot.temperature);
    mechanics(one, ledger, &hot);
}

/// Resistance, power and their densities.
fn electric(one: &One<'_>, ledger: &mut Ledger) {
    let (wire, length) = (&one.line.wire, &one.heater.length);
    let at = Known::from;
    let long = ledger.input("heated length", "L", at(&length.value), "mm", Origin::Place(length.span));
    let diameter = ledger.input(
        &one.name("diameter of the wire"),
        "d",
        at(&wire.diameter.value),
        "mm",
        Origin::Place(wire.diameter.span),
    );
    let (formula, inputs) = if let Some(measured) = &wire.measured {
        let origin = |what| Origin::Entry(wire.diameter.span, "measured", what);
        let ohms = ledger.input(
            &one.name("measured resistance"),
            "Rm",
            at(&measured.resistance),
            "ohm",
            origin("not measured"),
        );
        let piece = ledger.input(&one.name("length measured"), "l", at(&measured.length), "mm", origin("not measured"));
        ("R20 = Rm / Ct(T) · L / l", vec![ohms, piece, long.clone()])
    } else {
        let resistivity = ledger.input(
            &one.name("resistivity at 20 degC"),
            "ρ20",
            at(&wire.alloy.resistivity.value),
            "ohm*cmil/ft",
            Origin::Place(wire.alloy.resistivity.span),
        );
        ("R20 = ρ20 L / (π d²/4)", vec![resistivity, long.clone(), diameter.clone()])
    };
    let basis = "definition of resistivity";
    ledger.figure(one.figure("cold resistance", at(&one.electric.cold), &["ohm"], (formula, basis), inputs));
    let factor = at_curve(&wire.alloy.hot_factor, one.electric.temperature);
    let hot_factor = ledger.input(
        &one.name("hot factor"),
        "Ct",
        factor,
        "",
        Origin::Entry(wire.alloy.resistivity.span, "hot_factor", "not known"),
    );
    let inputs = vec![one.name("cold resistance"), hot_factor, one.name("wire temperature")];
    let formula = ("R = R20 Ct(T), at the steady wire temperature", "the alloy's table");
    ledger.figure(one.figure("hot resistance", at(&one.electric.hot), &["ohm"], formula, inputs));
    let inputs = vec!["voltage".to_owned(), one.name("hot resistance"), "resistance of the leads".to_owned()];
    let formula = ("I of this line, by the heater's wiring", "Ohm's law");
    ledger.figure(one.figure("current of the line", at(&one.electric.current), &["A"], formula, inputs));
    let power = one.electric.line_power.mul(&length.value).map_or_else(
        |_| Known::exact(one.electric.line_power.nominal() * length.value.nominal()),
        |power| Known::from(&power),
    );
    let inputs = vec![one.name("current of the line"), one.name("hot resistance")];
    ledger.figure(one.figure("power", power, &["W"], ("P = I² R", "Joule's law"), inputs));
    let inputs = vec![one.name("power"), long];
    let line_power = at(&one.electric.line_power);
    ledger.figure(one.figure("line power", line_power, &["W/in", "W/m"], ("P' = P / L", "definition"), inputs));
    let surface = over_corners([line_power, at(&wire.diameter.value)], |[power, diameter]| {
        power / (std::f64::consts::PI * diameter)
    });
    let inputs = vec![one.name("line power"), diameter];
    ledger.figure(one.figure("surface power", surface, &["W/cm2"], ("P' / (π d)", "definition"), inputs));
}

/// Temperature and its margin.
fn heat(one: &One<'_>, ledger: &mut Ledger, temperature: Known) {
    let wire = &one.line.wire;
    let emissivity = Known::from(&wire.alloy.emissivity.value);
    let tables = Known::within_share(1.0, TABLES);
    let emissive = ledger.input(
        &one.name("emissivity of the wire"),
        "ε",
        emissivity,
        "",
        Origin::Place(wire.alloy.emissivity.span),
    );
    let model = ledger.input(
        "current by the wire model against published tables",
        "",
        tables,
        "",
        Origin::Model(
            super::Basis::Published,
            "current and temperature tables of wire makers, reproduced within 12 % of the current",
        ),
    );
    let inputs = vec![one.name("line power"), one.name("diameter of the wire"), emissive, model, one.room.to_owned()];
    let formula = (
        "P' = π d [h (T − Ta) + ε σ (T⁴ − Ta⁴)], h of a horizontal cylinder",
        "Morgan, Adv. Heat Transfer 11 (1975), for h; Stefan and Boltzmann's law",
    );
    ledger.figure(one.figure("wire temperature", temperature, &["degC"], formula, inputs).simplified(FREE));
    let limit = wire.alloy.limit.value.nominal();
    let margin = Known::between(limit - temperature.nominal, limit - temperature.high, limit - temperature.low);
    let top = ledger.input(
        &one.name("highest temperature of the alloy"),
        "",
        Known::from(&wire.alloy.limit.value),
        "degC",
        Origin::Place(wire.alloy.limit.span),
    );
    let inputs = vec![top, one.name("wire temperature")];
    let margin = one.figure("margin to the alloy's limit", margin, &["K"], ("limit − T", "difference"), inputs);
    ledger.figure(margin.at_least(0.0, "the alloy's limit"));
}

/// Growth, spring, stress and sag.
fn mechanics(one: &One<'_>, ledger: &mut Ledger, hot: &HotWire) {
    let wire = &one.line.wire;
    let (Some(growth), Some(sag)) = (hot.growth, hot.slack_sag) else { return };
    let gap = Known::from(&one.line.gap.value);
    let expansion = ledger.input(
        &one.name("mean expansion of the wire"),
        "ᾱ",
        at_curve(&wire.alloy.mean_expansion, hot.temperature.nominal),
        "um/(m K)",
        Origin::Entry(wire.alloy.resistivity.span, "mean_expansion", "not known"),
    );
    let inputs = vec!["heated length".to_owned(), expansion, one.name("wire temperature")];
    let formula = ("ΔL = L ᾱ(T) (T − 20 °C)", "definition of the mean expansion");
    ledger.figure(one.figure("growth", growth, &["mm"], formula, inputs));
    let clear = ledger.input(&one.name("gap"), "g", gap, "mm", Origin::Place(one.line.gap.span));
    let inputs = vec!["heated length".to_owned(), one.name("growth")];
    let formula = ("√(3 L ΔL / 8)", "shallow parabola between fixed ends");
    let sagging = one.figure("sag without a spring", sag, &["mm"], formula, inputs);
    let (Some(spring), Some(taut)) = (&one.heater.spring, &hot.taut) else {
        ledger.figure(sagging.at_most(gap.low, "the gap"));
        return;
    };
    ledger.figure(sagging);
    let at = |given: &crate::model::Given<Bounded>| Known::from(&given.value);
    let rate = ledger.input("rate of the spring", "k", at(&spring.rate), "N/mm", Origin::Place(spring.rate.span));
    let preload = ledger.input("preload", "F0", at(&spring.preload), "N", Origin::Place(spring.preload.span));
    let travel = ledger.input("travel of the spring", "", at(&spring.travel), "mm", Origin::Place(spring.travel.span));
    let inputs = vec![preload, rate, one.name("growth")];
    let hot =
        one.figure("spring force hot", taut.force, &["N"], ("F = F0 − k ΔL, never below 0", "Hooke's law"), inputs);
    ledger.figure(hot.at_least(0.0, "a slack wire"));
    let inputs = vec![travel, one.name("growth")];
    let left =
        one.figure("travel of the spring left", taut.travel_left, &["mm"], ("travel − ΔL", "difference"), inputs);
    ledger.figure(left.at_least(0.0, "the spring's stop"));
    let inputs = vec![one.name("spring force hot"), one.name("diameter of the wire")];
    let stress = one.figure("hot stress", taut.stress, &["MPa"], ("F / (π d²/4)", "definition"), inputs);
    ledger.figure(stress.simplified(
        "No limit is known to the catalogue: hot wire creeps under pull, so that the spring has to be looked at again \
         after the first hours.",
    ));
    let inputs = vec!["heated length".to_owned(), one.name("spring force hot"), clear];
    let formula = ("w L² / (8 F), w the weight per length", "shallow parabola of a taut wire");
    ledger.figure(one.figure("sag with the spring", taut.sag, &["mm"], formula, inputs).at_most(gap.low, "the gap"));
}

/// A curve at a temperature, with its bounds there.
fn at_curve(curve: &Curve, temperature: f64) -> Known {
    let at = |pick: fn(&Bounded) -> f64| {
        let points = curve.points.iter().map(|(at, value)| (*at, pick(value))).collect();
        Table::new(points).map_or(f64::NAN, |table| table.at(temperature))
    };
    Known::between(at(Bounded::nominal), at(Bounded::low), at(Bounded::high))
}
