use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "stale-acceptance",
    class: Class::Notice,
    group: "library",
    summary: "An acceptance is past its date.",
    page: include_str!("stale_acceptance.md"),
    check: Check::Acceptance,
};
