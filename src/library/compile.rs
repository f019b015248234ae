use std::collections::BTreeSet;

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use sha2::{Digest, Sha256};

use crate::emit::{self, Scheduled, Sources, Units};
use crate::library::catalogue::sources_of;
use crate::library::check::{Checked, Made, Plan};
use crate::library::figures::runs;
use crate::library::load::Loaded;
use crate::library::program::{self, making};
use crate::plan::{HeatRows, Studies, account};
use crate::program::hexadecimal;
use crate::report::json;
use crate::text::{FileId, Files};

/// One file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Output {
    /// Its name within the folder of its recipe or batch.
    pub name: String,
    /// Its content; text but for the image of a timing program.
    pub bytes: Vec<u8>,
}

impl Output {
    fn text(name: impl Into<String>, text: String) -> Self {
        Self { name: name.into(), bytes: text.into_bytes() }
    }
}

/// What is written for one recipe or batch.
#[derive(Clone, Debug)]
pub struct Compiled {
    /// `<file>/<name>`, the folder below the output folder.
    pub folder: String,
    /// Its name.
    pub name: String,
    /// The table for the terminal.
    pub table: String,
    /// The files.
    pub outputs: Vec<Output>,
    /// Why there is no timing program, where there is none.
    pub no_program: Option<String>,
    /// What whoever runs its timing program must know beyond it, if anything.
    pub program_note: Option<String>,
}

/// Whether a file of this name is one that is written for recipes and batches, so that it goes when it is no longer
/// written.
pub fn is_output(name: &str) -> bool {
    let fixed = ["steps.csv", "steps.json", "blank.svg", "poses.svg", OBSTACLES, "figures.json", "machine.h"];
    let program = name.strip_prefix("program.").is_some_and(|form| ["wtp", "h", "hex", "lst", "st"].contains(&form));
    let curve = name.strip_prefix("curve-").and_then(|rest| rest.strip_suffix(".svg"));
    fixed.contains(&name) || program || curve.is_some_and(|bend| !bend.is_empty())
}

/// The picture of what stands in the way of every order.
pub const OBSTACLES: &str = "obstacles.svg";

/// A recipe or batch for which nothing may be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// `<file>/<name>`, the folder below the output folder; it may hold what was written before.
    pub folder: String,
    /// Its name.
    pub name: String,
    /// What shows why: [`OBSTACLES`], where no order can be made.
    pub outputs: Vec<Output>,
}

/// `<file>/<name>`.
fn folder(files: &Files, made: &Made) -> String {
    let path = files.get(made.span.file).path();
    let stem = path.rsplit('/').next().unwrap_or(path).trim_end_matches(".withy");
    format!("{stem}/{}", made.name)
}

/// Renders everything that was asked for and may be written; what may not, besides. On all cores, in the order of the
/// source.
pub fn compile(loaded: &Loaded, checked: &Checked, width: u16) -> (Vec<Compiled>, Vec<Refused>) {
    // What is written names files from the library's root, so that it does not hang on where that is done.
    let files = loaded.files_from_root();
    let asked: BTreeSet<FileId> = loaded.asked.iter().copied().collect();
    let wanted: Vec<&Made> = checked.made.iter().filter(|made| asked.contains(&made.span.file)).collect();
    let one = |studies: &mut Studies, made: &&Made| match &made.plan {
        Some(plan) if !made.blocked => {
            let mut one = render(&files, checked, made, plan, width, studies);
            let sources = Sources { files: &files, ..sources_of(loaded) };
            one.outputs.extend(figures(&sources, plan, studies));
            Ok(one)
        }
        _ => Err(Refused {
            folder: folder(&files, made),
            name: made.name.clone(),
            outputs: obstacles(made).into_iter().collect(),
        }),
    };
    let results: Vec<Result<Compiled, Refused>> = wanted.par_iter().map_init(Studies::default, one).collect();
    let mut compiled = Vec::new();
    let mut refused = Vec::new();
    for result in results {
        match result {
            Ok(one) => compiled.push(one),
            Err(one) => refused.push(one),
        }
    }
    (compiled, refused)
}

/// A recipe for which no order can be made leaves a picture of what is in the way.
fn obstacles(made: &Made) -> Option<Output> {
    let (recipe, ends) = made.no_order.as_ref()?;
    Some(Output::text(OBSTACLES, emit::obstacles_svg(recipe, ends)))
}

fn render(files: &Files, checked: &Checked, made: &Made, plan: &Plan, width: u16, studies: &mut Studies) -> Compiled {
    let findings: Vec<json::Finding<'_>> = checked
        .findings
        .iter()
        .filter(|finding| finding.primary().file == made.span.file)
        .map(|finding| json::finding(finding, files))
        .collect();
    let making = making(files, &made.name, plan, studies);
    let rows = making.as_ref().ok().and_then(|making| making.as_ref()?.rows.as_ref());
    let digest = digest_of(files, plan, rows);
    let words = hexadecimal(&digest);
    let (table, mut outputs) = match plan {
        Plan::Recipe(plan) => {
            let units = units(files, plan);
            let csv = Output::text("steps.csv", emit::recipe_csv(plan, units));
            let json = Output::text("steps.json", emit::recipe_json(plan, rows, units, &words, &findings));
            let blank = Output::text("blank.svg", emit::blank_svg(plan, units));
            let poses = Output::text("poses.svg", emit::poses_svg(plan, units));
            (emit::recipe_table(plan, rows, units, width), vec![csv, json, blank, poses])
        }
        Plan::Batch(plan) => {
            let units = plan.runs.first().map_or(Units::Metric, |run| units(files, &run.plan));
            let csv = Output::text("steps.csv", emit::batch_csv(plan, units));
            let json = Output::text("steps.json", emit::batch_json(plan, rows, units, &words, &findings));
            (emit::batch_table(plan, rows, width), vec![csv, json])
        }
    };
    outputs.push(chart(&scheduled(plan)));
    let program_note = making.as_ref().ok().and_then(|making| making.as_ref()?.note.clone());
    let programs = making.and_then(|making| making.map_or(Ok(Vec::new()), |making| program::outputs(&making, digest)));
    let (programs, no_program) = match programs {
        Ok(programs) => (programs, None),
        Err(why) => (Vec::new(), Some(why)),
    };
    outputs.extend(programs);
    Compiled { folder: folder(files, made), name: made.name.clone(), table, outputs, no_program, program_note }
}

/// What stands for everything that was resolved.
pub(super) fn digest_of(files: &Files, plan: &Plan, rows: Option<&HeatRows>) -> [u8; 16] {
    let text = match plan {
        Plan::Recipe(plan) => emit::recipe_json(plan, rows, units(files, plan), "", &[]),
        Plan::Batch(plan) => {
            let units = plan.runs.first().map_or(Units::Metric, |run| units(files, &run.plan));
            emit::batch_json(plan, rows, units, "", &[])
        }
    };
    digest(&text)
}

/// The schedule of a recipe or batch.
pub(super) fn scheduled(plan: &Plan) -> Scheduled<'_> {
    match plan {
        Plan::Recipe(plan) => Scheduled::recipe(plan),
        Plan::Batch(plan) => Scheduled::batch(plan),
    }
}

/// Who does what when.
fn chart(own: &Scheduled<'_>) -> Output {
    Output::text("schedule.svg", emit::chart_svg(own))
}

/// `figures.json`, and a curve for each bend whose temperatures can be computed.
fn figures(sources: &Sources<'_>, plan: &Plan, studies: &mut Studies) -> Vec<Output> {
    let mut accounted = Vec::new();
    let mut curves = Vec::new();
    for (index, (run, lot)) in runs(plan).into_iter().enumerate() {
        let number = matches!(plan, Plan::Batch(_)).then_some(index + 1);
        let lot_name = lot.map(|lot| lot.name.as_str());
        let mut accounts = Vec::new();
        for bend in 0..run.bends.len() {
            let Some(account) = account(run, lot, bend, studies, false) else { continue };
            if let Some(text) = emit::curve_svg(run, bend, &account, lot_name) {
                curves.push(Output::text(emit::curve_name(number, &account.bend), text));
            }
            accounts.push(account);
        }
        accounted.push(emit::Accounted { plan: run, lot: lot_name, accounts });
    }
    let text = emit::figures_json(&scheduled(plan), &accounted, sources);
    let figures = Output::text("figures.json", text);
    std::iter::once(figures).chain(curves).collect()
}

/// The first 16 bytes of SHA-256 over everything that was resolved.
fn digest(text: &str) -> [u8; 16] {
    let mut digest = [0; 16];
    for (place, byte) in digest.iter_mut().zip(Sha256::digest(text.as_bytes())) {
        *place = byte;
    }
    digest
}

/// Inches where the author wrote the part's first leg in inches.
pub(super) fn units(files: &Files, plan: &crate::plan::RecipePlan) -> Units {
    let first = plan.recipe.part.legs.first().map_or("", |leg| files.slice(leg.length.span));
    let last = first.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or("");
    if matches!(last, "in" | "ft" | "thou") { Units::Inches } else { Units::Metric }
}
