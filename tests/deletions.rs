//! One slip of the hand, few messages: whatever single token or line of an example is deleted, nothing panics, and the
//! whole library shows at most three errors.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};

use withy::library::Memory;
use withy::syntax::TokenTable;
use withy::text::FileId;

use crate::common::{Overlay, checked, deep, examples, memory, shown};

const MOST_ERRORS: usize = 3;

/// Every n-th place in the ordinary run; a prime, so that the sample does not keep step with the text.
const EVERY: usize = 7;

/// A deletion: of which file, which bytes.
type Deletion = (String, Range<usize>);

fn tokens(text: &str) -> Vec<Range<usize>> {
    let table = TokenTable::new(FileId(0), text);
    let comments = table.comments().iter().map(|comment| comment.span.range());
    (0..table.len()).map(|token| table.span(token).range()).chain(comments).collect()
}

fn lines(text: &str) -> Vec<Range<usize>> {
    let mut start = 0;
    let ends = text.split_inclusive('\n').map(|line| {
        let line = start..start + line.len();
        start = line.end;
        line
    });
    ends.collect()
}

/// What is wrong with the library after a deletion: a panic, or too many errors.
fn fault(io: &Memory, names: &[String], text: &str, (name, deleted): &Deletion) -> Option<String> {
    let left = format!("{}{}", &text[..deleted.start], &text[deleted.end..]);
    let line = text[..deleted.start].matches('\n').count() + 1;
    let what = format!("{name}:{line}: without {:?}", &text[deleted.clone()]);
    let library = Overlay::new(io, name, &left);
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let Ok(errors) = catch_unwind(AssertUnwindSafe(|| {
        let (loaded, checked) = checked(&library, &names);
        let errors = checked.findings.iter().filter(|finding| finding.is_error());
        errors.map(|error| shown(&loaded, error)).collect::<Vec<_>>()
    })) else {
        return Some(format!("{what}: PANIC"));
    };
    (errors.len() > MOST_ERRORS).then(|| format!("{what}: {} errors\n    {}", errors.len(), errors.join("\n    ")))
}

fn few_errors_after(pieces: fn(&str) -> Vec<Range<usize>>, least: usize) {
    let files = examples();
    let io = memory(&files);
    let users = users(&io, &files);
    let every = if deep() { 1 } else { EVERY };
    let deletions: Vec<Deletion> = files
        .iter()
        .flat_map(|(name, text)| pieces(text).into_iter().map(|piece| (name.clone(), piece)))
        .step_by(every)
        .collect();
    assert!(deletions.len() * every >= least, "only {} deletions", deletions.len());
    let (first, second) = deletions.split_at(deletions.len() / 2);
    let run = |part: &[Deletion]| -> Vec<String> {
        part.iter().filter_map(|deletion| fault(&io, &users[&deletion.0], &files[&deletion.0], deletion)).collect()
    };
    let faults = std::thread::scope(|scope| {
        let other = scope.spawn(|| run(second));
        let mut faults = run(first);
        faults.extend(other.join().unwrap());
        faults
    });
    println!("{} deletions", deletions.len());
    assert!(faults.is_empty(), "{} of {}:\n{}", faults.len(), deletions.len(), faults.join("\n"));
}

/// For each file, itself and all that use it, directly or not: nothing else can tell the difference.
fn users(io: &Memory, files: &BTreeMap<String, String>) -> BTreeMap<String, Vec<String>> {
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    let (loaded, _) = checked(io, &names);
    let mut uses: BTreeSet<(&str, &str)> = names.iter().map(|name| (*name, *name)).collect();
    for (file, targets) in &loaded.uses {
        for used in targets.iter().filter_map(|target| target.file) {
            uses.insert((loaded.files.get(*file).path(), loaded.files.get(used).path()));
        }
    }
    loop {
        let farther: Vec<_> = uses
            .iter()
            .flat_map(|(user, between)| {
                uses.iter().filter(move |pair| pair.0 == *between).map(move |pair| (*user, pair.1))
            })
            .filter(|pair| !uses.contains(pair))
            .collect();
        if farther.is_empty() {
            break;
        }
        uses.extend(farther);
    }
    let of = |name: &&str| uses.iter().filter(|pair| pair.1 == *name).map(|pair| pair.0.to_owned()).collect();
    names.iter().map(|name| ((*name).to_owned(), of(name))).collect()
}

#[test]
fn any_token_can_be_deleted() {
    few_errors_after(tokens, 1_500);
}

#[test]
fn any_line_can_be_deleted() {
    few_errors_after(lines, 350);
}

#[test]
fn too_many_errors_would_be_noticed() {
    let mut files = examples();
    let (name, broken) = ("stock/broken.withy", "sheet a { }\nsheet b { }\nsheet c { }\nsheet d { }\nx\n");
    files.insert(name.to_owned(), broken.to_owned());
    let io = memory(&files);
    let at = broken.find('x').unwrap();
    let found = fault(&io, &[name.to_owned()], broken, &(name.to_owned(), at..at + 1)).unwrap();
    assert!(found.contains("4 errors"), "{found}");
}
