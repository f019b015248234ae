//! Slips that only neighbouring tokens show, such as `2,5 mm` or `2:45`. None of these shapes is ever legal, so
//! each gets one message with the mend instead of what the grammar would say about it.

use std::ops::Range;

use crate::report::Diagnostic;
use crate::syntax::{Kind, TokenTable};
use crate::text::Span;

/// Whether the comma at `index` stands between two digits: it ends no entry, since none begins with a number.
pub fn is_decimal_comma(table: &TokenTable, index: usize) -> bool {
    let kind = |index: usize| table.kinds().get(index).copied();
    let number = |index: Option<usize>| index.and_then(kind) == Some(Kind::Number);
    kind(index) == Some(Kind::Comma)
        && number(index.checked_sub(1))
        && number(index.checked_add(1))
        && glued(table, index.saturating_sub(1))
        && glued(table, index)
}

/// Whether nothing stands between the token and the next one.
fn glued(table: &TokenTable, index: usize) -> bool {
    index + 1 < table.len() && table.span(index).end == table.span(index + 1).start
}

/// `thickness: 3 mm`: a colon between the head of an entry and what follows it.
pub fn after_head(table: &TokenTable, head: Span, rest: Range<usize>) -> Option<Diagnostic> {
    let is_colon = !rest.is_empty() && table.kinds().get(rest.start) == Some(&Kind::Colon);
    is_colon.then(|| {
        let next = if rest.len() > 1 { table.span(rest.start + 1).before() } else { table.span(rest.start).after() };
        needless_sign(head, table.span(rest.start), ":", next)
    })
}

/// A sign between the head of an entry and what follows it, which begins at `next`.
pub fn needless_sign(head: Span, sign: Span, shown: &str, next: Span) -> Diagnostic {
    Diagnostic::error("needless-sign", sign, "the value follows its entry directly")
        .here(format!("no `{shown}` stands between them"))
        .edit(format!("remove `{shown}`"), head.after().to(next), " ")
}

/// `use ../stock/acrylic.withy`; the tokens are what follows `use`.
pub fn bare_path(table: &TokenTable, text: &str, rest: Range<usize>) -> Option<Diagnostic> {
    let first = table.kinds().get(rest.start).filter(|_| !rest.is_empty())?;
    if matches!(first, Kind::Text | Kind::OpenText | Kind::CurlyText) {
        return None;
    }
    // A path ends with its line.
    let next_line = |index: usize| index > rest.start && table.indent(index).is_some();
    let end = rest.clone().find(|index| table.kinds()[*index] == Kind::As || next_line(*index)).unwrap_or(rest.end);
    let span = table.cover(rest.start..end);
    Some(path_without_quotes(span, text.get(span.range())?))
}

/// The path of a `use` that stands in no quotes.
pub fn path_without_quotes(span: Span, path: &str) -> Diagnostic {
    let quoted = format!("\"{}\"", path.replace('\\', "/"));
    let fault =
        Diagnostic::error("malformed-use", span, "the path of a file stands in quotes").here("the quotes are missing");
    if path.contains('"') { fault } else { fault.edit(format!("write `{quoted}`"), span, quoted) }
}

/// What decides how a number reads.
#[derive(Clone, Copy)]
struct Place {
    in_brackets: bool,
    /// Whether the entry may hold figures, such as `leg 2.tolerance`.
    in_expect: bool,
}

/// The slips among the tokens of an entry, from left to right.
pub fn within(table: &TokenTable, text: &str, tokens: Range<usize>, in_expect: bool) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut index = tokens.start;
    let mut brackets = 0_usize;
    while index < tokens.end {
        match table.kinds()[index] {
            Kind::OpenParen | Kind::CallParen | Kind::OpenBracket | Kind::IndexBracket => brackets += 1,
            Kind::CloseParen | Kind::CloseBracket => brackets = brackets.saturating_sub(1),
            _ => {}
        }
        let (taken, fault) =
            one(table, text, index..tokens.end, Place { in_brackets: brackets > 0, in_expect }).unwrap_or((1, None));
        faults.extend(fault);
        index += taken;
    }
    faults
}

/// The slip that begins at the first token, with the number of tokens it covers.
fn one(table: &TokenTable, text: &str, tokens: Range<usize>, place: Place) -> Option<(usize, Option<Diagnostic>)> {
    let start = tokens.start;
    // Numbers and the signs glued between them.
    let mut end = start + 1;
    let numeric = matches!(table.kinds()[start], Kind::Number | Kind::Dot);
    while numeric && end < tokens.end && glued(table, end - 1) && is_piece(table.kinds()[end]) {
        end += 1;
    }
    let kinds = &table.kinds()[start..end];
    let span = table.cover(start..end);
    let written = text.get(span.range())?;
    let fault = match kinds {
        // Within brackets `1,2` are two items.
        [Kind::Number, Kind::Comma, Kind::Number, ..] if !place.in_brackets => Some(decimal_comma(span, written)),
        [Kind::Number, Kind::Colon, Kind::Number, ..] => {
            let unit = table.kinds().get(end).filter(|kind| end < tokens.end && **kind == Kind::Word);
            let unit = unit.map(|_| table.span(end));
            return Some((end - start, Some(clock(span, written, unit, text))));
        }
        [Kind::Within] => {
            let fault = loose_deviations(table, text, start + 1..tokens.end)?;
            return Some((1, Some(fault)));
        }
        [Kind::Number, Kind::Dot, Kind::Number] => Some(dotted(span, written)),
        [Kind::Dot, Kind::Number] if !follows_a_name(table, start) => Some(
            Diagnostic::error("bad-number", span, format!("a digit stands on both sides of the point: `0{written}`"))
                .here("a 0 is missing before the point")
                .edit(format!("write `0{written}`"), span, format!("0{written}")),
        ),
        // In `expect leg 2. tolerance` the point joins the two.
        [Kind::Number, Kind::Dot] if !place.in_expect => {
            let whole = written.trim_end_matches('.');
            Some(
                Diagnostic::error("bad-number", span, format!("a digit stands on both sides of the point: `{whole}`"))
                    .here("nothing stands after the point")
                    .edit(format!("write `{whole}`"), span, whole),
            )
        }
        _ => None,
    };
    Some((end - start, fault))
}

/// `within +0.2 -0.5 mm` or `within + 0.2 / - 0.5 mm`: two numbers that the slash does not join.
fn loose_deviations(table: &TokenTable, text: &str, tokens: Range<usize>) -> Option<Diagnostic> {
    let kinds = table.kinds().get(tokens.clone())?;
    let number = |kind: Kind| matches!(kind, Kind::Number | Kind::Fraction);
    let at = |step: usize| text.get(table.span(tokens.start + step).range()).unwrap_or("");
    let (above, below, length) = match kinds {
        [Kind::Plus, above, Kind::Slash, Kind::Minus, below, ..] if number(*above) && number(*below) => {
            (at(1), at(4), 5)
        }
        [Kind::Plus, above, Kind::Minus, below, ..] if number(*above) && number(*below) => (at(1), at(3), 4),
        _ => return None,
    };
    let span = table.cover(tokens.start..tokens.start + length);
    let written = format!("+{above}/-{below}");
    let fault = Diagnostic::error("loose-deviations", span, "the two deviations are written as one, with a `/`");
    Some(fault.here("above and below").edit(format!("write `{written}`"), span, written))
}

fn is_piece(kind: Kind) -> bool {
    matches!(kind, Kind::Number | Kind::Comma | Kind::Colon | Kind::Dot)
}

/// `lip.2`: there the point belongs to the name before it.
fn follows_a_name(table: &TokenTable, dot: usize) -> bool {
    dot.checked_sub(1).is_some_and(|before| {
        glued(table, before) && matches!(table.kinds()[before], Kind::Word | Kind::CloseBracket | Kind::Number)
    })
}

/// `2,5`; with three digits after the comma it may be a thousand.
pub fn decimal_comma(span: Span, written: &str) -> Diagnostic {
    let fault = Diagnostic::error("decimal-comma", span, format!("`{written}`: the decimal sign is a point"))
        .here("a comma ends an entry or divides a list");
    let groups: Vec<&str> = written.split(',').collect();
    let joined = groups.concat();
    let thousands = groups.first().is_some_and(|first| (1..=3).contains(&first.len()) && *first != "0")
        && groups.iter().skip(1).all(|group| group.split('.').next().is_some_and(|whole| whole.len() == 3));
    let point = written.replacen(',', ".", 1);
    let decimal = groups.len() == 2 && !written.contains('.');
    let title = format!("write `{point}`");
    match (decimal, thousands) {
        (true, false) => fault.edit(title, span, point),
        (true, true) => fault.control_edit(title, span, point).control_edit(
            format!("write `{joined}`, if thousands are meant"),
            span,
            joined,
        ),
        (false, true) => fault.edit(format!("write `{joined}`"), span, joined),
        (false, false) => fault,
    }
}

/// `2:45`, perhaps with a unit behind it.
fn clock(span: Span, written: &str, unit: Option<Span>, text: &str) -> Diagnostic {
    let fault =
        Diagnostic::error("time-of-two-numbers", span, format!("a time has one number and one unit, not `{written}`"));
    let numbers: Option<Vec<u64>> = written.split(':').map(|number| number.parse().ok()).collect();
    let word = unit.and_then(|unit| text.get(unit.range()));
    let meant = match (numbers.as_deref(), word) {
        (Some([hours, minutes]), Some("h")) if *minutes < 60 => hours.checked_mul(60).map(|all| (all + minutes, "min")),
        (Some([minutes, seconds]), _) if *seconds < 60 => minutes.checked_mul(60).map(|all| (all + seconds, "s")),
        (Some([hours, minutes, seconds]), _) if *minutes < 60 && *seconds < 60 => {
            hours.checked_mul(3600).and_then(|all| all.checked_add(minutes * 60 + seconds)).map(|all| (all, "s"))
        }
        _ => None,
    };
    let whole = unit.filter(|_| matches!(word, Some("s" | "min" | "h"))).map_or(span, |unit| span.to(unit));
    match meant {
        Some((number, unit)) => fault
            .here(if unit == "s" { "minutes and seconds?" } else { "hours and minutes?" })
            .control_edit(format!("write `{number} {unit}`"), whole, format!("{number} {unit}")),
        None => fault.help("Write it in one unit: `165 s`, or `2.75 min`."),
    }
}

/// `30.06.2027`, or a number with two points.
fn dotted(span: Span, written: &str) -> Diagnostic {
    match iso_date(written) {
        Some(date) => Diagnostic::error("date-order", span, "dates are written year-month-day")
            .here("day, month and year?")
            .edit(format!("write `{date}`"), span, date),
        None => Diagnostic::error("bad-number", span, format!("`{written}` is not a number"))
            .here("a number has one point at most"),
    }
}

/// The date that `30.06.2027` or `30-06-2027` means: with a four-digit year the order of the rest is known only
/// where these signs say so, as they do, or where a month cannot be meant.
pub fn iso_date(text: &str) -> Option<String> {
    let sign = text.chars().find(|c| !c.is_ascii_digit())?;
    let parts: Vec<&str> = text.split(sign).collect();
    let all_digits = parts.iter().all(|part| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit()));
    let [first, second, third] = parts.as_slice() else { return None };
    let number = |part: &&str| part.parse::<u32>().ok();
    let (year, month, day) = match (first.len(), third.len()) {
        (4, 1..=2) => (*first, *second, *third),
        (1..=2, 4) if sign == '/' && number(first)? <= 12 => {
            // The month comes first in one country and the day in the next.
            if number(second)? <= 12 {
                return None;
            }
            (*third, *first, *second)
        }
        (1..=2, 4) => (*third, *second, *first),
        _ => return None,
    };
    let sound = all_digits && (1..=12).contains(&number(&month)?) && (1..=31).contains(&number(&day)?);
    sound.then(|| format!("{year}-{month:0>2}-{day:0>2}"))
}

#[cfg(test)]
mod tests {
    use super::iso_date;
    use crate::syntax::parse;
    use crate::text::FileId;

    fn edits(entry: &str) -> Vec<String> {
        let text = format!("sheet a {{\n  {entry}\n}}\n");
        let faults = parse(FileId(0), &text).faults;
        let edits = faults.iter().flat_map(|fault| &fault.edits).flat_map(|edit| &edit.changes);
        edits.map(|change| change.text.clone()).collect()
    }

    #[test]
    fn numbers_of_other_habits_are_mended() {
        assert_eq!(edits("thickness 2,5 mm"), ["2.5"]);
        assert_eq!(edits("use ../stock.withy"), ["\"../stock.withy\""]);
        assert_eq!(edits("width 1,220 mm"), ["1.220", "1220"]);
        assert_eq!(edits("mass .2 kg/m"), ["0.2"]);
        assert_eq!(edits("rise -.5 K"), ["0.5"]);
        assert_eq!(edits("width 3. mm"), ["3"]);
        assert_eq!(edits("heat 2:45"), ["165 s"]);
        assert_eq!(edits("heat 2:45 min at 80 %"), ["165 s"]);
        assert_eq!(edits("heat 1:00:05"), ["3605 s"]);
        assert_eq!(edits("until 30.06.2027"), ["2027-06-30"]);
    }

    #[test]
    fn what_is_right_is_left_alone() {
        for entry in ["a 2 mm, b 5 mm", "a min(1,2)", "a rib[2].crest", "a 0.2..0.5 mm", "a [1 mm,2 mm]", "a 4, b"] {
            assert!(parse(FileId(0), &format!("sheet a {{\n  {entry}\n}}\n")).faults.is_empty(), "{entry}");
        }
    }

    #[test]
    fn dates_of_other_countries_are_read_where_their_order_is_plain() {
        let cases = [
            ("30.06.2027", Some("2027-06-30")),
            ("3-6-2027", Some("2027-06-03")),
            ("2027/6/3", Some("2027-06-03")),
            ("06/30/2027", Some("2027-06-30")),
            ("30/06/2027", Some("2027-06-30")),
            ("06/07/2027", None),
            ("1.2.3", None),
            ("30.13.2027", None),
        ];
        for (text, date) in cases {
            assert_eq!(iso_date(text).as_deref(), date, "{text}");
        }
    }
}
