//! What rules for springs have in common: they look at each hot wire that one pulls.

use crate::lint::run::BenchUse;
use crate::model::{Heater, Line, Spring};
use crate::plan::{HotWire, Taut};
use crate::report::Diagnostic;

/// A hot wire that a spring pulls.
pub struct Pulled<'a> {
    pub heater: &'a Heater,
    pub spring: &'a Spring,
    pub line: &'a Line,
    pub hot: &'a HotWire,
    pub taut: &'a Taut,
}

/// One finding a heater at most, since its lines are pulled alike: the first.
pub fn first_of_each(
    bench: BenchUse<'_>,
    report: &mut Vec<Diagnostic>,
    find: impl Fn(Pulled<'_>) -> Option<Diagnostic>,
) {
    for used in bench.used {
        let Some(spring) = &used.heater.spring else { continue };
        let pulled = used.lines().filter_map(|(line, hot)| {
            let taut = hot.taut.as_ref()?;
            Some(Pulled { heater: used.heater, spring, line, hot, taut })
        });
        report.extend(pulled.into_iter().find_map(&find));
    }
}
