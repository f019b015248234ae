//! Reads grammars in the notation of ISO/IEC 14977, as far as `grammar/withy.ebnf` uses it.

use std::collections::BTreeMap;

/// The right-hand side of a definition.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    Sequence(Vec<Node>),
    Choice(Vec<Node>),
    Optional(Box<Node>),
    Repeated(Box<Node>),
    Except(Box<Node>, Box<Node>),
    Literal(String),
    Name(String),
    Special(String),
}

/// All definitions by name.
pub type Rules = BTreeMap<String, Node>;

/// The grammar of the language.
pub fn language() -> Rules {
    read(include_str!("../../grammar/withy.ebnf"))
}

/// Reads a grammar; panics where it is malformed or defines a name twice.
pub fn read(text: &str) -> Rules {
    let mut reader = Reader { rest: text };
    let mut rules = Rules::new();
    while !reader.at_end() {
        let name = reader.name().unwrap_or_else(|| panic!("a name is expected before: {:.40}", reader.rest));
        reader.expect("=");
        let node = reader.choice();
        reader.expect(";");
        assert!(rules.insert(name.clone(), node).is_none(), "`{name}` is defined twice");
    }
    rules
}

struct Reader<'a> {
    rest: &'a str,
}

impl Reader<'_> {
    fn skip(&mut self) {
        loop {
            self.rest = self.rest.trim_start();
            let Some(comment) = self.rest.strip_prefix("(*") else { return };
            let end = comment.find("*)").unwrap_or_else(|| panic!("a comment is not closed: {comment:.40}"));
            self.rest = &comment[end + 2..];
        }
    }

    fn at_end(&mut self) -> bool {
        self.skip();
        self.rest.is_empty()
    }

    fn take(&mut self, mark: &str) -> bool {
        self.skip();
        self.rest.strip_prefix(mark).inspect(|rest| self.rest = rest).is_some()
    }

    fn expect(&mut self, mark: &str) {
        assert!(self.take(mark), "`{mark}` is expected before: {:.40}", self.rest);
    }

    fn name(&mut self) -> Option<String> {
        self.skip();
        let end = self.rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '-').unwrap_or(self.rest.len());
        let (name, rest) = self.rest.split_at(end);
        self.rest = rest;
        (!name.is_empty()).then(|| name.to_owned())
    }

    fn choice(&mut self) -> Node {
        let mut nodes = vec![self.sequence()];
        while self.take("|") {
            nodes.push(self.sequence());
        }
        if nodes.len() == 1 { nodes.remove(0) } else { Node::Choice(nodes) }
    }

    fn sequence(&mut self) -> Node {
        let mut nodes = vec![self.term()];
        while self.take(",") {
            nodes.push(self.term());
        }
        if nodes.len() == 1 { nodes.remove(0) } else { Node::Sequence(nodes) }
    }

    fn term(&mut self) -> Node {
        let node = self.factor();
        if self.take("-") { Node::Except(Box::new(node), Box::new(self.factor())) } else { node }
    }

    fn factor(&mut self) -> Node {
        for quote in ["\"", "'"] {
            if self.take(quote) {
                return Node::Literal(self.until(quote));
            }
        }
        if self.take("?") {
            return Node::Special(self.until("?").trim().to_owned());
        }
        for (open, close) in [("(", ")"), ("[", "]"), ("{", "}")] {
            if self.take(open) {
                let inner = self.choice();
                self.expect(close);
                return match open {
                    "[" => Node::Optional(Box::new(inner)),
                    "{" => Node::Repeated(Box::new(inner)),
                    _ => inner,
                };
            }
        }
        Node::Name(self.name().unwrap_or_else(|| panic!("a factor is expected before: {:.40}", self.rest)))
    }

    fn until(&mut self, mark: &str) -> String {
        let end = self.rest.find(mark).unwrap_or_else(|| panic!("`{mark}` is expected after: {:.40}", self.rest));
        let text = self.rest[..end].to_owned();
        self.rest = &self.rest[end + mark.len()..];
        text
    }
}

/// What a grammar is matched against.
pub trait Input {
    /// Where a literal that stands at `at` ends.
    fn literal(&self, literal: &str, at: usize) -> Option<usize>;
    /// Where a token of this name that stands at `at` ends; none if no name of a token.
    #[expect(clippy::option_option, reason = "no such token, and no token there, are two answers")]
    fn token(&self, name: &str, at: usize) -> Option<Option<usize>>;
    /// Where what these words say ends, if it stands at `at`.
    fn special(&self, words: &str, at: usize) -> Option<usize>;
}

/// Where `node` ends if it stands at `at`: the longest of options and repetitions, the first of alternatives.
pub fn matched(rules: &Rules, node: &Node, input: &impl Input, at: usize) -> Option<usize> {
    match node {
        Node::Sequence(nodes) => nodes.iter().try_fold(at, |at, node| matched(rules, node, input, at)),
        Node::Choice(nodes) => nodes.iter().find_map(|node| matched(rules, node, input, at)),
        Node::Optional(inner) => matched(rules, inner, input, at).or(Some(at)),
        Node::Repeated(inner) => {
            let mut end = at;
            while let Some(next) = matched(rules, inner, input, end).filter(|next| *next > end) {
                end = next;
            }
            Some(end)
        }
        Node::Except(wide, narrow) => {
            let end = matched(rules, wide, input, at)?;
            (matched(rules, narrow, input, at) != Some(end)).then_some(end)
        }
        Node::Literal(literal) => input.literal(literal, at),
        Node::Name(name) => match input.token(name, at) {
            Some(end) => end,
            None => matched(rules, rule(rules, name), input, at),
        },
        Node::Special(words) => input.special(words, at),
    }
}

/// The definition of `name`.
pub fn rule<'r>(rules: &'r Rules, name: &str) -> &'r Node {
    rules.get(name).unwrap_or_else(|| panic!("`{name}` is not defined in the grammar"))
}

/// All nodes below `node`, itself included, without following names.
pub fn nodes(node: &Node) -> Vec<&Node> {
    let mut all = vec![node];
    match node {
        Node::Sequence(inner) | Node::Choice(inner) => all.extend(inner.iter().flat_map(nodes)),
        Node::Optional(inner) | Node::Repeated(inner) => all.extend(nodes(inner)),
        Node::Except(wide, narrow) => all.extend(nodes(wide).into_iter().chain(nodes(narrow))),
        Node::Literal(_) | Node::Name(_) | Node::Special(_) => {}
    }
    all
}

#[test]
fn the_notation_is_read() {
    let rules = read(r#"(* c *) a-b = "x", [ c ] | { '"' } - "y" ; c = ? any thing ?, ( a-b | "z" ) ;"#);
    let literal = |text: &str| Node::Literal(text.to_owned());
    let repeated = Node::Repeated(Box::new(literal("\"")));
    let expected = Node::Choice(vec![
        Node::Sequence(vec![literal("x"), Node::Optional(Box::new(Node::Name("c".to_owned())))]),
        Node::Except(Box::new(repeated), Box::new(literal("y"))),
    ]);
    assert_eq!(rules["a-b"], expected);
    let choice = Node::Choice(vec![Node::Name("a-b".to_owned()), literal("z")]);
    assert_eq!(rules["c"], Node::Sequence(vec![Node::Special("any thing".to_owned()), choice]));
}
