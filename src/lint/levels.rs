//! How grave the findings of each rule are in one library.

use std::collections::BTreeMap;

use crate::lint::registry::{RULES, Rule, rule};
use crate::report::{Class, Diagnostic, Subject};

/// What a library says about a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// The rule is not looked at.
    Off,
    /// Its findings have this class.
    Class(Class),
}

impl Level {
    /// The level of a word; none if there is no such level.
    pub fn of(word: &str) -> Option<Self> {
        let class = Class::ALL.into_iter().find(|class| class.word() == word);
        if word == "off" { Some(Self::Off) } else { class.map(Self::Class) }
    }

    /// The words of all levels.
    pub fn words() -> Vec<&'static str> {
        Class::ALL.into_iter().map(Class::word).chain(["off"]).collect()
    }
}

/// The levels of a library. A rule of the class danger keeps it, whatever is asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Levels {
    given: BTreeMap<&'static str, Level>,
}

impl Levels {
    /// Gives a rule a level. False, and nothing is changed, where that would lower a danger.
    #[must_use]
    pub fn set(&mut self, rule: &'static Rule, level: Level) -> bool {
        if rule.class == Class::Danger {
            return level == Level::Class(Class::Danger);
        }
        self.given.insert(rule.name, level);
        true
    }

    /// Gives a level to the rules of a group that are no dangers. False if there is no such group.
    #[must_use]
    pub fn set_group(&mut self, group: &str, level: Level) -> bool {
        let mut known = false;
        for rule in RULES.iter().filter(|rule| rule.group == group) {
            known = true;
            if rule.class != Class::Danger {
                self.given.insert(rule.name, level);
            }
        }
        known
    }

    /// The class that findings of a rule have here; none if the rule is off.
    pub fn class(&self, rule: &Rule) -> Option<Class> {
        match self.given.get(rule.name) {
            None => Some(rule.class),
            Some(Level::Off) => None,
            Some(Level::Class(class)) => Some(*class),
        }
    }

    /// A finding with the class it has here; none if its rule is off. Errors are as they are.
    pub fn apply(&self, mut finding: Diagnostic) -> Option<Diagnostic> {
        if let Subject::Rule(name, class) = finding.subject
            && self.given.contains_key(name)
        {
            let class = rule(name).map_or(Some(class), |rule| self.class(rule))?;
            finding.subject = Subject::Rule(name, class);
        }
        Some(finding)
    }
}

/// The groups of rules, in the order of the registry.
pub fn groups() -> Vec<&'static str> {
    let mut groups: Vec<&str> = RULES.iter().map(|rule| rule.group).collect();
    groups.dedup();
    groups
}

#[cfg(test)]
mod tests {
    use super::{Level, Levels, groups};
    use crate::lint::registry::{RULES, rule};
    use crate::report::{Class, Diagnostic, Subject};
    use crate::text::{FileId, Span};

    #[test]
    fn no_level_lowers_a_danger() {
        let dangers = || RULES.iter().filter(|rule| rule.class == Class::Danger);
        assert!(dangers().count() > 5);
        for level in Level::words().into_iter().filter_map(Level::of) {
            let mut levels = Levels::default();
            for danger in dangers() {
                assert_eq!(levels.set(danger, level), level == Level::Class(Class::Danger), "{}", danger.name);
            }
            for group in groups() {
                assert!(levels.set_group(group, level), "{group}");
            }
            for danger in dangers() {
                assert_eq!(levels.class(danger), Some(Class::Danger), "{}", danger.name);
            }
        }
    }

    #[test]
    fn findings_get_the_level_of_their_rule() {
        let finding = |name, class| Diagnostic::rule(name, class, Span::new(FileId(0), 0, 0), "");
        let mut levels = Levels::default();
        assert!(levels.set_group("library", Level::Off));
        let calibrated = rule("uncalibrated-heater").filter(|rule| levels.set(rule, Level::Class(Class::Warning)));
        assert!(calibrated.is_some());
        assert_eq!(levels.apply(finding("undocumented-part", Class::Hint)), None);
        let raised = levels.apply(finding("uncalibrated-heater", Class::Notice)).map(|finding| finding.subject);
        assert_eq!(raised, Some(Subject::Rule("uncalibrated-heater", Class::Warning)));
        let fault = Diagnostic::error("unknown-name", Span::new(FileId(0), 0, 0), "");
        assert_eq!(levels.apply(fault.clone()), Some(fault));
        assert!(!levels.set_group("bends", Level::Off));
    }
}
