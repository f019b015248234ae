use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "long-line-bow",
    class: Class::Notice,
    group: "part",
    summary: "A long bend line bows as it cools.",
    page: include_str!("long_line_bow.md"),
    check: Check::Recipe(check),
};

/// Longest bend line that stays straight, m: 24 in (published: makers' and hobby pages on strip heating).
const LONGEST: f64 = 0.6096;

/// A bend line that is longer than what usually stays straight.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let part = &view.recipe.part;
    if part.bends.is_empty() || part.width.value <= LONGEST + 1e-9 {
        return;
    }
    report.push(
        RULE.finding(part.width.span, format!("the bend lines of `{}` are so long that they bow", part.name))
            .here("the hot strip shrinks along the line when it cools; the cold sheet beside it does not")
            .figure(figure(
                "length of the bend lines",
                Known::exact(part.width.value),
                "mm",
                Some((LONGEST, "24 in; published, makers' and hobby pages")),
            ))
            .help("Warm the whole blank to 70 to 80 degC first, or set it in a jig that is bowed the other way."),
    );
}
