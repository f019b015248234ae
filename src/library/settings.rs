//! `withy.toml`, which stands at the root of a library.

use std::ops::Range;
use std::path::{Component, Path, PathBuf};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::library::io::Io;
use crate::library::load::plain;
use crate::lint::{Level, Levels, RULES, groups, rule};
use crate::names::nearest;
use crate::report::{Class, Diagnostic};
use crate::text::{FileId, Span};

/// The name of the file.
pub const SETTINGS: &str = "withy.toml";

/// What may stand in it.
const KEYS: [&str; 4] = ["sources", "targets", "fail_on", "levels"];

/// What a library says about itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Folders and files that are checked and formatted where none are named; the whole library if there are none.
    pub sources: Vec<PathBuf>,
    /// Folders and files whose recipes and batches are compiled where none are named; the sources if there are none.
    pub targets: Vec<PathBuf>,
    /// The class from which a check fails.
    pub fail_on: Class,
    /// How grave the findings of rules are.
    pub levels: Levels,
}

impl Default for Settings {
    fn default() -> Self {
        Self { sources: Vec::new(), targets: Vec::new(), fail_on: Class::Warning, levels: Levels::default() }
    }
}

/// The settings of the library at `root`, and what is wrong with them; what is wrong counts as not said.
pub fn read_settings(io: &dyn Io, root: &Path, file: FileId, text: &str) -> (Settings, Vec<Diagnostic>) {
    let mark = text.len() - text.trim_start_matches('\u{feff}').len();
    let (table, errors) = DeTable::parse_recoverable(text.get(mark..).unwrap_or_default());
    let mut reader = Reader { io, root, file, mark, settings: Settings::default(), faults: Vec::new() };
    for error in errors {
        let span = error.span().unwrap_or_default();
        let fault = reader.fault("settings-syntax", span, "this is not written as TOML wants it");
        reader.faults.push(fault.here(error.message()).help("For example: `fail_on = \"warning\"`."));
    }
    let broken = reader.faults.len();
    for (key, value) in table.get_ref() {
        reader.entry(key, value);
    }
    if broken > 0 {
        // What seems wrong besides may only seem so because of what is broken.
        reader.faults.truncate(broken);
    }
    (reader.settings, reader.faults)
}

struct Reader<'a> {
    io: &'a dyn Io,
    root: &'a Path,
    file: FileId,
    /// The length of a byte order mark, which the TOML reader is not given.
    mark: usize,
    settings: Settings,
    faults: Vec<Diagnostic>,
}

type Key<'t> = Spanned<toml::de::DeString<'t>>;
type Value<'t> = Spanned<DeValue<'t>>;

impl Reader<'_> {
    fn span(&self, range: Range<usize>) -> Span {
        let at = |offset: usize| u32::try_from(offset + self.mark).unwrap_or(u32::MAX);
        Span::new(self.file, at(range.start), at(range.end))
    }

    fn fault(&self, name: &'static str, range: Range<usize>, headline: impl Into<String>) -> Diagnostic {
        Diagnostic::error(name, self.span(range), headline)
    }

    fn entry(&mut self, key: &Key<'_>, value: &Value<'_>) {
        match key.get_ref().as_ref() {
            "sources" => self.settings.sources = self.paths("sources", value),
            "targets" => self.settings.targets = self.paths("targets", value),
            "fail_on" => self.fail_on(value),
            "levels" => self.levels(value),
            other => {
                let fault = self.fault("unknown-setting", key.span(), format!("there is no setting `{other}`"));
                let keys = KEYS.map(|key| format!("`{key}`")).join(", ");
                let fault = fault.here("not known");
                self.faults.push(match nearest(other, KEYS) {
                    Some(near) => fault.edit(format!("write `{near}`"), self.span(key.span()), near),
                    None => fault.help(format!("There are {keys}.")),
                });
            }
        }
    }

    fn wrong(&mut self, value: &Value<'_>, headline: &str, help: &str) {
        let fault = self.fault("wrong-setting", value.span(), headline);
        let here = format!("this is {}", described(value.get_ref()));
        self.faults.push(fault.here(here).help(help));
    }

    fn fail_on(&mut self, value: &Value<'_>) {
        let words = Class::ALL.map(Class::word);
        let help = format!("There are {}.", words.map(|word| format!("`\"{word}\"`")).join(", "));
        let Some(word) = value.get_ref().as_str() else {
            self.wrong(value, "`fail_on` takes the class from which a check fails", &help);
            return;
        };
        match Class::ALL.into_iter().find(|class| class.word() == word) {
            Some(class) => self.settings.fail_on = class,
            None => self.no_such("class", word, value, &words, &help),
        }
    }

    fn no_such(&mut self, what: &str, word: &str, value: &Value<'_>, words: &[&str], help: &str) {
        let fault = self.fault("wrong-setting", value.span(), format!("there is no {what} `{word}`"));
        self.faults.push(match nearest(word, words.iter().copied()) {
            Some(near) => {
                fault.edit(format!("write `\"{near}\"`"), self.span(value.span()), format!("\"{near}\"")).help(help)
            }
            None => fault.help(help),
        });
    }

    /// Folders and files of the library that are there.
    fn paths(&mut self, key: &str, value: &Value<'_>) -> Vec<PathBuf> {
        let help = format!("For example: `{key} = [\"recipes\"]`. Paths start from the folder of `{SETTINGS}`.");
        let Some(items) = value.get_ref().as_array() else {
            self.wrong(value, &format!("`{key}` takes a list of folders or files"), &help);
            return Vec::new();
        };
        let mut paths = Vec::new();
        for item in items {
            match item.get_ref().as_str() {
                Some(text) => paths.extend(self.path(text, item)),
                None => self.wrong(item, &format!("`{key}` takes a list of folders or files"), &help),
            }
        }
        paths
    }

    fn path(&mut self, text: &str, item: &Value<'_>) -> Option<PathBuf> {
        let below = Path::new(text).components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if !below || text.is_empty() || text.contains('\\') {
            let fault =
                self.fault("wrong-setting", item.span(), format!("`{text}` is no path below the library's root"));
            self.faults.push(fault.help("Write paths with `/`, from the folder in which this file stands."));
            return None;
        }
        let path = plain(&self.root.join(text));
        if self.io.is_folder(&path) || self.io.is_file(&path) {
            return Some(path);
        }
        let fault = self.fault("wrong-setting", item.span(), format!("there is no folder or file `{text}`"));
        self.faults.push(fault.here("from the folder in which this file stands"));
        None
    }

    fn levels(&mut self, value: &Value<'_>) {
        let Some(table) = value.get_ref().as_table() else {
            let help = "Write `[levels]` on a line of its own, and below it for example `undocumented-part = \"off\"`.";
            self.wrong(value, "`levels` takes a table of rules and groups", help);
            return;
        };
        // A rule's own level counts for more than that of its group, whichever is written first.
        let is_group = |key: &Key<'_>| groups().contains(&key.get_ref().as_ref());
        for (key, value) in table.iter().filter(|entry| is_group(entry.0)) {
            if let Some(level) = self.level(value) {
                let _known = self.settings.levels.set_group(key.get_ref(), level);
            }
        }
        for (key, value) in table.iter().filter(|entry| !is_group(entry.0)) {
            self.rule_level(key, value);
        }
    }

    fn rule_level(&mut self, key: &Key<'_>, value: &Value<'_>) {
        let name = key.get_ref().as_ref();
        let Some(rule) = rule(name) else {
            let fault = self.fault("unknown-rule", key.span(), format!("there is no rule or group `{name}`"));
            let names = groups().into_iter().chain(RULES.iter().map(|rule| rule.name));
            self.faults.push(match nearest(name, names) {
                Some(near) => fault.edit(format!("write `{near}`"), self.span(key.span()), near),
                None => fault.help(format!(
                    "The groups are {}. `withy rules` lists the rules.",
                    groups().iter().map(|group| format!("`{group}`")).collect::<Vec<_>>().join(", ")
                )),
            });
            return;
        };
        let Some(level) = self.level(value) else { return };
        if !self.settings.levels.set(rule, level) {
            let fault = self.fault("danger-lowered", value.span(), format!("`{name}` stays a danger"));
            self.faults.push(
                fault
                    .here("it warns of fire or shock that is likely to hurt someone")
                    .help("No setting lowers it: mend what it finds, and take this line out."),
            );
        }
    }

    fn level(&mut self, value: &Value<'_>) -> Option<Level> {
        let words = Level::words();
        let help =
            format!("There are {}.", words.iter().map(|word| format!("`\"{word}\"`")).collect::<Vec<_>>().join(", "));
        let Some(word) = value.get_ref().as_str() else {
            self.wrong(value, "a level is a class, or \"off\"", &help);
            return None;
        };
        let level = Level::of(word);
        if level.is_none() {
            self.no_such("level", word, value, &words, &help);
        }
        level
    }
}

/// A value in words, for who does not know TOML's.
fn described(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "`true` or `false`",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

#[cfg(test)]
mod tests {
    use std::fmt::Write;
    use std::path::{Path, PathBuf};

    use super::{SETTINGS, Settings, read_settings};
    use crate::library::io::Memory;
    use crate::lint::rule;
    use crate::report::{Class, short, sorted};
    use crate::text::{Files, SourceFile};

    fn read(text: &str) -> (Settings, String) {
        let io = Memory::new([("/shop/recipes/tray.withy", ""), ("/shop/µ/one.withy", "")]);
        let mut files = Files::new();
        let file = files.add(SourceFile::new(SETTINGS, text));
        let (settings, faults) = read_settings(&io, Path::new("/shop"), file, text);
        let faults = sorted(faults, &files);
        let mut told = short::render(&faults, &files);
        for edit in faults.iter().flat_map(|fault| &fault.edits) {
            let _ = writeln!(told, "edit: {} in place of `{}`", edit.title, files.slice(edit.changes[0].span));
        }
        (settings, told)
    }

    #[test]
    fn everything_that_may_stand_there_is_read() {
        let (settings, faults) = read(
            "\u{feff}# µ\r\nsources = [\"recipes\", 'µ/one.withy']\r\ntargets = [\"recipes/tray.withy\"]\nfail_on = \"caution\"\n\
             [levels]\nuncalibrated-heater = \"warning\"\nlibrary = \"off\"\nheat = \"caution\"\n",
        );
        assert_eq!(faults, "");
        assert_eq!(settings.sources, ["/shop/recipes", "/shop/µ/one.withy"].map(PathBuf::from));
        assert_eq!(settings.targets, [PathBuf::from("/shop/recipes/tray.withy")]);
        assert_eq!(settings.fail_on, Class::Caution);
        let class = |name| rule(name).and_then(|rule| settings.levels.class(rule));
        assert_eq!(class("uncalibrated-heater"), Some(Class::Warning), "a rule counts for more than its group");
        assert_eq!(class("undocumented-part"), None);
        assert_eq!(class("short-heat"), Some(Class::Caution));
        assert_eq!(class("fire-heat"), Some(Class::Danger), "no group lowers a danger");
        assert_eq!(class("supply-overload"), Some(Class::Warning));
    }

    #[test]
    fn nothing_said_is_the_usual() {
        assert_eq!(read(""), (Settings::default(), String::new()));
    }

    #[test]
    fn each_mistake_is_told_at_its_place() {
        let (settings, faults) = read(
            "source = [\"recipes\"]\nfail_on = \"warnings\"\ntargets = [\"µ\", \"recipe\", \"../other\", 7]\nfaill = 1\n\
             [levels]\nfire-heat = \"off\"\nfire-heart = \"off\"\nsupply = \"low\"\nshort-heat = 3\nthe-rest = \"off\"\n",
        );
        insta::assert_snapshot!(faults, @r#"
        withy.toml:1:1: error unknown-setting: there is no setting `source`
        withy.toml:2:11: error wrong-setting: there is no class `warnings`
        withy.toml:3:17: error wrong-setting: there is no folder or file `recipe`
        withy.toml:3:27: error wrong-setting: `../other` is no path below the library's root
        withy.toml:3:39: error wrong-setting: `targets` takes a list of folders or files
        withy.toml:4:1: error unknown-setting: there is no setting `faill`
        withy.toml:6:13: error danger-lowered: `fire-heat` stays a danger
        withy.toml:7:1: error unknown-rule: there is no rule or group `fire-heart`
        withy.toml:8:10: error wrong-setting: there is no level `low`
        withy.toml:9:14: error wrong-setting: a level is a class, or "off"
        withy.toml:10:1: error unknown-rule: there is no rule or group `the-rest`
        edit: write `sources` in place of `source`
        edit: write `"warning"` in place of `"warnings"`
        edit: write `fire-heat` in place of `fire-heart`
        "#);
        assert_eq!(settings.targets, [PathBuf::from("/shop/µ")], "what is right still counts");
        assert_eq!(settings.fail_on, Class::Warning);
    }

    #[test]
    fn broken_toml_is_told_at_its_place() {
        let (settings, faults) = read("fail_on = \"hint\"\n\u{b0} = 3\n[levels\nheat = \"off\"\n");
        insta::assert_snapshot!(faults, @"
        withy.toml:2:1: error settings-syntax: this is not written as TOML wants it
        withy.toml:3:8: error settings-syntax: this is not written as TOML wants it
        ");
        assert_eq!(settings.fail_on, Class::Hint);
    }
}
