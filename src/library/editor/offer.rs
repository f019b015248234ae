//! What is offered where a word is being written, by what the schema wants there.

use std::collections::BTreeSet;

use crate::emit::plain_doc;
use crate::library::editor::view::View;
use crate::library::load::relative;
use crate::lint::RULES;
use crate::names::{DeclId, DeclKind};
use crate::report::Class;
use crate::text::FileId;
use crate::types::FUNCTIONS;
use crate::types::figures::{FIGURES, Subject};
use crate::types::schema::Part;
use crate::units::{Kind, UNITS};

/// What an offer is, for its sign in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// A word of the language.
    Word,
    /// A declaration.
    Name(DeclKind),
    /// A bend, an arm or a parameter.
    Local,
    /// A unit.
    Unit,
    /// A function.
    Function,
    /// A rule.
    Rule,
    /// A figure of `expect`.
    Figure,
    /// A file.
    File,
}

/// Something that fits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// As it is listed.
    pub label: String,
    /// As it is written.
    pub insert: String,
    /// What it is, in a few words.
    pub detail: String,
    /// More about it, in Markdown.
    pub about: String,
    /// What it is, for its sign.
    pub sort: Sort,
    /// The first ones come first.
    pub group: u8,
}

impl Offer {
    /// A word.
    pub fn word(word: &str) -> Self {
        Self {
            label: word.to_owned(),
            insert: word.to_owned(),
            detail: String::new(),
            about: String::new(),
            sort: Sort::Word,
            group: 0,
        }
    }
}

/// Gathers offers.
pub struct Offers<'v, 'a> {
    view: &'v View<'a>,
    /// The file that is written in.
    pub file: FileId,
    /// The declaration that is written in.
    pub decl: Option<DeclId>,
    found: Vec<Offer>,
}

impl<'v, 'a> Offers<'v, 'a> {
    /// None so far.
    pub fn new(view: &'v View<'a>, file: FileId) -> Self {
        Self { view, file, decl: None, found: Vec::new() }
    }

    /// All of them, each once, the first groups first.
    pub fn done(self) -> Vec<Offer> {
        let mut seen: BTreeSet<String> = BTreeSet::new();
        let mut offers = self.found;
        offers.sort_by_key(|offer| offer.group);
        offers.retain(|offer| seen.insert(offer.label.clone()));
        offers
    }

    /// One more.
    pub fn add(&mut self, offer: Offer) {
        self.found.push(offer);
    }

    /// A word with what it means.
    pub fn word(&mut self, label: &str, insert: &str, about: &str, group: u8) {
        let insert = format!("{insert} ");
        self.add(Offer { insert, about: about.to_owned(), group, ..Offer::word(label) });
    }

    fn plain(&mut self, word: &str, sort: Sort, detail: &str) {
        self.add(Offer { sort, detail: detail.to_owned(), ..Offer::word(word) });
    }

    /// What can stand for a piece of an entry; `before` are the words that stand there already.
    pub fn part(&mut self, part: &'static Part, before: &[&str]) {
        match part {
            Part::Word(word) | Part::Maybe(word, _) => self.plain(word, Sort::Word, ""),
            Part::OneWord(_, words) => words.iter().for_each(|word| self.plain(word, Sort::Word, "")),
            Part::OneOf(ways) => ways.iter().filter_map(|way| way.first()).for_each(|part| self.part(part, before)),
            Part::Allowance(..) => self.plain("within", Sort::Word, "what the drawing allows"),
            Part::Reference(_, kinds) => self.names(kinds),
            Part::Local("arm", _) => self.arms(),
            Part::Local(..) => self.bends(),
            Part::Quantity(_, wanted) | Part::List(_, wanted, ..) => self.values(Some(wanted.kind)),
            Part::Stages(_) => self.stages(before),
            Part::Order(_) => self.order(before),
            Part::Expectation(_) => self.figures(before),
            Part::Rule(_) => self.rules(),
            Part::Gauge(_) | Part::Count(..) | Part::NewName(_) | Part::Text(_) | Part::Date(_) => {}
        }
    }

    /// The names that the file sees, of a kind that fits; for what ships with the compiler, with its figures.
    pub fn names(&mut self, kinds: &[DeclKind]) {
        for (name, id) in self.view.names.visible(self.file) {
            let decl = self.view.names.decl(id);
            if !kinds.contains(&decl.kind) || self.decl == Some(id) {
                continue;
            }
            let doc = decl.entry.doc().map(|doc| plain_doc(self.view.slice(doc))).unwrap_or_default();
            let source = self.view.slice(decl.entry.span());
            let about = format!("{doc}\n\n```withy\n{source}\n```");
            let place = if decl.catalogue { "the catalogue" } else { self.view.loaded.files.get(decl.file).path() };
            let detail = format!("{} of {place}", decl.kind.word());
            let group = u8::from(decl.catalogue);
            self.add(Offer { detail, about, sort: Sort::Name(decl.kind), group, ..Offer::word(&name) });
        }
        for target in self.view.loaded.uses.get(&self.file).into_iter().flatten() {
            let (Some(alias), Some(file)) = (target.line.alias, target.file) else { continue };
            for decl in self.view.decls(file).filter(|decl| kinds.contains(&decl.kind)) {
                let name = format!("{}.{}", self.view.slice(alias), decl.name);
                self.add(Offer {
                    sort: Sort::Name(decl.kind),
                    detail: decl.kind.word().to_owned(),
                    ..Offer::word(&name)
                });
            }
        }
    }

    /// Values of a kind: parameters, named expressions and functions.
    pub fn values(&mut self, kind: Option<Kind>) {
        if let Some(decl) = self.decl.map(|id| self.view.names.decl(id)) {
            for (name, own) in crate::library::editor::marks::parameters(decl) {
                let word = own.map_or("", |own| self.view.slice(own));
                if kind.is_none() || Kind::from_word(word) == kind {
                    self.plain(self.view.slice(name), Sort::Local, word);
                }
            }
        }
        let checked: Vec<(String, DeclId)> = self.view.names.visible(self.file).into_iter().collect();
        let mut checker = crate::types::Checker::new(&self.view.loaded.files, &self.view.names);
        for (name, id) in checked {
            let decl = self.view.names.decl(id);
            if decl.kind != DeclKind::Let {
                continue;
            }
            let fits = match (kind, checker.let_value(id)) {
                (Some(kind), Some(crate::types::Value::Quantity(quantity))) => quantity.is(kind),
                _ => true,
            };
            if fits {
                self.plain(&name, Sort::Name(DeclKind::Let), self.view.slice(decl.entry.line()));
            }
        }
        for (name, usage, meaning) in FUNCTIONS {
            let offer = Offer::word(name);
            self.add(Offer {
                insert: format!("{name}("),
                detail: usage.to_owned(),
                about: meaning.to_owned(),
                sort: Sort::Function,
                group: 3,
                ..offer
            });
        }
    }

    /// Units for a number that stands there: those of the wanted kind, the usual ones first.
    pub fn units(&mut self, part: &'static Part, written: &str) {
        let kind = match part {
            Part::Quantity(_, wanted) | Part::List(_, wanted, ..) => wanted.kind,
            Part::Allowance(_, kind) => *kind,
            Part::Stages(_) if written.contains(" at ") && !written.ends_with("then") => Kind::Ratio,
            Part::Stages(_) => Kind::Time,
            Part::Gauge(_) => return self.plain("AWG", Sort::Unit, "wire size"),
            _ => return,
        };
        for unit in kind.examples() {
            self.add(Offer { sort: Sort::Unit, detail: kind.plain().to_owned(), ..Offer::word(unit) });
        }
        let fits = |unit: &&crate::units::UnitDef| {
            Some(unit.dimension) == kind.dimension() && unit.offset.is_some() == (kind == Kind::Temperature)
        };
        for unit in UNITS.iter().filter(fits) {
            self.add(Offer { sort: Sort::Unit, detail: unit.meaning.to_owned(), group: 1, ..Offer::word(unit.word) });
        }
    }

    /// Kinds of parameters.
    pub fn kinds(&mut self) {
        for kind in Kind::ALL {
            self.plain(kind.word(), Sort::Word, kind.examples().first().copied().unwrap_or(""));
        }
    }

    fn part_or_bench(
        &self,
        of: fn(&View<'a>, &crate::names::Decl<'a>) -> Option<DeclId>,
        own: DeclKind,
    ) -> Vec<DeclId> {
        let Some(decl) = self.decl.map(|id| self.view.names.decl(id)) else { return Vec::new() };
        match decl.kind {
            kind if kind == own => vec![decl.id],
            DeclKind::Recipe => of(self.view, decl).into_iter().collect(),
            DeclKind::Controller => self.view.benches_with(decl.id),
            _ => Vec::new(),
        }
    }

    fn locals(&mut self, owners: &[DeclId], detail: &str) {
        for owner in owners {
            for original in self.view.originals(*owner) {
                for name in self.view.local_names(self.view.names.decl(original)) {
                    self.plain(self.view.slice(name), Sort::Local, detail);
                }
            }
        }
    }

    fn bends(&mut self) {
        let parts = self.part_or_bench(View::part_of, DeclKind::Part);
        self.locals(&parts, "bend");
    }

    fn arms(&mut self) {
        let benches = self.part_or_bench(View::bench_of, DeclKind::Bench);
        self.locals(&benches, "arm");
    }

    fn stages(&mut self, before: &[&str]) {
        match before {
            [_] => self.plain("computed", Sort::Word, "within the safe window"),
            [.., "then" | "at"] => {}
            _ => {
                for (word, meaning) in [
                    ("at", "a share of full power"),
                    ("full", "at full power"),
                    ("off", "with the heater off"),
                    ("then", "another stage"),
                ] {
                    self.plain(word, Sort::Word, meaning);
                }
            }
        }
    }

    fn order(&mut self, before: &[&str]) {
        match before {
            [_] => {
                self.plain("computed", Sort::Word, "the order with the fewest hands");
                self.bends();
            }
            [.., "then" | "with"] => self.bends(),
            _ => {
                self.plain("then", Sort::Word, "the next bend");
                self.plain("with", Sort::Word, "at the same time, on another arm");
            }
        }
    }

    fn figures(&mut self, before: &[&str]) {
        let subject = match before.last() {
            Some(&"bend") => return self.bends(),
            Some(&"arm") => return self.arms(),
            Some(last) if last.ends_with('.') => match before.iter().rev().nth(1) {
                Some(&"bend") => Some(Subject::Bend),
                Some(&"leg") => Some(Subject::Leg),
                Some(&"arm") => Some(Subject::Arm),
                _ => None,
            },
            _ => None,
        };
        let word = |subject| match subject {
            Subject::Whole => "",
            Subject::Bend => "bend",
            Subject::Leg => "leg",
            Subject::Arm => "arm",
        };
        for figure in FIGURES {
            match subject {
                Some(subject) if figure.subject == subject => self.plain(figure.name, Sort::Figure, figure.meaning),
                Some(_) => {}
                None if figure.subject == Subject::Whole => self.plain(figure.name, Sort::Figure, figure.meaning),
                None => self.plain(word(figure.subject), Sort::Word, "figures of one"),
            }
        }
    }

    fn rules(&mut self) {
        for rule in RULES.iter().filter(|rule| rule.class != Class::Danger) {
            self.add(Offer {
                insert: format!("{} because \"", rule.name),
                detail: rule.class.word().to_owned(),
                about: rule.page.to_owned(),
                sort: Sort::Rule,
                ..Offer::word(rule.name)
            });
        }
    }

    /// Files of the library that are not used yet.
    pub fn files(&mut self) {
        let used: BTreeSet<FileId> =
            self.view.loaded.uses.get(&self.file).into_iter().flatten().filter_map(|target| target.file).collect();
        let folder = self.view.loaded.folder(self.file).to_owned();
        for (id, path) in &self.view.loaded.paths {
            let recipe = path.extension().is_some_and(|extension| extension == "withy");
            if recipe && *id != self.file && !used.contains(id) {
                let names: Vec<&str> = self.view.decls(*id).map(|decl| decl.name.as_str()).collect();
                let detail = names.join(", ");
                self.add(Offer { sort: Sort::File, detail, ..Offer::word(&relative(&folder, path)) });
            }
        }
    }
}
