use std::fmt::Write;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use crate::emit::schedule::{Scheduled, word};
use crate::emit::shown::{clock, figure, known, time};
use crate::names::DeclId;
use crate::plan::schedule::{Task, Work};
use crate::units::{Bounded, Kind};

/// More rows than these nobody reads on a terminal; all of them are in `steps.csv`.
const MOST_ROWS: usize = 48;

fn seconds(ms: u64) -> f64 {
    ms as f64 / 1e3
}

fn headlines(own: &Scheduled<'_>) -> Vec<(String, String)> {
    let schedule = own.schedule;
    let mut rows = Vec::new();
    if own.batch {
        rows.push(("total".to_owned(), format!("{}; {}", time(seconds(schedule.total)), shortest(own))));
    } else {
        let cycle = format!("{}, without waiting for people", time(seconds(schedule.total)));
        rows.push(("cycle".to_owned(), cycle));
    }
    let what = if own.batch { "for all parts asked for and the warm-ups" } else { "for one part" };
    let energy = known(Kind::Energy, own.energy, 3).replace("  ", " ");
    rows.push(("energy".to_owned(), format!("{energy} {what}")));
    rows.extend(peak_currents(own).into_iter().map(|shown| ("peak current".to_owned(), shown)));
    let (operators, hands) = (own.operators(), seconds(schedule.hands));
    let share = 100.0 * hands / (seconds(schedule.total) * operators as f64).max(1e-9);
    let whose = if operators == 1 { "the operator".to_owned() } else { format!("{operators} operators") };
    rows.push(("hands".to_owned(), format!("{} of work for {whose}, {share:.0} % of the time", time(hands))));
    for used in &schedule.arms {
        let [heats, holds, idle] = [used.heating, used.setting, used.idle].map(|ms| time(seconds(ms)));
        let name = format!("arm {}", own.arm(used.lane, used.arm));
        rows.push((name, format!("heats {heats}, holds {holds}, idle {idle}")));
    }
    rows
}

/// The most that is drawn from each supply, and what it gives for long.
pub fn peak_currents(own: &Scheduled<'_>) -> Vec<String> {
    let shown = |(id, current): (&DeclId, &Bounded)| {
        let long = own.schedule.supplies.get(id).map_or(0.0, |used| used.capacity);
        let (drawn, long) = (known(Kind::Current, current, 3), figure(Kind::Current, long, 4));
        format!("{drawn} from {}, which gives {long} for long", own.supply(*id))
    };
    own.currents.iter().map(shown).collect()
}

/// What a schedule comes to, a figure a line: time, energy, currents, hands and arms.
pub fn figure_lines(own: &Scheduled<'_>) -> String {
    let lines = headlines(own);
    let longest = lines.iter().map(|(name, _)| name.chars().count() + 1).max().unwrap_or(0).max(13);
    lines.iter().fold(String::new(), |mut text, (name, value)| {
        let _ = writeln!(text, "  {name:<longest$}{value}");
        text
    })
}

/// How far the total is from the least there can be.
fn shortest(own: &Scheduled<'_>) -> String {
    let (total, bound) = (own.schedule.total, own.schedule.bound);
    if total <= bound {
        return "no schedule of these parts is shorter".to_owned();
    }
    let gap = 100.0 * (total - bound) as f64 / bound.max(1) as f64;
    format!("none is shorter than {}: at most {gap:.2} % are lost", time(seconds(bound)))
}

/// What hands do, one row after the other; a batch has lanes and runs besides.
pub fn schedule_text(own: &Scheduled<'_>, width: u16) -> String {
    let by_hand: Vec<&Task> = own.schedule.tasks.iter().filter(|task| task.work.by_hand()).collect();
    let several = own.operators() > 1;
    let mut table = plain_table(width);
    let mut header = vec!["at", "arm", "run", "part", "do", "bend", "takes", "then"];
    if several {
        header.insert(1, "who");
    }
    table.set_header(header);
    for task in by_hand.iter().take(MOST_ROWS) {
        let mut row = vec![
            clock(seconds(task.start)),
            own.arms(task),
            own.part_loop(task).map(|part_loop| (part_loop.run + 1).to_string()).unwrap_or_default(),
            task.part_loop.map(|_| (task.part + 1).to_string()).unwrap_or_default(),
            word(task.work).to_owned(),
            own.bend_names(task),
            time(seconds(task.end - task.start)),
            then(own, task),
        ];
        if several {
            row.insert(1, task.operator.map(|operator| (operator + 1).to_string()).unwrap_or_default());
        }
        table.add_row(row);
    }
    if let Some(column) = table.column_mut(0) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    let mut text = format!("{}\n", table.trim_fmt());
    if let Some(more) = by_hand.len().checked_sub(MOST_ROWS).filter(|more| *more > 0) {
        let _ = writeln!(text, " … and {more} more until {}, all in steps.csv", clock(seconds(own.schedule.total)));
    }
    text
}

/// What follows by itself.
fn then(own: &Scheduled<'_>, task: &Task) -> String {
    let pass = own.part_loop(task).zip(task.pass).and_then(|(part_loop, pass)| part_loop.passes.get(pass));
    match (task.work, pass) {
        (Work::Press, Some(pass)) => {
            let off = seconds(task.end + pass.heat);
            let stays = own.schedule.lanes.get(task.lane).is_some_and(|lane| lane.attended);
            let there = if stays { "stay, and switch off" } else { "be back" };
            format!("heats for {}; {there} at {}", time(seconds(pass.heat)), clock(off))
        }
        (Work::Bend, Some(pass)) => {
            let free = seconds(task.end + pass.set);
            format!("holds for {}, until {}", time(seconds(pass.set)), clock(free))
        }
        (Work::WarmUp, _) => "no sheet in, arm home; stay".to_owned(),
        _ => String::new(),
    }
}

fn plain_table(width: u16) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table
}
