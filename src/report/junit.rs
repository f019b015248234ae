//! Findings as test results, for build services.
//!
//! Each checked file is a suite and each of its findings a case; a file without findings is one case that
//! passes, because many services take a report without any case for a mistake.

use std::collections::BTreeMap;

use quick_junit::{NonSuccessKind, Report, TestCase, TestCaseStatus, TestSuite};

use crate::report::place::Place;
use crate::report::{Class, Diagnostic, details};
use crate::text::{FileId, Files};

/// The findings of the `checked` files and of any other file that has some. Errors are errors; what is at least as grave
/// as `fails` fails; the rest passes and is told in the output; accepted and known findings are skipped.
pub fn render(diagnostics: &[Diagnostic], files: &Files, checked: &[FileId], fails: Class) -> String {
    let key = |id: FileId| (files.get(id).path(), id);
    let mut suites: BTreeMap<(&str, FileId), Vec<&Diagnostic>> = BTreeMap::new();
    for id in checked {
        suites.entry(key(*id)).or_default();
    }
    for diagnostic in diagnostics {
        suites.entry(key(diagnostic.primary().file)).or_default().push(diagnostic);
    }

    let mut report = Report::new(env!("CARGO_PKG_NAME"));
    for ((path, _), found) in suites {
        let mut suite = TestSuite::new(path);
        suite.add_test_cases(found.iter().map(|diagnostic| case(diagnostic, files, fails)));
        if found.is_empty() {
            suite.add_test_case(TestCase::new("no findings", TestCaseStatus::success()));
        }
        report.add_test_suite(suite);
    }
    // Writing to memory cannot fail.
    report.to_string().unwrap_or_default()
}

fn case(diagnostic: &Diagnostic, files: &Files, fails: Class) -> TestCase {
    let Place { path, line, column, .. } = Place::of(diagnostic.primary(), files);
    let place = format!("{path}:{line}:{column}");
    let text = [vec![place.clone(), diagnostic.headline.clone()], details::lines(diagnostic)].concat().join("\n");
    let mut status = match (diagnostic.is_open(), diagnostic.class()) {
        (false, _) => TestCaseStatus::skipped(),
        (true, None) => TestCaseStatus::non_success(NonSuccessKind::Error),
        (true, Some(class)) if class <= fails => TestCaseStatus::non_success(NonSuccessKind::Failure),
        (true, Some(_)) => TestCaseStatus::success(),
    };
    let passes = matches!(status, TestCaseStatus::Success { .. });
    if !passes {
        let accepted = diagnostic.accepted.as_ref().map(|accepted| format!("accepted: {}", accepted.sentence()));
        let known = diagnostic.known.then(|| "known to the baseline".to_owned());
        status.set_message(accepted.or(known).unwrap_or_else(|| diagnostic.headline.clone()));
        status.set_type(diagnostic.word());
        status.set_description(text.clone());
    }
    let mut case = TestCase::new(format!("{} at {line}:{column}", diagnostic.name()), status);
    case.set_classname(path);
    if passes {
        case.set_system_out(text);
    }
    case
}
