use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "idle-acceptance",
    class: Class::Hint,
    group: "library",
    summary: "An acceptance silences nothing.",
    page: include_str!("idle_acceptance.md"),
    check: Check::Acceptance,
};
