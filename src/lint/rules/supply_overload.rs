use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use crate::lint::run::RecipeView;
use crate::model::{Order, Supply};
use crate::names::DeclId;
use crate::report::{Class, Diagnostic, Figure};
use crate::units::Bounded;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "supply-overload",
    class: Class::Warning,
    group: "supply",
    summary: "More is drawn from a supply than it is rated for.",
    page: include_str!("supply_overload.md"),
    check: Check::Recipe(check),
};

/// More is drawn from a supply at once, at its highest, than it is rated for.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (supply, drawn) in drawn(view) {
        let limit = supply.rated.value.low();
        if drawn.high() <= limit {
            continue;
        }
        report.push(
            RULE.finding(
                view.recipe.span,
                format!("`{}` draws more from `{}` than it is rated for", view.recipe.name, supply.name),
            )
            .here("the heaters of this recipe")
            .also(supply.rated.span, "the rating")
            .figure(figure(&drawn, limit, "the supply's rating"))
            .help("Use a stronger supply, a thinner or longer wire, or heat one line after the other."),
        );
    }
}

/// The supplies of a recipe with what is drawn from each at once; without a plan, by the bends that are
/// made at once.
pub fn drawn(view: RecipeView<'_>) -> Vec<(&Supply, Bounded)> {
    let supplies = view.recipe.bench.arms.iter().map(|arm| &arm.heater.supply);
    let supply = |id: DeclId| supplies.clone().find(|supply| supply.id == id);
    if let Some(plan) = view.plan {
        return plan.currents.iter().filter_map(|(id, drawn)| Some((supply(*id)?, drawn.clone()))).collect();
    }
    let alone: Vec<Vec<usize>> = (0..view.recipe.bends.len()).map(|bend| vec![bend]).collect();
    let groups = if let Order::Given(given) = &view.recipe.order { &given.value } else { &alone };
    let mut most: BTreeMap<DeclId, Bounded> = BTreeMap::new();
    for group in groups {
        let mut sums: BTreeMap<DeclId, Bounded> = BTreeMap::new();
        for bend in group {
            let (Some(settings), Some(Some(electric))) = (view.recipe.bends.get(*bend), view.electric.get(*bend))
            else {
                continue;
            };
            let sum = sums.entry(view.recipe.bench.arms[settings.arm].heater.supply.id);
            match sum {
                Entry::Vacant(first) => drop(first.insert(electric.current.clone())),
                Entry::Occupied(mut sum) => {
                    if let Ok(both) = sum.get().add(&electric.current) {
                        sum.insert(both);
                    }
                }
            }
        }
        for (id, sum) in sums {
            if most.get(&id).is_none_or(|known| known.high() < sum.high()) {
                most.insert(id, sum);
            }
        }
    }
    most.into_iter().filter_map(|(id, drawn)| Some((supply(id)?, drawn))).collect()
}

/// The current drawn, against a limit.
pub fn figure(drawn: &Bounded, limit: f64, source: &str) -> Figure {
    Figure {
        name: "current drawn".to_owned(),
        value: drawn.nominal(),
        low: drawn.low(),
        high: drawn.high(),
        unit: "A".to_owned(),
        limit: Some(limit),
        limit_source: Some(source.to_owned()),
    }
}
