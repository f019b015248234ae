use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::model::Controller;
use crate::report::{Class, Diagnostic};
use crate::text::Span;
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "program-too-large",
    class: Class::Notice,
    group: "controller",
    summary: "The program does not fit the controller.",
    page: include_str!("program_too_large.md"),
    check: Check::Program,
};

/// A program of so many bytes, for the recipe or batch whose name stands at `place`; none where it fits.
pub fn check(name: &str, place: Span, bytes: usize, controller: &Controller) -> Option<Diagnostic> {
    let size = u32::try_from(bytes).map_or(f64::INFINITY, f64::from);
    let space = controller.program_space as f64;
    let finding = || {
        RULE.finding(place, format!("the program of `{name}` does not fit controller `{}`", controller.name))
            .here("this has no `program.wtp`")
            .also(controller.span, "the controller")
            .figure(figure("program, bytes", Known::exact(size), "", Some((space, "`program_space` of the controller"))))
            .help(
                "Write the `program_space` that the controller really has, split the batch, or give bends and arms shorter \
                 names: they stand in the calls.",
            )
    };
    (RULE.runs() && size > space).then(finding)
}
