//! What the rules about the order share.

use crate::lint::run::RecipeView;
use crate::model::{Order, Recipe};
use crate::plan::{BestOrder, Change, Choice};
use crate::report::Figure;
use crate::text::Span;
use crate::units::{Unit, in_unit};

/// `order lip then front then back`.
pub fn order_text(recipe: &Recipe, choices: &[Choice]) -> String {
    let labels: Vec<String> = choices.iter().map(|choice| recipe.part.bend_label(choice.bend)).collect();
    format!("order {}", labels.join(" then "))
}

/// A length in mm with the least it should be.
pub fn millimetres_figure(name: &str, value: f64, limit: f64, source: &str) -> Option<Figure> {
    let mm = Unit::parse("mm").ok()?;
    // Two decimals: the geometry is resolved to 0.02 mm.
    let shown = libm::round(in_unit(value, &mm) * 100.0) / 100.0;
    Some(Figure {
        name: name.to_owned(),
        value: shown,
        low: shown,
        high: shown,
        unit: "mm".to_owned(),
        limit: Some(libm::round(in_unit(limit, &mm) * 100.0) / 100.0),
        limit_source: Some(source.to_owned()),
    })
}

/// A given order that can be made, and a better one.
pub struct Comparison<'a> {
    /// Where the order stands.
    pub span: Span,
    /// The best order there is.
    pub best: &'a BestOrder,
    /// How often the sheet is turned over in the given order.
    pub turn_overs: u32,
    /// How often a stop is set to another angle in the given order.
    pub swing_changes: u32,
}

/// The given order against the best; none where the given one cannot be made, which is another finding.
pub fn comparison(view: RecipeView<'_>) -> Option<Comparison<'_>> {
    let plan = view.plan?;
    let Order::Given(given) = &view.recipe.order else { return None };
    let best = plan.handling.best.as_ref()?;
    let hits = plan.handling.poses.iter().any(|pose| pose.touches.iter().any(|touch| touch.collides));
    if hits {
        return None;
    }
    let count = |change: Change| {
        let steps = plan.steps.iter().filter(|step| step.changes.contains(&change)).count();
        u32::try_from(steps).unwrap_or(u32::MAX)
    };
    let (turn_overs, swing_changes) = (count(Change::TurnOver), count(Change::Swing));
    Some(Comparison { span: given.span, best, turn_overs, swing_changes })
}

/// `once`, `3 times`.
pub fn times(count: u32) -> String {
    match count {
        0 => "not at all".to_owned(),
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        count => format!("{count} times"),
    }
}
