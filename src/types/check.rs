use std::collections::BTreeMap;
use std::sync::Arc;

use crate::names::{Decl, DeclId, DeclKind, Names, nearest};
use crate::report::Diagnostic;
use crate::syntax::{Arg, Entry, Expr, ExprKind, Path, needless_sign};
use crate::text::{ChangedLines, FileId, Files, Follows, Span};
use crate::types::common::Common;
use crate::types::eval::Value;
use crate::types::figures::Figures;
use crate::types::merge::{Merged, MergedEntry, Merger, ends_with_none, key_span};
use crate::types::missing::MissingUse;
use crate::types::pattern::Cursor;
use crate::types::ranges::Ranges;
use crate::types::schema::{BlockSchema, EntrySchema, Many, Presence, declaration};
use crate::types::value::{CheckedBlock, CheckedEntry, Parameter};
use crate::types::wording;
use crate::units::{Quantity, QuantityError, SourceId};

/// Checks declarations against the schema and evaluates what they say.
pub struct Checker<'n, 't> {
    /// The texts, for messages.
    pub files: &'n Files,
    /// Who is who.
    pub names: &'n Names<'t>,
    /// What was found wrong in the declaration that is being looked at.
    pub faults: Vec<Diagnostic>,
    /// Where it uses names that mean nothing.
    pub missing: Vec<MissingUse>,
    /// What was found in others on the way.
    aside: BTreeMap<DeclId, Found>,
    /// Where each unknown comes from.
    pub sources: BTreeMap<SourceId, Span>,
    pub(super) common: Arc<Common>,
    /// Values of `let` that are not in common yet.
    pub(super) lets: BTreeMap<DeclId, Option<Value>>,
    pub(super) visiting: Vec<DeclId>,
    pub(super) ranges: Ranges,
    merger: Merger<'n, 't>,
}

/// What was found in one declaration.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// What is wrong.
    pub faults: Vec<Diagnostic>,
    /// Names that mean nothing.
    pub missing: Vec<MissingUse>,
}

impl Found {
    /// Whether there is nothing.
    pub fn is_empty(&self) -> bool {
        self.faults.is_empty() && self.missing.is_empty()
    }

    /// Takes in what was found after it.
    pub fn extend(&mut self, more: Self) {
        self.faults.extend(more.faults);
        self.missing.extend(more.missing);
    }
}

impl Follows for Found {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.faults.follow(file, lines) && self.missing.iter_mut().all(|used| used.span.follow(file, lines))
    }
}

/// Where an expression stands, and what it may refer to besides the names of its file.
#[derive(Clone, Copy)]
pub struct Env<'e> {
    /// The file whose names it uses.
    pub file: FileId,
    /// The declaration whose unknowns it makes.
    pub owner: DeclId,
    /// The parameters of the part.
    pub parameters: &'e [Parameter],
    /// The figures of the recipe, within `expect`.
    pub figures: Option<Figures<'e>>,
    /// Whether entries may be missing because what they would be copied from is broken.
    pub partial: bool,
}

/// Where a block stands.
#[derive(Clone, Copy)]
struct Place {
    /// What to point at where something is missing.
    missing_at: Span,
    /// The block itself.
    span: Span,
    /// What may stand in the declaration's own block.
    root: &'static BlockSchema,
}

impl<'e> Env<'e> {
    /// Of a declaration without parameters.
    pub fn of(decl: &Decl<'_>) -> Self {
        Self { file: decl.file, owner: decl.id, parameters: &[], figures: None, partial: false }
    }

    /// With the parameters of a part.
    #[must_use]
    pub fn with_parameters(self, parameters: &'e [Parameter]) -> Self {
        Self { parameters, ..self }
    }

    /// With the figures of a recipe.
    #[must_use]
    pub fn with_figures(self, figures: Figures<'e>) -> Self {
        Self { figures: Some(figures), ..self }
    }

    /// Whether a parameter has only a stand-in for a value.
    pub fn has_open_parameters(self) -> bool {
        self.parameters.iter().any(|parameter| parameter.open)
    }
}

impl<'n, 't> Checker<'n, 't> {
    /// Nothing checked yet; the value of a `let` is computed when somebody asks for it.
    pub fn new(files: &'n Files, names: &'n Names<'t>) -> Self {
        Self::with(files, names, Arc::default())
    }

    /// Nothing checked yet but what all have in common.
    pub fn with(files: &'n Files, names: &'n Names<'t>, common: Arc<Common>) -> Self {
        Self {
            files,
            names,
            faults: Vec::new(),
            missing: Vec::new(),
            aside: BTreeMap::new(),
            sources: BTreeMap::new(),
            common,
            lets: BTreeMap::new(),
            visiting: Vec::new(),
            ranges: Ranges::default(),
            merger: Merger::new(names, files),
        }
    }

    /// The unknown that the value at `span` stands for; its place is remembered for messages.
    pub fn source(&mut self, env: Env<'_>, span: Span) -> SourceId {
        let source = env.source(span);
        self.sources.insert(source, span);
        source
    }

    /// Reports a fault.
    pub fn report(&mut self, _env: Env<'_>, fault: Diagnostic) {
        self.faults.push(fault);
    }

    /// The message for an operation that has no result.
    pub fn operation_fault(&self, error: &QuantityError, span: Span, operands: &[&Expr]) -> Diagnostic {
        wording::operation(error, span, operands, self.files)
    }

    /// Begins on another declaration: what is found from here on belongs to it. Gives back what was found in the one
    /// that asks for it, for [`Checker::end`].
    pub fn begin(&mut self) -> Found {
        Found { faults: std::mem::take(&mut self.faults), missing: std::mem::take(&mut self.missing) }
    }

    /// Ends with a declaration and goes on with the one before.
    pub fn end(&mut self, id: DeclId, before: Found) {
        let Found { mut faults, mut missing } = before;
        std::mem::swap(&mut self.faults, &mut faults);
        std::mem::swap(&mut self.missing, &mut missing);
        if !faults.is_empty() || !missing.is_empty() {
            let found = self.aside.entry(id).or_default();
            found.faults.extend(faults);
            found.missing.extend(missing);
        }
    }

    /// Takes what was found in a declaration, by whoever asked for it.
    pub fn found(&mut self, id: DeclId) -> Found {
        self.aside.remove(&id).unwrap_or_default()
    }

    /// The block of a declaration, with the given values for a part's parameters. None where the declaration
    /// copies something broken or has no block.
    pub fn declaration(&mut self, id: DeclId, parameters: &[Parameter]) -> Option<CheckedBlock<'t>> {
        let decl = self.names.decl(id);
        let schema = declaration(decl.kind)?;
        // What a copy of something broken says itself can still be checked.
        let (merged, partial) = match self.merger.merged(id) {
            Some(merged) => (merged, false),
            None => (Arc::new(self.merger.own(id)), true),
        };
        let env = Env { partial, ..Env::of(decl).with_parameters(parameters) };
        let circle = if partial { self.merger.circle(id) } else { None };
        self.faults.extend(circle);
        if decl.entry.block().is_none() && !partial && !self.is_copy(decl) {
            if !decl.entry.broken() {
                self.report(env, wording::no_block(decl));
            }
            return None;
        }
        let closed = decl.entry.block().is_none_or(|block| block.closed);
        let span = decl.entry.block().map_or(decl.entry.line(), |block| block.span);
        let found = self.faults.len();
        let inherited = self.merger.inherited(id);
        let place = Place { missing_at: decl.name_span, span, root: schema };
        let mut checked = self.block(env, schema, &merged, inherited.as_deref(), place);
        if self.is_copy(decl) && !decl.kind.can_be_copied() {
            // Its header is reported; what it lacks would have come from the copy.
            self.faults.truncate(found);
        }
        checked.broken |= decl.entry.broken() || !closed;
        (!partial).then_some(checked)
    }

    fn is_copy(&self, decl: &Decl<'_>) -> bool {
        decl.entry.args().iter().any(|arg| matches!(arg, Arg::Word(word) if self.files.slice(*word) == "from"))
    }

    /// The result of `check`, without what it reports.
    pub(super) fn silently<T>(&mut self, check: impl FnOnce(&mut Self) -> T) -> T {
        let found = self.faults.len();
        let result = check(self);
        self.faults.truncate(found);
        result
    }

    /// The value of an expression that is one number, for the sake of a better message.
    pub(super) fn literal(&mut self, env: Env<'_>, expr: &Expr) -> Option<Quantity> {
        let is_number = matches!(expr.kind(), ExprKind::Measure(_));
        is_number.then(|| self.silently(|checker| checker.quantity(env, expr, None)))?
    }

    /// Checks the entries of a block. What is missing in `inherited` too is reported there.
    fn block(
        &mut self,
        env: Env<'_>,
        schema: &'static BlockSchema,
        merged: &Merged<'t>,
        inherited: Option<&Merged<'t>>,
        place: Place,
    ) -> CheckedBlock<'t> {
        let entries = Vec::with_capacity(merged.len());
        let mut block = CheckedBlock { entries, broken: false, span: Some(place.span) };
        let mut cut_off: Vec<Span> = Vec::new();
        let mut seen: BTreeMap<(&'static str, &'n str), Span> = BTreeMap::new();
        for (index, merged_entry) in merged.iter().enumerate() {
            let entry = merged_entry.entry;
            let Some(head) = entry.head() else {
                block.broken = true;
                continue;
            };
            let word = self.files.slice(head);
            let Some(entry_schema) = schema.entry(word) else {
                block.broken = true;
                if cut_off.contains(&head) {
                    continue;
                }
                if let Some((order, names)) = self.cut_off_order(&merged[..=index], &merged[index..]) {
                    self.report(env, wording::order_with_commas(order, head, &names));
                    cut_off = names;
                } else if !entry.broken() {
                    self.report(env, wording::unknown_entry(head, word, schema, place.root));
                }
                continue;
            };
            let env = Env { file: merged_entry.file, partial: env.partial || merged_entry.partial, ..env };
            if self.is_repeated(env, entry_schema, merged_entry, head, &mut seen) {
                continue;
            }
            match self.entry(env, schema, entry_schema, merged_entry, (head, place.root)) {
                Some(checked) => block.entries.push(checked),
                None => block.broken |= !ends_with_none(merged_entry, self.files),
            }
        }
        if !env.partial {
            self.report_missing(env, schema, merged, inherited, place);
        }
        block
    }

    /// `order near, far, back`: where the order ends, and the names after the first that commas cut off from it.
    fn cut_off_order(&self, upto: &[MergedEntry<'t>], from: &[MergedEntry<'t>]) -> Option<(Span, Vec<Span>)> {
        let [.., order, first] = upto else { return None };
        let is_order = order.entry.head().is_some_and(|head| self.files.slice(head) == "order");
        let lone = |entry: &Entry| entry.args().is_empty() && entry.block().is_none() && !entry.broken();
        let comma = |before: Span, after: Span| {
            let between = before.after().to(after.before());
            self.files.slice(between).trim() == ","
        };
        if !is_order || !lone(first.entry) || !comma(order.entry.line(), first.entry.line()) {
            return None;
        }
        let mut last = first.entry.line();
        let rest = from.iter().skip(1).map_while(|next| {
            let joined = lone(next.entry) && comma(last, next.entry.line());
            last = next.entry.line();
            next.entry.head().filter(|_| joined)
        });
        Some((order.entry.line(), rest.collect()))
    }

    /// Reports an entry that is there twice; the first one counts.
    fn is_repeated(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        merged: &MergedEntry<'t>,
        head: Span,
        seen: &mut BTreeMap<(&'static str, &'n str), Span>,
    ) -> bool {
        let key = match schema.many {
            Many::Any => return false,
            Many::Once => "",
            Many::Keyed => key_span(merged.entry).map_or("", |span| self.files.slice(span)),
        };
        if let Some(first) = seen.get(&(schema.word, key)) {
            // What a copied declaration says twice is reported there.
            if self.is_own(env, head) {
                self.report(env, wording::repeated(schema.word, key, head, *first));
            }
            return true;
        }
        let other = schema.instead_of.iter().find_map(|other| seen.get(&(*other, "")).map(|span| (*other, *span)));
        if let Some((other, span)) = other {
            if self.is_own(env, head) {
                self.report(env, wording::both_of_two(schema.word, head, other, span));
            }
            return true;
        }
        seen.insert((schema.word, key), head);
        false
    }

    /// Whether a place lies in the declaration that is checked, as opposed to one that it copies.
    fn is_own(&self, env: Env<'_>, place: Span) -> bool {
        let whole = self.names.decl(env.owner).entry.span();
        place.file == whole.file && whole.start <= place.start && place.end <= whole.end
    }

    fn entry(
        &mut self,
        env: Env<'_>,
        around: &'static BlockSchema,
        schema: &'static EntrySchema,
        merged: &MergedEntry<'t>,
        (head, root): (Span, &'static BlockSchema),
    ) -> Option<CheckedEntry<'t>> {
        let entry = merged.entry;
        let optional = matches!(schema.presence, Presence::Optional(_)) || schema.many == Many::Keyed;
        if entry.broken() || (optional && ends_with_none(merged, self.files)) {
            return None;
        }
        if let [Arg::Equals(sign), rest @ ..] = entry.args() {
            let next = rest.first().map_or(sign.after(), |next| next.span().before());
            self.report(env, needless_sign(head, *sign, "=", next));
            return None;
        }
        let mut cursor = Cursor::new(around, entry, head, self.files);
        let slots = self.slots(env, schema, &mut cursor)?;
        let block = match (schema.block, &merged.block) {
            (Some(inner), Some(block)) => {
                let closed = entry.block().is_none_or(|block| block.closed);
                let span = entry.block().map_or(entry.line(), |block| block.span);
                let place = Place { missing_at: head, span, root };
                let mut checked = self.block(env, inner, block, None, place);
                checked.broken |= !closed;
                Some(checked)
            }
            (Some(inner), None) => {
                self.report(env, wording::block_wanted(schema, inner, entry.line()));
                return None;
            }
            (None, Some(_)) => {
                let span = entry.block().map_or(entry.line(), |block| block.span);
                self.report(env, wording::block_unwanted(schema, span));
                return None;
            }
            (None, None) => None,
        };
        Some(CheckedEntry { schema, slots, block, span: entry.line(), head, file: merged.file })
    }

    /// One message for all that is missing in a block. What a broken entry may have meant is not missing.
    fn report_missing(
        &mut self,
        env: Env<'_>,
        schema: &'static BlockSchema,
        merged: &Merged<'t>,
        inherited: Option<&Merged<'t>>,
        place: Place,
    ) {
        let files = self.files;
        let holds = |merged: &Merged<'t>, word: &str| {
            merged.iter().any(|entry| entry.entry.head().is_some_and(|head| files.slice(head) == word))
        };
        let there = |word: &str| holds(merged, word) || inherited.is_some_and(|inherited| !holds(inherited, word));
        let doubtful: Vec<&Entry> = merged
            .iter()
            .map(|merged| merged.entry)
            .filter(|entry| {
                let known = entry.head().is_some_and(|head| schema.entry(files.slice(head)).is_some());
                entry.broken() || !known || entry.block().is_some_and(|block| !block.closed)
            })
            .collect();
        let headless = doubtful.iter().any(|entry| entry.head().is_none());
        let meant = |word: &str| {
            headless
                || doubtful.iter().any(|entry| {
                    let near = entry.head().map(|head| files.slice(head)).filter(|head| schema.entry(head).is_none());
                    words(files.slice(entry.span())).any(|inside| inside == word)
                        || near.is_some_and(|near| nearest(near, [word]).is_some())
                })
        };
        let missing: Vec<&'static EntrySchema> = schema
            .entries
            .iter()
            .filter(|entry| entry.presence == Presence::Required)
            .filter(|entry| !there(entry.word) && !entry.instead_of.iter().any(|other| there(other)))
            .filter(|entry| !meant(entry.word) && !entry.instead_of.iter().any(|other| meant(other)))
            .collect();
        // Of two alternatives only the first is named, with the other beside it.
        let named: Vec<&'static EntrySchema> = missing
            .iter()
            .copied()
            .filter(|entry| {
                let before = missing.iter().take_while(|other| other.word != entry.word);
                !before.into_iter().any(|other| entry.instead_of.contains(&other.word))
            })
            .collect();
        // Words of one line that ran into another are reported there, not here.
        if !named.is_empty() {
            let owner = std::ptr::eq(schema, place.root).then(|| self.names.decl(env.owner));
            self.report(env, wording::missing_entries(schema, &named, place.missing_at, owner));
        }
    }
}

/// The words within a text, without regard to what they mean there.
fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '_')).filter(|word| !word.is_empty())
}

/// What of a declaration's header concerns its kind, checked by `header`.
impl<'t> Checker<'_, 't> {
    /// Looks up a dotted name and reports it if it means nothing or something of the wrong kind.
    pub fn reference(&mut self, env: Env<'_>, path: Path<'_>, kinds: &[DeclKind]) -> Option<DeclId> {
        let words: Vec<&str> = path.words().map(|word| self.files.slice(word)).collect();
        match self.names.find(env.file, &words) {
            crate::names::Found::Broken => None,
            crate::names::Found::Missing => {
                self.miss(env, &words, path.span, kinds);
                None
            }
            crate::names::Found::Decl(id) => {
                let decl = self.names.decl(id);
                if kinds.contains(&decl.kind) {
                    return Some(id);
                }
                self.report(env, wording::wrong_kind_of_name(path.span, decl, kinds));
                None
            }
        }
    }

    /// Remembers that a name means nothing where something of one of the kinds is wanted.
    pub(super) fn miss(&mut self, env: Env<'_>, words: &[&str], span: Span, kinds: &[DeclKind]) {
        self.missing.push(MissingUse { file: env.file, name: words.join("."), span, kinds: kinds.to_vec() });
    }

    /// The single word an argument consists of, if it is one.
    pub fn argument_word(&self, arg: &'t Arg) -> Option<(&str, Span)> {
        let span = match arg {
            Arg::Word(span) => *span,
            _ => arg.path()?.single()?,
        };
        Some((self.files.slice(span), span))
    }
}
