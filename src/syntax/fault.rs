//! The wording of faults of syntax.

use std::ops::Range;

use chumsky::error::{Rich, RichPattern};

use crate::report::Diagnostic;
use crate::syntax::slice::BraceFault;
use crate::syntax::{Kind, TokenTable};
use crate::text::Span;

/// A fault of the braces.
pub fn brace(table: &TokenTable, fault: BraceFault) -> Diagnostic {
    match fault {
        BraceFault::Unclosed(open) => {
            Diagnostic::error("unclosed-block", table.span(open), "this block is never closed")
                .here("opened here")
                .help("Write `}` on a line of its own after the block's last entry.")
        }
        BraceFault::Unopened(after) => {
            Diagnostic::error("unopened-block", table.span(after), "a block follows, but its `{` is missing")
                .here("`{` is missed after this")
                .edit("write `{`", table.span(after).after(), " {")
        }
        BraceFault::UnopenedLine(first) => {
            Diagnostic::error("unopened-block", table.span(first), "this line closes a block that it does not open")
                .here("its `{` is missing")
                .help("Write `{` after the words that the block belongs to.")
        }
        BraceFault::Headless(first) => {
            Diagnostic::error("headless-block", table.span(first), "these entries belong to no declaration")
                .here("the line that begins their declaration is missing above")
                .help("Such a line says what it is and gives it a name: `wire hot_20 {`.")
        }
        BraceFault::Stray(at) => Diagnostic::error("stray-brace", table.span(at), "this `}` closes nothing")
            .here("no block is open here")
            .edit("remove it", table.span(at), ""),
        BraceFault::TooDeep(at) => {
            Diagnostic::error("nested-too-deep", table.span(at), "blocks are nested too deep here")
                .help("No entry of the language needs more than a few levels: look for `{` that should not be there.")
        }
    }
}

/// A bracket that is still open where its entry ends.
pub fn bracket(table: &TokenTable, open: usize) -> Diagnostic {
    let round = matches!(table.kinds()[open], Kind::OpenParen | Kind::CallParen);
    let (opening, closing) = if round { ("(", ")") } else { ("[", "]") };
    Diagnostic::error("unclosed-bracket", table.span(open), format!("this `{opening}` is never closed"))
        .here("opened here")
        .help(format!("Write `{closing}` where it ends. Within brackets, items are divided by commas."))
}

/// A token that is wrong wherever it stands; none for a good one. `last` says that nothing follows on its line.
pub fn wrong_token(kind: Kind, span: Span, text: &str, last: bool) -> Option<Diagnostic> {
    match kind {
        Kind::OpenText => {
            let fault = Diagnostic::error("unclosed-text", span, "this text is not closed on its line")
                .here("the closing quote is missing");
            Some(match text.find(['“', '”', '„']) {
                Some(curly) => {
                    let closed = format!("{}\"", text.get(..curly).unwrap_or(""));
                    let end = span.start + u32::try_from(curly).unwrap_or(0) + 3;
                    fault.edit("write `\"` there", Span::new(span.file, span.start, end), closed)
                }
                None => fault.edit("close it at the end of the line", span.after(), "\""),
            })
        }
        Kind::CurlyText => {
            let quotes = ['“', '”', '„', '«', '»', '‘', '’', '\'', '"'];
            let inner = text.trim_matches(quotes).replace('\\', "\\\\").replace('"', "\\\"");
            let written = format!("\"{inner}\"");
            Some(
                Diagnostic::error("curly-quotes", span, "a text stands in straight quotes: `\"`")
                    .here("these are the quotes of a word processor, or single ones")
                    .edit(format!("write `{written}`"), span, written),
            )
        }
        Kind::DrawingMark => {
            let number = text.trim_end_matches(['"', '\'', '′', '″', '”']);
            let unit = if text.ends_with(['\'', '′']) { "ft" } else { "in" };
            Some(
                Diagnostic::error("drawing-mark", span, format!("inch and foot marks are not units here: `{text}`"))
                    .here("write the unit as a word")
                    .edit(format!("write `{number} {unit}`"), span, format!("{number} {unit}")),
            )
        }
        Kind::Stray if text == ";" => {
            let fault =
                Diagnostic::error("stray-character", span, "an entry ends at a line's end or a comma, not at `;`");
            Some(if last {
                fault.here("nothing is needed here").edit("remove it", span, "")
            } else {
                fault.here("another entry follows").edit("write `,`", span, ",")
            })
        }
        Kind::Stray => Some(
            Diagnostic::error("stray-character", span, format!("`{}` has no meaning in a recipe file", shown(text)))
                .here("this character")
                .edit("remove it", span, ""),
        ),
        _ => None,
    }
}

/// At most a few characters of what the author wrote, control characters made visible.
fn shown(text: &str) -> String {
    let short: String = text.chars().take(12).flat_map(char::escape_debug).collect();
    if text.chars().count() > 12 { format!("{short}…") } else { short }
}

/// An entry that does not begin with a word.
pub fn headless(span: Span, text: &str) -> Diagnostic {
    let rest = text.get(span.range().start..).unwrap_or("");
    if rest.starts_with("//") || rest.starts_with("/*") {
        return Diagnostic::error("headless-entry", span, "a comment begins with `#`")
            .here("what stands here is read as an entry")
            .help("Write `# …`; it ends with its line.");
    }
    Diagnostic::error("headless-entry", span, "an entry begins with a word that says what it is")
        .here("this is no such word")
        .help("For example: `thickness 3 mm`.")
}

/// `size 1220 mm, 2440 mm`: the numbers after the comma belong to the entry before it. The tokens reach from its
/// first value to the last number.
pub fn list_without_brackets(table: &TokenTable, text: &str, tokens: Range<usize>) -> Diagnostic {
    let span = table.cover(tokens);
    let listed = format!("[{}]", text.get(span.range()).unwrap_or(""));
    Diagnostic::error("list-without-brackets", span, "a list stands in brackets")
        .here("a bare comma ends the entry")
        .edit(format!("write `{listed}`"), span, listed)
}

/// A block without an entry, since its `{` stands on the line after it.
pub fn block_apart(before: Span, open: Span) -> Diagnostic {
    Diagnostic::error("block-apart", open, "the `{` of a block stands on the line of its entry")
        .here("a block begins here, but no entry")
        .also(before, "the entry ends here")
        .edit("put it there", Span::new(open.file, before.end, open.start), " ")
}

/// An entry that is beyond what a person writes.
pub fn too_long(span: Span) -> Diagnostic {
    Diagnostic::error("overlong-entry", span, "this entry has too many operators or brackets")
        .here("more than 256 operators, or brackets more than 32 deep")
        .help("Name parts of it with `let`.")
}

/// A string escape that is none.
pub fn escape(span: Span) -> Diagnostic {
    Diagnostic::error("unknown-escape", span, "in a text, `\\` stands only before `\"` and `\\`")
        .here("write `\\\\` for one backslash")
}

/// What the grammar says of an entry that it could not read.
pub fn malformed(table: &TokenTable, first: usize, tokens: usize, error: &Rich<'_, Kind>, text: &str) -> Diagnostic {
    let at = error.span().start;
    let wanted = wanted(error);
    if at >= tokens {
        let last = table.span(first + tokens.saturating_sub(1));
        return Diagnostic::error("unfinished-entry", last, "this entry stops too early")
            .here(format!("after this, {wanted} is expected"));
    }
    let span = table.span(first + at);
    let found = table.kinds()[first + at];
    let word = text.get(span.range()).unwrap_or("");
    let found = if matches!(found, Kind::Text) || found.is_reserved() || word.is_empty() {
        found.describe().to_owned()
    } else {
        format!("`{}`", shown(word))
    };
    Diagnostic::error("malformed-entry", span, format!("{found} cannot stand here")).here(format!("expected {wanted}"))
}

/// "one of a, b or c" in a fixed order, without what is allowed nearly everywhere.
fn wanted(error: &Rich<'_, Kind>) -> String {
    let mut names: Vec<String> = error
        .expected()
        .filter_map(|pattern| match pattern {
            RichPattern::Token(kind) => Some(kind.describe().to_owned()),
            RichPattern::Label(label) => Some(label.to_string()),
            RichPattern::EndOfInput => Some("the end of the entry".to_owned()),
            _ => None,
        })
        .collect();
    names.sort_unstable();
    names.dedup();
    let has = |names: &[String], wanted: &str| names.iter().any(|name| name == wanted);
    // After a number much is allowed that nobody looks for: what is missing there is the unit.
    if has(&names, "a unit") {
        names.retain(|name| name == "a unit" || name == "the end of the entry");
    }
    // A quantity, a name, a text and the rest can all begin an argument: one word for them.
    if has(&names, "a quantity") && has(&names, "a name") {
        names.retain(|name| {
            name == "the end of the entry" || name == "the name of a rule" || name == "`)`" || name == "`]`"
        });
        names.insert(0, "a value".to_owned());
    }
    match names.as_slice() {
        [] => "something else".to_owned(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}
