//! What stands beside the tree-sitter grammar: its corpus, in the form of tree-sitter's own test command, and its
//! queries, which fail to load as soon as they name a node that there is no more.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use tree_sitter::{Query, QueryCursor, StreamingIterator};

use crate::tree_sitter::tree;

/// A file of the grammar's folder.
fn read(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/tree-sitter-withy").join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// A tree as text, with single blanks and without the names of fields.
fn plain(tree: &str) -> String {
    let spaced = tree.replace(')', " )");
    let words: Vec<&str> = spaced.split_whitespace().filter(|word| !word.ends_with(':')).collect();
    words.join(" ")
}

/// The cases of a corpus file: name, whether an error is expected, text, tree.
fn cases(corpus: &str) -> Vec<(String, bool, String, String)> {
    let rule = |line: &str, mark: char| line.len() > 9 && line.chars().all(|character| character == mark);
    let lines: Vec<&str> = corpus.lines().collect();
    let heads: Vec<usize> = (0..lines.len()).filter(|line| rule(lines[*line], '=')).collect();
    let mut cases = Vec::new();
    for (index, pair) in heads.chunks(2).enumerate() {
        let [open, close] = pair else { panic!("line {} opens a name that nothing closes", pair[0] + 1) };
        let end = heads.get(2 * index + 2).copied().unwrap_or(lines.len());
        let body = &lines[close + 1..end];
        let middle = body.iter().position(|line| rule(line, '-')).unwrap();
        let error = lines[open + 1..*close].contains(&":error");
        cases.push((lines[open + 1].to_owned(), error, body[..middle].join("\n"), body[middle + 1..].join("\n")));
    }
    cases
}

#[test]
fn the_corpus_holds() {
    let mut seen = 0;
    for file in ["declarations", "expressions"] {
        for (name, error, text, expected) in cases(&read(&format!("test/corpus/{file}.txt"))) {
            let tree = tree(&text);
            seen += 1;
            assert_eq!(tree.root_node().has_error(), error, "{name}");
            if !error {
                assert_eq!(plain(&tree.root_node().to_sexp()), plain(&expected), "{name}");
            }
        }
    }
    assert!(seen >= 9, "only {seen} cases");
}

/// What a query catches in a text: the captured words by the name of the capture.
fn captured(query: &str, text: &str) -> BTreeMap<String, BTreeSet<String>> {
    let query = Query::new(&tree_sitter_withy::LANGUAGE.into(), &read(query)).unwrap();
    let tree = tree(text);
    let mut cursor = QueryCursor::new();
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut matches = cursor.matches(&query, tree.root_node(), text.as_bytes());
    while let Some(one) = matches.next() {
        for capture in one.captures() {
            let name = query.capture_names()[capture.index as usize].to_owned();
            found.entry(name).or_default().insert(text[capture.node.byte_range()].to_owned());
        }
    }
    found
}

/// A set of words, written with blanks between them.
fn words(words: &str) -> BTreeSet<String> {
    words.split_whitespace().map(str::to_owned).collect()
}

const SAMPLE: &str = "\
## Cover.
part cover(height: length = 140 mm) {
  leg height - 2e1 mm within 1 mm # plain
  repeat 3 times as rib
  arc round(height, 1/8 in)
  accept cold-start because \"by \\\"hand\\\"\" until 2027-06-30
}
";

#[test]
fn each_word_has_its_colour() {
    let found = captured("queries/highlights.scm", SAMPLE);
    let check = |name: &str, expected: &str| assert_eq!(found[name], words(expected), "{name}");
    check("keyword", "part within as because until");
    check("property", "leg repeat arc accept");
    check("type", "cover");
    check("variable.parameter", "height");
    // `times` stands where a unit could, and is none.
    check("type.builtin", "length mm in");
    check("function.builtin", "round");
    check("number", "140 2e1 1 3 1/8");
    check("label", "cold-start");
    check("string.escape", "\\\"");
    check("string.special", "2027-06-30");
    check("operator", "= -");
    assert_eq!(found["comment"].len() + found["comment.documentation"].len() + found["string"].len(), 3);
}

#[test]
fn folds_indents_scopes_and_doc_comments_are_found() {
    assert_eq!(captured("queries/folds.scm", SAMPLE)["fold"].len(), 2);
    let indents = captured("queries/indents.scm", SAMPLE);
    assert_eq!(indents["indent.end"], words("} )"));
    let locals = captured("queries/locals.scm", SAMPLE);
    assert_eq!(locals["local.definition"], words("cover height"));
    assert_eq!(locals["local.reference"], words("cover height rib round"));
    assert_eq!(captured("queries/tags.scm", SAMPLE)["name"], words("cover"));
    assert!(captured("queries/injections.scm", SAMPLE)["injection.content"].contains("## Cover."));
}
