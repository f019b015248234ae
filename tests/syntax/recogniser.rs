//! Says whether a text is a sentence of `grammar/withy.ebnf`, independently of the parser.

use std::collections::BTreeMap;

use withy::syntax::{Kind, TokenTable};
use withy::text::FileId;

use crate::ebnf::{Input, Node, Rules, matched, nodes, rule};

/// The grammar, ready for use.
pub struct Recogniser {
    rules: Rules,
    joined_after: Vec<Kind>,
    joined_before: Vec<Kind>,
    declaration_words: Vec<String>,
    /// The kinds of all literals that are one token, and of all names of kinds.
    literals: BTreeMap<String, Kind>,
    names: BTreeMap<String, Kind>,
}

/// A token as the grammar sees it.
#[derive(Clone, Debug)]
enum Token {
    LineEnd,
    Fence,
    DecimalComma,
    Real { kind: Kind, text: String, in_expect: bool, glued: bool },
}

impl Recogniser {
    pub fn new(rules: Rules) -> Self {
        let joined_after = kinds(&rules, "joined-after");
        let joined_before = kinds(&rules, "joined-before");
        let literals = nodes(rule(&rules, "declaration-word")).into_iter();
        let declaration_words = literals.filter_map(literal).map(str::to_owned).collect();
        let all = || rules.values().flat_map(nodes).filter_map(literal);
        let literals = all().filter_map(|literal| Some((literal.to_owned(), kind_of(literal)?))).collect();
        let names = Kind::ALL.into_iter().map(|kind| (kind_name(kind), kind)).collect();
        Self { rules, joined_after, joined_before, declaration_words, literals, names }
    }

    /// Whether the text is a sentence.
    pub fn accepts(&self, text: &str) -> bool {
        let tokens = self.tokens(text);
        let input = Tokens { grammar: self, tokens: &tokens };
        matched(&self.rules, rule(&self.rules, "file"), &input, 0) == Some(tokens.len())
    }

    /// Whether all of `text` is one token of the grammar's rule `name`.
    pub fn is_token(&self, name: &str, text: &str) -> bool {
        let characters: Vec<char> = text.chars().collect();
        let input = Characters { characters: &characters };
        matched(&self.rules, rule(&self.rules, name), &input, 0) == Some(characters.len())
    }

    pub fn rules(&self) -> &Rules {
        &self.rules
    }

    pub fn joined_after(&self) -> &[Kind] {
        &self.joined_after
    }

    pub fn joined_before(&self) -> &[Kind] {
        &self.joined_before
    }

    /// The tokens of a text with the line ends and fences of the grammar's own description of them.
    fn tokens(&self, text: &str) -> Vec<Token> {
        let table = TokenTable::new(FileId(0), text);
        let kinds = table.kinds();
        let mut tokens = Vec::new();
        let (mut braces, mut brackets, mut limit) = (0_usize, 0_usize, table.indent(0));
        let mut in_expect = false;
        let mut begins = true;
        for index in 0..table.len() {
            if let Some(indent) = table.indent(index).filter(|_| index > 0) {
                let loose = braces == 0 && Some(indent) <= limit && self.is_declaration_word(&table, text, index);
                let divided = brackets == 0 || (kinds[index - 1].ends_operand() && kinds[index].begins_operand());
                let joined =
                    self.joined_after.contains(&kinds[index - 1]) || self.joined_before.contains(&kinds[index]);
                if loose || self.opens(&table, text, index) {
                    tokens.push(Token::Fence);
                    (braces, brackets, limit, begins) = (0, 0, Some(indent), true);
                } else if divided && !joined {
                    tokens.push(Token::LineEnd);
                    (brackets, begins) = (0, true);
                }
            }
            let word = &text[table.span(index).range()];
            if begins {
                in_expect = word == "expect";
            }
            let glued = |index: usize| index > 0 && table.span(index - 1).end == table.span(index).start;
            if is_decimal_comma(kinds, index, brackets > 0) && glued(index) && glued(index + 1) {
                tokens.push(Token::DecimalComma);
                begins = false;
                continue;
            }
            begins = matches!(kinds[index], Kind::OpenBrace | Kind::CloseBrace)
                || (kinds[index] == Kind::Comma && brackets == 0);
            match kinds[index] {
                Kind::OpenBrace => (braces, brackets) = (braces + 1, 0),
                Kind::CloseBrace => (braces, brackets) = (braces.saturating_sub(1), 0),
                Kind::OpenParen | Kind::CallParen | Kind::OpenBracket | Kind::IndexBracket => brackets += 1,
                Kind::CloseParen | Kind::CloseBracket => brackets = brackets.saturating_sub(1),
                _ => {}
            }
            tokens.push(Token::Real { kind: kinds[index], text: word.to_owned(), in_expect, glued: glued(index) });
        }
        tokens
    }

    fn is_declaration_word(&self, table: &TokenTable, text: &str, index: usize) -> bool {
        table.kinds().get(index) == Some(&Kind::Word)
            && self.declaration_words.iter().any(|word| *word == text[table.span(index).range()])
    }

    fn opens(&self, table: &TokenTable, text: &str, index: usize) -> bool {
        let on_line = |step: usize| {
            let kind = table.kinds().get(index + step).copied();
            kind.filter(|_| (1..=step).all(|step| table.indent(index + step).is_none()))
        };
        let openers = [Kind::OpenBrace, Kind::OpenParen, Kind::CallParen, Kind::From, Kind::For, Kind::Equals];
        self.is_declaration_word(table, text, index)
            && (on_line(1) == Some(Kind::Text)
                || (on_line(1) == Some(Kind::Word) && on_line(2).is_some_and(|kind| openers.contains(&kind))))
    }
}

/// Whether the comma stands between two numbers and, in brackets, a word follows.
fn is_decimal_comma(kinds: &[Kind], index: usize, in_brackets: bool) -> bool {
    let is = |index: Option<usize>, kind| index.and_then(|index| kinds.get(index)) == Some(&kind);
    kinds[index] == Kind::Comma
        && is(index.checked_sub(1), Kind::Number)
        && is(Some(index + 1), Kind::Number)
        && (!in_brackets || is(Some(index + 2), Kind::Word))
}

/// The name of a kind as the grammar writes it.
pub fn kind_name(kind: Kind) -> String {
    let mut name = String::new();
    for letter in format!("{kind:?}").chars() {
        if letter.is_ascii_uppercase() && !name.is_empty() {
            name.push('-');
        }
        name.push(letter.to_ascii_lowercase());
    }
    name
}

/// The kind with this name in the grammar.
pub fn kind_named(name: &str) -> Option<Kind> {
    Kind::ALL.into_iter().find(|kind| kind_name(*kind) == name)
}

/// The kind of a literal of the grammar; none if it is not exactly one token.
pub fn kind_of(literal: &str) -> Option<Kind> {
    let table = TokenTable::new(FileId(0), literal);
    (table.len() == 1).then(|| table.kinds()[0])
}

/// The kinds of token that a list of tokens in the grammar names.
fn kinds(rules: &Rules, list: &str) -> Vec<Kind> {
    let kind = |node: &Node| match node {
        Node::Literal(literal) => kind_of(literal),
        Node::Name(name) => kind_named(name),
        _ => None,
    };
    nodes(rule(rules, list)).into_iter().filter_map(kind).collect()
}

fn literal(node: &Node) -> Option<&str> {
    match node {
        Node::Literal(literal) => Some(literal),
        _ => None,
    }
}

struct Tokens<'a> {
    grammar: &'a Recogniser,
    tokens: &'a [Token],
}

impl Input for Tokens<'_> {
    fn literal(&self, literal: &str, at: usize) -> Option<usize> {
        let Token::Real { kind, text, .. } = self.tokens.get(at)? else { return None };
        (self.grammar.literals.get(literal) == Some(kind) && (*kind != Kind::Word || text == literal)).then_some(at + 1)
    }

    fn token(&self, name: &str, at: usize) -> Option<Option<usize>> {
        let pseudo = |is: fn(&Token) -> bool| Some(self.tokens.get(at).filter(|token| is(token)).map(|_| at + 1));
        match name {
            "line-end" => return pseudo(|token| matches!(token, Token::LineEnd)),
            "fence" => return pseudo(|token| matches!(token, Token::Fence)),
            _ => {}
        }
        let wanted = *self.grammar.names.get(name)?;
        let Some(Token::Real { kind, text, .. }) = self.tokens.get(at) else { return Some(None) };
        Some((*kind == wanted && self.grammar.is_token(name, text)).then_some(at + 1))
    }

    fn special(&self, words: &str, at: usize) -> Option<usize> {
        if let Some(name) = words.strip_prefix("no ").and_then(|words| words.strip_suffix(" follows")) {
            let rules = &self.grammar.rules;
            return matched(rules, rule(rules, name), self, at).is_none().then_some(at);
        }
        if words == "glued to what follows, if to the number" {
            let glued = |at: usize| matches!(self.tokens.get(at), Some(Token::Real { glued: true, .. }));
            return (glued(at) || !glued(at - 1)).then_some(at);
        }
        assert_eq!(words, "only in an entry whose head is \"expect\"");
        matches!(self.tokens.get(at)?, Token::Real { in_expect: true, .. }).then_some(at)
    }
}

struct Characters<'a> {
    characters: &'a [char],
}

impl Input for Characters<'_> {
    fn literal(&self, literal: &str, at: usize) -> Option<usize> {
        let mut end = at;
        for character in literal.chars() {
            (*self.characters.get(end)? == character).then(|| end += 1)?;
        }
        Some(end)
    }

    fn token(&self, _: &str, _: usize) -> Option<Option<usize>> {
        None
    }

    fn special(&self, words: &str, at: usize) -> Option<usize> {
        let next = *self.characters.get(at)?;
        has_property(next, words).then_some(at + 1)
    }
}

/// Whether a character is what the grammar says in words.
pub fn has_property(character: char, words: &str) -> bool {
    match words {
        "any character" => true,
        "line feed" => character == '\n',
        "carriage return" => character == '\r',
        "tabulator" => character == '\t',
        "byte order mark" => character == '\u{feff}',
        "U+00B7" => character == '\u{b7}',
        "U+0387" => character == '\u{387}',
        "U+22C5" => character == '\u{22c5}',
        "XID_Start" => is_xid(&character.to_string()),
        "XID_Continue" => is_xid(&format!("a{character}")),
        _ => panic!("the grammar says in words what this test does not know: {words}"),
    }
}

/// Whether a text is a Unicode identifier, by the crate that implements UAX #31.
fn is_xid(text: &str) -> bool {
    let mut characters = text.chars();
    characters.next().is_some_and(unicode_ident::is_xid_start) && characters.all(unicode_ident::is_xid_continue)
}
