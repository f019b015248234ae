use serde::Serialize;

use crate::emit::{Difference, differences};
use crate::library::check::{Checked, Plan};
use crate::library::compile::units;
use crate::library::load::Loaded;
use crate::plan::RecipePlan;

/// What became of one recipe between two versions of a file.
#[derive(Clone, Debug, Serialize)]
pub struct Compared {
    /// Its name.
    pub recipe: String,
    /// What became of it.
    pub change: Change,
    /// What is different at the bench.
    pub differences: Vec<Difference>,
}

/// What became of a recipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// In both versions it can be made, and `differences` tells what changes.
    Kept,
    /// Only the new version has it.
    Added,
    /// Only the old version has it.
    Removed,
    /// In one of the versions it cannot be made.
    Broken,
}

impl Compared {
    /// Whether anything changes at the bench.
    pub fn is_different(&self) -> bool {
        self.change != Change::Kept || !self.differences.is_empty()
    }

    /// One line that says it.
    pub fn headline(&self) -> String {
        let name = &self.recipe;
        match (self.change, self.differences.len()) {
            (Change::Kept, 0) => format!("{name}: nothing changes at the bench"),
            (Change::Kept, _) => format!("{name} changes at the bench:"),
            (Change::Added, _) => format!("{name} is new"),
            (Change::Removed, _) => format!("{name} is gone"),
            (Change::Broken, _) => {
                format!("{name} cannot be compared: one of its versions has errors (see `withy lint`)")
            }
        }
    }
}

/// Compares the recipes that two versions of a file declare, by their names.
pub fn compare(old: (&Loaded, &Checked), new: (&Loaded, &Checked)) -> Vec<Compared> {
    let (before, after) = (recipes(old), recipes(new));
    let mut names: Vec<&str> = after.iter().chain(&before).map(|recipe| recipe.0).collect();
    names.sort_unstable();
    names.dedup();
    let of = |side: &[(&str, Option<&'_ RecipePlan>)], name: &str| {
        side.iter().find(|recipe| recipe.0 == name).map(|recipe| recipe.1.cloned())
    };
    names
        .into_iter()
        .map(|name| {
            let (change, differences) = match (of(&before, name), of(&after, name)) {
                (Some(Some(old)), Some(Some(plan))) => {
                    (Change::Kept, differences(&old, &plan, units(&new.0.files, &plan)))
                }
                (None, _) => (Change::Added, Vec::new()),
                (_, None) => (Change::Removed, Vec::new()),
                _ => (Change::Broken, Vec::new()),
            };
            Compared { recipe: name.to_owned(), change, differences }
        })
        .collect()
}

/// The recipes of the files that were asked for, with their plans where they can be made.
fn recipes<'a>((loaded, checked): (&'a Loaded, &'a Checked)) -> Vec<(&'a str, Option<&'a RecipePlan>)> {
    let asked = checked.made.iter().filter(|made| loaded.asked.contains(&made.span.file));
    asked
        .filter_map(|made| match &made.plan {
            Some(Plan::Recipe(plan)) if !made.blocked => Some((made.name.as_str(), Some(plan.as_ref()))),
            Some(Plan::Batch(_)) => None,
            _ => Some((made.name.as_str(), None)),
        })
        .collect()
}
