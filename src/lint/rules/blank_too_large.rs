use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "blank-too-large",
    class: Class::Notice,
    group: "part",
    summary: "The blank does not fit the stock sheet.",
    page: include_str!("blank_too_large.md"),
    check: Check::Recipe(check),
};

/// A blank that cannot be cut from the stock sheet, either way round.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let part = &view.recipe.part;
    let (Some(size), Some(blank)) = (part.sheet.size, view.blank()) else { return };
    let (short, long) = (size[0].min(size[1]), size[0].max(size[1]));
    let length = Known::from(&blank.length);
    let (least, most) = (length.high.min(blank.width), length.high.max(blank.width));
    if least <= short + 1e-9 && most <= long + 1e-9 {
        return;
    }
    let source = "the `size` of the stock sheet";
    let finding = RULE
        .finding(part.span, format!("the blank of `{}` does not fit its stock sheet", part.name))
        .here("unbent it is larger than the sheet")
        .also(part.width.span, "its width")
        .also(part.sheet.thickness.span, "the sheet")
        .help("Buy a larger sheet, or make the part of two pieces.");
    let (of_length, of_width) = if length.high > blank.width { (long, short) } else { (short, long) };
    report.push(finding.figure(figure("length of the blank", length, "mm", Some((of_length, source)))).figure(figure(
        "width of the blank",
        Known::exact(blank.width),
        "mm",
        Some((of_width, source)),
    )));
}
