//! What is to be said of a rehearsal.

use crate::rehearse::outcome::{BendRecord, Finding, HeaterRecord, SheetEnds, SupplyRecord, Weight};

/// Draws above the limit for long are forgiven for so long, s (our choice: a cold wire draws a little more).
const BRIEF: f64 = 10.0;
/// Times may be off by this, s: a tick, and the time that a contact must stand still.
const SLACK: f64 = 0.2;

fn celsius(kelvin: f64) -> String {
    format!("{:.0} °C", kelvin - 273.15)
}

/// Whether a sheet was inside its window, and in words.
pub fn bend(ends: Option<&SheetEnds>, transfer: Option<f64>, hold: Option<f64>) -> (bool, String) {
    if transfer.is_none() {
        let hot = ends.filter(|ends| ends.hottest >= ends.ceiling);
        let more = hot.map_or(String::new(), |ends| format!("; {} at its hottest: blistered", celsius(ends.hottest)));
        return (false, format!("not bent{more}"));
    }
    let Some(ends) = ends else {
        return (true, "bent; nothing is known of the sheet's heat".to_owned());
    };
    if ends.hottest >= ends.ceiling {
        let (hot, most) = (celsius(ends.hottest), celsius(ends.ceiling));
        return (false, format!("TOO HOT: {hot} at its hottest, blisters from {most}"));
    }
    if ends.coldest < ends.softened {
        let (cold, least) = (celsius(ends.coldest), celsius(ends.softened));
        return (false, format!("TOO COLD: {cold} at its coldest when bent, soft from {least}"));
    }
    if ends.mean < ends.forming {
        let (mean, least) = (celsius(ends.mean), celsius(ends.forming));
        return (false, format!("TOO COLD: {mean} in the mean when bent, to be formed from {least}"));
    }
    match (ends.set, hold) {
        (Some(set), Some(hold)) if hold + SLACK < set => {
            (false, format!("LET GO TOO SOON: held {hold:.0} s, sets in {set:.0} s"))
        }
        (None, Some(_)) => (false, "never sets".to_owned()),
        (_, None) => (true, "in its window; not yet let go".to_owned()),
        _ => (true, "in its window".to_owned()),
    }
}

/// Everything about sheets, heaters and supplies.
pub fn findings(bends: &[BendRecord], heaters: &[HeaterRecord], supplies: &[SupplyRecord]) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut add = |weight, text: String| all.push(Finding { weight, text });
    for heater in heaters {
        if heater.longest > heater.limit + SLACK {
            add(
                Weight::Danger,
                format!(
                    "heater {} was hot for {:.0} s without a pause, its limit is {:.0} s: break the supply by hand",
                    heater.heater, heater.longest, heater.limit
                ),
            );
        }
        if let Some(wire) = heater.wire.filter(|wire| *wire > heater.wire_limit) {
            let (hot, most) = (celsius(wire), celsius(heater.wire_limit));
            add(Weight::Danger, format!("the wire of heater {} was at {hot}, its limit is {most}", heater.heater));
        }
    }
    for supply in supplies {
        if supply.above > BRIEF {
            add(
                Weight::Danger,
                format!(
                    "supply {} gave more than the {:.2} A that it may give for long, for {:.0} s; {:.2} A at the most",
                    supply.supply, supply.long, supply.above, supply.peak
                ),
            );
        }
    }
    for bend in bends.iter().filter(|bend| !bend.good) {
        let (part, name, run) = (bend.part + 1, &bend.bend, bend.run + 1);
        add(Weight::Spoilt, format!("run {run}, part {part}, bend {name}: {}", bend.verdict));
    }
    all
}
