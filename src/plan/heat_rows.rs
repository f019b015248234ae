//! Heat times by measured thickness, as a controller's row button chooses them.

use crate::model::{Heat, Lot, SetTime};
use crate::physics::window::{Row, Verdict};
use crate::plan::{RecipePlan, Studies};

/// The most rows of a program.
const MOST: usize = 16;

/// One row for every 0.1 mm of measured thickness, thinnest first, for all bends whose time hangs on it.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatRows {
    /// The thickness that each row is for, ± 0.05 mm, in 0.01 mm.
    pub thicknesses: Vec<u16>,
    /// The bends.
    pub bends: Vec<BendRows>,
}

/// The heat times of one bend.
#[derive(Clone, Debug, PartialEq)]
pub struct BendRows {
    /// The run of the batch, from 0; 0 for a recipe.
    pub run: usize,
    /// The bend, by its number in the profile.
    pub bend: usize,
    /// The whole heat in each row, s.
    pub heats: Vec<f64>,
    /// The longest set of any row, s; none where the recipe gives the set.
    pub hold: Option<f64>,
    /// Whether every row is proved.
    pub proved: bool,
}

impl HeatRows {
    /// The rows of a bend, where its time hangs on the thickness.
    pub fn of(&self, run: usize, bend: usize) -> Option<&BendRows> {
        self.bends.iter().find(|own| own.run == run && own.bend == bend)
    }

    /// The row that is nearest to a thickness (m).
    pub fn nearest(&self, thickness: f64) -> usize {
        let off = |index: &usize| (f64::from(self.thicknesses[*index]) * 1e-5 - thickness).abs();
        (0..self.thicknesses.len()).min_by(|one, other| off(one).total_cmp(&off(other))).unwrap_or(0)
    }
}

/// A bend with all of its rows: run, bend, whether its set is computed, and the rows by thickness.
type Found = (usize, usize, bool, Vec<(u16, Row)>);

/// The rows of a recipe or batch whose heats last `limit` s at most; none where no time hangs on the thickness, where
/// different sheets are bent, or where fewer than two thicknesses have a heat for every bend.
///
/// Rows are for computed heats that do not hold over all thicknesses anyway. All rooms that the recipe allows share a row:
/// a controller has one button.
pub fn heat_rows(runs: &[(&RecipePlan, Option<&Lot>)], limit: f64, studies: &mut Studies) -> Option<HeatRows> {
    let (first, lot) = runs.first()?;
    let sheet = &first.recipe.part.sheet;
    let alike = |(run, own): &(&RecipePlan, Option<&Lot>)| {
        run.recipe.part.sheet.id == sheet.id && own.map(|lot| &lot.name) == lot.map(|lot| &lot.name)
    };
    if !runs.iter().all(alike) {
        return None;
    }
    let mut found: Vec<Found> = Vec::new();
    for (number, (run, lot)) in runs.iter().enumerate() {
        for (bend, made) in run.bends.iter().enumerate() {
            let settings = run.recipe.bends.get(bend)?;
            let proved = made.thermal.as_ref().is_some_and(|thermal| thermal.window.verdict == Verdict::Proved);
            if proved || !matches!(settings.heat, Heat::Computed(_)) {
                continue;
            }
            let computed_set = matches!(settings.set, SetTime::Computed(_));
            let before: f64 = made.heat.iter().rev().skip(1).map(|level| level.time).sum();
            let rows = studies.program_rows(&run.recipe, bend, made, *lot).ok()?.rows.into_iter();
            let fits = |row: &Row| {
                row.heat.is_some_and(|heat| heat > before && heat <= limit) && (row.hold.is_some() || !computed_set)
            };
            let rows = rows.filter(fits).filter_map(|row| Some((hundredths(row.thickness)?, row)));
            found.push((number, bend, computed_set, rows.collect()));
        }
    }
    let (.., rows) = found.first()?;
    let everywhere = |thickness: &u16| found.iter().all(|(.., rows)| rows.iter().any(|(other, _)| other == thickness));
    let mut thicknesses: Vec<u16> = rows.iter().map(|(thickness, _)| *thickness).filter(everywhere).collect();
    nearest_to(&mut thicknesses, hundredths(sheet.thickness.value.nominal())?);
    if thicknesses.len() < 2 {
        return None;
    }
    let bends = found.iter().map(|(run, bend, computed_set, rows)| {
        let own: Vec<&Row> =
            rows.iter().filter(|(thickness, _)| thicknesses.contains(thickness)).map(|(_, row)| row).collect();
        BendRows {
            run: *run,
            bend: *bend,
            heats: own.iter().filter_map(|row| row.heat).collect(),
            hold: computed_set.then(|| own.iter().filter_map(|row| row.hold).fold(0.0, f64::max)),
            proved: own.iter().all(|row| row.verdict == Verdict::Proved),
        }
    });
    let bends = bends.collect();
    Some(HeatRows { thicknesses, bends })
}

/// A length (m) in 0.01 mm.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is held against what fits")]
fn hundredths(length: f64) -> Option<u16> {
    let wanted = (length * 1e5).round();
    (0.0..=f64::from(u16::MAX)).contains(&wanted).then_some(wanted as u16)
}

/// Keeps as many rows as a program has, those around the nominal thickness.
fn nearest_to(thicknesses: &mut Vec<u16>, nominal: u16) {
    while thicknesses.len() > MOST {
        let off = |thickness: Option<&u16>| thickness.map_or(0, |thickness| thickness.abs_diff(nominal));
        if off(thicknesses.last()) >= off(thicknesses.first()) {
            thicknesses.pop();
        } else {
            thicknesses.remove(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{hundredths, nearest_to};

    #[test]
    fn rows_that_are_too_many_go_at_the_far_ends() {
        let mut all: Vec<u16> = (0..20).map(|row| 300 + 10 * row).collect();
        nearest_to(&mut all, 400);
        assert_eq!((all.len(), all[0], all[15]), (16, 320, 470));
    }

    #[test]
    fn lengths_are_counted_in_hundredths_of_a_millimetre() {
        assert_eq!(hundredths(0.0029), Some(290));
        assert_eq!(hundredths(f64::NAN), None);
        assert_eq!(hundredths(1.0), None);
    }
}
