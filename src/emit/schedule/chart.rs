//! Who does what when, and what is drawn meanwhile, as a drawing: strips of half an hour, one below the other.
//!
//! Readable without colour: heat is black, a bend that sets is grey, hands are hatched, and what is idle is empty.

use std::fmt::Write;

use crate::emit::drawing::{HATCH, anchored, bar, escaped, line, place, text};
use crate::emit::schedule::Scheduled;
use crate::emit::shown::{clock, figure, time};
use crate::names::DeclId;
use crate::plan::schedule::{SupplyUse, Task, Work};
use crate::units::Kind;

const WIDTH: f64 = 1060.0;
/// Where the plot begins and ends across the drawing.
const LEFT: f64 = 96.0;
const RIGHT: f64 = 1026.0;
/// Above the first strip: title and legend.
const TOP: f64 = 104.0;
/// Rows of arms, and of hands with letters above.
const ROW: f64 = 26.0;
const HANDS: f64 = 36.0;
const BAR: f64 = 20.0;
/// Row of a supply.
const SUPPLY: f64 = 54.0;
/// Between two strips; the scale stands in it.
const BETWEEN: f64 = 40.0;
/// What a strip holds at most, ms, and how many strips are drawn.
const STRIP: u64 = 1_800_000;
const MOST_STRIPS: u64 = 48;

const STYLE: &str = "text{font:12px sans-serif;fill:#000}.big{font-size:16px;font-weight:bold}.in{font-size:11px}\
.on{font-size:11px;fill:#fff}.axis{stroke:#000;stroke-width:1;fill:none}.grid{stroke:#ddd;stroke-width:1}\
.base{stroke:#999;stroke-width:1}.heat{fill:#000}.soak{fill:#fff;stroke:#000;stroke-dasharray:3 2}\
.set{fill:#d4d4d4;stroke:#777;stroke-width:.7}.hand{fill:url(#hatch);stroke:#000;stroke-width:.7}\
.swing{fill:#fff;stroke:#000;stroke-width:1}.press{fill:#000}.bend{fill:#000}.drawn{fill:#b9b9b9;stroke:#000;stroke-width:1}\
.limit{stroke:#000;stroke-width:1;stroke-dasharray:7 4}";

/// One strip: its time and where it stands.
struct Strip {
    from: u64,
    until: u64,
    top: f64,
}

impl Strip {
    /// Where a time lies across the drawing; what lies outside is brought to the edge.
    fn x(&self, at: u64) -> f64 {
        let share = at.clamp(self.from, self.until) - self.from;
        LEFT + (RIGHT - LEFT) * share as f64 / (self.until - self.from).max(1) as f64
    }

    fn shows(&self, from: u64, until: u64) -> bool {
        until > self.from && from < self.until
    }
}

/// The chart of a recipe or batch.
pub fn chart_svg(own: &Scheduled<'_>) -> String {
    let total = own.schedule.total.max(1);
    // A strip ends on a whole minute, and a short schedule has one strip that fits it.
    let length = if total <= STRIP { total } else { STRIP };
    let strips = total.div_ceil(length).min(MOST_STRIPS);
    let arms = own.schedule.arms.len() as f64;
    let hands = own.operators() as f64;
    let supplies = own.schedule.supplies.len() as f64;
    let high = arms * ROW + hands * HANDS + supplies * SUPPLY;
    let height = TOP + strips as f64 * (high + BETWEEN) + 34.0;
    let mut body = String::new();
    head(&mut body, own);
    for strip in 0..strips {
        let top = TOP + strip as f64 * (high + BETWEEN);
        let strip = Strip { from: strip * length, until: (strip + 1) * length, top };
        scale(&mut body, &strip, high, total);
        arm_rows(&mut body, own, &strip);
        hand_rows(&mut body, own, &strip, top + arms * ROW);
        for (row, (id, used)) in own.schedule.supplies.iter().enumerate() {
            let bottom = top + arms * ROW + hands * HANDS + (row + 1) as f64 * SUPPLY - 4.0;
            supply_row(&mut body, own, &strip, (*id, used), bottom);
        }
    }
    let left = total.saturating_sub(strips * length);
    let rest = if left > 0 {
        format!("The last {} are not drawn; steps.csv has them. ", time(seconds(left)))
    } else {
        String::new()
    };
    let last = format!(
        "{rest}Times are expected: a press counts when the controller's lamp shows it. Never leave a hot line unattended."
    );
    text(&mut body, 16.0, height - 12.0, "", &last);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {0}\" width=\"{WIDTH}\" height=\"{0}\" \
         role=\"img\">\n<title>Schedule of {1}</title>\n<style>{STYLE}</style>\n{HATCH}\n\
         <rect width=\"{WIDTH}\" height=\"{0}\" fill=\"#fff\"/>\n{body}</svg>\n",
        place(height),
        escaped(own.name),
    )
}

fn seconds(ms: u64) -> f64 {
    ms as f64 / 1e3
}

fn head(body: &mut String, own: &Scheduled<'_>) {
    let what = if own.batch { "who does what when" } else { "one part, on a warm bench" };
    text(body, 16.0, 28.0, "big", &format!("{}: {what}", own.name));
    let total = time(seconds(own.schedule.total));
    let said = if !own.batch {
        format!("{total} from load to unload")
    } else if own.schedule.total <= own.schedule.bound {
        format!("{total}; no schedule of these parts is shorter; spares come on top")
    } else {
        format!("{total}; none is shorter than {}; spares come on top", time(seconds(own.schedule.bound)))
    };
    text(body, 16.0, 47.0, "", &said);
    let mut x = 16.0;
    let keys = [
        ("hand", "hands: L load, R reposition, U unload, W warm up"),
        ("press", "press start"),
        ("heat", "line on"),
        ("bend", "line off, swing the arm"),
        ("set", "arm holds"),
    ];
    for (class, words) in keys {
        match class {
            "press" => press(body, x + 9.0, 62.0, 14.0),
            "bend" => {
                bar(body, "swing", [x + 4.0, 62.0, 4.0, 14.0]);
                bar(body, "bend", [x + 13.0, 62.0, 2.0, 14.0]);
            }
            _ => bar(body, class, [x, 62.0, 18.0, 14.0]),
        }
        text(body, x + 24.0, 73.5, "", words);
        x += 44.0 + 6.3 * words.chars().count() as f64;
    }
}

/// A triangle that points down at the moment.
fn press(body: &mut String, x: f64, top: f64, high: f64) {
    let [left, right, x, top, bottom] = [x - 4.0, x + 4.0, x, top, top + high].map(place);
    let _ = writeln!(body, "<path class=\"press\" d=\"M{left} {top}H{right}L{x} {bottom}Z\"/>");
}

/// Words in a bar if there is room for them.
fn label(body: &mut String, class: &str, [x, y, width]: [f64; 3], words: &[String]) {
    let fits = |words: &&String| 6.4 * words.chars().count() as f64 + 4.0 <= width;
    if let Some(words) = words.iter().find(fits) {
        anchored(body, [x + width / 2.0, y], "middle", class, words);
    }
}

/// The scale in minutes from the start, and the names of the rows.
fn scale(body: &mut String, strip: &Strip, high: f64, total: u64) {
    let bottom = strip.top + high;
    let minute = 60_000;
    let length = strip.until - strip.from;
    let named = if length > 10 * minute { 5 * minute } else { minute };
    let mut at = strip.from.div_ceil(minute) * minute;
    while at <= strip.until {
        let x = strip.x(at);
        if at % named == 0 {
            line(body, "grid", [x, strip.top], [x, bottom + 4.0]);
            anchored(body, [x, bottom + 17.0], "middle", "in", &clock(seconds(at)));
        } else {
            line(body, "axis", [x, bottom], [x, bottom + 3.0]);
        }
        at += minute;
    }
    line(body, "axis", [LEFT, bottom], [RIGHT, bottom]);
    if total > strip.from && total < strip.until {
        anchored(body, [strip.x(total) + 6.0, strip.top + 14.0], "start", "in", "all parts are out");
    }
}

fn arm_rows(body: &mut String, own: &Scheduled<'_>, strip: &Strip) {
    for (row, used) in own.schedule.arms.iter().enumerate() {
        let top = strip.top + row as f64 * ROW + (ROW - BAR) / 2.0;
        line(body, "base", [LEFT, top + BAR], [RIGHT, top + BAR]);
        let name = own.arm(used.lane, used.arm);
        anchored(body, [LEFT - 8.0, top + 14.0], "end", "", &format!("arm {name}"));
        let tasks = own.schedule.tasks.iter();
        let tasks = tasks.filter(|task| task.lane == used.lane && task.arms.contains(&used.arm));
        for task in tasks.filter(|task| strip.shows(task.start, task.end)) {
            arm_task(body, own, strip, task, top);
        }
    }
}

fn arm_task(body: &mut String, own: &Scheduled<'_>, strip: &Strip, task: &Task, top: f64) {
    let (x, end) = (strip.x(task.start), strip.x(task.end));
    let room = [x, top, end - x, BAR];
    let inside = [x, top + 14.0, end - x];
    match task.work {
        Work::Press => press(body, end, top, BAR),
        Work::WarmUp | Work::Heat => {
            let heating = own.part_loop(task).zip(task.pass).and_then(|(part_loop, pass)| {
                part_loop.passes.get(pass)?.heats.iter().find(|heating| task.arms.contains(&heating.arm))
            });
            let Some(heating) = heating else {
                bar(body, "heat", room);
                label(body, "on", inside, &["warm up".to_owned()]);
                return;
            };
            for (at, stage) in heating.timed() {
                let from = task.start + at - heating.after;
                if strip.shows(from, from + stage.lasts) {
                    let (x, end) = (strip.x(from), strip.x(from + stage.lasts));
                    bar(body, if stage.share > 0.0 { "heat" } else { "soak" }, [x, top, end - x, BAR]);
                }
            }
            label(body, "on", inside, &[own.bend_names(task)]);
        }
        Work::Bend => bar(body, "swing", room),
        Work::Set => {
            bar(body, "set", room);
            let part = task.part + 1;
            let run = own.part_loop(task).map_or(0, |part_loop| part_loop.run + 1);
            let words = match (own.batch, own.plans.len() > 1) {
                (false, _) => vec![own.bend_names(task)],
                (true, true) => vec![format!("run {run} part {part}"), format!("{run}: {part}")],
                (true, false) => vec![format!("part {part}"), part.to_string()],
            };
            label(body, "in", inside, &words);
        }
        Work::Load | Work::Reposition | Work::Unload => bar(body, "hand", room),
    }
}

fn hand_rows(body: &mut String, own: &Scheduled<'_>, strip: &Strip, top: f64) {
    let several = own.operators() > 1;
    for (row, operator) in (0..own.operators()).enumerate() {
        let top = top + (row + 1) as f64 * HANDS - BAR;
        line(body, "base", [LEFT, top + BAR], [RIGHT, top + BAR]);
        let name = if several { format!("operator {}", operator + 1) } else { "operator".to_owned() };
        anchored(body, [LEFT - 8.0, top + 14.0], "end", "", &name);
        let tasks = own.schedule.tasks.iter().filter(|task| task.operator == Some(operator));
        for task in tasks.filter(|task| strip.shows(task.start, task.end)) {
            let (x, end) = (strip.x(task.start), strip.x(task.end));
            match task.work {
                Work::Press => press(body, end, top, BAR),
                Work::Bend => bar(body, "bend", [x, top, end - x, BAR]),
                _ => {
                    bar(body, "hand", [x, top, end - x, BAR]);
                    let letter = match task.work {
                        Work::Load => "L",
                        Work::Reposition => "R",
                        Work::Unload => "U",
                        _ => "W",
                    };
                    anchored(body, [x.midpoint(end), top - 3.0], "middle", "in", letter);
                }
            }
        }
    }
}

fn supply_row(body: &mut String, own: &Scheduled<'_>, strip: &Strip, (id, used): (DeclId, &SupplyUse), bottom: f64) {
    let high = SUPPLY - 22.0;
    let most = used.capacity.max(used.peak).max(0.1);
    let y = |amperes: f64| bottom - high * amperes / most;
    anchored(body, [LEFT - 8.0, bottom - high / 2.0 + 4.0], "end", "", own.supply(id));
    let mut path = String::new();
    for (index, (from, amperes)) in used.profile.iter().enumerate() {
        let until = used.profile.get(index + 1).map_or(own.schedule.total, |next| next.0);
        if *amperes <= 0.0 || !strip.shows(*from, until) {
            continue;
        }
        let [x, end, y, bottom] = [strip.x(*from), strip.x(until), y(*amperes), bottom].map(place);
        let _ = write!(path, "M{x} {bottom}V{y}H{end}V{bottom}");
    }
    if !path.is_empty() {
        let _ = writeln!(body, "<path class=\"drawn\" d=\"{path}\"/>");
    }
    line(body, "limit", [LEFT, y(used.capacity)], [RIGHT, y(used.capacity)]);
    line(body, "base", [LEFT, bottom], [RIGHT, bottom]);
    let limit = figure(Kind::Current, used.capacity, 3);
    anchored(body, [RIGHT - 2.0, y(used.capacity) - 3.0], "end", "in", &format!("for long {limit}"));
}
