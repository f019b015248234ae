use std::fmt::Write;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use crate::emit::csv::decimal;
use crate::emit::rehearsal::celsius;
use crate::emit::shown::{clock, time};
use crate::rehearse::{BendRecord, Moment, Rehearsal, Weight};

/// More rows than these nobody reads on a terminal; all of them are in the JSON.
const MOST_ROWS: usize = 60;

/// What a rehearsal is worth.
const CAUTION: &str = "  Simulated: nothing real was started. Temperatures are those of the model behind the step table, so they prove\n  \
                       nothing that it does not; trial strips do. Local code and the sheet maker's data go before these figures.";

/// A rehearsal for a terminal.
pub fn rehearsal_text(own: &Rehearsal, width: u16) -> String {
    let mut text = format!(
        "{} rehearsed on {}: {} in {}; scheduled: {}\n{CAUTION}\n",
        own.name,
        own.bench,
        own.ended,
        time(seconds(own.lasts)),
        planned(own)
    );
    if !own.faults.is_empty() {
        let _ = writeln!(text, "  with         {}", own.faults.join(", "));
    }
    if let Some((row, thickness)) = own.row {
        let _ = writeln!(text, "  row          {row}, {} mm", decimal(f64::from(thickness) / 100.0, 2));
    }
    text.push_str(&moments(own, width));
    text.push_str(&bends(own, width));
    text.push_str(&heaters(own, width));
    let worst = own.findings.iter().map(|finding| finding.weight).max().unwrap_or(Weight::Note);
    let _ = writeln!(
        text,
        "\n{}",
        match worst {
            Weight::Note => "every part came out as planned, and nothing was beyond its limit",
            Weight::Spoilt => "nothing was beyond its limit, but not every part came out as planned:",
            Weight::Danger => "THIS MUST NOT HAPPEN AT A BENCH:",
        }
    );
    for finding in &own.findings {
        let _ = writeln!(text, "  {:<7} {}", finding.weight.word(), finding.text);
    }
    text
}

/// How long it should take: a batch as a whole, a recipe for each part on a warm bench.
fn planned(own: &Rehearsal) -> String {
    let planned = time(own.planned as f64 / 1e3);
    if own.batch { planned } else { format!("{planned} a part, warm-up apart") }
}

fn seconds(ms: i64) -> f64 {
    ms as f64 / 1e3
}

fn table(width: u16, head: &[&str], right: &[usize]) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table.set_header(head.iter().copied());
    for column in right {
        if let Some(column) = table.column_mut(*column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table
}

/// How many rows are left out.
fn more(all: usize) -> String {
    if all > MOST_ROWS {
        format!("   … and {} more: `--report json` has all of them\n", all - MOST_ROWS)
    } else {
        String::new()
    }
}

fn moments(own: &Rehearsal, width: u16) -> String {
    let mut table = table(width, &["at", "arm", "who", "what"], &[0]);
    // What goes wrong is shown, however late it comes.
    let faults = own.moments.iter().position(|moment| moment.who == crate::rehearse::Act::Fault);
    let from = faults.map_or(0, |fault| fault.saturating_sub(MOST_ROWS / 2));
    for moment in own.moments.iter().skip(from).take(MOST_ROWS) {
        let lane = moment.lane.and_then(|lane| own.lanes.get(lane)).map_or("", String::as_str);
        table.add_row([at(moment), lane.to_owned(), moment.who.word().to_owned(), what(moment)]);
    }
    let before = if from > 0 { format!("   … {from} before\n") } else { String::new() };
    format!("\n{before}{}\n{}", table.trim_fmt(), more(own.moments.len() - from))
}

fn at(moment: &Moment) -> String {
    clock(seconds(moment.time).max(0.0))
}

fn what(moment: &Moment) -> String {
    if moment.lasts > 0 {
        format!("{} ({} s)", moment.what, decimal(moment.lasts as f64 / 1e3, 1))
    } else {
        moment.what.clone()
    }
}

fn bends(own: &Rehearsal, width: u16) -> String {
    let head = [
        "at", "run", "part", "bend", "arm", "heat", "transfer", "hold", "hottest", "surface", "mean", "coldest",
        "sheet",
    ];
    let mut table = table(width, &head, &[0, 1, 2, 5, 6, 7, 8, 9, 10, 11]);
    let mut shown: Vec<&BendRecord> = own.bends.iter().filter(|bend| !bend.good).take(MOST_ROWS).collect();
    let room = MOST_ROWS - shown.len();
    shown.extend(own.bends.iter().filter(|bend| bend.good).take(room));
    shown.sort_by_key(|bend| (bend.began, bend.lane));
    for bend in shown {
        let degrees = |of: fn(&crate::rehearse::SheetEnds) -> f64| {
            bend.sheet.as_ref().map_or_else(|| "-".to_owned(), |sheet| format!("{:.0} °C", celsius(of(sheet))))
        };
        let some =
            |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| format!("{} s", decimal(value, 1)));
        table.add_row([
            clock(seconds(bend.began).max(0.0)),
            (bend.run + 1).to_string(),
            (bend.part + 1).to_string(),
            bend.bend.clone(),
            bend.arm.clone(),
            some(Some(bend.heat)),
            some(bend.transfer),
            some(bend.hold),
            degrees(|sheet| sheet.hottest),
            degrees(|sheet| sheet.surface),
            degrees(|sheet| sheet.mean),
            degrees(|sheet| sheet.coldest),
            bend.verdict.clone(),
        ]);
    }
    if own.bends.is_empty() {
        return String::new();
    }
    let limits = own.bends.iter().find_map(|bend| bend.sheet).map_or_else(String::new, |sheet| {
        format!(
            "   hottest: while heated, below {:.0} °C (blisters); mean and coldest: when bent, from {:.0} and {:.0} °C\n",
            celsius(sheet.ceiling),
            celsius(sheet.forming),
            celsius(sheet.softened)
        )
    });
    format!("\n{}\n{}{limits}", table.trim_fmt(), more(own.bends.len()))
}

fn heaters(own: &Rehearsal, width: u16) -> String {
    let mut table = table(width, &["heater", "longest on", "limit", "wire", "limit", "shield"], &[1, 2, 3, 4, 5]);
    let degrees =
        |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| format!("{:.0} °C", celsius(value)));
    for heater in &own.heaters {
        table.add_row([
            heater.heater.clone(),
            format!("{} s", decimal(heater.longest, 1)),
            format!("{} s", decimal(heater.limit, 1)),
            degrees(heater.wire),
            degrees(Some(heater.wire_limit)),
            degrees(heater.shield),
        ]);
    }
    let mut text = format!("\n{}\n", table.trim_fmt());
    for supply in &own.supplies {
        let _ = writeln!(
            text,
            " supply {}: {} A at the most, {} A for long; more than that for {} s at the longest",
            supply.supply,
            decimal(supply.peak, 2),
            decimal(supply.long, 2),
            decimal(supply.above, 1)
        );
    }
    text
}
