//! Every number behind the bends of a recipe or batch.

use crate::emit::{Accounted, figure_lines, figures_json, figures_text};
use crate::library::catalogue::sources_of;
use crate::library::check::{Checked, Plan};
use crate::library::compile::scheduled;
use crate::library::load::Loaded;
use crate::model::Lot;
use crate::names::nearest;
use crate::plan::{RecipePlan, Studies, account};

/// What is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// A recipe or batch.
    pub name: &'a str,
    /// One bend, by its name or number; else all.
    pub bend: Option<&'a str>,
    /// Whether heat times by measured thickness and room temperature are wanted.
    pub rows: bool,
}

/// The figures in both forms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FigureReport {
    /// For a terminal.
    pub text: String,
    /// For programs.
    pub json: String,
}

/// Why there are no figures.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoFigures {
    /// No such recipe, batch or bend; the sentence that says so.
    Unknown(String),
    /// It has no plan: its findings say why.
    Unplanned,
}

/// The figures of a recipe, a batch, or one of their bends.
pub fn figures(loaded: &Loaded, checked: &Checked, asked: Asked<'_>, width: u16) -> Result<FigureReport, NoFigures> {
    let here = || checked.made.iter().filter(|made| loaded.asked.contains(&made.span.file));
    let Some(made) = here().find(|made| made.name == asked.name) else {
        let names: Vec<&str> = here().map(|made| made.name.as_str()).collect();
        return Err(NoFigures::Unknown(unknown("recipe or batch", asked.name, &names)));
    };
    let Some(plan) = &made.plan else { return Err(NoFigures::Unplanned) };
    let runs = accounted(plan, asked, &mut Studies::default())?;
    let (sources, own) = (sources_of(loaded), scheduled(plan));
    let whole = if asked.bend.is_none() { format!("{}\n{}\n", own.name, figure_lines(&own)) } else { String::new() };
    let text = whole + &figures_text(&runs, &sources, width);
    Ok(FigureReport { text, json: figures_json(&own, &runs, &sources) })
}

/// The accounts of a recipe or of each run of a batch.
fn accounted<'a>(plan: &'a Plan, asked: Asked<'_>, studies: &mut Studies) -> Result<Vec<Accounted<'a>>, NoFigures> {
    let mut labels: Vec<String> = Vec::new();
    let mut found = false;
    let mut all = Vec::new();
    for (plan, lot) in runs(plan) {
        let part = &plan.recipe.part;
        let mut accounts = Vec::new();
        for bend in 0..plan.bends.len() {
            let label = part.bend_label(bend);
            let wanted = asked.bend.is_none_or(|asked| asked == label || asked == (bend + 1).to_string());
            labels.push(label);
            if wanted {
                found = true;
                accounts.extend(account(plan, lot, bend, studies, asked.rows));
            }
        }
        all.push(Accounted { plan, lot: lot.map(|lot| lot.name.as_str()), accounts });
    }
    match asked.bend {
        Some(bend) if !found => {
            let names: Vec<&str> = labels.iter().map(String::as_str).collect();
            Err(NoFigures::Unknown(unknown("bend", bend, &names)))
        }
        _ => Ok(all),
    }
}

/// The plans of a recipe or batch, with the lots whose sheet they take.
pub(super) fn runs(plan: &Plan) -> Vec<(&RecipePlan, Option<&Lot>)> {
    match plan {
        Plan::Recipe(plan) => vec![(plan, None)],
        Plan::Batch(plan) => {
            plan.batch.runs.iter().zip(&plan.runs).map(|(run, planned)| (&planned.plan, run.lot.as_ref())).collect()
        }
    }
}

pub(super) fn unknown(what: &str, name: &str, names: &[&str]) -> String {
    let near = nearest(name, names.iter().copied());
    let mut told: Vec<&str> = Vec::new();
    for name in names {
        if !told.contains(name) {
            told.push(name);
        }
    }
    match near {
        Some(near) => format!("there is no {what} `{name}`; did you mean `{near}`?"),
        None if told.is_empty() => format!("there is no {what} `{name}`, nor any other"),
        None => format!("there is no {what} `{name}`; there are {}", told.join(", ")),
    }
}
