//! The one place where this stage's messages are worded.

use crate::model::{Arm, Heater, Part, Recipe};
use crate::plan::blank::BlankProblem;
use crate::plan::electric::ElectricProblem;
use crate::plan::thermal::ThermalProblem;
use crate::report::Diagnostic;
use crate::text::Span;
use crate::types::all_of;
use crate::units::{BoundsProblem, Kind, preferred_unit, show_rounded};

fn shown(kind: Kind, value: f64) -> String {
    preferred_unit(kind, false).map_or_else(String::new, |unit| show_rounded(value, &unit, 4))
}

pub fn no_blank(part: &Part, problem: &BlankProblem) -> Diagnostic {
    match problem {
        BlankProblem::LegTooShort(leg, missing) => {
            let at = &part.legs[*leg].length;
            let headline = format!("leg {} is too short for the bends at its ends", leg + 1);
            let fault = Diagnostic::error("leg-too-short", at.span, headline)
                .here(format!("{} are missing", shown(Kind::Length, *missing)))
                .note("A bend takes tan(angle/2) × (inside radius + thickness) from each leg that is measured outside.")
                .help("Make the leg longer, the radius smaller or the angle smaller.");
            [leg.checked_sub(1), Some(*leg)]
                .into_iter()
                .flatten()
                .filter_map(|bend| part.bends.get(bend))
                .fold(fault, |fault, bend| fault.also(bend.span, "this bend takes its share"))
        }
        BlankProblem::Bounds(problem) => bounds(part.span, "the blank", *problem),
    }
}

pub fn too_many_bends(span: Span, recipe: &Recipe) -> Diagnostic {
    let labels: Vec<String> = (0..recipe.part.bends.len()).map(|bend| recipe.part.bend_label(bend)).collect();
    Diagnostic::error("too-many-bends", span, format!("the order of {} bends cannot be found", labels.len()))
        .here("too many ways to look at every one")
        .help(format!(
            "Say the order; what stands in its way is then told. For example: `order {}`.",
            labels.join(" then ")
        ))
}

pub fn arms_out_of_place(recipe: &Recipe, bends: [usize; 2], apart: f64, arms: [&Arm; 2]) -> Diagnostic {
    let [first, second] = bends.map(|bend| recipe.part.bend_label(bend));
    let headline = format!(
        "`{first}` and `{second}` lie {} apart, and arms `{}` and `{}` cannot stand like that",
        shown(Kind::Length, apart),
        arms[0].name,
        arms[1].name
    );
    Diagnostic::error("arms-out-of-place", recipe.bends[bends[0]].span, headline)
        .here("these bends are made at once")
        .also(arms[0].place.span, "the place of one arm")
        .also(arms[1].place.span, "the place of the other")
        .help("Make them one after the other (`then` instead of `with`), or mend the places if the arms can slide further.")
}

pub fn no_window(recipe: &Recipe, bend: usize, span: Span, problem: &ThermalProblem) -> Diagnostic {
    let material = &recipe.part.sheet.material.name;
    let label = recipe.part.bend_label(bend);
    match problem {
        ThermalProblem::Material(entry) => Diagnostic::error(
            "material-incomplete",
            span,
            format!("no times can be computed for `{material}`: its `{entry}` is not known"),
        )
        .here(format!("bend `{label}` asks for a computed figure"))
        .also(recipe.part.sheet.thickness.span, "this sheet is made of it")
        .help(format!("Give the times from trial strips, or add `{entry}` to a material of your own.")),
        ThermalProblem::FromMemory => Diagnostic::error(
            "material-from-memory",
            span,
            format!("no times can be computed for `{material}`: its thermal data are only from memory"),
        )
        .here(format!("bend `{label}` asks for a computed figure"))
        .also(recipe.part.sheet.thickness.span, "this sheet is made of it")
        .help("Give the times from trial strips."),
        ThermalProblem::Electric(problem) => no_electric(&recipe.bench.arms[recipe.bends[bend].arm].heater, problem),
        ThermalProblem::Physics(fault) => Diagnostic::error(
            "heat-out-of-range",
            span,
            format!("the heat of bend `{label}` cannot be computed: {fault}"),
        )
        .here("this bend")
        .help("Check the sheet's thickness, the heater's gap, channel and voltage, and the bend's radius."),
    }
}

pub fn no_electric(heater: &Heater, problem: &ElectricProblem) -> Diagnostic {
    let span = heater.length.span;
    match problem {
        ElectricProblem::Bounds(problem) => bounds(span, &format!("the current of `{}`", heater.name), *problem),
        ElectricProblem::Physics(fault) => Diagnostic::error(
            "wire-out-of-range",
            span,
            format!("the wire of `{}` cannot be computed: {fault}", heater.name),
        )
        .here("this heater")
        .also(heater.supply.voltage.span, "at this voltage")
        .help("Check the voltage, the size of the wire and its length."),
        ElectricProblem::Alloy(entry) => {
            let alloy = &heater.lines[0].wire.alloy.name;
            Diagnostic::error(
                "alloy-incomplete",
                span,
                format!("nothing is known of `{entry}` for the alloy `{alloy}`"),
            )
            .here("so the hot wire of this heater cannot be computed")
            .help(format!("Add `{entry} … at …` to the alloy."))
        }
    }
}

pub fn out_of_range(recipe: &Recipe, problem: BoundsProblem) -> Diagnostic {
    bounds(recipe.span, &format!("the currents of `{}`", recipe.name), problem)
}

fn bounds(span: Span, what: &str, problem: BoundsProblem) -> Diagnostic {
    let why = match problem {
        BoundsProblem::DivisionByZero => "a divisor is, or can be, 0",
        BoundsProblem::NotPositive => "a value that must be positive can be negative",
        _ => "the numbers are out of range",
    };
    Diagnostic::error("no-result", span, format!("{what} cannot be computed: {why}"))
}

/// A bend whose swing its arm cannot make.
pub struct WrongSwing {
    /// The bend's name or number.
    pub bend: String,
    /// rad
    pub swing: f64,
    /// The swing given, else the angle.
    pub span: Span,
}

/// The bends that one arm cannot make; none where there is none.
pub fn swing_out_of_reach(wrong: &[WrongSwing], arm: &Arm) -> Option<Diagnostic> {
    let (first, others) = wrong.split_first()?;
    let (low, high) = arm.swings.value;
    if low >= high {
        // The arm is at fault, not each bend of each recipe that is made on it.
        let only = shown(Kind::Angle, high);
        let fault = Diagnostic::error(
            "swing-out-of-reach",
            arm.swings.span,
            format!("arm `{}` swings only to {only}", arm.name),
        );
        return Some(
            fault.here("other swings are needed").help(format!("Write all that it can swing: `swings 0..{only}`.")),
        );
    }
    let range = format!("{} to {}", shown(Kind::Angle, low), shown(Kind::Angle, high));
    let swing = |wrong: &WrongSwing| shown(Kind::Angle, wrong.swing);
    let headline =
        format!("bend `{}` needs a swing of {}, but arm `{}` swings {range}", first.bend, swing(first), arm.name);
    let fault = Diagnostic::error("swing-out-of-reach", first.span, headline)
        .here("this angle, and the springback on top")
        .also(arm.swings.span, "the arm's range")
        .help("Make the bend on another arm, or mend the range if the arm can do more.");
    Some(others.iter().fold(fault, |fault, other| {
        fault.also(other.span, format!("bend `{}` needs {} of the same arm", other.bend, swing(other)))
    }))
}

pub fn expectation_fails(span: Span, shown: &str, always: bool) -> Diagnostic {
    let headline = if always { "this expectation fails" } else { "this expectation can fail" };
    let fault = Diagnostic::error("expectation-fails", span, headline).here(shown.to_owned());
    if always { fault.note("It fails whatever the unknowns are.") } else { fault }
}

pub fn expectation_undecided(span: Span, shown: &str) -> Diagnostic {
    Diagnostic::error("expectation-undecided", span, "this expectation cannot be decided")
        .here(shown.to_owned())
        .note("The bounds of the figure are too wide to tell: that counts as failing.")
}

pub fn expectation_not_a_comparison(span: Span) -> Diagnostic {
    Diagnostic::error("comparison-wanted", span, "`expect` needs a comparison")
        .here("compared with what?")
        .help("For example: `expect cycle_time <= 25 min`, or `expect blank.length within 375..395 mm`.")
}

pub fn never_sets(span: Span, bends: &[String]) -> Diagnostic {
    let names: Vec<String> = bends.iter().map(|bend| format!("`{bend}`")).collect();
    let (word, verb) = if names.len() == 1 { ("bend", "does") } else { ("bends", "do") };
    let headline = format!("{word} {} {verb} not cool down to the release temperature", all_of(&names));
    Diagnostic::error("never-sets", span, headline)
        .here("not within two hours")
        .help("The room may be too warm, or the arm's surface too good an insulator.")
}
