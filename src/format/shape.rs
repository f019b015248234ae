use std::fmt::Write;

use crate::format::lines::trimmed;
use crate::format::mark::Mark;
use crate::format::spell::spell;
use crate::syntax::{Arg, Argument, Entry, Expr, ExprKind, Kind, Number, Path, Tree, UnitSyntax};
use crate::text::Span;

/// A tree written out without its places: two texts with the same shape say the same.
pub fn shape(tree: &Tree, text: &str) -> String {
    tree.entries.iter().map(|entry| entry_shape(entry, text)).collect()
}

/// One entry, written out.
pub fn entry_shape(entry: &Entry, text: &str) -> String {
    let mut shape = Shape { text, out: String::new() };
    shape.entry(entry);
    shape.out
}

struct Shape<'a> {
    text: &'a str,
    out: String,
}

impl<'a> Shape<'a> {
    fn entry(&mut self, entry: &Entry) {
        // Between the lines of a doc comment may stand commas that end nothing.
        let doc = entry.doc().map_or("", |doc| self.slice(doc));
        let lines = doc.lines().map(|line| trimmed(line.trim_start_matches([' ', '\t', '\r', '\u{feff}', ','])));
        for line in lines.filter(|line| !line.is_empty()) {
            self.put(line);
            self.put("\n");
        }
        self.put(if entry.broken() { "broken " } else { "" });
        self.put(entry.head().map_or("", |head| self.slice(head)));
        for arg in entry.args() {
            self.put(" ");
            self.arg(arg);
        }
        if let Some(block) = entry.block() {
            self.put(if block.closed { " {\n" } else { " { never closed\n" });
            for entry in &block.entries {
                self.entry(entry);
            }
            self.put("}");
        }
        self.put("\n");
    }

    fn arg(&mut self, arg: &Arg) {
        match arg {
            Arg::Word(span) => self.node("word", *span),
            Arg::Text(span) => self.node("text", *span),
            Arg::Date(span) => self.node("date", *span),
            Arg::Equals(_) => self.put("="),
            Arg::Rule(span) => {
                let words = self.slice(*span).chars().filter(|c| !matches!(c, ' ' | '\t' | '\r' | '\n' | '\u{feff}'));
                self.put("rule:");
                self.out.extend(words.map(|c| if c == '−' { '-' } else { c }));
            }
            Arg::List(list) => {
                self.put("[");
                for item in &list.items {
                    self.item(item);
                }
                self.put("]");
            }
            Arg::Expr(expr) => self.expr(expr),
        }
    }

    fn item(&mut self, expr: &Expr) {
        self.expr(expr);
        self.put(",");
    }

    fn expr(&mut self, expr: &Expr) {
        match expr.kind() {
            ExprKind::Path(path) => self.path(path),
            ExprKind::Figure(word, count, path) => {
                self.node("figure", word);
                if let Some(count) = count {
                    self.node(" count", count);
                }
                if let Some(path) = path {
                    self.path(path);
                }
            }
            ExprKind::Measure(measure) => {
                self.number(measure.number);
                self.unit(measure.unit);
            }
            ExprKind::Deviations(pair, unit) => {
                self.node("deviations", pair);
                self.unit(unit);
            }
            ExprKind::Paren(inner) => {
                self.put("(");
                self.expr(inner);
                self.put(")");
            }
            ExprKind::Negate(inner) => {
                self.put("(-");
                self.expr(inner);
                self.put(")");
            }
            ExprKind::Binary(left, operator, _, right) => {
                self.put("<");
                self.expr(left);
                let _ = write!(self.out, " {operator:?} ");
                self.expr(right);
                self.put(">");
            }
            ExprKind::Deviating(value, pair, unit) => {
                self.put("<");
                self.expr(value);
                self.node(" deviating", pair);
                self.unit(unit);
                self.put(">");
            }
            ExprKind::Call(name, arguments) => {
                self.node("call", name);
                self.put("(");
                for argument in arguments {
                    self.argument(argument);
                }
                self.put(")");
            }
            ExprKind::Choice(test, yes, no) => {
                self.put("if ");
                for part in [test, yes, no] {
                    self.item(part);
                }
            }
        }
    }

    fn argument(&mut self, argument: &Argument) {
        if let Some(name) = &argument.name {
            self.node("name", *name);
        }
        if let Some(kind) = &argument.kind {
            self.node(" kind", *kind);
        }
        if let Some(value) = &argument.value {
            self.expr(value);
        }
        self.put(",");
    }

    fn path(&mut self, path: Path<'_>) {
        for (word, index) in path.parts() {
            self.node(".", word);
            if let Some(index) = index {
                self.put("[");
                self.expr(index);
                self.put("]");
            }
        }
    }

    fn number(&mut self, number: Number) {
        self.put(if number.negative { "-" } else { "" });
        if let Some(whole) = &number.whole {
            self.node("number", *whole);
        }
        if let Some(fraction) = &number.fraction {
            self.node("fraction", *fraction);
        }
    }

    /// Unit words are written in their one spelling.
    fn unit(&mut self, unit: Option<UnitSyntax<'_>>) {
        for (word, power) in unit.iter().flat_map(UnitSyntax::factors) {
            let word = spell(Kind::Word, Mark::UnitWord, self.slice(word));
            let _ = write!(self.out, " {word}^{power}");
        }
    }

    fn node(&mut self, what: &str, span: Span) {
        self.put(what);
        self.put(":");
        self.put(self.slice(span));
    }

    fn slice(&self, span: Span) -> &'a str {
        self.text.get(span.range()).unwrap_or("")
    }

    fn put(&mut self, text: &str) {
        self.out.push_str(text);
    }
}
