//! One sample in every renderer.

use withy::report::terminal::Colour;
use withy::report::{Class, Diagnostic, json, junit, sarif, short, sorted, summary, terminal};
use withy::text::{Files, SourceFile, Span};

use crate::sample::sample;

#[test]
fn the_terminal_shows_everything_without_colour() {
    let (files, findings) = sample();
    let findings = sorted(findings, &files);
    insta::assert_snapshot!(terminal::render(&findings, &files, Colour::Off), @"
    warning uncalibrated-heater (accepted): the heaters on `rail_12v` were never measured
       ╭─[ bench/north.withy:2:8 ]
       │
     2 │ supply rail_12v {
       │        ────┬───
       │            ╰───── here
    ───╯
      figures  spread  unknown  (-unlimited..0.25)
      edit     name the supply and its rating anew
               (changes a time, power, temperature or current: make it by name)
               bench/north.withy:2:8
                 - rail_12v
                 + rail
               bench/north.withy:4:8
                 - 30 A
                 + 24 A
      accepted trial strips planned (until 2027-06-30)

    error unknown-name: nothing is called `clear_5`
       ╭─[ recipes/lens tray.withy:4:28 ]
       │
     4 │   ambient 18..27 °C, sheet clear_5   # 5 mm
       │                            ───┬───
       │                               ╰───── not declared in this file or a file it uses
    ───╯
      help     Declare it, or use the file that declares it.
      edit     use `clear_3`
               recipes/lens tray.withy:4:28
                 - clear_5
                 + clear_3

    danger supply-overload: bend `front` draws more than `rail_12v` may give
       ╭─[ recipes/lens tray.withy:5:3 ]
       │
     5 │   bend front { heat 90 s }
       │   ────────────┬───────────
       │               ╰───────────── both lines heat here
    ───╯
       ╭─[ bench/north.withy:4:2 ]
       │
     3 │     fuse 25 A
       │     ────┬────
       │         ╰────── the fuse
     4 │     rated 30 A
       │     ─────┬────
       │          ╰────── 80 % of this may be drawn for long
    ───╯
      figures  peak current      31.2 A  (29.8..32.7 A)  limit 24.0 A (80 % of the rating)
               time at the peak  90 s
      note     The figures hold at 22 °C.
      note     A fuse of this size opens after
               about a minute.

    notice missing-set-time: bend `front` does not say how long it is held
       ╭─[ recipes/lens tray.withy:5:26 ]
       │
     5 │   bend front { heat 90 s }
       │                          ┬
       │                          ╰── here
    ───╯
      edit     set 110 s, as computed
               (changes a time, power, temperature or current: make it by name)
               recipes/lens tray.withy:5:25
                 +
                 +     set 110 s

    hint stray-end: the file ends here
       ╭─[ recipes/lens tray.withy:8:1 ]
       │
     8 │
       │ ┬
       │ ╰── here
    ───╯
    ");
}

#[test]
fn colour_adds_only_escape_sequences() {
    let (files, findings) = sample();
    let coloured = terminal::render(&findings, &files, Colour::On);
    assert!(coloured.contains('\x1b'));
    let mut plain = String::new();
    let mut rest = coloured.as_str();
    while let Some((before, after)) = rest.split_once('\x1b') {
        plain.push_str(before);
        rest = after.split_once('m').unwrap().1;
    }
    plain.push_str(rest);
    let trimmed: String = plain.split_inclusive('\n').map(|line| line.trim_end().to_owned() + "\n").collect();
    assert_eq!(trimmed, terminal::render(&findings, &files, Colour::Off));
}

#[test]
fn awkward_places_are_drawn() {
    let mut files = Files::new();
    let empty = files.add(SourceFile::new("empty.withy", ""));
    let marked =
        files.add(SourceFile::new("marked.withy", "\u{feff}° 22 °C\r\nlot a {\r\n\tstored dry\r\n}\r\n漢 x\x1b[2J"));
    let places = [
        (empty, 0, 0),
        (marked, 0, 0),
        (marked, 0, 3),
        (marked, 14, 37),
        (marked, 14, 23),
        (marked, 42, 43),
        (marked, 90, 99),
    ];
    let findings = places.map(|(file, start, end)| Diagnostic::error("fault", Span::new(file, start, end), "wrong"));
    insta::assert_snapshot!(terminal::render(&findings, &files, Colour::Off), @"
    error fault: wrong
       ╭─[ empty.withy:1:1 ]
       │
     1 │
       │ ┬
       │ ╰── here
    ───╯

    error fault: wrong
       ╭─[ marked.withy:1:1 ]
       │
     1 │ ° 22 °C
       │ ┬
       │ ╰── here
    ───╯

    error fault: wrong
       ╭─[ marked.withy:1:1 ]
       │
     1 │ ° 22 °C
       │ ┬
       │ ╰── here
    ───╯

    error fault: wrong
       ╭─[ marked.withy:2:1 ]
       │
     2 │ ╭─▶ lot a {
       ┆ ┆
     4 │ ├─▶ }
       │ │
       │ ╰──────── here
    ───╯

    error fault: wrong
       ╭─[ marked.withy:2:1 ]
       │
     2 │ lot a {
       │ ────┬────
       │     ╰────── here
    ───╯

    error fault: wrong
       ╭─[ marked.withy:5:2 ]
       │
     5 │ 漢 x?[2J
       │   ┬
       │   ╰── here
    ───╯

    error fault: wrong
       ╭─[ marked.withy:5:8 ]
       │
     5 │ 漢 x?[2J
       │         ┬
       │         ╰── here
    ───╯
    ");
}

#[test]
fn short_gives_one_line_each() {
    let (files, findings) = sample();
    let findings = sorted(findings, &files);
    insta::assert_snapshot!(short::render(&findings, &files), @"
    bench/north.withy:2:8: warning uncalibrated-heater (accepted): the heaters on `rail_12v` were never measured
    recipes/lens tray.withy:4:28: error unknown-name: nothing is called `clear_5`
    recipes/lens tray.withy:5:3: danger supply-overload: bend `front` draws more than `rail_12v` may give
    recipes/lens tray.withy:5:26: notice missing-set-time: bend `front` does not say how long it is held
    recipes/lens tray.withy:8:1: hint stray-end: the file ends here
    ");
    insta::assert_snapshot!(summary(&findings, 2), @"1 error, 1 danger, 1 notice, 1 hint in 2 files; 1 accepted");
}

#[test]
#[expect(clippy::too_many_lines, reason = "the length is that of the expected text")]
fn json_holds_every_field() {
    let (files, findings) = sample();
    let findings = sorted(findings, &files);
    insta::assert_snapshot!(json::render(&findings, &files), @r#"
    {
      "schema": "withy:findings:1",
      "findings": [
        {
          "rule": "uncalibrated-heater",
          "class": "warning",
          "headline": "the heaters on `rail_12v` were never measured",
          "places": [
            {
              "file": "bench/north.withy",
              "start": 42,
              "end": 50,
              "line": 2,
              "column": 8,
              "label": "",
              "primary": true
            }
          ],
          "figures": [
            {
              "name": "spread",
              "value": null,
              "low": null,
              "high": 0.25,
              "unit": "",
              "limit": null,
              "limit_source": null
            }
          ],
          "notes": [],
          "helps": [],
          "edits": [
            {
              "title": "name the supply and its rating anew",
              "changes_control": true,
              "changes": [
                {
                  "file": "bench/north.withy",
                  "start": 42,
                  "end": 50,
                  "text": "rail"
                },
                {
                  "file": "bench/north.withy",
                  "start": 73,
                  "end": 77,
                  "text": "24 A"
                }
              ]
            }
          ],
          "accepted": {
            "because": "trial strips planned",
            "until": "2027-06-30"
          },
          "known": false
        },
        {
          "error": "unknown-name",
          "class": "error",
          "headline": "nothing is called `clear_5`",
          "places": [
            {
              "file": "recipes/lens tray.withy",
              "start": 93,
              "end": 100,
              "line": 4,
              "column": 28,
              "label": "not declared in this file or a file it uses",
              "primary": true
            }
          ],
          "figures": [],
          "notes": [],
          "helps": [
            "Declare it, or use the file that declares it."
          ],
          "edits": [
            {
              "title": "use `clear_3`",
              "changes_control": false,
              "changes": [
                {
                  "file": "recipes/lens tray.withy",
                  "start": 93,
                  "end": 100,
                  "text": "clear_3"
                }
              ]
            }
          ],
          "accepted": null,
          "known": false
        },
        {
          "rule": "supply-overload",
          "class": "danger",
          "headline": "bend `front` draws more than `rail_12v` may give",
          "places": [
            {
              "file": "recipes/lens tray.withy",
              "start": 112,
              "end": 136,
              "line": 5,
              "column": 3,
              "label": "both lines heat here",
              "primary": true
            },
            {
              "file": "bench/north.withy",
              "start": 67,
              "end": 77,
              "line": 4,
              "column": 2,
              "label": "80 % of this may be drawn for long",
              "primary": false
            },
            {
              "file": "bench/north.withy",
              "start": 55,
              "end": 64,
              "line": 3,
              "column": 2,
              "label": "the fuse",
              "primary": false
            }
          ],
          "figures": [
            {
              "name": "peak current",
              "value": 31.2,
              "low": 29.8,
              "high": 32.7,
              "unit": "A",
              "limit": 24.0,
              "limit_source": "80 % of the rating"
            },
            {
              "name": "time at the peak",
              "value": 90.0,
              "low": 90.0,
              "high": 90.0,
              "unit": "s",
              "limit": null,
              "limit_source": null
            }
          ],
          "notes": [
            "The figures hold at 22 °C.",
            "A fuse of this size opens after\nabout a minute."
          ],
          "helps": [],
          "edits": [],
          "accepted": null,
          "known": false
        },
        {
          "rule": "missing-set-time",
          "class": "notice",
          "headline": "bend `front` does not say how long it is held",
          "places": [
            {
              "file": "recipes/lens tray.withy",
              "start": 135,
              "end": 135,
              "line": 5,
              "column": 26,
              "label": "",
              "primary": true
            }
          ],
          "figures": [],
          "notes": [],
          "helps": [],
          "edits": [
            {
              "title": "set 110 s, as computed",
              "changes_control": true,
              "changes": [
                {
                  "file": "recipes/lens tray.withy",
                  "start": 134,
                  "end": 134,
                  "text": "\n    set 110 s"
                }
              ]
            }
          ],
          "accepted": null,
          "known": false
        },
        {
          "rule": "stray-end",
          "class": "hint",
          "headline": "the file ends here",
          "places": [
            {
              "file": "recipes/lens tray.withy",
              "start": 216,
              "end": 216,
              "line": 8,
              "column": 1,
              "label": "",
              "primary": true
            }
          ],
          "figures": [],
          "notes": [],
          "helps": [],
          "edits": [],
          "accepted": null,
          "known": false
        }
      ],
      "counts": {
        "error": 1,
        "danger": 1,
        "warning": 0,
        "caution": 0,
        "notice": 1,
        "hint": 1,
        "accepted": 1,
        "known": 0
      }
    }
    "#);
}

#[test]
fn junit_has_a_suite_for_each_file() {
    let (mut files, findings) = sample();
    let clean = files.add(SourceFile::new("stock/acrylic.withy", ""));
    let findings = sorted(findings, &files);
    let report = junit::render(&findings, &files, &[clean], Class::Caution);
    insta::assert_snapshot!(report, @r#"
    <?xml version="1.0" encoding="UTF-8"?>
    <testsuites name="withy" tests="6" skipped="1" failures="1" errors="1">
        <testsuite name="bench/north.withy" tests="1" skipped="1" errors="0" failures="0">
            <testcase name="uncalibrated-heater at 2:8" classname="bench/north.withy">
                <skipped message="accepted: trial strips planned (until 2027-06-30)" type="warning">bench/north.withy:2:8
    the heaters on `rail_12v` were never measured
    spread  unknown  (-unlimited..0.25)
    edit: name the supply and its rating anew (changes a time, power, temperature or current)</skipped>
            </testcase>
        </testsuite>
        <testsuite name="recipes/lens tray.withy" tests="4" skipped="0" errors="1" failures="1">
            <testcase name="unknown-name at 4:28" classname="recipes/lens tray.withy">
                <error message="nothing is called `clear_5`" type="error">recipes/lens tray.withy:4:28
    nothing is called `clear_5`
    Declare it, or use the file that declares it.
    edit: use `clear_3`</error>
            </testcase>
            <testcase name="supply-overload at 5:3" classname="recipes/lens tray.withy">
                <failure message="bend `front` draws more than `rail_12v` may give" type="danger">recipes/lens tray.withy:5:3
    bend `front` draws more than `rail_12v` may give
    peak current      31.2 A  (29.8..32.7 A)  limit 24.0 A (80 % of the rating)
    time at the peak  90 s
    The figures hold at 22 °C.
    A fuse of this size opens after
    about a minute.</failure>
            </testcase>
            <testcase name="missing-set-time at 5:26" classname="recipes/lens tray.withy">
                <system-out>recipes/lens tray.withy:5:26
    bend `front` does not say how long it is held
    edit: set 110 s, as computed (changes a time, power, temperature or current)</system-out>
            </testcase>
            <testcase name="stray-end at 8:1" classname="recipes/lens tray.withy">
                <system-out>recipes/lens tray.withy:8:1
    the file ends here</system-out>
            </testcase>
        </testsuite>
        <testsuite name="stock/acrylic.withy" tests="1" skipped="0" errors="0" failures="0">
            <testcase name="no findings"/>
        </testsuite>
    </testsuites>
    "#);
    let read = quick_junit::Report::deserialize_from_str(&report).unwrap();
    assert_eq!((read.tests, read.errors, read.failures), (6, 1, 1));
}

#[test]
fn no_findings_give_well_formed_empty_reports() {
    let files = Files::new();
    assert_eq!(terminal::render(&[], &files, Colour::On), "");
    assert_eq!(short::render(&[], &files), "");
    assert_eq!(summary(&[], 0), "no findings in 0 files");
    let log = sarif::render(&[], &files, &[]).replace(env!("CARGO_PKG_VERSION"), "VERSION");
    insta::assert_snapshot!(log, @r#"
    {
      "$schema": "https://raw.githubusercontent.com/oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json",
      "version": "2.1.0",
      "runs": [
        {
          "tool": {
            "driver": {
              "name": "withy",
              "semanticVersion": "VERSION",
              "rules": []
            }
          },
          "results": [],
          "columnKind": "unicodeCodePoints"
        }
      ]
    }
    "#);
    insta::assert_snapshot!(junit::render(&[], &files, &[], Class::Caution), @r#"
    <?xml version="1.0" encoding="UTF-8"?>
    <testsuites name="withy" tests="0" skipped="0" failures="0" errors="0">
    </testsuites>
    "#);
    insta::assert_snapshot!(json::render(&[], &files), @r#"
    {
      "schema": "withy:findings:1",
      "findings": [],
      "counts": {
        "error": 0,
        "danger": 0,
        "warning": 0,
        "caution": 0,
        "notice": 0,
        "hint": 0,
        "accepted": 0,
        "known": 0
      }
    }
    "#);
}
