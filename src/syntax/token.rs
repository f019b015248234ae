use logos::Logos;

/// What a token is. Blanks are no tokens: they are the gaps between tokens.
#[derive(Logos, Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[logos(skip(r"[ \t\r\u{feff}]+"))]
#[repr(u8)]
pub enum Kind {
    // Trivia.
    /// `\n`.
    #[token("\n")]
    LineBreak,
    /// `# …` to the end of the line.
    #[regex(r"#[^\n]*", priority = 2, allow_greedy = true)]
    Comment,
    /// `## …` to the end of the line.
    #[regex(r"##[^\n]*", priority = 6, allow_greedy = true)]
    DocComment,

    // Atoms.
    /// A name, a special word or a unit; which of them, its place decides. The middle dot multiplies, though Unicode
    /// would have it in words.
    #[regex(r"[\p{XID_Start}_][\p{XID_Continue}²³--\u{b7}\u{387}]*", priority = 3)]
    Word,
    /// `12`, `0.5`, `1_000`, `1.2e3`.
    #[regex(r"[0-9][0-9_]*(\.[0-9][0-9_]*)?([eE][+-]?[0-9]+)?", priority = 4)]
    Number,
    /// `1/8`: digits over digits with nothing between.
    #[regex(r"[0-9]+/[0-9]+")]
    Fraction,
    /// `+0.2/-0.5`, `+1/32/-1/64`, `+0.3e-8/-0`.
    #[regex(r"\+([0-9][0-9_]*(\.[0-9][0-9_]*)?([eE][+-]?[0-9]+)?|[0-9]+/[0-9]+)/-([0-9][0-9_]*(\.[0-9][0-9_]*)?([eE][+-]?[0-9]+)?|[0-9]+/[0-9]+)")]
    Deviations,
    /// `2027-06-30`.
    #[regex(r"[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]")]
    Date,
    /// `"…"` on one line.
    #[regex(r#""([^"\\\n]|\\[^\n])*""#)]
    Text,

    // Reserved words.
    /// `as`
    #[token("as")]
    As,
    /// `at`
    #[token("at")]
    At,
    /// `because`
    #[token("because")]
    Because,
    /// `computed`
    #[token("computed")]
    Computed,
    /// `else`
    #[token("else")]
    Else,
    /// `for`
    #[token("for")]
    For,
    /// `from`
    #[token("from")]
    From,
    /// `if`
    #[token("if")]
    If,
    /// `no`
    #[token("no")]
    No,
    /// `none`
    #[token("none")]
    None,
    /// `on`
    #[token("on")]
    On,
    /// `plus`
    #[token("plus")]
    PlusWord,
    /// `then`
    #[token("then")]
    Then,
    /// `until`
    #[token("until")]
    Until,
    /// `with`
    #[token("with")]
    With,
    /// `within`
    #[token("within")]
    Within,
    /// `yes`
    #[token("yes")]
    Yes,

    // Marks.
    /// `{`
    #[token("{")]
    OpenBrace,
    /// `}`
    #[token("}")]
    CloseBrace,
    /// `(`
    #[token("(")]
    OpenParen,
    /// `(` glued to the word before it.
    CallParen,
    /// `)`
    #[token(")")]
    CloseParen,
    /// `[`
    #[token("[")]
    OpenBracket,
    /// `[` glued to the word before it.
    IndexBracket,
    /// `]`
    #[token("]")]
    CloseBracket,
    /// `,`
    #[token(",")]
    Comma,
    /// `:`
    #[token(":")]
    Colon,
    /// `.`
    #[token(".")]
    Dot,
    /// `..`
    #[token("..")]
    Range,
    /// `±`, `+/-` or `+-`: read as two signs, the last would make of `8 mm +- 0.2 mm` a quiet 7.8 mm.
    #[token("±")]
    #[token("+/-")]
    #[token("+-")]
    PlusMinus,
    /// `+`
    #[token("+")]
    Plus,
    /// `-` or `−`
    #[token("-")]
    #[token("−")]
    Minus,
    /// `*`, `×` or `·` (U+00B7, U+0387 or U+22C5)
    #[token("*")]
    #[token("×")]
    #[token("\u{b7}")]
    #[token("\u{387}")]
    #[token("\u{22c5}")]
    Star,
    /// `/`
    #[token("/")]
    Slash,
    /// `*` glued between two units.
    UnitStar,
    /// `/` glued between two units.
    UnitSlash,
    /// `^`
    #[token("^")]
    Caret,
    /// `%`
    #[token("%")]
    Percent,
    /// `=`
    #[token("=")]
    Equals,
    /// `==`
    #[token("==")]
    EqualTo,
    /// `!=` or `≠`
    #[token("!=")]
    #[token("≠")]
    NotEqualTo,
    /// `<`
    #[token("<")]
    Less,
    /// `<=` or `≤`
    #[token("<=")]
    #[token("≤")]
    LessOrEqual,
    /// `>`
    #[token(">")]
    Greater,
    /// `>=` or `≥`
    #[token(">=")]
    #[token("≥")]
    GreaterOrEqual,

    // Wrong tokens, told apart for the sake of their messages.
    /// `°`, `°C`, `℃`: a unit as it is printed elsewhere.
    #[regex(r"°[CFK]?|[℃℉]")]
    DegreeSign,
    /// A number with a glued `"` or `'`: inches or feet as they are written on drawings.
    #[regex(r#"[0-9][0-9_]*(\.[0-9][0-9_]*)?(/[0-9]+)?["'′″”]"#, priority = 8)]
    DrawingMark,
    /// A text in the quotes of a word processor, or in single ones.
    #[regex("[“”„«‘][^\n\"“”„«»‘’]*[“”»’\"]")]
    #[regex("'[^\n']*'")]
    CurlyText,
    /// A string without its closing quote, to the end of the line.
    #[regex(r#""([^"\\\n]|\\[^\n])*\\?"#, priority = 1)]
    OpenText,
    /// Anything else. A quote that is not closed is one character, not all that might have been quoted.
    #[regex("[“”„«‘']")]
    Stray,
}

impl Kind {
    /// All kinds, in the order in which they are declared.
    #[rustfmt::skip] // One line a kind would be a page.
    pub const ALL: [Self; 59] = {
        use Kind as K;
        [
            K::LineBreak, K::Comment, K::DocComment, K::Word, K::Number, K::Fraction, K::Deviations, K::Date, K::Text,
            K::As, K::At, K::Because, K::Computed, K::Else, K::For, K::From, K::If, K::No, K::None, K::On,
            K::PlusWord, K::Then, K::Until, K::With, K::Within, K::Yes, K::OpenBrace, K::CloseBrace, K::OpenParen,
            K::CallParen, K::CloseParen, K::OpenBracket, K::IndexBracket, K::CloseBracket, K::Comma, K::Colon, K::Dot,
            K::Range, K::PlusMinus, K::Plus, K::Minus, K::Star, K::Slash, K::UnitStar, K::UnitSlash, K::Caret,
            K::Percent, K::Equals, K::EqualTo, K::NotEqualTo, K::Less, K::LessOrEqual, K::Greater, K::GreaterOrEqual,
            K::DegreeSign, K::DrawingMark, K::CurlyText, K::OpenText, K::Stray,
        ]
    };

    /// Whether the token is a word that stands for itself everywhere and can name nothing.
    pub fn is_reserved(self) -> bool {
        (Self::As as u8..=Self::Yes as u8).contains(&(self as u8))
    }

    /// Whether the token reads as a word: a name, a unit or a reserved word.
    pub fn is_word(self) -> bool {
        self == Self::Word || self.is_reserved()
    }

    /// Whether a token of this kind can end an operand.
    pub fn ends_operand(self) -> bool {
        use Kind as K;
        matches!(
            self,
            K::Word
                | K::Number
                | K::Fraction
                | K::Deviations
                | K::Date
                | K::Text
                | K::OpenText
                | K::CurlyText
                | K::CloseParen
                | K::CloseBracket
                | K::Percent
                | K::DegreeSign
                | K::DrawingMark
                | K::Computed
                | K::None
                | K::Yes
                | K::No
        )
    }

    /// Whether a token of this kind can begin an operand.
    pub fn begins_operand(self) -> bool {
        use Kind as K;
        self.is_word()
            || matches!(
                self,
                K::Number
                    | K::Fraction
                    | K::Deviations
                    | K::Date
                    | K::Text
                    | K::OpenText
                    | K::CurlyText
                    | K::DegreeSign
                    | K::DrawingMark
            )
    }

    /// Whether an entry goes on in the next line after this token.
    pub fn wants_more(self) -> bool {
        use Kind as K;
        matches!(
            self,
            K::Plus
                | K::Minus
                | K::Star
                | K::Slash
                | K::UnitStar
                | K::UnitSlash
                | K::Caret
                | K::PlusMinus
                | K::Range
                | K::Equals
                | K::EqualTo
                | K::NotEqualTo
                | K::Less
                | K::LessOrEqual
                | K::Greater
                | K::GreaterOrEqual
                | K::Colon
                | K::Because
                | K::Then
                | K::With
        )
    }

    /// Whether an entry goes on in this line when it begins with this token.
    pub fn continues(self) -> bool {
        matches!(self, Self::Until | Self::As | Self::Then | Self::Else | Self::Because)
    }

    /// The token in a message: its spelling where it has one.
    pub fn describe(self) -> &'static str {
        use Kind as K;
        match self {
            K::LineBreak => "the end of the line",
            K::Comment | K::DocComment => "a comment",
            K::Word => "a word",
            K::Number => "a number",
            K::Fraction => "a fraction",
            K::Deviations => "a pair of deviations",
            K::Date => "a date",
            K::Text | K::OpenText | K::CurlyText => "a text in quotes",
            K::As => "`as`",
            K::At => "`at`",
            K::Because => "`because`",
            K::Computed => "`computed`",
            K::Else => "`else`",
            K::For => "`for`",
            K::From => "`from`",
            K::If => "`if`",
            K::No => "`no`",
            K::None => "`none`",
            K::On => "`on`",
            K::PlusWord => "`plus`",
            K::Then => "`then`",
            K::Until => "`until`",
            K::With => "`with`",
            K::Within => "`within`",
            K::Yes => "`yes`",
            K::OpenBrace => "`{`",
            K::CloseBrace => "`}`",
            K::OpenParen | K::CallParen => "`(`",
            K::CloseParen => "`)`",
            K::OpenBracket | K::IndexBracket => "`[`",
            K::CloseBracket => "`]`",
            K::Comma => "`,`",
            K::Colon => "`:`",
            K::Dot => "`.`",
            K::Range => "`..`",
            K::PlusMinus => "`±`",
            K::Plus => "`+`",
            K::Minus => "`-`",
            K::Star | K::UnitStar => "`*`",
            K::Slash | K::UnitSlash => "`/`",
            K::Caret => "`^`",
            K::Percent => "`%`",
            K::Equals => "`=`",
            K::EqualTo => "`==`",
            K::NotEqualTo => "`!=`",
            K::Less => "`<`",
            K::LessOrEqual => "`<=`",
            K::Greater => "`>`",
            K::GreaterOrEqual => "`>=`",
            K::DegreeSign => "a degree sign",
            K::DrawingMark => "a number with an inch or foot mark",
            K::Stray => "a character that has no meaning here",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Kind;

    #[test]
    fn all_kinds_are_listed() {
        assert_eq!(Kind::ALL.len(), Kind::Stray as usize + 1);
        for (index, kind) in Kind::ALL.iter().enumerate() {
            assert_eq!(*kind as usize, index, "{kind:?}");
        }
    }
}
