//! What changes at the bench between two versions of a recipe.

use crate::emit::csv::decimal;
use crate::emit::shown::{Units, figure, judged, time};
use crate::model::FenceSide;
use crate::plan::RecipePlan;
use crate::units::Kind;

/// One thing that is different.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Difference {
    /// What it concerns: `bend lip`, `blank`, `order`.
    pub of: String,
    /// What of it: `heat`, `fence`.
    pub what: &'static str,
    /// As it was; nothing if it was not there.
    pub old: String,
    /// As it is; nothing if it is gone.
    pub new: String,
}

/// All differences between two plans, in the order of the step table.
pub fn differences(old: &RecipePlan, new: &RecipePlan, units: Units) -> Vec<Difference> {
    let (before, after) = (facts(old, units), facts(new, units));
    let mut found = Vec::new();
    for (of, what, value) in &after {
        let was = before.iter().find(|fact| fact.0 == *of && fact.1 == *what).map(|fact| fact.2.clone());
        if was.as_ref() != Some(value) {
            found.push(Difference { of: of.clone(), what, old: was.unwrap_or_default(), new: value.clone() });
        }
    }
    for (of, what, value) in before {
        if !after.iter().any(|fact| fact.0 == of && fact.1 == what) {
            found.push(Difference { of, what, old: value, new: String::new() });
        }
    }
    found
}

/// Everything that somebody at the bench sets, times or reads, as it is shown to them.
fn facts(plan: &RecipePlan, units: Units) -> Vec<(String, &'static str, String)> {
    let recipe = &plan.recipe;
    let mut facts = vec![
        ("sheet".to_owned(), "kind", recipe.part.sheet.name.clone()),
        ("sheet".to_owned(), "thickness", units.known_length(&recipe.part.sheet.thickness.value)),
        ("blank".to_owned(), "length", units.length(plan.blank.length.nominal())),
        ("blank".to_owned(), "width", units.length(plan.blank.width)),
        ("whole".to_owned(), "bench", recipe.bench.name.clone()),
        ("whole".to_owned(), "order", order(plan)),
        ("whole".to_owned(), "cycle", time(plan.cycle_time)),
        ("whole".to_owned(), "energy", figure(Kind::Energy, plan.energy.nominal(), 3)),
    ];
    for (index, bend) in plan.bends.iter().enumerate() {
        let of = format!("bend {}", recipe.part.bend_label(index));
        let arm = &recipe.bench.arms[recipe.bends[index].arm];
        let stages: Vec<String> = bend
            .heat
            .iter()
            .map(|level| format!("{} s at {}", decimal(level.time, 1), figure(Kind::Ratio, level.share, 3)))
            .collect();
        let line = bend.electric.lines.first();
        let window = bend.thermal.as_ref().map(|thermal| &thermal.window);
        let mut add = |what: &'static str, value: String| facts.push((of.clone(), what, value));
        add("line", units.length(plan.blank.lines[index].from_start));
        add("arm", arm.name.clone());
        add("heat", stages.join(", then "));
        add("transfer", time(recipe.bends[index].transfer));
        add("set", format!("{} s", decimal(bend.set, 1)));
        add("swing", figure(Kind::Angle, bend.swing, 4));
        let end = if bend.side == FenceSide::Front { "start" } else { "end" };
        add("fence", format!("{end} at {}", units.length(bend.fence)));
        add("face down", if bend.turned_over { "upper" } else { "lower" }.to_owned());
        add("current", figure(Kind::Current, bend.electric.current.nominal(), 3));
        add("line power", line.map(|line| figure(Kind::LinePower, line.line_power.nominal(), 3)).unwrap_or_default());
        let total = bend.heat.iter().map(|level| level.time).sum();
        add("verdict", window.map_or("not computed", |window| judged(window, total)).to_owned());
    }
    facts
}

fn order(plan: &RecipePlan) -> String {
    let mut labels: Vec<String> = Vec::new();
    for step in &plan.steps {
        let label = step.bend.map(|bend| plan.recipe.part.bend_label(bend));
        if let Some(label) = label.filter(|label| !labels.contains(label)) {
            labels.push(label);
        }
    }
    labels.join(" then ")
}
