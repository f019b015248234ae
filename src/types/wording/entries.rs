use crate::names::{Decl, nearest};
use crate::report::Diagnostic;
use crate::text::Span;
use crate::types::schema::{BlockSchema, EntrySchema, Part, Quantities};
use crate::types::wording::{a, any_of};
use crate::units::Kind;

/// How an entry is written: `voltage VOLTAGE [at wire|terminals]`.
pub fn usage(schema: &EntrySchema) -> String {
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
            [unit, ..] => format!("{}, such as `12 {unit}`", a(kind.plain())),
        },
        Part::List(_, Quantities { kind, .. }, ..) => format!("a list in brackets, each {}", a(kind.plain())),
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
        Part::OneOf(ways) => any_of(&ways.iter().map(|way| first(way)).collect::<Vec<_>>()),
        Part::Allowance(_, kind) => format!("`within` and {}", a(kind.plain())),
        Part::Stages(_) => "a time or `computed`".to_owned(),
        Part::Order(_) => "bends joined by `then`".to_owned(),
        Part::Expectation(_) => "a comparison".to_owned(),
        Part::Rule(_) => "the name of a rule".to_owned(),
    }
}

/// Something else stands where a part of the entry should.
pub fn unfit(schema: &EntrySchema, part: &Part, span: Span, text: &str) -> Diagnostic {
    let headline = format!("`{text}` does not fit here: {} is wanted", wanted(part));
    let fault = Diagnostic::error("misfit", span, headline).here(format!("in `{}`", usage(schema)));
    match part {
        Part::Word(word) if nearest(text, [*word]).is_some() => fault.edit(format!("write `{word}`"), span, *word),
        _ => fault,
    }
}

/// The entry stops before it is complete.
pub fn too_little(schema: &EntrySchema, part: &Part, last: Span) -> Diagnostic {
    Diagnostic::error("unfinished-entry", last, format!("`{}` stops too early", schema.word))
        .here(format!("after this, {} is wanted", wanted(part)))
        .help(format!("It is written `{}`.", usage(schema)))
}

/// The entry goes on after it is complete.
pub fn too_much(schema: &EntrySchema, span: Span, text: &str, last: Span) -> Diagnostic {
    let short: String = text.chars().take(30).collect();
    Diagnostic::error("misfit", span, format!("`{short}` is too much for `{}`", schema.word))
        .here(format!("it is written `{}`", usage(schema)))
        .also(last, "the entry is complete here")
        .help("Another entry begins on a new line or after a comma.")
}

/// A word that begins no entry of this block.
pub fn unknown_entry(head: Span, word: &str, schema: &BlockSchema) -> Diagnostic {
    let words: Vec<&str> = schema.entries.iter().map(|entry| entry.word).collect();
    let fault = Diagnostic::error("unknown-entry", head, format!("`{word}` is no entry of {}", a(schema.name)))
        .here("not known here");
    match nearest(word, words.iter().copied()) {
        Some(near) => fault.edit(format!("write `{near}`"), head, near),
        None => fault.help(format!("Its entries are: {}.", words.join(", "))),
    }
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
}

/// All that is missing in a block.
pub fn missing_entries(schema: &BlockSchema, missing: &[&EntrySchema], (head, block): (Span, Span)) -> Diagnostic {
    let name = |entry: &EntrySchema| {
        let both: Vec<String> =
            std::iter::once(&entry.word).chain(entry.instead_of).map(|word| format!("`{word}`")).collect();
        any_of(&both)
    };
    let names: Vec<String> = missing.iter().map(|entry| name(entry)).collect();
    let list = match names.as_slice() {
        [rest @ .., last] if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    };
    let article = capital(&a(schema.name));
    let fault = Diagnostic::error("missing-entry", head, format!("{article} needs {list}"))
        .here(format!("this {} has none", schema.name));
    let lines: Vec<String> = missing.iter().map(|entry| format!("`{}`: {}", usage(entry), entry.meaning)).collect();
    let _ = block;
    lines.into_iter().fold(fault, Diagnostic::help)
}

fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// A declaration without a block.
pub fn no_block(decl: &Decl<'_>) -> Diagnostic {
    let word = decl.kind.word();
    let fault = Diagnostic::error("missing-block", decl.entry.line, format!("this {word} says nothing about itself"))
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
        .here(format!("it is written `{}`", usage(schema)))
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

/// `within` without a value.
pub fn allowance_wanted(schema: &EntrySchema, kind: Kind, span: Span) -> Diagnostic {
    let unit = kind.examples().first().copied().unwrap_or("mm");
    Diagnostic::error("unfinished-entry", span, format!("`{}` stops too early", schema.word)).here(format!(
        "after `within`, {} is wanted: `within 0.5 {unit}`, or `within +0.8/-0.2 {unit}`",
        a(kind.plain())
    ))
}
