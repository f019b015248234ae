//! Marks in examples: a comment below a line shows the place of the finding, `#   ^^^^ here`.

/// The line and the columns that the mark of a text points at, and the text without it.
pub fn read(text: &str) -> (Option<(usize, usize, usize)>, String) {
    let mut mark = None;
    let mut kept = Vec::new();
    for line in text.lines() {
        match columns(line) {
            Some((column, length)) => mark = Some((kept.len(), column, length)),
            None => kept.push(line),
        }
    }
    (mark, kept.join("\n") + "\n")
}

/// The text with a mark below a line; a place in the first column is shown in the second, since `#` stands there.
pub fn write(text: &str, (line, column, length): (usize, usize, usize)) -> String {
    let blanks = " ".repeat(column.max(2) - 2);
    let mark = format!("#{blanks}{} here", "^".repeat(length.max(1)));
    let mut lines: Vec<&str> = text.lines().collect();
    lines.insert(line.min(lines.len()), &mark);
    lines.join("\n") + "\n"
}

fn columns(line: &str) -> Option<(usize, usize)> {
    let rest = line.strip_prefix('#')?;
    let carets = rest.trim().strip_suffix(" here")?;
    let only = !carets.is_empty() && carets.chars().all(|c| c == '^');
    only.then(|| (2 + rest.len() - rest.trim_start().len(), carets.len()))
}

#[test]
fn marks_are_read_as_they_are_written() {
    let text = "a {\n  fuse 5 A\n}\n";
    let marked = write(text, (2, 8, 3));
    assert_eq!(marked, "a {\n  fuse 5 A\n#      ^^^ here\n}\n");
    assert_eq!(read(&marked), (Some((2, 8, 3)), text.to_owned()));
    assert_eq!(read(text), (None, text.to_owned()));
    assert_eq!(read("# here\n").0, None);
}
