//! How rules show a figure.

use crate::report::Figure;
use crate::units::{Known, Unit, in_unit};

/// A figure in SI units, shown in `unit`, against a limit and where that comes from.
pub fn figure(name: &str, value: Known, unit: &str, limit: Option<(f64, &str)>) -> Figure {
    let parsed = Unit::parse(unit).ok();
    let shown = |value: f64| match &parsed {
        Some(unit) if value.is_finite() => in_unit(value, unit),
        _ => value,
    };
    Figure {
        name: name.to_owned(),
        value: shown(value.nominal),
        low: shown(value.low),
        high: shown(value.high),
        unit: unit.to_owned(),
        limit: limit.map(|limit| shown(limit.0)),
        limit_source: limit.map(|limit| limit.1.to_owned()),
    }
}
