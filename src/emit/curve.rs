//! Temperatures over time as a drawing: what the line does to the sheet, and when to switch off.
//!
//! Readable without colour: curves differ by their dashes and are labelled where they run.

use std::fmt::Write;

use crate::emit::csv::decimal;
use crate::emit::drawing::{anchored, escaped, line, place, text};
use crate::emit::shown::verdict;
use crate::model::Level;
use crate::physics::section::Sample;
use crate::physics::window::Verdict;
use crate::plan::{Account, RecipePlan, Thermal, Trace};
use crate::units::{Unit, in_unit};

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 560.0;
/// The plot inside the drawing: left, top, right, bottom.
const PLOT: [f64; 4] = [64.0, 118.0, 716.0, 492.0];
/// Labels of lines at the right edge stand at least so far apart.
const APART: f64 = 17.0;

const STYLE: &str = "text{font:13px sans-serif;fill:#000}.big{font-size:16px;font-weight:bold}\
.halo{paint-order:stroke;stroke:#fff;stroke-width:4px;stroke-linejoin:round}\
.axis{stroke:#000;stroke-width:1;fill:none}.grid{stroke:#ddd;stroke-width:1}\
.window{fill:#e4e4e4}.proved{fill:#bdbdbd}.edge{stroke:#555;stroke-width:1}\
.limit{stroke:#000;stroke-width:1;stroke-dasharray:10 3 2 3}.phase{stroke:#000;stroke-width:1.5}\
.lead{stroke:#000;stroke-width:.8}.curve{fill:none;stroke:#000;stroke-width:2.6}\
.mean{stroke-dasharray:9 4}.other{stroke-dasharray:2 4;stroke-linecap:round}.on{stroke-width:1.2;stroke-dasharray:4 4}";

/// One temperature of a moment, K.
type Pick = fn(&Sample) -> f64;

/// From seconds and degrees Celsius to places in the drawing.
struct Scale {
    seconds: f64,
    degrees: f64,
}

impl Scale {
    fn x(&self, seconds: f64) -> f64 {
        PLOT[0] + (PLOT[2] - PLOT[0]) * (seconds / self.seconds).clamp(0.0, 1.0)
    }

    fn y(&self, degrees: f64) -> f64 {
        PLOT[3] - (PLOT[3] - PLOT[1]) * (degrees / self.degrees).clamp(0.0, 1.0)
    }
}

/// The curve of one bend as SVG; none where no temperatures can be computed.
pub fn curve_svg(plan: &RecipePlan, bend: usize, account: &Account, lot: Option<&str>) -> Option<String> {
    let trace = account.trace.as_ref()?;
    let thermal = plan.bends.get(bend)?.thermal.as_ref()?;
    let limits = account.limits?;
    let end = trace.heat + trace.transfer + trace.hold;
    let hottest = trace.samples.iter().chain(&trace.left_on).map(|sample| celsius(hotter(sample))).fold(0.0, f64::max);
    // Some room above the ceiling, so that its line is not the edge of the plot.
    let degrees = ((hottest.max(celsius(limits.ceiling)) + 8.0) / 20.0).ceil() * 20.0;
    let scale = Scale { seconds: end.max(1.0), degrees };
    let mut body = String::new();
    titles(&mut body, plan, account, thermal, lot);
    window(&mut body, &scale, thermal);
    axes(&mut body, &scale);
    let lines = [
        ("blisters from", limits.ceiling),
        ("forming from (mean)", limits.forming),
        ("soft from (coldest)", limits.softened),
        ("may be let go below", limits.release),
    ];
    limit_lines(&mut body, &scale, &lines);
    phases(&mut body, &scale, trace, &account.heat, plan.recipe.bends.get(bend)?.transfer);
    curves(&mut body, &scale, trace, two_faces(plan, bend));
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" \
         height=\"{HEIGHT}\" role=\"img\">\n<title>Temperatures of bend {} of {}</title>\n<style>{STYLE}</style>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#fff\"/>\n{body}</svg>\n",
        escaped(&account.bend),
        escaped(&plan.recipe.name),
    ))
}

/// The name of the file for a bend; a batch names the run as well.
pub fn curve_name(run: Option<usize>, bend: &str) -> String {
    let plain: String =
        bend.chars().filter(|c| *c != ']').map(|c| if c.is_alphanumeric() || c == '_' { c } else { '-' }).collect();
    run.map_or_else(|| format!("curve-{plain}.svg"), |run| format!("curve-{run}-{plain}.svg"))
}

fn two_faces(plan: &RecipePlan, bend: usize) -> bool {
    let arm = plan.recipe.bends.get(bend).and_then(|settings| plan.recipe.bench.arms.get(settings.arm));
    arm.is_some_and(|arm| arm.heater.lines.len() > 1)
}

fn titles(body: &mut String, plan: &RecipePlan, account: &Account, thermal: &Thermal, lot: Option<&str>) {
    let recipe = &plan.recipe;
    let sheet =
        lot.map_or_else(|| recipe.part.sheet.name.clone(), |lot| format!("{} of lot {lot}", recipe.part.sheet.name));
    let first = format!("{}, bend {}: temperatures at the line", recipe.name, account.bend);
    text(body, PLOT[0], 26.0, "big", &first);
    let calibrated = if account.calibrated { "calibrated" } else { "not calibrated" };
    let memory = if thermal.from_memory { ", thermal data from memory" } else { "" };
    let word = verdict(thermal.window.verdict);
    let second = format!("sheet {sheet}{memory}, heater {}, {calibrated}; verdict {word}", account.heater);
    text(body, PLOT[0], 46.0, "", &second);
    let said = match thermal.window.verdict {
        Verdict::Proved => {
            "Curves at the nominal figures. What is proved holds over all that is not known; the set is its longest."
        }
        Verdict::Nominal => "Curves at the nominal figures: a starting point for trial strips, not proved.",
        Verdict::None => "Curves at the nominal figures: no heat time is right.",
    };
    text(body, PLOT[0], HEIGHT - 14.0, "", said);
}

/// The heat times between ready and over, and those that are proved.
fn window(body: &mut String, scale: &Scale, thermal: &Thermal) {
    let window = &thermal.window;
    let (ready, over) = (window.ready.nominal, window.over.nominal);
    if !ready.is_finite() || ready >= over.min(scale.seconds) {
        return;
    }
    band(body, scale, "window", ready, over);
    if window.verdict == Verdict::Proved {
        band(body, scale, "proved", window.ready.high, window.over.low);
    }
    let (left, right) = (scale.x(ready), scale.x(over));
    for x in [left, right] {
        line(body, "edge", [x, PLOT[1] - 16.0], [x, PLOT[3]]);
    }
    anchored(body, [left - 4.0, PLOT[1] - 5.0], "end", "", &format!("ready {} s", decimal(ready.ceil(), 0)));
    let words = if over.is_finite() { format!("over {} s", decimal(over.floor(), 0)) } else { "no end".to_owned() };
    anchored(body, [right + 4.0, PLOT[1] - 5.0], "start", "", &words);
    if window.verdict == Verdict::Proved {
        let (from, to) = (decimal(window.ready.high.ceil(), 0), decimal(window.over.low.floor(), 0));
        anchored(body, [right + 4.0, PLOT[1] + 14.0], "start", "halo", &format!("proved {from}..{to} s"));
    }
}

fn band(body: &mut String, scale: &Scale, class: &str, from: f64, to: f64) {
    let (left, right) = (scale.x(from), scale.x(to));
    let _ = writeln!(
        body,
        "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
        place(left),
        place(PLOT[1]),
        // A proved window of one second is still to be seen.
        place((right - left).max(1.5)),
        place(PLOT[3] - PLOT[1]),
    );
}

fn axes(body: &mut String, scale: &Scale) {
    let step = [10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0].into_iter().find(|step| scale.seconds / step <= 12.0);
    let step = step.unwrap_or(1800.0);
    let mut at = 0.0;
    while at <= scale.seconds {
        let x = scale.x(at);
        line(body, "grid", [x, PLOT[1]], [x, PLOT[3]]);
        anchored(body, [x, PLOT[3] + 18.0], "middle", "", &decimal(at, 0));
        at += step;
    }
    let mut at = 0.0;
    while at <= scale.degrees {
        let y = scale.y(at);
        line(body, "grid", [PLOT[0], y], [PLOT[2], y]);
        anchored(body, [PLOT[0] - 7.0, y + 4.5], "end", "", &decimal(at, 0));
        at += 20.0;
    }
    let [left, top, right, bottom] = PLOT.map(place);
    let _ = writeln!(body, "<path class=\"axis\" d=\"M{left} {top}V{bottom}H{right}\"/>");
    anchored(body, [PLOT[0] - 7.0, PLOT[1] - 10.0], "end", "", "°C");
    anchored(body, [PLOT[2], PLOT[3] + 36.0], "end", "", "seconds from heater on");
}

/// The limits, labelled at the right edge; labels that would meet are moved apart, with a lead to their line.
fn limit_lines(body: &mut String, scale: &Scale, lines: &[(&str, f64)]) {
    let mut sorted: Vec<(f64, String)> = lines
        .iter()
        .map(|(words, at)| (scale.y(celsius(*at)), format!("{words} {} °C", decimal(celsius(*at), 0))))
        .collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lowest = PLOT[1] - 20.0;
    for (y, words) in sorted {
        line(body, "limit", [PLOT[0], y], [PLOT[2], y]);
        let label = y.max(lowest + APART);
        lowest = label;
        line(body, "lead", [PLOT[2], y], [PLOT[2] + 10.0, label]);
        anchored(body, [PLOT[2] + 13.0, label + 4.5], "start", "", &words);
    }
}

/// Heater off and bend finished, and what is done between.
fn phases(body: &mut String, scale: &Scale, trace: &Trace, heat: &[Level], transfer: f64) {
    let (off, bent) = (trace.heat, trace.heat + trace.transfer);
    for at in [off, bent] {
        line(body, "phase", [scale.x(at), PLOT[1] - 38.0], [scale.x(at), PLOT[3]]);
    }
    let y = PLOT[1] - 26.0;
    let stages: Vec<String> = heat
        .iter()
        .map(|level| {
            let time = decimal(level.time, 1);
            match level.share {
                share if share <= 0.0 => format!("off {time} s"),
                share if share < 1.0 => format!("{time} s at {} %", decimal(share * 100.0, 1)),
                _ => format!("{time} s"),
            }
        })
        .collect();
    let heat = format!("heat {}", stages.join(" then "));
    anchored(body, [scale.x(off / 2.0), y], "middle", "", &heat);
    let set = format!("bend within {} s, set {} s", decimal(transfer, 1), decimal(trace.hold, 1));
    anchored(body, [scale.x(bent) + 5.0, y], "start", "", &set);
}

fn curves(body: &mut String, scale: &Scale, trace: &Trace, both: bool) {
    let series: [(&str, Pick); 3] = [
        ("curve", |sample| sample.faces[0]),
        ("curve mean", |sample| sample.mean),
        ("curve other", |sample| sample.faces[1]),
    ];
    for (class, pick) in series {
        path(body, scale, class, &trace.samples, pick);
        if class != "curve mean" {
            path(body, scale, "curve on", &trace.left_on, pick);
        }
    }
    let (first, second) = if both { ("lower face", "upper face") } else { ("heated face", "other face") };
    let heating = trace.samples.iter().take_while(|sample| sample.time <= trace.heat);
    let heating: Vec<&Sample> = heating.collect();
    // Each label hangs on its curve at another temperature, where there is room beside it.
    let labels = [(first, 0.62, 0), (second, 0.30, 2), ("mean through the sheet", 0.46, 1)];
    for (words, share, index) in labels {
        let pick = series[index].1;
        let rise = |sample: &Sample| pick(sample);
        let (Some(start), Some(end)) = (heating.first(), heating.last()) else { return };
        let wanted = rise(start) + share * (rise(end) - rise(start));
        let Some(at) = heating.iter().find(|sample| rise(sample) >= wanted) else { continue };
        let (x, y) = (scale.x(at.time), scale.y(celsius(rise(at))));
        if index == 0 {
            line(body, "lead", [x, y], [x - 16.0, y - 10.0]);
            anchored(body, [x - 19.0, y - 8.0], "end", "halo", words);
        } else {
            let down = if index == 1 { 46.0 } else { 34.0 };
            line(body, "lead", [x, y], [x + 26.0, y + down]);
            anchored(body, [x + 29.0, y + down + 5.0], "start", "halo", words);
        }
    }
    if !trace.left_on.is_empty() {
        let Some(last) = trace.left_on.last() else { return };
        let (x, y) = (scale.x(last.time), scale.y(celsius(hotter(last))));
        line(body, "lead", [x, y], [x + 16.0, y + 14.0]);
        anchored(body, [x + 19.0, y + 20.0], "start", "halo", "if left on");
    }
}

fn path(body: &mut String, scale: &Scale, class: &str, samples: &[Sample], pick: Pick) {
    let mut d = String::new();
    for (index, sample) in samples.iter().enumerate() {
        let command = if index == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{command}{} {}", place(scale.x(sample.time)), place(scale.y(celsius(pick(sample)))));
    }
    if !d.is_empty() {
        let _ = writeln!(body, "<path class=\"{class}\" d=\"{d}\"/>");
    }
}

fn hotter(sample: &Sample) -> f64 {
    sample.faces[0].max(sample.faces[1])
}

fn celsius(kelvin: f64) -> f64 {
    Unit::parse("degC").map_or(kelvin, |unit| in_unit(kelvin, &unit))
}

#[cfg(test)]
mod tests {
    use super::curve_name;

    #[test]
    fn file_names_hold_no_brackets() {
        assert_eq!(curve_name(None, "front"), "curve-front.svg");
        assert_eq!(curve_name(Some(2), "rib[2].crest"), "curve-2-rib-2-crest.svg");
    }
}
