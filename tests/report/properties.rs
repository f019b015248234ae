//! What holds for any text and any span, however wrong.

use proptest::collection::vec;
use proptest::prelude::{Just, Strategy, any, prop_oneof, proptest};
use proptest::sample::select;
use withy::report::terminal::Colour;
use withy::report::{Change, Class, Diagnostic, Edit, Figure, Label, json, junit, sarif, short, sorted, terminal};
use withy::text::{FileId, Files, SourceFile, Span};

/// Characters that have given renderers trouble: wide and of no width, all that any library takes for a line
/// break, and what a terminal obeys.
const CHARACTERS: &[char] = &[
    'a', ' ', '\n', '\n', '\r', '\t', '°', 'µ', 'Ω', '\u{feff}', '\u{b}', '\u{c}', '\u{85}', '\u{2028}', '\u{2029}',
    '\x1b', '\0', '漢', '🔥', '\u{301}', '\u{200d}', '\u{202e}', '×',
];

/// Texts of such characters; every fourth begins with a byte order mark.
fn text() -> impl Strategy<Value = String> {
    let lines = prop_oneof![3 => select(CHARACTERS).prop_map(String::from), 1 => select(vec!["\r\n", "heat 90 s"]).prop_map(String::from)];
    let mark = prop_oneof![3 => Just(""), 1 => Just("\u{feff}")];
    (mark, vec(lines, 0..24)).prop_map(|(mark, parts)| mark.to_owned() + &parts.concat())
}

fn span() -> impl Strategy<Value = Span> {
    let offset = || prop_oneof![8 => 0..60_u32, 1 => any::<u32>(), 1 => select(vec![u32::MAX, u32::MAX - 1])];
    (0..2_u32, offset(), offset()).prop_map(|(file, start, end)| Span { file: FileId(file), start, end })
}

fn finding() -> impl Strategy<Value = Diagnostic> {
    let labels = vec((span(), text(), any::<bool>()), 1..5);
    let figures = vec((text(), any::<[f64; 3]>(), text(), any::<Option<f64>>()), 0..3);
    let class = select(Class::ALL.map(Some).into_iter().chain([None]).collect::<Vec<_>>());
    (class, text(), labels, figures, vec(text(), 0..3), span()).prop_map(
        |(class, headline, labels, figures, notes, changed)| {
            let mut finding = match class {
                Some(class) => Diagnostic::rule("some-rule", class, changed, headline.clone()),
                None => Diagnostic::error("some-error", changed, headline.clone()),
            };
            finding.labels = labels.into_iter().map(|(span, text, primary)| Label { span, text, primary }).collect();
            finding.figures = figures
                .into_iter()
                .map(|(name, [value, low, high], unit, limit)| Figure {
                    limit_source: limit.map(|_| name.clone()),
                    name,
                    value,
                    low,
                    high,
                    unit,
                    limit,
                })
                .collect();
            let changes = vec![Change { span: changed, text: headline.clone() }];
            finding.edits.push(Edit { title: headline, changes_control: notes.is_empty(), changes });
            finding.helps.clone_from(&notes);
            finding.notes = notes;
            finding
        },
    )
}

fn files(first: &str, second: &str) -> Files {
    let mut files = Files::new();
    files.add(SourceFile::new("first.withy", first));
    files.add(SourceFile::new("µ/second.withy", second));
    files
}

proptest! {
    #[test]
    fn nothing_panics_and_nothing_reaches_the_terminal(first in text(), second in text(), findings in vec(finding(), 0..3)) {
        let files = files(&first, &second);
        let findings = sorted(findings, &files);
        let shown = terminal::render(&findings, &files, Colour::Off);
        for c in shown.chars() {
            assert!(c == '\n' || !c.is_control(), "{c:?} in {shown}");
        }
        terminal::render(&findings, &files, Colour::On);
        assert_eq!(short::render(&findings, &files).lines().count(), findings.len());
        let read: serde_json::Value = serde_json::from_str(&json::render(&findings, &files)).unwrap();
        assert_eq!(read["findings"].as_array().unwrap().len(), findings.len());
        let read: serde_json::Value = serde_json::from_str(&sarif::render(&findings, &files, &[])).unwrap();
        assert_eq!(read["runs"][0]["results"].as_array().unwrap().len(), findings.len());
        let read = quick_junit::Report::deserialize_from_str(&junit::render(&findings, &files, &[], Class::Caution)).unwrap();
        assert_eq!(read.tests, findings.len());
    }

    #[test]
    fn every_renderer_names_the_same_place(first in text(), second in text(), finding in finding()) {
        let files = files(&first, &second);
        let findings = [finding];
        let read: serde_json::Value = serde_json::from_str(&json::render(&findings, &files)).unwrap();
        let place = &read["findings"][0]["places"][0];
        let place = format!("{}:{}:{}", place["file"].as_str().unwrap(), place["line"], place["column"]);
        let shown = terminal::render(&findings, &files, Colour::Off);
        assert!(shown.contains(&format!("╭─[ {place} ]")), "{place} in\n{shown}");
        assert!(short::render(&findings, &files).starts_with(&format!("{place}: ")));
    }

    #[test]
    fn every_label_is_drawn_on_its_line(first in text(), second in text(), spans in vec(span(), 1..4)) {
        let files = files(&first, &second);
        let mut finding = Diagnostic::error("some-error", spans[0], "wrong").here("label 0 ");
        for (index, span) in spans.iter().enumerate().skip(1) {
            finding = finding.also(*span, format!("label {index} "));
        }
        let shown = terminal::render(&[finding], &files, Colour::Off);
        for index in 0..spans.len() {
            assert_eq!(shown.matches(&format!("label {index}")).count(), 1, "{index} in\n{shown}");
        }
    }

    #[test]
    fn the_order_does_not_depend_on_the_order_of_finding(findings in vec(finding(), 0..6)) {
        let files = files("", "");
        let mut reversed = findings.clone();
        reversed.reverse();
        let sorted = sorted(findings, &files);
        assert_eq!(format!("{sorted:?}"), format!("{:?}", withy::report::sorted(reversed, &files)));
    }
}
