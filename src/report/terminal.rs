//! Findings for people: the source with what is said about it, the figures, and what to do.

use ariadne::{Color, Config, Fmt, IndexType, Report, ReportKind};

use crate::report::figures;
use crate::report::place::{Place, fit};
use crate::report::plain::plain;
use crate::report::source::Sources;
use crate::report::{Class, Diagnostic, Edit, Label};
use crate::text::{FileId, Files, Span};

/// Whether escape sequences for colour are written. Colour only repeats what the words say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// For a terminal that shows colours.
    On,
    /// For files, pipes and readers who do without.
    Off,
}

/// The findings one after another, with an empty line between them.
pub fn render(diagnostics: &[Diagnostic], files: &Files, colour: Colour) -> String {
    let mut sources = Sources::new(files);
    let reports: Vec<String> = diagnostics.iter().map(|diagnostic| one(diagnostic, &mut sources, colour)).collect();
    reports.join("\n")
}

fn one(diagnostic: &Diagnostic, sources: &mut Sources, colour: Colour) -> String {
    let accepted = if diagnostic.accepted.is_some() { " (accepted)" } else { "" };
    let subject = format!("{} {}{accepted}:", diagnostic.word(), diagnostic.name());
    let shown = Some(subject_colour(diagnostic)).filter(|_| colour == Colour::On);
    let mut out = format!("{} {}\n", subject.fg(shown), plain(&diagnostic.headline));
    for (file, labels) in sections(diagnostic) {
        out.push_str(&section(file, &labels, diagnostic, sources, colour));
    }
    for (word, lines) in remarks(diagnostic, sources.files()) {
        for (index, line) in lines.iter().enumerate() {
            let word = if index == 0 { word } else { "" };
            out.push_str(format!("  {word:<8} {line}").trim_end());
            out.push('\n');
        }
    }
    out
}

/// The colours that ANSI Z535.1 gives to the signal words (from memory); an error is as red as a danger.
fn subject_colour(diagnostic: &Diagnostic) -> Color {
    match diagnostic.class() {
        None | Some(Class::Danger) => Color::Red,
        Some(Class::Warning) => Color::Fixed(208),
        Some(Class::Caution) => Color::Yellow,
        Some(Class::Notice) => Color::Blue,
        Some(Class::Hint) => Color::Green,
    }
}

/// The labels by file, the file of the fault first.
fn sections(diagnostic: &Diagnostic) -> Vec<(FileId, Vec<&Label>)> {
    let mut sections: Vec<(FileId, Vec<&Label>)> = Vec::new();
    for label in &diagnostic.labels {
        match sections.iter_mut().find(|(file, _)| *file == label.span.file) {
            Some((_, labels)) => labels.push(label),
            None => sections.push((label.span.file, vec![label])),
        }
    }
    sections
}

/// Lines longer than this are no help to anybody, and drawing many of them takes minutes.
const LONGEST_LINE: usize = 400;

/// Whether the lines on which a span begins and ends, or what lies between, are too long to be drawn.
fn is_too_long(span: Span, files: &Files) -> bool {
    let file = files.get(span.file);
    let (start, end) = fit(span, file.text());
    let length = |offset: usize| {
        let line = file.lines().line_of(u32::try_from(offset).unwrap_or(u32::MAX));
        let next = line + 1;
        let end = if next < file.lines().count() { file.lines().start(next) as usize } else { file.text().len() };
        end.saturating_sub(file.lines().start(line) as usize)
    };
    length(start) > LONGEST_LINE || length(end) > LONGEST_LINE || end - start > 20 * LONGEST_LINE
}

/// The places of labels without their source.
fn places(labels: &[&Label], files: &Files) -> String {
    let line = |label: &&Label| {
        let place = Place::of(label.span, files);
        format!("  {}:{}:{}  {}\n", plain(place.path), place.line, place.column, plain(&label.text))
    };
    labels.iter().map(line).collect()
}

/// One excerpt of a file. Each file gets a report of its own, because the library takes a character offset for a
/// byte offset where it names the place of a second file (ariadne 0.6.0, `write.rs`, "File name & reference"),
/// which shows a wrong place and panics inside a character.
fn section(file: FileId, labels: &[&Label], finding: &Diagnostic, sources: &mut Sources, colour: Colour) -> String {
    if labels.iter().any(|label| is_too_long(label.span, sources.files())) {
        return places(labels, sources.files());
    }
    let config = Config::new().with_index_type(IndexType::Byte).with_color(colour == Colour::On);
    let own = Some(finding.primary()).filter(|primary| primary.file == file);
    let Some(anchor) = own.or_else(|| labels.first().map(|label| label.span)) else { return String::new() };
    let kind = ReportKind::Custom("", Color::Primary);
    let mut report = Report::build(kind, sources.range(anchor)).with_config(config);
    let mut placed: Vec<_> = labels.iter().map(|label| (sources.range(label.span), label)).collect();
    // The library begins a new excerpt wherever a label ends above the one before it.
    placed.sort_by_key(|((_, range), _)| (range.end, range.start));
    for (range, label) in placed {
        // A label without words would be drawn by colour alone.
        let text = if label.text.is_empty() { "here".to_owned() } else { plain(&label.text) };
        let shown = if label.primary { subject_colour(finding) } else { Color::Fixed(110) };
        report.add_label(ariadne::Label::new(range).with_message(text).with_color(shown));
    }
    let mut drawn = Vec::new();
    // Writing to memory cannot fail; and whatever the library did write is better than nothing.
    let _ = report.finish().write(&mut *sources, &mut drawn);
    let drawn = String::from_utf8_lossy(&drawn);
    // The library's first line is a headline of its own.
    let (_, excerpt) = drawn.split_once('\n').unwrap_or(("", ""));
    excerpt.lines().flat_map(|line| [line.trim_end(), "\n"]).collect()
}

/// What follows the source: each with a word for what it is, and its lines.
fn remarks(diagnostic: &Diagnostic, files: &Files) -> Vec<(&'static str, Vec<String>)> {
    let mut remarks = vec![("figures", figures::table(&diagnostic.figures))];
    remarks.extend(diagnostic.notes.iter().map(|note| ("note", lines(note))));
    remarks.extend(diagnostic.helps.iter().map(|help| ("help", lines(help))));
    remarks.extend(diagnostic.edits.iter().map(|edit| ("edit", edit_lines(edit, files))));
    if let Some(accepted) = &diagnostic.accepted {
        remarks.push(("accepted", vec![plain(&accepted.sentence())]));
    }
    remarks
}

fn edit_lines(edit: &Edit, files: &Files) -> Vec<String> {
    let mut shown = lines(&edit.title);
    if edit.changes_control {
        shown.push("(changes a time, power, temperature or current: make it by name)".to_owned());
    }
    for change in &edit.changes {
        let Place { path, line, column, .. } = Place::of(change.span, files);
        shown.push(format!("{}:{line}:{column}", plain(path)));
        shown.extend(lines(files.slice(change.span)).iter().map(|line| format!("  - {line}")));
        shown.extend(lines(&change.text).iter().map(|line| format!("  + {line}")));
    }
    shown
}

fn lines(text: &str) -> Vec<String> {
    text.lines().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::{Colour, render};
    use crate::report::Diagnostic;
    use crate::text::{Files, SourceFile, Span};

    #[test]
    fn endless_lines_are_named_and_not_drawn() {
        let mut files = Files::new();
        let file = files.add(SourceFile::new("a.withy", "}".repeat(20_000)));
        let finding =
            Diagnostic::error("stray-brace", Span::new(file, 7, 8), "this `}` closes nothing").here("none is open");
        let shown = render(&[finding], &files, Colour::Off);
        assert_eq!(shown, "error stray-brace: this `}` closes nothing\n  a.withy:1:8  none is open\n");
    }
}
