use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-fuse",
    class: Class::Danger,
    group: "supply",
    summary: "A supply or heater has no fuse.",
    page: include_str!("missing_fuse.md"),
    check: Check::Bench(check),
};

/// A supply without a fuse feeds a heater without one: a short circuit burns the leads.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for arm in &bench.bench.arms {
        let (heater, supply) = (&arm.heater, &arm.heater.supply);
        if heater.fuse.is_some() || supply.fuse.is_some() {
            continue;
        }
        report.push(
            RULE.finding(supply.rated.span,
                format!("nothing fuses `{}`, which feeds `{}`", supply.name, heater.name),
            )
            .here("a short circuit draws this current or more, until something burns")
            .also(heater.length.span, "this heater has no fuse of its own either")
            .help("Fit a fuse close to the supply, not above what the supply is rated for nor above what the leads stand, and write it: `fuse … A`. The local code decides."),
        );
    }
}
