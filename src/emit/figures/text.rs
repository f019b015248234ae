use std::fmt::Write;

use comfy_table::{ContentArrangement, Table, presets};

use crate::emit::figures::{Accounted, Sources};
use crate::emit::shown::{figure as shown, verdict};
use crate::physics::window::{Rows, Verdict};
use crate::plan::{Account, Figure, Group, Holds, unknown_kind, unknown_name};
use crate::units::{Kind, Known, Unit, show_rounded, show_rounded_range};

/// The figures for a terminal `width` columns wide.
pub fn figures_text(runs: &[Accounted<'_>], sources: &Sources<'_>, width: u16) -> String {
    let mut text = String::new();
    for run in runs {
        let from = run.lot.map(|lot| format!(", sheet of lot {lot}")).unwrap_or_default();
        let recipe = &run.plan.recipe;
        for account in &run.accounts {
            if !text.is_empty() {
                text.push('\n');
            }
            let _ = writeln!(
                text,
                "bend {} of {}: arm {}, heater {}{from}",
                account.bend, recipe.name, account.arm, account.heater
            );
            text.push_str(&one(account, sources, width));
        }
    }
    text
}

fn one(account: &Account, sources: &Sources<'_>, width: u16) -> String {
    let calibrated = if account.calibrated { "calibrated" } else { "not calibrated" };
    let heat: Vec<String> = account
        .heat
        .iter()
        .map(|level| format!("{} at {}", shown(Kind::Time, level.time, 4), shown(Kind::Ratio, level.share, 3)))
        .collect();
    let memory = if account.from_memory { "; the material's thermal data are from memory" } else { "" };
    let word = account.verdict.map_or("not computed", verdict);
    let mut text = format!("heat {}; verdict {word}; {calibrated}{memory}\n", heat.join(" then "));
    for group in [Group::Wire, Group::Supply, Group::Heat, Group::Blank] {
        let figures: Vec<&Figure> = account.figures.iter().filter(|figure| figure.group == group).collect();
        if figures.is_empty() {
            continue;
        }
        let mut table = plain_table(width, [group.word(), "nominal", "known to", "limit", "by"]);
        for figure in &figures {
            let unit = figure.units.first().copied().unwrap_or("");
            let mut nominal = number(figure.value.nominal, unit);
            for other in figure.units.iter().skip(1).filter(|_| figure.value.nominal.is_finite()) {
                let _ = write!(nominal, ", {}", number(figure.value.nominal, other));
            }
            let limit = figure.limit.as_ref().map(|limit| {
                let side = if limit.least { "≥" } else { "≤" };
                let missed = match figure.holds() {
                    Some(Holds::No) => ": NOT KEPT",
                    Some(Holds::Nominal) => ": not at its worst",
                    _ => "",
                };
                format!("{side} {} ({}){missed}", number(limit.value, unit), limit.what)
            });
            table.add_row([
                figure.name.clone(),
                nominal,
                range(figure.value, unit),
                limit.unwrap_or_default(),
                figure.formula.to_owned(),
            ]);
        }
        let _ = writeln!(text, "\n{}", table.trim_fmt());
        let mut notes: Vec<(&str, Vec<&str>)> = Vec::new();
        for figure in &figures {
            let Some(note) = figure.simplification else { continue };
            match notes.iter_mut().find(|(said, _)| *said == note) {
                Some((_, names)) => names.push(&figure.name),
                None => notes.push((note, vec![&figure.name])),
            }
        }
        for (note, names) in notes {
            let _ = writeln!(text, "   {}: {note}", names.join(", "));
        }
    }
    text.push_str(&inputs(account, sources, width));
    text.push_str(&closings(account, width));
    if let Some(rows) = &account.rows {
        text.push_str(&thickness_rows(rows, width));
    }
    text
}

fn inputs(account: &Account, sources: &Sources<'_>, width: u16) -> String {
    let mut table = plain_table(width, ["input", "", "nominal", "known to", "kind", "from"]);
    for input in &account.inputs {
        let source = sources.of(&input.origin);
        let place = match (&source.file, source.line, &source.entry) {
            (Some(file), Some(line), Some(entry)) => format!("{file}:{line} `{entry}`"),
            _ => String::new(),
        };
        let from = [place, source.text].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(". ");
        table.add_row([
            input.name.clone(),
            input.symbol.to_owned(),
            number(input.value.nominal, input.unit),
            range(input.value, input.unit),
            source.kind.to_owned(),
            from,
        ]);
    }
    format!("\n{}\n", table.trim_fmt())
}

/// What takes most from the window, and what measuring it would give.
fn closings(account: &Account, width: u16) -> String {
    if account.closings.is_empty() {
        return String::new();
    }
    let mut table = plain_table(
        width,
        ["takes from the window", "ready later", "over earlier", "", "exactly known it would leave"],
    );
    for closing in &account.closings {
        let worth = account.worths.iter().find(|worth| worth.unknown == closing.unknown);
        let left = worth.map(|worth| {
            let (ready, over) = worth.left;
            let ready =
                if ready.is_finite() { format!("ready by {}", seconds(ready)) } else { "not surely ready".to_owned() };
            format!("{ready}, over from {}: {}", seconds(over), verdict(worth.verdict))
        });
        table.add_row([
            unknown_name(closing.unknown).to_owned(),
            seconds(closing.ready_later),
            seconds(closing.over_earlier),
            unknown_kind(closing.unknown).to_owned(),
            left.unwrap_or_default(),
        ]);
    }
    format!("\n{}\n", table.trim_fmt())
}

fn thickness_rows(rows: &Rows, width: u16) -> String {
    let mut table = plain_table(width, ["measured", "room", "window", "proved", "heat", "set", "verdict"]);
    for row in &rows.rows {
        let proved = if row.verdict == Verdict::Proved { window(row.ready.high, row.over.low) } else { "-".to_owned() };
        let time = |time: Option<f64>| time.map_or_else(|| "-".to_owned(), seconds);
        table.add_row([
            number(row.thickness, "mm"),
            number(row.ambient, "degC"),
            window(row.ready.nominal, row.over.nominal),
            proved,
            time(row.heat),
            time(row.hold),
            verdict(row.verdict).to_owned(),
        ]);
    }
    let percent = |factor: f64| {
        if factor.is_finite() { format!("{:+.0} %", (factor - 1.0) * 100.0) } else { "never".to_owned() }
    };
    let share = |[low, high]: [f64; 2]| format!("{} to {}", percent(low), percent(high));
    format!(
        "\n{}\n   Thickness to ± 0.05 mm. All rows share one margin, worked out at the nominal: ready {}, over {}.\n",
        table.trim_fmt(),
        share(rows.on_ready),
        share(rows.on_over),
    )
}

fn plain_table<const N: usize>(width: u16, header: [&str; N]) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table.set_header(header);
    table
}

/// Whole seconds between two times; a word where there are none.
fn window(from: f64, to: f64) -> String {
    match (from.is_finite(), to.is_finite()) {
        (false, _) => "never ready".to_owned(),
        (true, false) => format!("from {:.0} s", from.ceil()),
        (true, true) if from.ceil() > to.floor() => format!("closed: {:.0} > {:.0} s", from.ceil(), to.floor()),
        (true, true) => format!("{:.0}..{:.0} s", from.ceil(), to.floor()),
    }
}

/// Whole seconds; tenths where they say more.
fn seconds(time: f64) -> String {
    if !time.is_finite() {
        return "never".to_owned();
    }
    if time < 10.0 { format!("{time:.1} s") } else { format!("{time:.0} s") }
}

fn number(value: f64, unit: &str) -> String {
    match Unit::parse(unit) {
        _ if !value.is_finite() => if unit == "degC" { "beyond the model" } else { "never" }.to_owned(),
        Ok(unit) => show_rounded(value, &unit, 4),
        Err(_) => show_rounded(value, &Unit::one(), 4),
    }
}

/// The bounds; nothing for a value without doubt.
fn range(value: Known, unit: &str) -> String {
    if value.is_exact() {
        return String::new();
    }
    let parsed = Unit::parse(unit).unwrap_or_else(|_| Unit::one());
    match (value.low.is_finite(), value.high.is_finite()) {
        (true, true) => show_rounded_range(value.low, value.high, &parsed, 4),
        (true, false) => format!("from {}", number(value.low, unit)),
        (false, true) => format!("up to {}", number(value.high, unit)),
        (false, false) => "never".to_owned(),
    }
}
