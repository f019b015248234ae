use serde::Serialize;

use crate::emit::rehearsal::celsius;
use crate::rehearse::{BendRecord, HeaterRecord, Moment, Rehearsal, SheetEnds, SupplyRecord};

/// The version of the shape that `grammar/rehearsal.schema.json` describes; within a version fields are only added.
pub const REHEARSAL_SCHEMA: &str = "withy:rehearsal:1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    name: &'a str,
    bench: &'a str,
    compiler: &'static str,
    faults: &'a [String],
    row: Option<RowBody>,
    lasts_s: f64,
    planned_s: f64,
    good: u64,
    spoilt: u64,
    clean: bool,
    findings: Vec<FindingBody<'a>>,
    bends: Vec<BendBody<'a>>,
    heaters: Vec<HeaterBody<'a>>,
    supplies: Vec<SupplyBody<'a>>,
    moments: Vec<MomentBody<'a>>,
}

#[derive(Serialize)]
struct RowBody {
    row: usize,
    thickness_mm: f64,
}

#[derive(Serialize)]
struct FindingBody<'a> {
    weight: &'static str,
    text: &'a str,
}

#[derive(Serialize)]
struct BendBody<'a> {
    lane: usize,
    run: usize,
    part: u64,
    bend: &'a str,
    arm: &'a str,
    began_s: f64,
    heat_s: f64,
    transfer_s: Option<f64>,
    hold_s: Option<f64>,
    window_s: Option<[Option<f64>; 2]>,
    sheet: Option<SheetBody>,
    good: bool,
    verdict: &'a str,
}

#[derive(Serialize)]
struct SheetBody {
    hottest_c: f64,
    surface_c: f64,
    mean_c: f64,
    coldest_c: f64,
    set_s: Option<f64>,
    softened_c: f64,
    forming_c: f64,
    ceiling_c: f64,
}

#[derive(Serialize)]
struct HeaterBody<'a> {
    heater: &'a str,
    arm: &'a str,
    longest_s: f64,
    limit_s: f64,
    wire_c: Option<f64>,
    wire_limit_c: f64,
    shield_c: Option<f64>,
}

#[derive(Serialize)]
struct SupplyBody<'a> {
    supply: &'a str,
    peak_a: f64,
    long_a: f64,
    above_s: f64,
}

#[derive(Serialize)]
struct MomentBody<'a> {
    at_s: f64,
    lasts_s: f64,
    lane: Option<usize>,
    who: &'static str,
    what: &'a str,
}

fn seconds(ms: i64) -> f64 {
    ms as f64 / 1e3
}

/// A rehearsal for programs. Lanes, runs and parts count from 1.
pub fn rehearsal_json(own: &Rehearsal) -> String {
    let document = Document {
        schema: REHEARSAL_SCHEMA,
        name: &own.name,
        bench: &own.bench,
        compiler: env!("CARGO_PKG_VERSION"),
        faults: &own.faults,
        row: own.row.map(|(row, thickness)| RowBody { row, thickness_mm: f64::from(thickness) / 100.0 }),
        lasts_s: seconds(own.lasts),
        planned_s: own.planned as f64 / 1e3,
        good: own.good,
        spoilt: own.spoilt,
        clean: own.is_clean(),
        findings: own
            .findings
            .iter()
            .map(|finding| FindingBody { weight: finding.weight.word(), text: &finding.text })
            .collect(),
        bends: own.bends.iter().map(bend).collect(),
        heaters: own.heaters.iter().map(heater).collect(),
        supplies: own.supplies.iter().map(supply).collect(),
        moments: own.moments.iter().map(moment).collect(),
    };
    // A document of numbers and strings can always be written.
    let mut text = serde_json::to_string_pretty(&document).unwrap_or_default();
    text.push('\n');
    text
}

fn bend(own: &BendRecord) -> BendBody<'_> {
    let reached = |time: f64| time.is_finite().then_some(time);
    BendBody {
        lane: own.lane + 1,
        run: own.run + 1,
        part: own.part + 1,
        bend: &own.bend,
        arm: &own.arm,
        began_s: seconds(own.began),
        heat_s: own.heat,
        transfer_s: own.transfer,
        hold_s: own.hold,
        window_s: own.window.map(|(ready, over)| [reached(ready), reached(over)]),
        sheet: own.sheet.as_ref().map(sheet),
        good: own.good,
        verdict: &own.verdict,
    }
}

fn sheet(own: &SheetEnds) -> SheetBody {
    SheetBody {
        hottest_c: celsius(own.hottest),
        surface_c: celsius(own.surface),
        mean_c: celsius(own.mean),
        coldest_c: celsius(own.coldest),
        set_s: own.set,
        softened_c: celsius(own.softened),
        forming_c: celsius(own.forming),
        ceiling_c: celsius(own.ceiling),
    }
}

fn heater(own: &HeaterRecord) -> HeaterBody<'_> {
    HeaterBody {
        heater: &own.heater,
        arm: &own.arm,
        longest_s: own.longest,
        limit_s: own.limit,
        wire_c: own.wire.map(celsius),
        wire_limit_c: celsius(own.wire_limit),
        shield_c: own.shield.map(celsius),
    }
}

fn supply(own: &SupplyRecord) -> SupplyBody<'_> {
    SupplyBody { supply: &own.supply, peak_a: own.peak, long_a: own.long, above_s: own.above }
}

fn moment(own: &Moment) -> MomentBody<'_> {
    MomentBody {
        at_s: seconds(own.time),
        lasts_s: own.lasts as f64 / 1e3,
        lane: own.lane.map(|lane| lane + 1),
        who: own.who.word(),
        what: &own.what,
    }
}
