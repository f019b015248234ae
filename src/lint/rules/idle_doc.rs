use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "idle-doc",
    class: Class::Hint,
    group: "library",
    summary: "A doc comment stands above nothing.",
    page: include_str!("idle_doc.md"),
    check: Check::Tree,
};
