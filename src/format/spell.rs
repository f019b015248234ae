use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::format::mark::Mark;
use crate::syntax::Kind;
use crate::units::UNITS;

/// The one spelling of a token.
pub fn spell(kind: Kind, mark: Mark, text: &str) -> &str {
    match (mark, kind) {
        (Mark::Raw, _) => text,
        (Mark::UnitWord, _) => ALIASES.get(text).copied().unwrap_or(text),
        (_, Kind::PlusMinus) => "±",
        (_, Kind::Minus) => "-",
        (_, Kind::Star | Kind::UnitStar) => "*",
        (_, Kind::NotEqualTo) => "!=",
        (_, Kind::LessOrEqual) => "<=",
        (_, Kind::GreaterOrEqual) => ">=",
        _ => text,
    }
}

/// Other spellings of units. Few words behind a number are one, so the search must be quick for those that are not.
static ALIASES: LazyLock<BTreeMap<&str, &str>> =
    LazyLock::new(|| UNITS.iter().flat_map(|unit| unit.aliases.iter().map(|alias| (*alias, unit.word))).collect());

/// Whether a space stands between two neighbouring tokens of an entry.
pub fn is_spaced(before: (Kind, Mark), after: (Kind, Mark)) -> bool {
    use Kind as K;
    let closed = match before.0 {
        K::OpenParen | K::CallParen | K::OpenBracket | K::IndexBracket | K::Dot | K::Range | K::Caret => true,
        K::Slash | K::UnitSlash | K::Star | K::UnitStar | K::Minus => before.1 != Mark::Binary,
        _ => false,
    };
    let closes = match after.0 {
        K::Comma | K::Colon | K::CloseParen | K::CloseBracket | K::CallParen | K::Dot | K::Range | K::Caret => true,
        K::IndexBracket => after.1 != Mark::ListBracket,
        K::Slash | K::UnitSlash | K::Star | K::UnitStar => after.1 != Mark::Binary,
        K::Minus => after.1 == Mark::RuleMinus,
        _ => false,
    };
    !closed && !closes
}
