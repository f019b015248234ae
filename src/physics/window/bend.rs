//! One bend on one heater with everything that is known about it, and the section it is at any point of the box.

use super::unknown::{Point, Unknown, Unknowns};
use crate::physics::circuit::{Circuit, Wiring};
use crate::physics::coupling::{Coupling, Shield};
use crate::physics::fault::{Fault, Input};
use crate::physics::section::{Drive, Face, Limits, Line, Section, Sheet, Stage};
use crate::physics::table::Table;
use crate::physics::wire::{Alloy, Wire};

/// One line of a heater; what is unknown about it stands in the box.
#[derive(Clone, Copy, Debug)]
pub struct HeaterLine<'a> {
    /// What the wire is made of.
    pub alloy: &'a Alloy,
    /// Diameter of the wire, m.
    pub diameter: f64,
    /// Heated length, m.
    pub length: f64,
    /// Nominal cold resistance of the whole length, ohm.
    pub resistance: f64,
    /// Whether the line is above the sheet, where its plume rises away from it.
    pub above: bool,
}

/// One bend with all that is known about it.
#[derive(Clone, Debug)]
pub struct Bend<'a> {
    /// The line in front of the first face.
    pub first: HeaterLine<'a>,
    /// The line in front of the second face, if both are heated.
    pub second: Option<HeaterLine<'a>>,
    /// How two lines are joined.
    pub wiring: Wiring,
    /// Resistance of the leads out and back, ohm; 0 if the voltage was measured at the wire.
    pub leads: f64,
    /// Mass times specific heat of the shield, J/(m K); without it the opening stays at room temperature.
    pub shield_capacity: Option<f64>,
    /// Specific heat of the sheet by temperature (K), J/(kg K).
    pub specific_heat: &'a Table,
    /// Whether each face radiates in the arm: not if it lies on something.
    pub setting_radiates: [bool; 2],
    /// Angle turned, rad.
    pub angle: f64,
    /// Inside radius, m.
    pub radius: f64,
    /// Place of the neutral line as a share of the thickness.
    pub neutral: f64,
    /// Temperature above which the model is void, K.
    pub void: f64,
    /// Whether the heater can be given part of its power; a relay is on or off.
    pub part_power: bool,
    /// The heat.
    pub stages: Vec<Stage>,
    /// Longest heat that is looked at, s.
    pub horizon: f64,
    /// What is not known.
    pub unknowns: Unknowns,
}

impl Bend<'_> {
    /// Refuses data that no section can be made of; the section's own checks follow at every point.
    pub fn check(&self) -> Result<(), Fault> {
        self.unknowns.check()?;
        if !self.angle.is_finite() || self.angle <= 0.0 || self.angle > 3.2 {
            return Err(Fault::OutOfRange(Input::Angle));
        }
        if !self.radius.is_finite() || !(0.0..=1.0).contains(&self.radius) {
            return Err(Fault::OutOfRange(Input::Radius));
        }
        if !self.neutral.is_finite() || !(0.0..=1.0).contains(&self.neutral) {
            return Err(Fault::OutOfRange(Input::NeutralLine));
        }
        self.section(&self.unknowns.nominal()).check()
    }

    /// The section at a point of the box.
    pub fn section(&self, point: &Point) -> Section<'_> {
        let at = |unknown: Unknown| point[unknown.place()];
        let ambient = at(Unknown::Ambient);
        let thickness = at(Unknown::Thickness);
        let face = |line: Option<Line>, index: usize, loss: Unknown, setting: Unknown| Face {
            line,
            loss: at(loss),
            setting_loss: at(setting),
            setting_radiates: self.setting_radiates[index],
        };
        let circuit = Circuit { volts: at(Unknown::Voltage), leads: self.leads, wiring: self.wiring };
        Section {
            sheet: Sheet {
                thickness,
                conductivity: at(Unknown::Conductivity),
                density: at(Unknown::Density),
                specific_heat: self.specific_heat,
                specific_heat_factor: at(Unknown::SpecificHeat),
                emissivity: at(Unknown::Emissivity),
                start: ambient,
            },
            faces: [
                face(Some(self.line(&self.first, point, Unknown::Gap)), 0, Unknown::FirstFace, Unknown::FirstSetting),
                face(
                    self.second.as_ref().map(|second| self.line(second, point, Unknown::SecondGap)),
                    1,
                    Unknown::SecondFace,
                    Unknown::SecondSetting,
                ),
            ],
            drive: Drive::Wires {
                circuit,
                first: wire(&self.first, point),
                second: self.second.as_ref().map(|second| wire(second, point)),
            },
            ambient,
            transfer: at(Unknown::Transfer),
            zone: 0.5 * self.angle * (self.radius + self.neutral * thickness),
            limits: Limits {
                softened: at(Unknown::Softened),
                forming: at(Unknown::Forming),
                ceiling: at(Unknown::Ceiling),
                release: at(Unknown::Release),
                void: self.void,
            },
            stages: &self.stages,
            horizon: self.horizon,
        }
    }

    /// One line and its shield at a point of the box.
    fn line(&self, line: &HeaterLine<'_>, point: &Point, gap: Unknown) -> Line {
        let at = |unknown: Unknown| point[unknown.place()];
        Line {
            coupling: Coupling {
                kappa: at(Unknown::Kappa),
                absorptance: at(Unknown::Absorptance),
                reflectance: at(Unknown::Reflectance),
                plume_share: at(if line.above { Unknown::PlumeAbove } else { Unknown::PlumeBelow }),
                plume_peak: at(Unknown::PlumePeak),
                gap: at(gap),
                channel: at(Unknown::Channel),
            },
            sink_factor: at(Unknown::SinkFactor),
            opening_loss: 0.0,
            shield: self.shield_capacity.map(|heat_capacity| Shield {
                heat_capacity,
                loss: at(Unknown::ShieldLoss),
                start: at(Unknown::Ambient) + at(Unknown::ShieldRise),
            }),
        }
    }

    /// How far (K) the shield of the first line stands above the room after a warm-up (s) at full power with no sheet.
    pub fn warm_up_rise(&self, warm_up: f64) -> Result<f64, Fault> {
        let section = self.section(&self.unknowns.nominal());
        let (Some(line), Drive::Wires { circuit, first, second }) = (section.faces[0].line, section.drive) else {
            return Ok(0.0);
        };
        let Some(shield) = line.shield else { return Ok(0.0) };
        let mut wires = vec![first];
        wires.extend(second);
        let hot = circuit.steady(&wires, 1.0, section.ambient)?.temperatures[0];
        let radiated = crate::physics::wire::radiation(first.diameter, first.emissivity, hot, section.ambient);
        let cold = Shield { start: section.ambient, ..shield };
        Ok(cold.after(line.coupling.into_shield(radiated), warm_up, section.ambient) - section.ambient)
    }
}

/// One wire at a point of the box.
fn wire<'a>(line: &HeaterLine<'a>, point: &Point) -> Wire<'a> {
    Wire {
        alloy: line.alloy,
        diameter: line.diameter,
        length: line.length,
        resistance: line.resistance * point[Unknown::Resistance.place()],
        emissivity: point[Unknown::WireEmissivity.place()],
    }
}
