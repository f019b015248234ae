//! The flat blank as a drawing at 1:1, for cutting.

use std::fmt::Write;

use crate::emit::csv::decimal;
use crate::emit::shown::{Units, figure};
use crate::model::Direction;
use crate::plan::RecipePlan;
use crate::units::Kind;

/// Room around the blank for its dimensions, mm.
const MARGIN: f64 = 15.0;

/// `blank.svg`: layers `cut` (the outline), `bend-lines` (with name, direction and angle), `keep-cool` (the edges of
/// the arcs: between them the sheet is heated, beyond them it must stay cool) and `dimensions`. One unit is 1 mm.
pub fn blank_svg(plan: &RecipePlan, units: Units) -> String {
    let length = plan.blank.length.nominal() * 1e3;
    let width = plan.blank.width * 1e3;
    let (whole_width, whole_height) = (length + 2.0 * MARGIN, width + 2.0 * MARGIN);
    let mm = |value: f64| decimal(value, 3);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"{x} {x} {w} {h}\">\n\
         <title>Blank of {name}, 1:1</title>\n",
        w = mm(whole_width),
        h = mm(whole_height),
        x = mm(-MARGIN),
        name = plan.recipe.part.name,
    );
    let _ = writeln!(
        svg,
        "<g id=\"cut\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.1\"><rect x=\"0\" y=\"0\" width=\"{}\" height=\"{}\"/></g>",
        mm(length),
        mm(width)
    );
    let mut lines = String::new();
    let mut edges = String::new();
    let mut texts = String::new();
    for (index, line) in plan.blank.lines.iter().enumerate() {
        let x = line.from_start * 1e3;
        let half = line.arc.nominal() * 500.0;
        let bend = &plan.recipe.part.bends[index];
        // Up and down are told apart by the dashes as well as by the words.
        let dashes = if bend.direction == Direction::Up { "6 2" } else { "6 2 1 2" };
        let _ = writeln!(lines, "{}", vertical(x, 0.0, width, Some(dashes)));
        for edge in [x - half, x + half] {
            let _ = writeln!(edges, "{}", vertical(edge, 0.0, 3.0, None));
            let _ = writeln!(edges, "{}", vertical(edge, width - 3.0, width, None));
        }
        let way = if bend.direction == Direction::Up { "up" } else { "down" };
        let angle = figure(Kind::Angle, bend.angle.value, 4);
        let label = format!("{} {way} {angle}", plan.recipe.part.bend_label(index));
        let _ = writeln!(texts, "{}", text(x, -6.0, &label));
        let _ = writeln!(texts, "{}", text(x, -2.0, &units.length(line.from_start)));
    }
    let size = format!("{} × {}", units.length(plan.blank.length.nominal()), units.length(plan.blank.width));
    let _ = writeln!(texts, "{}", text(length / 2.0, width + 6.0, &size));
    let _ = writeln!(
        texts,
        "{}",
        text(length / 2.0, width + 11.0, "start of the profile at the left; upper face towards you")
    );
    let stroke = "fill=\"none\" stroke=\"#000\" stroke-width=\"0.2\"";
    let _ = write!(
        svg,
        "<g id=\"bend-lines\" {stroke}>\n{lines}</g>\n<g id=\"keep-cool\" {stroke}>\n{edges}</g>\n\
         <g id=\"dimensions\" font-family=\"sans-serif\" font-size=\"3.5\" text-anchor=\"middle\">\n{texts}</g>\n</svg>\n"
    );
    svg
}

fn vertical(x: f64, from: f64, to: f64, dashes: Option<&str>) -> String {
    let (x, from, to) = (decimal(x, 3), decimal(from, 3), decimal(to, 3));
    let dashes = dashes.map_or_else(String::new, |dashes| format!(" stroke-dasharray=\"{dashes}\""));
    format!("<line x1=\"{x}\" y1=\"{from}\" x2=\"{x}\" y2=\"{to}\"{dashes}/>")
}

fn text(x: f64, y: f64, words: &str) -> String {
    format!("<text x=\"{}\" y=\"{}\">{}</text>", decimal(x, 3), decimal(y, 3), escaped(words))
}

/// Text between tags.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
