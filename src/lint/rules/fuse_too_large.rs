use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::BenchUse;
use crate::physics::supply::{conductor_limit, fuse_fits};
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "fuse-too-large",
    class: Class::Warning,
    group: "supply",
    summary: "The fuse does not protect the leads.",
    page: include_str!("fuse_too_large.md"),
    check: Check::Bench(check),
};

/// A fuse that lets more through than the leads may carry. Leads that are too thin for the working current already have
/// `lead-too-thin`.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for used in bench.used {
        let heater = used.heater;
        let fuses = [heater.fuse, heater.supply.fuse].into_iter().flatten();
        let Some(fuse) = fuses.min_by(|a, b| a.value.total_cmp(&b.value)) else { continue };
        let limit = conductor_limit(heater.leads.area.value.low());
        let current = Known::from(&used.electric.current);
        let (_, guards) = fuse_fits(fuse.value, current, heater.supply.continuous, limit);
        if guards || current.high > limit {
            continue;
        }
        report.push(
            RULE.finding(fuse.span, format!("the fuse does not protect the leads of `{}`", heater.name))
                .here("a fault can draw this for long")
                .also(heater.leads.area.span, "the leads")
                .figure(figure(
                    "fuse",
                    Known::exact(fuse.value),
                    "A",
                    Some((limit, "copper of this section in a US table; the local code decides")),
                ))
                .help("Take a smaller fuse, if it still carries the load, or thicker leads. The local code decides."),
        );
    }
}
