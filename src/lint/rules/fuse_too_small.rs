use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::supply_overload::drawn;
use crate::lint::run::BenchUse;
use crate::lint::run::RecipeView;
use crate::model::{Given, Supply};
use crate::physics::supply::{Load, conductor_limit, fuse_fits};
use crate::plan::Electric;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "fuse-too-small",
    class: Class::Notice,
    group: "supply",
    summary: "The fuse blows in use.",
    page: include_str!("fuse_too_small.md"),
    check: Check::Both(of_heaters, of_supplies),
};

/// Ratings of fuses that are sold, A (R10 and R20 series of IEC 60127 and 60269, from memory).
const RATINGS: [f64; 18] =
    [1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0];

/// A fuse that works beyond its continuous share when one heater is on.
fn of_heaters(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for used in bench.used {
        let heater = used.heater;
        let current = Known::from(&used.electric.current);
        let leads = conductor_limit(heater.leads.area.value.low());
        for fuse in [heater.fuse, heater.supply.fuse].into_iter().flatten() {
            if !told.contains(&fuse.span) && blows(fuse.value, current, heater.supply.continuous) {
                told.push(fuse.span);
                report.push(one(
                    &heater.supply,
                    fuse,
                    current,
                    leads.min(heater.supply.rated.value.low()),
                    &format!("`{}`", heater.name),
                ));
            }
        }
    }
}

/// The fuse of a supply from which several heaters are fed at once.
fn of_supplies(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (supply, current) in drawn(view) {
        let Some(fuse) = supply.fuse else { continue };
        let current = Known::from(&current);
        let alone = |electric: &Electric| blows(fuse.value, Known::from(&electric.current), supply.continuous);
        // What one heater alone does was told for the bench.
        if !blows(fuse.value, current, supply.continuous) || view.electric.iter().flatten().any(alone) {
            continue;
        }
        let what = format!("what `{}` heats at once", view.recipe.name);
        report.push(one(supply, fuse, current, supply.rated.value.low(), &what).also(view.recipe.span, "this recipe"));
    }
}

/// Whether a fuse (A) works beyond its continuous share at the nominal, or beyond its rating in the worst case. The share is
/// a margin in itself: a worst case that only reaches into it blows nothing.
fn blows(fuse: f64, current: Known, share: f64) -> bool {
    fuse_fits(fuse, current, share, fuse).0 == Load::Above || current.high > fuse
}

fn one(supply: &Supply, fuse: Given<f64>, current: Known, most: f64, what: &str) -> Diagnostic {
    let limit = fuse.value * supply.continuous;
    let verb = if current.nominal > limit { "is" } else { "can be" };
    let finding = RULE
        .finding(fuse.span, format!("the fuse {verb} too small for {what}"))
        .here("it blows in the middle of a part, or ages until it does")
        .figure(figure("current", current, "A", Some((limit, "fuse × continuous share"))))
        .note("A fuse is loaded to 80 % at most for long: published for loads of three hours, common practice here.");
    let wanted = (current.nominal / supply.continuous).max(current.high);
    match RATINGS.into_iter().find(|rating| *rating >= wanted && *rating <= most) {
        Some(rating) => {
            finding.control_edit(format!("write `{rating} A`, once it is fitted"), fuse.span, format!("{rating} A"))
        }
        None => finding
            .help("No usual fuse carries this and still guards leads and supply: take thicker leads or a weaker line."),
    }
}
