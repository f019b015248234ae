//! Sheet, wires, hands and faults over time: strips of a quarter of an hour, one below the other.
//!
//! Readable without colour: the sheet's face is a heavy line, its mean a broken one, heat is black, hands are hatched.

use std::fmt::Write;

use crate::emit::drawing::{HATCH, anchored, bar, line, place, text};
use crate::emit::rehearsal::celsius;
use crate::emit::shown::clock;
use crate::rehearse::{Act, HeaterTrace, Rehearsal, SheetTrace};

const WIDTH: f64 = 1060.0;
const LEFT: f64 = 96.0;
const RIGHT: f64 = 1020.0;
/// Above the first strip: title and legend.
const TOP: f64 = 96.0;
/// Sheet temperatures of an arm, its wire, and its heat below.
const SHEET: f64 = 120.0;
const WIRE: f64 = 34.0;
const HEAT: f64 = 14.0;
const ARM: f64 = SHEET + WIRE + HEAT + 14.0;
/// The row of hands.
const HANDS: f64 = 22.0;
/// Between two strips; the scale stands in it.
const BETWEEN: f64 = 56.0;
/// What a strip holds at most, ms, and how many strips are drawn.
const STRIP: i64 = 900_000;
const MOST_STRIPS: i64 = 24;
/// The scales, °C.
const HOTTEST_SHEET: f64 = 240.0;
const HOTTEST_WIRE: f64 = 1200.0;

const STYLE: &str = "text{font:12px sans-serif;fill:#000}.big{font-size:16px;font-weight:bold}.in{font-size:10px}\
.base{stroke:#999;stroke-width:1}.grid{stroke:#ddd;stroke-width:1}.limit{stroke:#000;stroke-width:1;stroke-dasharray:7 4;fill:none}\
.face{stroke:#000;stroke-width:2;fill:none}.mean{stroke:#000;stroke-width:1.4;stroke-dasharray:4 2;fill:none}\
.wire{stroke:#000;stroke-width:1;fill:none}.shield{stroke:#888;stroke-width:1;fill:none}.heat{fill:#000}\
.hand{fill:url(#hatch);stroke:#000;stroke-width:.7}.fault{stroke:#000;stroke-width:2.4}.flag{font-weight:bold}";

/// One strip: its time, ms, and where it stands.
struct Strip {
    from: i64,
    until: i64,
    top: f64,
}

impl Strip {
    fn x(&self, at: i64) -> f64 {
        let share = at.clamp(self.from, self.until) - self.from;
        LEFT + (RIGHT - LEFT) * share as f64 / (self.until - self.from).max(1) as f64
    }

    fn shows(&self, from: i64, until: i64) -> bool {
        until >= self.from && from < self.until
    }
}

/// The chart of a rehearsal.
pub fn rehearsal_svg(own: &Rehearsal) -> String {
    let total = own.lasts.max(1000);
    let length = total.min(STRIP);
    let strips = (total + length - 1) / length;
    let drawn = strips.min(MOST_STRIPS);
    let high = own.heater_traces.len() as f64 * ARM + HANDS;
    let height = TOP + drawn as f64 * (high + BETWEEN) + 20.0;
    let mut body = String::new();
    text(&mut body, 20.0, 28.0, "big", &format!("{} rehearsed on {}: {}", own.name, own.bench, own.ended));
    let with = if own.faults.is_empty() { "nothing goes wrong".to_owned() } else { own.faults.join(", ") };
    text(&mut body, 20.0, 48.0, "", &format!("Simulated; nothing real was started. With: {with}"));
    legend(&mut body);
    for number in 0..drawn {
        let from = number * length;
        let until = if strips == 1 { total } else { from + length };
        let strip = Strip { from, until, top: TOP + number as f64 * (high + BETWEEN) };
        draw(&mut body, own, &strip);
    }
    if strips > drawn {
        let words = format!("{} more minutes are not drawn", (strips - drawn) * length / 60_000);
        text(&mut body, LEFT, height - 8.0, "", &words);
    }
    let (width, height) = (place(WIDTH), place(height));
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\">\n\
         <style>{STYLE}</style>\n{HATCH}\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{body}</svg>\n"
    )
}

fn legend(body: &mut String) {
    let keys = [
        ("face", "hotter face of the sheet at the line"),
        ("mean", "mean through it"),
        ("limit", "blisters / forming / soft"),
        ("wire", "wire"),
        ("shield", "shield"),
    ];
    let mut x = 20.0;
    for (class, words) in keys {
        line(body, class, [x, 68.0], [x + 26.0, 68.0]);
        text(body, x + 31.0, 72.0, "", words);
        x += 48.0 + 6.4 * words.chars().count() as f64;
    }
    for (class, words) in [("heat", "heat"), ("hand", "hands")] {
        bar(body, class, [x, 61.0, 18.0, 13.0]);
        text(body, x + 23.0, 72.0, "", words);
        x += 62.0;
    }
}

fn draw(body: &mut String, own: &Rehearsal, strip: &Strip) {
    for (row, trace) in own.heater_traces.iter().enumerate() {
        let top = strip.top + row as f64 * ARM;
        arm(body, own, strip, trace, top);
    }
    let hands = strip.top + own.heater_traces.len() as f64 * ARM;
    line(body, "base", [LEFT, hands + 16.0], [RIGHT, hands + 16.0]);
    anchored(body, [LEFT - 8.0, hands + 14.0], "end", "", "person");
    let mut flags = 0_u8;
    for moment in &own.moments {
        let lasts = i64::try_from(moment.lasts).unwrap_or(0);
        if !strip.shows(moment.time, moment.time + lasts) {
            continue;
        }
        let x = strip.x(moment.time);
        match moment.who {
            Act::Person if lasts > 0 => bar(body, "hand", [x, hands + 3.0, strip.x(moment.time + lasts) - x, 13.0]),
            Act::Fault => {
                // Several faults close together would write over each other.
                let lower = 12.0 * f64::from(flags % 3);
                flags = flags.wrapping_add(1);
                line(body, "fault", [x, strip.top - 6.0], [x, hands + 20.0]);
                let (at, anchor) = if x > 0.7 * WIDTH { (x - 5.0, "end") } else { (x + 5.0, "start") };
                anchored(body, [at, strip.top + 4.0 + lower], anchor, "flag", &moment.what);
            }
            _ => {}
        }
    }
    scale(body, strip, hands + 20.0);
}

fn arm(body: &mut String, own: &Rehearsal, strip: &Strip, trace: &HeaterTrace, top: f64) {
    let y = |degrees: f64| top + SHEET * (1.0 - (degrees / HOTTEST_SHEET).clamp(0.0, 1.0));
    anchored(body, [LEFT - 8.0, top], "end", "flag", &format!("arm {}", trace.arm));
    for degrees in [0.0, 50.0, 100.0, 150.0, 200.0] {
        line(body, "grid", [LEFT, y(degrees)], [RIGHT, y(degrees)]);
        anchored(body, [LEFT - 8.0, y(degrees) + 4.0], "end", "in", &format!("{degrees} °C"));
    }
    for sheet in own.sheet_traces.iter().filter(|sheet| sheet.arm == trace.arm) {
        curve(body, strip, sheet, &y);
    }
    let shown = || trace.points.iter().filter(|point| strip.shows(point.0, point.0));
    let shield = shown().map(|(at, _, _, shield)| [strip.x(*at), y(celsius(*shield))]);
    path(body, "shield", shield);
    let under = top + SHEET + WIRE;
    let wire = shown()
        .map(|(at, _, wire, _)| [strip.x(*at), under - (WIRE - 4.0) * (celsius(*wire) / HOTTEST_WIRE).clamp(0.0, 1.0)]);
    path(body, "wire", wire);
    line(body, "base", [LEFT, under], [RIGHT, under]);
    anchored(body, [LEFT - 8.0, under - 2.0], "end", "in", "wire");
    let hottest = shown().map(|point| celsius(point.2)).fold(0.0, f64::max);
    if hottest > 100.0 {
        anchored(body, [RIGHT - 2.0, under - 8.0], "end", "in", &format!("up to {hottest:.0} °C"));
    }
    let mut since: Option<i64> = None;
    for (at, share, ..) in shown() {
        match (since, *share > 0.0) {
            (None, true) => since = Some(*at),
            (Some(from), false) => {
                bar(body, "heat", [strip.x(from), under + 2.0, strip.x(*at) - strip.x(from), HEAT - 2.0]);
                since = None;
            }
            _ => {}
        }
    }
    if let Some(from) = since {
        bar(body, "heat", [strip.x(from), under + 2.0, RIGHT - strip.x(from), HEAT - 2.0]);
    }
    anchored(body, [LEFT - 8.0, under + HEAT], "end", "in", "heat");
}

fn curve(body: &mut String, strip: &Strip, sheet: &SheetTrace, y: &impl Fn(f64) -> f64) {
    #[expect(clippy::cast_possible_truncation, reason = "samples lie within hours of the start")]
    let moment = |time: f64| sheet.began + (time * 1e3) as i64;
    let Some(last) = sheet.samples.last().map(|sample| moment(sample.time)) else { return };
    if !strip.shows(sheet.began, last) {
        return;
    }
    for limit in sheet.limits.map(celsius) {
        line(body, "limit", [strip.x(sheet.began), y(limit)], [strip.x(last), y(limit)]);
    }
    let shown = || sheet.samples.iter().filter(|sample| strip.shows(moment(sample.time), moment(sample.time)));
    let face = shown().map(|sample| [strip.x(moment(sample.time)), y(celsius(sample.faces[0].max(sample.faces[1])))]);
    path(body, "face", face);
    path(body, "mean", shown().map(|sample| [strip.x(moment(sample.time)), y(celsius(sample.mean))]));
}

fn path(body: &mut String, class: &str, points: impl Iterator<Item = [f64; 2]>) {
    let points: Vec<[String; 2]> = points.map(|point| point.map(place)).collect();
    // Where a line runs level its ends are enough.
    let level = |index: usize| {
        let near = index.checked_sub(1).and_then(|before| Some((points.get(before)?, points.get(index + 1)?)));
        near.is_some_and(|(before, after)| before[1] == points[index][1] && after[1] == points[index][1])
    };
    let kept = points.iter().enumerate().filter(|(index, _)| !level(*index));
    let kept: Vec<String> = kept.map(|(_, point)| point.join(" ")).collect();
    if kept.len() > 1 {
        let _ = writeln!(body, "<path class=\"{class}\" d=\"M{}\"/>", kept.join("L"));
    }
}

/// The scale in minutes from the start.
fn scale(body: &mut String, strip: &Strip, bottom: f64) {
    let minute = 60_000;
    let step = if strip.until - strip.from > 6 * minute { 60_000 } else { 20_000 };
    let mut at = (strip.from + step - 1) / step * step;
    while at <= strip.until {
        let x = strip.x(at);
        line(body, "base", [x, bottom], [x, bottom + 4.0]);
        anchored(body, [x, bottom + 16.0], "middle", "in", &clock(at as f64 / 1e3));
        at += step;
    }
    line(body, "base", [LEFT, bottom], [RIGHT, bottom]);
}
