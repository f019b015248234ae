use crate::names::{Decl, DeclKind, nearest};
use crate::report::{Change, Diagnostic, Edit};
use crate::syntax::iso_date;
use crate::text::Span;
use crate::types::schema::{BlockSchema, EntrySchema, Part, Quantities, declaration};
use crate::types::wording::{a, all_of, any_of, quoted};
use crate::units::Kind;

/// A usage longer than this is no help in a message.
const LONGEST_USAGE: usize = 80;

/// How an entry is written: `voltage VOLTAGE [at wire|terminals]`.
pub fn usage(schema: &EntrySchema) -> String {
    pattern_text(schema, &part_text)
}

/// The same for a message: of many ways, only the usual one or what tells them apart.
fn brief(schema: &EntrySchema) -> String {
    let whole = usage(schema);
    if whole.chars().count() <= LONGEST_USAGE { whole } else { pattern_text(schema, &brief_text) }
}

fn pattern_text(schema: &EntrySchema, part_text: &dyn Fn(&Part) -> String) -> String {
    let mut text = schema.word.to_owned();
    for part in schema.pattern {
        text.push(' ');
        text.push_str(&part_text(part));
    }
    if schema.block.is_some() {
        text.push_str(" { … }");
    }
    text.replace("  ", " ").trim_end().to_owned()
}

fn brief_text(part: &Part) -> String {
    let Part::OneOf(ways) = part else { return part_text(part) };
    let words: Vec<&str> = ways
        .iter()
        .filter_map(|way| match way.first() {
            Some(Part::Word(word)) => Some(*word),
            _ => None,
        })
        .collect();
    if words.len() == ways.len() && ways.len() > 1 {
        return format!("{} …", words.join("|"));
    }
    ways.last().map_or_else(String::new, |way| way.iter().map(brief_text).collect::<Vec<_>>().join(" "))
}

fn part_text(part: &Part) -> String {
    let all = |parts: &[Part]| parts.iter().map(part_text).collect::<Vec<_>>().join(" ");
    match part {
        Part::Quantity(_, wanted) => kind_text(wanted.kind),
        Part::List(_, wanted, ..) => format!("[{}, …]", kind_text(wanted.kind)),
        Part::Gauge(_) => "SIZE AWG".to_owned(),
        Part::Count(..) => "NUMBER".to_owned(),
        Part::OneWord(_, words) => words.join("|"),
        Part::NewName(_) => "NAME".to_owned(),
        Part::Local(_, what) => what.to_uppercase(),
        Part::Reference(_, kinds) => kinds.iter().map(|kind| kind.word().to_uppercase()).collect::<Vec<_>>().join("|"),
        Part::Text(_) => "\"…\"".to_owned(),
        Part::Date(_) => "YEAR-MONTH-DAY".to_owned(),
        Part::Word(word) => (*word).to_owned(),
        Part::Maybe(word, rest) => format!("[{}]", format!("{word} {}", all(rest)).trim_end()),
        Part::OneOf([way]) => all(way),
        Part::OneOf(ways) => format!("({})", ways.iter().map(|way| all(way)).collect::<Vec<_>>().join(" | ")),
        Part::Allowance(_, kind) => format!("[within {}]", kind_text(*kind)),
        Part::Stages(_) => "computed | TIME [at RATIO] [then …]".to_owned(),
        Part::Order(_) => "computed | BEND [then|with BEND …]".to_owned(),
        Part::Expectation(_) => "FIGURE <= VALUE | FIGURE within RANGE".to_owned(),
        Part::Rule(_) => "RULE".to_owned(),
    }
}

fn kind_text(kind: Kind) -> String {
    kind.word().to_uppercase()
}

/// What is wanted at a place, in words.
fn wanted(part: &Part) -> String {
    let first = |parts: &[Part]| parts.first().map_or_else(|| "nothing".to_owned(), wanted);
    match part {
        Part::Quantity(_, Quantities { kind, .. }) => match kind.examples() {
            [] => a(kind.plain()),
            [unit, ..] => format!("{} such as `12 {unit}`", a(kind.plain())),
        },
        Part::List(_, Quantities { kind, .. }, ..) => format!("a list of {} in brackets", plural(*kind)),
        Part::Gauge(_) => "a gauge such as `20 AWG`".to_owned(),
        Part::Count(..) => "a whole number".to_owned(),
        Part::OneWord(_, words) => any_of(&words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>()),
        Part::NewName(_) => "a name".to_owned(),
        Part::Local(_, what) => format!("the name of {}", a(what)),
        Part::Reference(_, kinds) => {
            let kinds: Vec<String> = kinds.iter().map(|kind| kind.article()).collect();
            format!("the name of {}", any_of(&kinds))
        }
        Part::Text(_) => "a text in quotes".to_owned(),
        Part::Date(_) => "a date such as `2027-06-30`".to_owned(),
        Part::Word(word) | Part::Maybe(word, _) => format!("`{word}`"),
        Part::OneOf(ways) => {
            let mut firsts: Vec<String> = Vec::new();
            for way in *ways {
                let text = first(way);
                if !firsts.contains(&text) {
                    firsts.push(text);
                }
            }
            any_of(&firsts)
        }
        Part::Allowance(_, kind) => format!("`within` and {}", a(kind.plain())),
        Part::Stages(_) => "a time or `computed`".to_owned(),
        Part::Order(_) => "bends joined by `then`".to_owned(),
        Part::Expectation(_) => "a comparison".to_owned(),
        Part::Rule(_) => "the name of a rule".to_owned(),
    }
}

/// `lengths`, for a list.
fn plural(kind: Kind) -> String {
    format!("{}s", kind.plain())
}

/// Something else stands where a part of the entry should.
pub fn unfit(schema: &EntrySchema, part: &Part, span: Span, text: &str, last: Span) -> Diagnostic {
    if let Some(fault) = missing_piece(schema, part, last, Some(span), text) {
        return fault;
    }
    let headline = format!("`{text}` does not fit here: {} is wanted", wanted(part));
    let fault = Diagnostic::error("misfit", span, headline).here(format!("it is written `{}`", brief(schema)));
    match part {
        Part::Word(word) if nearest(text, [*word]).is_some() => fault.edit(format!("write `{word}`"), span, *word),
        Part::Date(_) => match iso_date(text) {
            Some(date) => fault.edit(format!("write `{date}`"), span, date),
            None => fault.help("Dates are written year-month-day: `2027-06-30`."),
        },
        Part::Reference(_, kinds) if kinds.contains(&DeclKind::Wire) && text.ends_with("AWG") => {
            Diagnostic::error("misfit", span, format!("a line names a wire that is declared, not its size `{text}`"))
                .here("the name of a wire is wanted")
                .help(format!(
                    "Declare one beside the heater, `wire hot {{ alloy …, size {text} }}`, and write `wire hot`."
                ))
        }
        Part::Reference(..) | Part::Local(..) | Part::NewName(_) => match joined_name(text) {
            Some(name) => {
                fault.here("the words of a name are joined with `_`").edit(format!("write `{name}`"), span, name)
            }
            None => fault,
        },
        _ => fault,
    }
}

/// A word that stands behind what it should stand before: `bend 90 deg up`.
pub fn word_too_late(schema: &EntrySchema, before: Span, word: &str, late: Span) -> Diagnostic {
    let mut fault = Diagnostic::error("misfit", late, format!("`{word}` stands too late in `{}`", schema.word))
        .here(format!("it is written `{}`", brief(schema)));
    let changes = vec![
        Change { span: before.before(), text: format!("{word} ") },
        Change { span: before.after().to(late), text: String::new() },
    ];
    fault.edits.push(Edit { title: format!("move `{word}` forward"), changes_control: false, changes });
    fault
}

/// `clear-3` as the name that it can be.
fn joined_name(text: &str) -> Option<String> {
    let word = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '-';
    let sound = text.contains('-') && text.starts_with(|c: char| c.is_ascii_lowercase()) && text.chars().all(word);
    sound.then(|| text.replace('-', "_"))
}

/// What is missing, for the pieces that are most often forgotten; `found` is what stands there instead, `text` what
/// it says.
fn missing_piece(schema: &EntrySchema, part: &Part, last: Span, found: Option<Span>, text: &str) -> Option<Diagnostic> {
    let fault = |headline: &str, place: Span| Diagnostic::error("unfinished-entry", place, headline);
    match (schema.word, part) {
        ("bend", Part::OneWord("direction", _)) => {
            let place = found.unwrap_or(last);
            let question = fault("does this bend go up or down?", place).here("`up` or `down` stands before the angle");
            Some(match found {
                Some(found) => {
                    question.edit("write `up`", found.before(), "up ").edit("write `down`", found.before(), "down ")
                }
                None => question.help(format!("It is written `{}`.", brief(schema))),
            })
        }
        ("bend", Part::OneOf([[Part::Word("radius"), ..]])) => {
            let wanted = fault("a bend needs its inside radius", found.unwrap_or(last)).here(if found.is_some() {
                "it is missing before this"
            } else {
                "it is missing after this"
            });
            Some(match found.filter(|_| text.starts_with(|c: char| c.is_ascii_digit())) {
                Some(found) => wanted.edit("write `radius`", found.before(), "radius "),
                None => wanted.help("Write `radius 6 mm` if it is bent over a former, or `radius free` if it is not."),
            })
        }
        ("accept", Part::Word("because")) => Some(
            fault("this acceptance gives no reason", found.unwrap_or(last))
                .here(if found.is_some() { "`because` is missing before this" } else { "it is missing after this" })
                .help("Write `because \"…\"`: whoever reads the recipe next must know why."),
        ),
        _ => None,
    }
}

/// The entry stops before it is complete.
pub fn too_little(schema: &EntrySchema, part: &Part, last: Span) -> Diagnostic {
    if let Some(fault) = missing_piece(schema, part, last, None, "") {
        return fault;
    }
    Diagnostic::error("unfinished-entry", last, format!("`{}` stops too early", schema.word))
        .here(format!("after this, {} is wanted", wanted(part)))
        .help(format!("It is written `{}`.", brief(schema)))
}

/// The entry goes on after it is complete.
pub fn too_much(schema: &EntrySchema, block: &BlockSchema, span: Span, text: &str, last: Span) -> Diagnostic {
    let short: String = text.chars().take(30).collect();
    if block.entry(text).is_some() {
        return Diagnostic::error("misfit", span, format!("a comma is missing before `{text}`"))
            .here("another entry begins here")
            .also(last, format!("`{}` is complete here", schema.word))
            .edit("write `,`", last.after(), ",");
    }
    Diagnostic::error("misfit", span, format!("`{short}` is too much for `{}`", schema.word))
        .here(format!("it is written `{}`", brief(schema)))
        .also(last, "the entry is complete here")
        .help(if text.starts_with(|first: char| first.is_ascii_digit()) {
            "A value of two pieces is a sum: `2 min + 45 s`. Several values stand in brackets: `[2 mm, 3 mm]`."
        } else {
            "Another entry begins on a new line or after a comma."
        })
}

/// A word that begins no entry of this block; `root` is the declaration's own block.
pub fn unknown_entry(head: Span, word: &str, schema: &BlockSchema, root: &BlockSchema) -> Diagnostic {
    let words: Vec<&str> = schema.entries.iter().map(|entry| entry.word).collect();
    let fault = Diagnostic::error("unknown-entry", head, format!("`{word}` is no entry of {}", a(schema.name)));
    if let Some(place) = place_within(word, schema, root) {
        return fault.here("it belongs elsewhere").help(format!("`{word}` belongs in {place}."));
    }
    let fault = fault.here("not known here");
    if let Some(near) = nearest(word, words.iter().copied()) {
        return fault.edit(format!("write `{near}`"), head, near);
    }
    let others: Vec<&str> = DeclKind::ALL
        .into_iter()
        .filter(|kind| {
            declaration(*kind)
                .is_some_and(|root| root.entry(word).is_some() || place_within(word, root, root).is_some())
        })
        .map(DeclKind::word)
        .collect();
    let fault = match others.as_slice() {
        [] => fault,
        others => fault.help(format!("`{word}` is written in {}.", any_of(&quoted(others)))),
    };
    fault.help(format!("The entries of {} are: {}.", a(schema.name), words.join(", ")))
}

/// The block of the same declaration in which an entry of this word can stand.
fn place_within(word: &str, here: &BlockSchema, root: &BlockSchema) -> Option<String> {
    if !std::ptr::eq(here, root) && root.entry(word).is_some() {
        return Some(format!("the {} itself, outside `{} {{ … }}`", root.name, here.name));
    }
    inner_place(word, here, root, 0)
}

/// Stretches of a profile hold stretches, so the search has an end of its own.
fn inner_place(word: &str, here: &BlockSchema, block: &BlockSchema, depth: u8) -> Option<String> {
    block.entries.iter().find_map(|entry| {
        let inner = entry.block?;
        if inner.entry(word).is_some() && !std::ptr::eq(inner, here) {
            let first = match entry.pattern.first() {
                Some(Part::OneWord(_, [first, ..]) | Part::Word(first)) => format!(" {first}"),
                Some(Part::NewName(_) | Part::Local(..)) => " NAME".to_owned(),
                _ => String::new(),
            };
            return Some(format!("`{}{first} {{ … }}`", entry.word));
        }
        if depth < 3 { inner_place(word, here, inner, depth + 1) } else { None }
    })
}

/// `order near, far`: names that commas have cut off from the order that ends at `order`.
pub fn order_with_commas(order: Span, first: Span, rest: &[Span]) -> Diagnostic {
    let names: Vec<Span> = [order, first].into_iter().chain(rest.iter().copied()).collect();
    let join = |pair: &[Span]| Change { span: pair[0].after().to(pair[1].before()), text: " then ".to_owned() };
    let changes = names.windows(2).map(join).collect();
    let mut fault = Diagnostic::error("misfit", first, "bends are joined by `then`, not by a comma")
        .here("the comma has ended the order before this");
    fault.edits.push(Edit { title: "write `then`".to_owned(), changes_control: false, changes });
    fault
}

/// An entry that is there twice.
pub fn repeated(word: &str, key: &str, span: Span, first: Span) -> Diagnostic {
    let shown = if key.is_empty() { word.to_owned() } else { format!("{word} {key}") };
    Diagnostic::error("repeated-entry", span, format!("`{shown}` is there twice"))
        .here("here again")
        .also(first, "first here")
        .help("Remove one of the two.")
}

/// Two entries that say the same in two ways.
pub fn both_of_two(word: &str, span: Span, other: &str, first: Span) -> Diagnostic {
    Diagnostic::error("repeated-entry", span, format!("`{word}` and `{other}` say the same in two ways"))
        .here("only one of them can be there")
        .also(first, "the other one")
        .help("Remove one of the two.")
}

/// All that is missing in a block; `owner` is the declaration, where the block is its own.
pub fn missing_entries(
    schema: &BlockSchema,
    missing: &[&EntrySchema],
    head: Span,
    owner: Option<&Decl<'_>>,
) -> Diagnostic {
    let name = |entry: &&EntrySchema| {
        let both: Vec<&str> = std::iter::once(&entry.word).chain(entry.instead_of).copied().collect();
        any_of(&quoted(&both))
    };
    let list = all_of(&missing.iter().map(name).collect::<Vec<_>>());
    let whose = match owner {
        Some(decl) => format!("the {} `{}`", decl.kind.word(), decl.name),
        None => format!("`{}`", schema.name),
    };
    let none = if missing.len() == 1 { "it is missing" } else { "they are missing" };
    let fault = Diagnostic::error("missing-entry", head, format!("{whose} needs {list}")).here(none);
    let line = |entry: &&EntrySchema| format!("`{}`: {}", brief(entry), entry.meaning);
    missing.iter().map(line).fold(fault, Diagnostic::help)
}

/// A declaration without a block.
pub fn no_block(decl: &Decl<'_>) -> Diagnostic {
    let word = decl.kind.word();
    let fault = Diagnostic::error("missing-block", decl.entry.line(), format!("this {word} says nothing about itself"))
        .here("a block in `{ }` is missing after this");
    if decl.kind.can_be_copied() {
        fault.help(format!("Write `{word} {} {{ … }}`, or make it a copy: `{word} {} from …`.", decl.name, decl.name))
    } else {
        fault
    }
}

/// An entry without its block.
pub fn block_wanted(schema: &EntrySchema, inner: &BlockSchema, span: Span) -> Diagnostic {
    let entries: Vec<&str> = inner.entries.iter().map(|entry| entry.word).collect();
    Diagnostic::error("missing-block", span, format!("`{}` needs a block", schema.word))
        .here("`{ … }` is missing after this")
        .help(format!("In it stand: {}.", entries.join(", ")))
}

/// A block after an entry that has none.
pub fn block_unwanted(schema: &EntrySchema, span: Span) -> Diagnostic {
    Diagnostic::error("unwanted-block", span, format!("`{}` takes no block", schema.word))
        .here(format!("it is written `{}`", brief(schema)))
}

/// Something else than one of a few words.
pub fn not_one_of(
    schema: &EntrySchema,
    span: Span,
    word: &str,
    words: &[&str],
    near: Option<&'static str>,
) -> Diagnostic {
    let list = any_of(&words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>());
    let fault = Diagnostic::error("not-one-of", span, format!("`{}` cannot be `{word}`", schema.word))
        .here(format!("it is {list}"));
    match near {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None => fault,
    }
}

/// `expect cycle_time 25 min`: compared with what? `left` is the figure, `right` what follows.
pub fn comparison_missing(left: Span, right: Span, range: bool) -> Diagnostic {
    let fault = Diagnostic::error("comparison-wanted", left, "a comparison is missing between the two")
        .here("compared how?")
        .also(right, "with this");
    let gap = left.after();
    if range {
        return fault.edit("write `within`", gap, " within");
    }
    fault.edit("write `<=`, for at most", gap, " <=").edit("write `>=`, for at least", gap, " >=")
}

/// `size 1220 mm x 2440 mm`.
pub fn list_wanted(schema: &EntrySchema, whole: Span, items: &[&str]) -> Diagnostic {
    let written = format!("[{}]", items.join(", "));
    Diagnostic::error("list-without-brackets", whole, format!("`{}` takes a list in brackets", schema.word))
        .here("divided by commas")
        .edit(format!("write `{written}`"), whole, written)
}

/// `within` without a value.
pub fn allowance_wanted(schema: &EntrySchema, kind: Kind, span: Span) -> Diagnostic {
    let unit = kind.examples().first().copied().unwrap_or("mm");
    Diagnostic::error("unfinished-entry", span, format!("`{}` stops too early", schema.word)).here(format!(
        "after `within`, {} is wanted: `within 0.5 {unit}`, or `within +0.8/-0.2 {unit}`",
        a(kind.plain())
    ))
}
