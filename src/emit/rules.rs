//! The list of rules and the page of one, for people at a terminal.

use std::fmt::Write;

use crate::lint::{RULES, Rule, rule};
use crate::names::nearest;

/// Every rule by group: its name, its class and what it finds.
pub fn rule_list() -> String {
    let mut text = String::new();
    let width = RULES.iter().map(|rule| rule.name.len()).max().unwrap_or(0);
    let mut group = "";
    for rule in RULES {
        if rule.group != group {
            group = rule.group;
            let _ = writeln!(text, "{}{group}", if text.is_empty() { "" } else { "\n" });
        }
        let _ = writeln!(text, "  {:width$}  {:7}  {}", rule.name, rule.class.word(), rule.summary);
    }
    text.push_str("\n`withy rules NAME` shows the page of one rule.\n");
    text
}

/// The page of a rule, in Markdown.
pub fn rule_page(rule: &Rule) -> String {
    format!("# {}\n\nclass {}, group {}: {}\n\n{}", rule.name, rule.class.word(), rule.group, rule.summary, rule.page)
}

/// The page of the rule with this name, else why there is none.
pub fn page_of(name: &str) -> Result<String, String> {
    if let Some(rule) = rule(name) {
        return Ok(rule_page(rule));
    }
    let near = nearest(name, RULES.iter().map(|rule| rule.name));
    let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    Err(format!("there is no rule `{name}`{near} `withy rules` lists all"))
}
