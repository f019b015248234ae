//! The right-hand side: what heats every volume of the sheet, the wires and the shields.

use super::chebyshev::Stage;
use super::drive::{Conductance, Drive, Emission};
use super::grid::Grid;
use super::{Resolution, Section};
use crate::physics::table::Table;
use crate::physics::wire::{STEFAN_BOLTZMANN, fourth};

/// What the sheet meets at its faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Phase {
    /// On the heater, at a share of full power.
    Heating(f64),
    /// Heater off, on the way to the finished bend; the wire's tail still reaches the sheet.
    Transfer,
    /// In the arm.
    Arm,
}

/// The few unknowns beside the sheet's temperatures: two wires, two shields (K), heat taken by the sheet (J/m).
pub(super) const EXTRAS: usize = 5;
/// Where the first wire stands among them; the second follows.
pub(super) const WIRE: usize = 0;
/// Where the first shield stands; the second follows.
pub(super) const SHIELD: usize = 2;
/// Where the heat taken stands.
pub(super) const TAKEN: usize = 4;

/// Lowest temperature of the table of reciprocal specific heat, K.
const COLDEST: f64 = 200.0;
/// Its number of points, one a kelvin; a power of two, so that an index can be cut to the table.
const POINTS: usize = 1024;
/// Added to a small number it leaves the nearest whole number in the last bits of the sum: a conversion that does not
/// hold up the processor.
const ROUNDING: f64 = 4_503_599_627_370_496.0;

/// What a time step starts from.
pub(super) struct StepStart<'a> {
    /// Temperatures at the start, K.
    pub sheet: &'a [f64],
    /// Rates at the start with the frozen heat capacity, K/s.
    pub first_rate: &'a [f64],
    /// Reciprocal heat capacity at mid-step, m³ K/J.
    pub frozen: &'a [f64],
    /// Length of the step, s.
    pub span: f64,
}

/// One row of the sheet and all that heats it; all slices are as long as there are columns.
struct Row<'a> {
    west: &'a [f64],
    here: &'a [f64],
    east: &'a [f64],
    under: &'a [f64],
    over: &'a [f64],
    left: &'a [f64],
    right: &'a [f64],
    source: &'a [f64],
    down: f64,
    up: f64,
}

impl Row<'_> {
    /// Heat that reaches a volume, W/m³.
    #[inline]
    fn heat(&self, i: usize) -> f64 {
        let here = self.here[i];
        self.left[i] * (self.west[i] - here)
            + self.right[i] * (self.east[i] - here)
            + self.down * (self.under[i] - here)
            + self.up * (self.over[i] - here)
            + self.source[i]
    }
}

/// One face's share of the right-hand side, by column.
#[derive(Clone, Debug, Default)]
struct FaceField {
    /// Flux per W/m radiated, 1/m.
    radiated: Vec<f64>,
    /// Flux per W/m convected, 1/m.
    convected: Vec<f64>,
    /// Share of the column that lies in the opening.
    inside: Vec<f64>,
    /// Share of the face's convective loss, W/(m² K), and of its radiation to room and opening, W/(m² K⁴).
    loss: Vec<f64>,
    to_room: Vec<f64>,
    to_opening: Vec<f64>,
    /// Net heat per volume, W/m³; written at every call.
    source: Vec<f64>,
    conductance: Conductance,
}

/// Coefficients of the semi-discrete system, ready for the inner loop.
#[derive(Clone, Debug, Default)]
pub(super) struct Field {
    pub grid: Grid,
    /// Columns with the two ghosts that stand beside each row.
    pub stride: usize,
    left: Vec<f64>,
    right: Vec<f64>,
    /// Conductance of each row to the one before and the one after it, W/(m³ K).
    down: Vec<f64>,
    up: Vec<f64>,
    nothing: Vec<f64>,
    /// Largest eigenvalue of conduction, W/(m³ K).
    stiffness: f64,
    faces: [FaceField; 2],
    /// Reciprocal of the specific heat and its slope, kelvin by kelvin, and the table they were made from.
    reciprocal: Vec<[f64; 2]>,
    made_from: Option<Table>,
    heat_per_kelvin: f64,
    phase: Option<Phase>,
    /// Bound of the spectral radius in the present phase, 1/s.
    pub radius: f64,
}

impl Field {
    /// Prepares mesh and coefficients of a section that has been checked.
    pub fn prepare(&mut self, section: &Section<'_>, resolution: Resolution) {
        let sheet = &section.sheet;
        let half = section.faces.iter().filter_map(|face| face.line).map(|line| 0.5 * line.coupling.channel);
        let half = half.fold(None, |first, next| first.or(Some(next))).unwrap_or(0.01);
        let reach = 0.06_f64.max(8.0 * sheet.thickness).max(half + 0.04).max(section.zone + 0.03);
        self.grid.lay(sheet.thickness, half, reach, resolution);
        let grid = &self.grid;
        self.stride = grid.columns() + 2;
        conduct(sheet.conductivity, &grid.x, &grid.width, &mut self.left, &mut self.right);
        conduct(sheet.conductivity, &grid.y, &grid.height, &mut self.down, &mut self.up);
        self.stiffness = stiffest(&self.left, &self.right) + stiffest(&self.down, &self.up);
        self.nothing.clear();
        self.nothing.resize(grid.columns(), 0.0);
        for (index, (field, face)) in self.faces.iter_mut().zip(&section.faces).enumerate() {
            field.lay(grid, face.line.as_ref());
            if let Some(wire) = section.drive.wire(index) {
                field.conductance.fill(wire, section.ambient);
            }
        }
        self.heat_per_kelvin = sheet.density * sheet.specific_heat_factor;
        if self.made_from.as_ref() != Some(sheet.specific_heat) {
            self.made_from = Some(sheet.specific_heat.clone());
            self.reciprocal.clear();
            let at = |kelvin: usize| 1.0 / sheet.specific_heat.at(COLDEST + kelvin as f64);
            self.reciprocal
                .extend((0..POINTS).map(|kelvin| [at(kelvin), 0.5 * (at(kelvin + 1) - at(kelvin.max(1) - 1))]));
        }
        self.phase = None;
    }

    /// Sets what the faces meet from now on.
    pub fn enter(&mut self, section: &Section<'_>, phase: Phase) {
        self.phase = Some(phase);
        let radiating = section.sheet.emissivity * STEFAN_BOLTZMANN;
        let mut steepest = 0.0_f64;
        for (field, face) in self.faces.iter_mut().zip(&section.faces) {
            let line = face.line.as_ref();
            let (factor, opening_loss) = line.map_or((1.0, 0.0), |line| (line.sink_factor, line.opening_loss));
            for (column, &inside) in field.inside.iter().enumerate() {
                let (loss, room, opening) = match phase {
                    Phase::Heating(_) => {
                        let loss = (1.0 - inside) * face.loss + inside * opening_loss;
                        (loss, (1.0 - inside) * radiating, inside * factor * radiating)
                    }
                    Phase::Transfer => (face.loss, radiating, 0.0),
                    Phase::Arm => (face.setting_loss, if face.setting_radiates { radiating } else { 0.0 }, 0.0),
                };
                steepest = steepest.max(loss + 4.0 * (room + opening) * 600.0 * 600.0 * 600.0);
                set(&mut field.loss, column, loss);
                set(&mut field.to_room, column, room);
                set(&mut field.to_opening, column, opening);
            }
        }
        let thinnest = self.grid.height.first().copied().unwrap_or(1.0);
        let least = section.sheet.specific_heat.extremes().0 * self.heat_per_kelvin;
        let sheet = (self.stiffness + steepest / thinnest) / least;
        let wires = self.faces.iter().map(|field| field.conductance.fastest).fold(0.0, f64::max);
        let shields = section.faces.iter().filter_map(|face| face.line.and_then(|line| line.shield));
        let shields = shields.map(|shield| (shield.loss + 1.0) / shield.heat_capacity).fold(0.0, f64::max);
        let beside = if phase == Phase::Arm { 0.0 } else { wires.max(shields) };
        self.radius = sheet.max(beside);
    }

    /// Reciprocal of heat capacity per volume, m³ K/J, at the temperatures `at + ahead · rate`.
    pub fn reciprocal(&self, at: &[f64], rate: &[f64], ahead: f64, out: &mut [f64]) {
        let Some(table) = self.reciprocal.first_chunk::<POINTS>() else { return };
        let per_kelvin = 1.0 / self.heat_per_kelvin;
        let last = (POINTS - 1) as f64;
        for ((value, now), rate) in out.iter_mut().zip(at).zip(rate) {
            let place = (now + ahead * rate - COLDEST).clamp(0.0, last);
            let rounded = place + ROUNDING;
            #[expect(clippy::cast_possible_truncation, reason = "only the last ten bits are kept")]
            let index = rounded.to_bits() as usize % POINTS;
            let [low, slope] = table[index];
            *value = (low + slope * (place - (rounded - ROUNDING))) * per_kelvin;
        }
    }

    /// Heat that reaches every volume of the sheet, W/m³, into `out`; and the rates of the extras.
    pub fn heat(
        &mut self,
        section: &Section<'_>,
        at: &[f64],
        extras: &[f64; EXTRAS],
        out: &mut [f64],
    ) -> [f64; EXTRAS] {
        let rates = self.surroundings(section, at, extras);
        for row in 0..self.grid.rows() {
            let Some(view) = self.row(row, at) else { continue };
            let from = row * self.stride + 1;
            let Some(out) = out.get_mut(from..from + self.grid.columns()) else { continue };
            for (i, value) in out.iter_mut().enumerate() {
                *value = view.heat(i);
            }
        }
        rates
    }

    /// One stage of a time step, written over the stage before the last; returns the rates of the extras.
    pub fn stage(
        &mut self,
        section: &Section<'_>,
        latest: (&[f64], &[f64; EXTRAS]),
        step: &StepStart<'_>,
        weights: &Stage,
        oldest: &mut [f64],
    ) -> [f64; EXTRAS] {
        let rates = self.surroundings(section, latest.0, latest.1);
        let columns = self.grid.columns();
        let rest = 1.0 - weights.mu - weights.nu;
        let (rate, gamma) = (weights.mu_rate * step.span, weights.gamma_rate * step.span);
        for row in 0..self.grid.rows() {
            let Some(view) = self.row(row, latest.0) else { continue };
            let from = row * self.stride + 1;
            let here = from..from + columns;
            let (Some(start), Some(first_rate), Some(frozen), Some(oldest)) = (
                step.sheet.get(here.clone()),
                step.first_rate.get(here.clone()),
                step.frozen.get(here.clone()),
                oldest.get_mut(here),
            ) else {
                continue;
            };
            for (i, value) in oldest.iter_mut().enumerate() {
                *value = rest * start[i]
                    + weights.mu * view.here[i]
                    + weights.nu * *value
                    + rate * frozen[i] * view.heat(i)
                    + gamma * first_rate[i];
            }
        }
        rates
    }

    /// A row with all that heats it.
    #[inline]
    fn row<'a>(&'a self, row: usize, at: &'a [f64]) -> Option<Row<'a>> {
        let (columns, last) = (self.grid.columns(), self.grid.rows() - 1);
        let from = row * self.stride + 1;
        let below = row.saturating_sub(1) * self.stride + 1;
        let above = (row + 1).min(last) * self.stride + 1;
        let source = match row {
            0 => &self.faces[0].source,
            _ if row == last => &self.faces[1].source,
            _ => &self.nothing,
        };
        Some(Row {
            west: at.get(from - 1..from - 1 + columns)?,
            here: at.get(from..from + columns)?,
            east: at.get(from + 1..from + 1 + columns)?,
            under: at.get(below..below + columns)?,
            over: at.get(above..above + columns)?,
            left: self.left.get(..columns)?,
            right: self.right.get(..columns)?,
            source: source.get(..columns)?,
            down: *self.down.get(row)?,
            up: *self.up.get(row)?,
        })
    }

    /// Writes the faces' sources and returns the rates of the extras.
    fn surroundings(&mut self, section: &Section<'_>, at: &[f64], extras: &[f64; EXTRAS]) -> [f64; EXTRAS] {
        let mut rates = [0.0; EXTRAS];
        let level = match self.phase {
            Some(Phase::Heating(level)) => level,
            _ => 0.0,
        };
        let on_heater = !matches!(self.phase, Some(Phase::Arm) | None);
        let heating = matches!(self.phase, Some(Phase::Heating(_)));
        let wires = [extras[WIRE], extras[WIRE + 1]];
        let powers = if level > 0.0 { section.drive.powers(wires, level) } else { [0.0; 2] };
        let room = fourth(section.ambient);
        let per_height = 1.0 / self.grid.height.first().copied().unwrap_or(1.0);
        for (index, (field, face)) in self.faces.iter_mut().zip(&section.faces).enumerate() {
            let row = if index == 0 { 0 } else { self.grid.rows() - 1 };
            let from = row * self.stride + 1;
            let columns = field.inside.len();
            let Some(here) = at.get(from..from + columns) else { continue };
            let emission = match (&section.drive, section.drive.wire(index)) {
                _ if !on_heater => Emission::default(),
                (Drive::Constant(emissions), _) => Emission {
                    radiated: level * emissions[index].radiated,
                    convected: level * emissions[index].convected,
                },
                (Drive::Wires { .. }, Some(wire)) => {
                    let emission = field.conductance.emission(wire, wires[index]);
                    let surplus = powers[index] - emission.radiated - emission.convected;
                    rates[WIRE + index] = surplus / wire.heat_capacity(wires[index]);
                    emission
                }
                (Drive::Wires { .. }, None) => Emission::default(),
            };
            let opening = extras[SHIELD + index];
            let (net, exchanged) =
                field.sources(here, emission, section.ambient, room, fourth(opening), &self.grid.width);
            for value in &mut field.source {
                *value *= per_height;
            }
            rates[TAKEN] += 2.0 * net;
            if on_heater
                && let Some(line) = &face.line
                && let Some(shield) = line.shield
            {
                let from_sheet = if heating { 2.0 * exchanged } else { 0.0 };
                let input = line.coupling.into_shield(emission.radiated) + from_sheet;
                rates[SHIELD + index] = (input - shield.loss * (opening - section.ambient)) / shield.heat_capacity;
            }
        }
        rates
    }
}

impl FaceField {
    /// Lays the flux of a line on the mesh.
    fn lay(&mut self, grid: &Grid, line: Option<&super::Line>) {
        let columns = grid.columns();
        for values in [&mut self.radiated, &mut self.convected, &mut self.inside] {
            values.clear();
        }
        for values in [&mut self.loss, &mut self.to_room, &mut self.to_opening, &mut self.source] {
            values.clear();
            values.resize(columns, 0.0);
        }
        self.conductance.fastest = 0.0;
        for pair in grid.edge.windows(2) {
            let [left, right] = [pair.first().copied().unwrap_or(0.0), pair.last().copied().unwrap_or(0.0)];
            let share = line.map(|line| line.coupling.mean_share(left, right));
            self.radiated.push(share.map_or(0.0, |share| share.radiated));
            self.convected.push(share.map_or(0.0, |share| share.convected));
            let half = line.map_or(0.0, |line| 0.5 * line.coupling.channel);
            self.inside.push(((half - left) / (right - left)).clamp(0.0, 1.0));
        }
    }

    /// Writes the net flux of every column, W/m²; returns it and what goes into the opening, over half the section, W/m.
    fn sources(
        &mut self,
        here: &[f64],
        emission: Emission,
        ambient: f64,
        room: f64,
        opening: f64,
        width: &[f64],
    ) -> (f64, f64) {
        let columns = self.source.len();
        let (radiated, convected) = (&self.radiated[..columns], &self.convected[..columns]);
        let (loss, to_room, to_opening) =
            (&self.loss[..columns], &self.to_room[..columns], &self.to_opening[..columns]);
        let (here, width, source) = (&here[..columns], &width[..columns], &mut self.source[..columns]);
        let (mut net, mut exchanged) = (0.0, 0.0);
        for (i, source) in source.iter_mut().enumerate() {
            let fourth = fourth(here[i]);
            let into_opening = to_opening[i] * (fourth - opening);
            *source = radiated[i] * emission.radiated + convected[i] * emission.convected
                - loss[i] * (here[i] - ambient)
                - to_room[i] * (fourth - room)
                - into_opening;
            net += width[i] * *source;
            exchanged += width[i] * into_opening;
        }
        (net, exchanged)
    }
}

/// Conductances (W/m³K) of every volume to its two neighbours; the ends have none beyond: symmetry, or a face.
fn conduct(conductivity: f64, nodes: &[f64], sizes: &[f64], before: &mut Vec<f64>, after: &mut Vec<f64>) {
    let gaps = || nodes.iter().zip(nodes.iter().skip(1)).map(|(a, b)| conductivity / (b - a));
    before.clear();
    before.push(0.0);
    before.extend(gaps().zip(sizes.iter().skip(1)).map(|(gap, size)| gap / size));
    after.clear();
    after.extend(gaps().zip(sizes).map(|(gap, size)| gap / size));
    after.push(0.0);
}

/// Largest eigenvalue of the exchange of a line of volumes with their neighbours, by power iteration.
///
/// It starts from the checkerboard, which is near the vector wanted; the twentieth part added covers what is left.
fn stiffest(before: &[f64], after: &[f64]) -> f64 {
    let mut vector: Vec<f64> = (0..before.len()).map(|i| if i % 2 == 0 { 1.0 } else { -1.0 }).collect();
    let mut image = vector.clone();
    let mut value = 0.0;
    for _ in 0..20 {
        let at = |i: usize| vector.get(i).copied().unwrap_or(0.0);
        for (i, ((image, before), after)) in image.iter_mut().zip(before).zip(after).enumerate() {
            *image = before * (at(i) - at(i.wrapping_sub(1))) + after * (at(i) - at(i + 1));
        }
        value = image.iter().fold(0.0_f64, |top, entry| top.max(entry.abs()));
        for (vector, image) in vector.iter_mut().zip(&image) {
            *vector = image / value;
        }
    }
    1.05 * value
}

/// Sets one value of a column array that has been resized to the columns.
fn set(values: &mut [f64], column: usize, value: f64) {
    if let Some(place) = values.get_mut(column) {
        *place = value;
    }
}

#[cfg(test)]
mod tests {
    use super::stiffest;

    /// The even chain with free ends has the eigenvalues 2 − 2 cos(j π / n), from memory.
    #[test]
    fn the_stiffness_of_an_even_chain_is_bounded_closely() {
        for count in [3_usize, 10, 40] {
            let before: Vec<f64> = (0..count).map(|i| if i == 0 { 0.0 } else { 1.0 }).collect();
            let after: Vec<f64> = (0..count).map(|i| if i + 1 == count { 0.0 } else { 1.0 }).collect();
            let n = count as f64;
            let exact = 2.0 - 2.0 * libm::cos((n - 1.0) * std::f64::consts::PI / n);
            let found = stiffest(&before, &after);
            assert!(exact <= found && found < 1.1 * exact, "{count}: {found} for {exact}");
        }
    }
}
