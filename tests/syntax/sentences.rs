//! Makes sentences of a grammar from a row of choices, so that a failing one shrinks with its choices.

use std::collections::BTreeMap;

use crate::ebnf::{Node, Rules, rule};
use crate::recogniser::kind_named;

/// The shortest text comes from no choices at all.
pub fn sentence(rules: &Rules, start: &str, choices: &[u8]) -> String {
    let mut maker = Maker { rules, sizes: sizes(rules), choices, at: 0, depth: 0, out: String::new(), glue: true };
    maker.make(rule(rules, start), false);
    maker.out
}

/// Words that a reader of the language, or its formatter, might take for something special.
const WORDS: [&str; 24] = [
    "height", "lip", "mm", "in", "W", "K", "min", "AWG", "times", "heats", "let", "wire", "part", "heater", "expect",
    "accept", "\u{b5}m", "k\u{3a9}", "m\u{b2}", "mil", "x", "deg", "degC", "cover_2",
];
const STARTS: [char; 6] = ['a', 'x', 'Z', 'é', '\u{3a9}', '漢'];
const CONTINUES: [char; 8] = ['a', 'Q', '_', '0', '7', '\u{b5}', '\u{b7}', '\u{301}'];
const ANY: [char; 16] =
    ['a', ' ', '#', '"', '\\', '{', '\'', '°', '\t', '\r', '\n', '\u{feff}', 'é', '漢', '\u{2028}', '\0'];

struct Maker<'a> {
    rules: &'a Rules,
    sizes: BTreeMap<String, usize>,
    choices: &'a [u8],
    at: usize,
    depth: usize,
    out: String,
    /// Whether the next token stands right behind the last one.
    glue: bool,
}

/// Deeper than this, the shortest alternatives are taken.
const DEEPEST: usize = 60;

impl Maker<'_> {
    fn pick(&mut self, count: usize) -> usize {
        let choice = self.choices.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        usize::from(choice) % count
    }

    fn is_done(&self) -> bool {
        self.at >= self.choices.len() || self.depth > DEEPEST
    }

    /// `in_token`: `node` says of which characters a token is made.
    fn make(&mut self, node: &Node, in_token: bool) {
        self.depth += 1;
        match node {
            Node::Sequence(nodes) => nodes.iter().for_each(|node| self.make(node, in_token)),
            Node::Choice(nodes) => {
                let shortest = nodes.iter().min_by_key(|node| size(&self.sizes, node)).unwrap();
                let node = if self.is_done() { shortest } else { &nodes[self.pick(nodes.len())] };
                self.make(node, in_token);
            }
            Node::Optional(inner) => {
                if !self.is_done() && self.pick(3) == 0 {
                    self.make(inner, in_token);
                }
            }
            Node::Repeated(inner) => {
                let mut left = 6;
                while left > 0 && !self.is_done() && self.pick(3) > 0 {
                    self.make(inner, in_token);
                    left -= 1;
                }
            }
            // What is left out is checked by whoever uses the sentence.
            Node::Except(wide, _) => self.make(wide, in_token),
            Node::Literal(literal) => self.put(literal, in_token),
            Node::Special(words) => {
                let pool: &[char] = match words.as_str() {
                    "XID_Start" => &STARTS,
                    "XID_Continue" => &CONTINUES,
                    "any character" => &ANY,
                    "U+00B7" => &['\u{b7}'],
                    "U+0387" => &['\u{387}'],
                    "U+22C5" => &['\u{22c5}'],
                    _ => &[],
                };
                if !pool.is_empty() {
                    let index = self.pick(pool.len());
                    self.out.push(pool[index]);
                }
            }
            Node::Name(name) => self.name(name, in_token),
        }
        self.depth -= 1;
    }

    fn name(&mut self, name: &str, in_token: bool) {
        let glued = matches!(name, "call-paren" | "index-bracket" | "unit-slash" | "unit-star");
        match name {
            "line-end" | "fence" => {
                self.out.push('\n');
                let indent = self.pick(4);
                (0..indent).for_each(|_| self.out.push(' '));
                self.glue = true;
            }
            "word" if !in_token && self.pick(8) > 0 => {
                let index = self.pick(WORDS.len());
                self.put(WORDS[index], false);
            }
            _ if !in_token && kind_named(name).is_some() => {
                self.glue |= glued;
                self.put("", false);
                self.make(rule(self.rules, name), true);
                self.glue = glued;
            }
            _ => self.make(rule(self.rules, name), in_token),
        }
    }

    fn put(&mut self, token: &str, in_token: bool) {
        if !in_token && !std::mem::take(&mut self.glue) {
            self.out.push(' ');
        }
        self.out.push_str(token);
    }
}

/// The number of tokens or characters in the shortest sentence of each rule.
fn sizes(rules: &Rules) -> BTreeMap<String, usize> {
    let mut sizes: BTreeMap<String, usize> = rules.keys().map(|name| (name.clone(), 1000)).collect();
    loop {
        let next: BTreeMap<String, usize> =
            rules.iter().map(|(name, node)| (name.clone(), size(&sizes, node))).collect();
        if next == sizes {
            return sizes;
        }
        sizes = next;
    }
}

fn size(sizes: &BTreeMap<String, usize>, node: &Node) -> usize {
    match node {
        Node::Sequence(nodes) => nodes.iter().map(|node| size(sizes, node)).sum::<usize>().min(1000),
        Node::Choice(nodes) => nodes.iter().map(|node| size(sizes, node)).min().unwrap_or(0),
        Node::Optional(_) | Node::Repeated(_) => 0,
        Node::Except(wide, _) => size(sizes, wide),
        Node::Literal(_) | Node::Special(_) => 1,
        Node::Name(name) => sizes.get(name).copied().unwrap_or(1000),
    }
}
