use crate::report::Class;

/// What a report says about a rule, once for all its findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RuleInfo<'a> {
    /// The rule's name in kebab-case.
    pub name: &'a str,
    /// The class its findings have.
    pub class: Class,
    /// One sentence on what it finds.
    pub summary: &'a str,
    /// The rule's page, in Markdown.
    pub help: &'a str,
}
