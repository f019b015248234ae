//! The right-hand side: what heats every volume of the sheet, the wires and the shields.

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
/// Its number of points, one a kelvin.
const POINTS: usize = 802;

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
    nothing: Vec<f64>,
    faces: [FaceField; 2],
    /// Reciprocal of the specific heat per kelvin, and the table it was made from.
    reciprocal: Vec<f64>,
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
        let conduct = |from: &[f64], to: &[f64], width: &[f64]| -> Vec<f64> {
            let pairs = from.iter().zip(to).zip(width);
            pairs.map(|((a, b), width)| sheet.conductivity / ((b - a) * width)).collect()
        };
        // Flow to the left neighbour of column 0 and to the right of the last is nought: symmetry, and far away.
        let inner = grid.x.get(1..).unwrap_or(&[]);
        self.left.clear();
        self.left.push(0.0);
        self.left.extend(conduct(&grid.x, inner, grid.width.get(1..).unwrap_or(&[])));
        self.right.clear();
        self.right.extend(conduct(&grid.x, inner, &grid.width));
        self.right.push(0.0);
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
            self.reciprocal.extend((0..POINTS).map(|kelvin| 1.0 / sheet.specific_heat.at(COLDEST + kelvin as f64)));
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
        let across = self.left.iter().zip(&self.right).map(|(left, right)| left + right).fold(0.0, f64::max);
        let pitch = self.grid.pitch;
        let through = 2.0 * section.sheet.conductivity / (pitch * pitch);
        let least = section.sheet.specific_heat.extremes().0 * self.heat_per_kelvin;
        let sheet = (2.0 * (across + through) + steepest / (0.5 * pitch)) / least;
        let wires = self.faces.iter().map(|field| field.conductance.fastest).fold(0.0, f64::max);
        let shields = section.faces.iter().filter_map(|face| face.line.and_then(|line| line.shield));
        let shields = shields.map(|shield| (shield.loss + 1.0) / shield.heat_capacity).fold(0.0, f64::max);
        let beside = if phase == Phase::Arm { 0.0 } else { wires.max(shields) };
        self.radius = sheet.max(beside);
    }

    /// Reciprocal of heat capacity per volume, m³ K/J, at the temperatures `at + ahead · rate`.
    pub fn reciprocal(&self, at: &[f64], rate: &[f64], ahead: f64, out: &mut [f64]) {
        let per_kelvin = 1.0 / self.heat_per_kelvin;
        let last = POINTS - 2;
        for ((value, now), slope) in out.iter_mut().zip(at).zip(rate) {
            let place = (now + ahead * slope - COLDEST).clamp(0.0, last as f64);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the table above")]
            let index = (place as usize).min(last);
            if let Some([low, high]) = self.reciprocal.get(index..index + 2) {
                *value = (low + (high - low) * (place - index as f64)) * per_kelvin;
            }
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
        let (columns, stride, rows) = (self.grid.columns(), self.stride, self.grid.rows);
        let even = section.sheet.conductivity / (self.grid.pitch * self.grid.pitch);
        for row in 0..rows {
            let from = row * stride;
            let below = row.saturating_sub(1) * stride;
            let above = (row + 1).min(rows - 1) * stride;
            // A face's half volume has one neighbour at full conductance over half the height.
            let (to_below, to_above) = if row == 0 {
                (0.0, 2.0 * even)
            } else if row + 1 == rows {
                (2.0 * even, 0.0)
            } else {
                (even, even)
            };
            let source = match row {
                0 => &self.faces[0].source,
                _ if row + 1 == rows => &self.faces[1].source,
                _ => &self.nothing,
            };
            let (Some(west), Some(here), Some(east), Some(under), Some(over), Some(target)) = (
                at.get(from..from + columns),
                at.get(from + 1..from + 1 + columns),
                at.get(from + 2..from + 2 + columns),
                at.get(below + 1..below + 1 + columns),
                at.get(above + 1..above + 1 + columns),
                out.get_mut(from + 1..from + 1 + columns),
            ) else {
                continue;
            };
            let (left, right, source) = (&self.left[..columns], &self.right[..columns], &source[..columns]);
            for (i, target) in target.iter_mut().enumerate() {
                *target = left[i] * (west[i] - here[i])
                    + right[i] * (east[i] - here[i])
                    + to_below * (under[i] - here[i])
                    + to_above * (over[i] - here[i])
                    + source[i];
            }
        }
        rates
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
        let per_height = 1.0 / self.grid.height(0);
        for (index, (field, face)) in self.faces.iter_mut().zip(&section.faces).enumerate() {
            let row = if index == 0 { 0 } else { self.grid.rows - 1 };
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
            if let (true, Some(line)) = (on_heater, &face.line) {
                if let Some(shield) = line.shield {
                    let from_sheet = if heating { 2.0 * exchanged } else { 0.0 };
                    let input = line.coupling.into_shield(emission.radiated) + from_sheet;
                    rates[SHIELD + index] = (input - shield.loss * (opening - section.ambient)) / shield.heat_capacity;
                }
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

/// Sets one value of a column array that has been resized to the columns.
fn set(values: &mut [f64], column: usize, value: f64) {
    if let Some(place) = values.get_mut(column) {
        *place = value;
    }
}
