//! Figures of the blank and of the settings of a bend.

use crate::model::{MeasuredTo, Radius};
use crate::plan::account::{Case, Figure, Group, Ledger, Origin, plain};
use crate::units::{Bounded, Known};

fn figure(
    name: &str,
    value: Known,
    units: &'static [&'static str],
    formula: (&'static str, &'static str),
    inputs: &[&str],
) -> Figure {
    plain(Group::Blank, name, value, units, formula, inputs.iter().map(|name| (*name).to_owned()).collect())
}

/// Arc, setback, place, fence and swing of the bend.
pub(super) fn figures(case: &Case<'_>, ledger: &mut Ledger) {
    let part = &case.plan.recipe.part;
    let (bend, line, made) = (&part.bends[case.bend], &case.plan.blank.lines[case.bend], &case.plan.bends[case.bend]);
    let sheet = &part.sheet;
    let length = ["mm", "in"].as_slice();
    ledger.input("angle", "θ", Known::exact(bend.angle.value), "deg", Origin::Place(bend.angle.span));
    if bend.radius != Radius::Free {
        let radius = Known::exact(line.radius);
        ledger.input("inside radius", "r", radius, "mm", Origin::Entry(bend.span, "bend", "on the former"));
    }
    let radius = if bend.radius == Radius::Free { "radius of the free bend" } else { "inside radius" };
    let thickness = Known::from(&sheet.thickness.value);
    let origin = if sheet.by_standard {
        Origin::Entry(sheet.material.density.span, "thickness_tolerance", "the sheet standard")
    } else {
        Origin::Place(sheet.thickness.span)
    };
    // A lot changes the heat, not the blank that was cut for the drawing.
    let thick = if case.lot.is_some() { "thickness of the drawing" } else { "thickness" };
    ledger.input(thick, "h", thickness, "mm", origin);
    let neutral = Known::from(&sheet.material.neutral_line);
    let origin = Origin::Entry(sheet.material.density.span, "neutral_line", "0.5, the middle");
    ledger.input("neutral line", "K", neutral, "", origin);
    let inputs = ["angle", radius, "neutral line", thick];
    let arc = figure("length of the arc", Known::from(&line.arc), length, ("θ (r + K h)", "geometry"), &inputs);
    ledger
        .figure(arc.simplified("The neutral line stays where it is through the bend; no published figure for sheet."));
    let formula = match part.measured_to {
        MeasuredTo::Outside => "tan(θ/2) (r + h), legs to the outside",
        MeasuredTo::Inside => "tan(θ/2) r, legs to the inside",
        MeasuredTo::Neutral => "tan(θ/2) (r + K h), legs to the neutral line",
    };
    ledger.figure(figure("setback", Known::from(&line.setback), length, (formula, "geometry"), &inputs));
    let used = Bounded::exact(2.0)
        .and_then(|two| two.mul(&line.setback))
        .and_then(|both| both.sub(&line.arc))
        .map_or(Known::exact(2.0 * line.setback.nominal() - line.arc.nominal()), |used| Known::from(&used));
    let formula = ("2 setback − arc", "geometry");
    ledger.figure(figure("length used by the bend", used, length, formula, &["setback", "length of the arc"]));
    let inputs = ["length of the arc", "setback"];
    let formula = ("straights and arcs up to the middle of this arc, at the nominal thickness", "geometry");
    ledger.figure(figure("place from the start", Known::exact(line.from_start), length, formula, &inputs));
    let rest = case.plan.blank.length.nominal() - line.from_start;
    ledger.figure(figure("place from the end", Known::exact(rest), length, formula, &inputs));
    let blank = Known::from(&case.plan.blank.length);
    let formula = ("legs less the length used by each bend", "geometry");
    ledger.figure(figure("length of the blank", blank, length, formula, &["length used by the bend"]));
    let own = &case.plan.recipe.bench.fence;
    ledger.input("step of the fence", "", Known::exact(own.reads.value), "mm", Origin::Place(own.reads.span));
    let origin = match &own.height {
        Some(given) => Origin::Place(given.span),
        None => Origin::Entry(own.reads.span, "height", "15 mm (our assumption)"),
    };
    ledger.input("height of the fence", "", Known::exact(own.height()), "mm", origin);
    let formula = (
        "from the bend line to the farthest point that the fence touches of the fixed side as it is bent by then, in whole steps",
        "geometry",
    );
    let inputs = ["place from the start", thick, "step of the fence", "height of the fence"];
    let fence = figure("fence", Known::exact(made.fence), length, formula, &inputs);
    ledger.figure(fence.simplified("Made bends stand at their target angle."));
    let springback = Known::from(&part.springback);
    let origin = Origin::Entry(part.span, "springback", "0 deg, known to 0..5 deg until it is measured");
    ledger.input("springback", "", springback, "deg", origin);
    let settings = &case.plan.recipe.bends[case.bend];
    let (formula, inputs): ((&str, &str), &[&str]) = match settings.swing {
        Some(_) => (("as the recipe says", "choice"), &[]),
        None => (("angle + springback", "definition"), &["angle", "springback"]),
    };
    let swing = figure("swing", Known::exact(made.swing), &["deg"], formula, inputs);
    let high = case.plan.recipe.bench.arms[settings.arm].swings.value.1;
    ledger.figure(swing.at_most(high, "the arm's range"));
}
