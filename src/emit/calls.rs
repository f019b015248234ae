//! What the operator is told at each step.

use crate::emit::shown::{Units, figure, time};
use crate::model::FenceSide;
use crate::plan::{Action, Change, RecipePlan, Step};
use crate::units::Kind;

/// One sentence for one step.
pub fn call(plan: &RecipePlan, step: &Step, units: Units) -> String {
    let arm = step.arm.and_then(|arm| plan.recipe.bench.arms.get(arm)).map_or("", |arm| arm.name.as_str());
    match step.action {
        Action::Load | Action::Reposition => {
            let verb = if step.action == Action::Load { "lay in" } else { "shift" };
            let (fence, side) = step.fence.unwrap_or((0.0, FenceSide::Front));
            let end = if side == FenceSide::Front { "start" } else { "end" };
            let face = if step.turned_over { "upper face down" } else { "upper face up" };
            let swing = step.swing.map_or_else(String::new, |swing| figure(Kind::Angle, swing, 4));
            let turn = if step.changes.contains(&Change::TurnOver) { "turn over, " } else { "" };
            let partner = partner(plan, step).map_or_else(String::new, |(arm, swing)| {
                // The end that is against the fence goes up with the other arm.
                format!(", of arm {arm} at {}; take the fence away", figure(Kind::Angle, swing, 4))
            });
            format!(
                "{turn}{verb}, {face}, {end} of the profile against the fence at {}, clamp; stop of arm {arm} at \
                 {swing}{partner}",
                units.length(fence)
            )
        }
        Action::Heat => {
            let heater =
                step.arm.and_then(|arm| plan.recipe.bench.arms.get(arm)).map_or("", |arm| arm.heater.name.as_str());
            match step.share {
                Some(share) if share <= 0.0 => format!("{heater} off: the heat soaks in; stay"),
                Some(share) if share < 1.0 => {
                    format!("{heater} at {} for {}; stay", figure(Kind::Ratio, share, 3), time(step.lasts))
                }
                _ => format!("{heater} on for {}; stay", time(step.lasts)),
            }
        }
        Action::Bend => {
            let swing = step.swing.map_or_else(String::new, |swing| figure(Kind::Angle, swing, 4));
            format!("line off; swing arm {arm} to its stop at {swing} within {}", time(step.lasts))
        }
        Action::Set => format!("hold on arm {arm}; the wire is still hot"),
        Action::Unload => "unclamp, take the part out; it is still warm".to_owned(),
    }
}

/// The arm that bends at the same time, and its swing.
fn partner<'a>(plan: &'a RecipePlan, step: &Step) -> Option<(&'a str, f64)> {
    let bend = step.bend?;
    let group = plan.handling.order.iter().find(|group| group.contains(&bend))?;
    let other = *group.iter().find(|other| **other != bend)?;
    let arm = plan.recipe.bench.arms.get(plan.recipe.bends.get(other)?.arm)?;
    Some((arm.name.as_str(), plan.bends.get(other)?.swing))
}

/// What a display of a few lines shows when the sheet is to be laid in.
pub fn short_call(plan: &RecipePlan, step: &Step) -> String {
    let arm = step.arm.and_then(|arm| plan.recipe.bench.arms.get(arm)).map_or("", |arm| arm.name.as_str());
    let (fence, side) = step.fence.unwrap_or((0.0, FenceSide::Front));
    let verb = if step.action == Action::Load { "lay in" } else { "shift" };
    let turn = if step.changes.contains(&Change::TurnOver) { "turn, " } else { "" };
    let end = if side == FenceSide::Front { "start" } else { "end" };
    let swing = step.swing.map_or_else(String::new, |swing| figure(Kind::Angle, swing, 4));
    format!("{turn}{verb}: {end} at {}, {arm} to {swing}", Units::Metric.length(fence))
}
