//! The hot wire of one line: how hot, how long and how taut it is, over what is known.

use crate::model::{Alloy, Heater, Line};
use crate::physics::table::Table;
use crate::physics::{tension, wire};
use crate::plan::account::over_corners;
use crate::plan::electric::{LineElectric, alloy};
use crate::units::{Bounded, Known};

/// How far the currents of published current and temperature tables lie from the model, as a share.
pub(super) const TABLES: f64 = 0.12;

/// A wire that is hot and steady at full power, in free air.
#[derive(Clone, Debug)]
pub struct HotWire {
    /// K
    pub temperature: Known,
    /// What it is longer than at 20 °C, m; none where the alloy's expansion is not known.
    pub growth: Option<Known>,
    /// How far it would hang if both its ends were fixed, m.
    pub slack_sag: Option<Known>,
    /// What its spring does; none without a spring.
    pub taut: Option<Taut>,
}

/// A hot wire on its spring.
#[derive(Clone, Debug)]
pub struct Taut {
    /// What the spring still pulls with, N; 0 where it has gone slack.
    pub force: Known,
    /// Travel beyond what the growth takes, m; below 0 the spring stands on its stop.
    pub travel_left: Known,
    /// Pull in the wire, Pa.
    pub stress: Known,
    /// Sag at mid-span, m; infinite where the spring has gone slack.
    pub sag: Known,
}

/// The hot wire of a line in a room at `ambient` (K); none where the alloy lacks a curve.
pub fn hot_wire(heater: &Heater, line: &Line, electric: &LineElectric, ambient: Known) -> Option<HotWire> {
    let wire = &line.wire;
    let made_of = alloy(&wire.alloy).ok()?;
    let emissivity = Known::from(&wire.alloy.emissivity.value);
    let tables = Known::within_share(1.0, TABLES);
    let nominal = wire.diameter.value.nominal();
    let balance = |[power, emissivity, tables, ambient]: [f64; 4]| {
        let wire = wire::Wire {
            alloy: &made_of,
            diameter: nominal,
            length: heater.length.value.nominal(),
            resistance: electric.cold.nominal(),
            emissivity,
        };
        // A current that is wrong by a share is a power that is wrong by its square.
        wire.temperature_at_power(power * tables * tables, ambient).unwrap_or(f64::INFINITY)
    };
    let temperature = over_corners([Known::from(&electric.line_power), emissivity, tables, ambient], balance);
    let length = Known::from(&heater.length.value);
    let Some(growth) = growth(&wire.alloy, length, temperature) else {
        return Some(HotWire { temperature, growth: None, slack_sag: None, taut: None });
    };
    let slack_sag = over_corners([length, growth], |[length, growth]| tension::slack_sag(length, growth));
    let diameter = Known::from(&wire.diameter.value);
    let taut = heater.spring.as_ref().map(|spring| {
        let at = |given: &crate::model::Given<Bounded>| Known::from(&given.value);
        let force = over_corners([at(&spring.preload), at(&spring.rate), growth], |[preload, rate, growth]| {
            tension::spring_force_hot(preload, rate, growth)
        });
        let travel_left =
            over_corners([at(&spring.travel), growth], |[travel, growth]| tension::spring_travel_left(travel, growth));
        let stress = over_corners([force, diameter], |[force, diameter]| tension::stress(force, diameter));
        let sag = over_corners([length, diameter, force], |[length, diameter, force]| {
            tension::sag(&made_of, length, diameter, force)
        });
        Taut { force, travel_left, stress, sag }
    });
    Some(HotWire { temperature, growth: Some(growth), slack_sag: Some(slack_sag), taut })
}

/// Growth over the bounds of length, temperature and the table of expansion.
fn growth(alloy: &Alloy, length: Known, temperature: Known) -> Option<Known> {
    let at = |pick: fn(&Bounded) -> f64, length: f64, temperature: f64| {
        let points = alloy.mean_expansion.points.iter().map(|(at, value)| (*at, pick(value))).collect();
        let mean = Table::new(points).ok()?.at(temperature);
        Some(length * mean * (temperature - wire::REFERENCE))
    };
    Some(Known::between(
        at(Bounded::nominal, length.nominal, temperature.nominal)?,
        at(Bounded::low, length.low, temperature.low)?,
        at(Bounded::high, length.high, temperature.high)?,
    ))
}
