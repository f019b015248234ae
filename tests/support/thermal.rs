//! The rows of `thermal_cases.csv` as sections in plain mode: constant powers, no shield, no sink factor.

use withy::physics::coupling::Coupling;
use withy::physics::section::{
    Drive, Emission, Face, Follow, Heat, Limits, Line, Resolution, Run, Section, Sheet, Solver, Stage,
};
use withy::physics::table::Table;

/// 0 °C in kelvin.
pub const ZERO: f64 = 273.15;

/// How far two temperatures or times may lie apart: the design's accuracy.
pub const SHARE: f64 = 0.01;

/// One row, by column name.
pub struct Case {
    pub id: String,
    columns: Vec<(String, f64)>,
}

/// One output of a row: what is expected, what came out, and how far they may lie apart.
pub struct Deviation {
    pub name: &'static str,
    pub expected: f64,
    pub found: f64,
    pub allowed: f64,
}

impl Deviation {
    /// Whether the figure is met; "not reached" only meets "not reached".
    pub fn holds(&self) -> bool {
        if self.expected.is_nan() {
            return self.found.is_nan();
        }
        (self.found - self.expected).abs() <= self.allowed
    }
}

/// Reads every row; an unreadable file or cell is a failure that names it.
pub fn read(text: &str) -> Vec<Case> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    let names: Vec<String> = lines.next().unwrap_or("").split(',').map(|name| name.trim().to_owned()).collect();
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split(',').map(str::trim).collect();
            assert_eq!(cells.len(), names.len(), "row {line}");
            let number = |cell: &str| cell.parse().unwrap_or_else(|_| panic!("no number: {cell} in {line}"));
            let pairs = names.iter().cloned().zip(&cells).skip(1);
            Case { id: cells[0].to_owned(), columns: pairs.map(|(name, cell)| (name, number(cell))).collect() }
        })
        .collect()
}

/// The specific heat of all rows (README of the reference data).
pub fn specific_heat() -> Table {
    let points = [(0.0, 1400.0), (80.0, 1700.0), (100.0, 1800.0), (120.0, 2050.0), (200.0, 2250.0), (300.0, 2450.0)];
    Table::new(points.map(|(celsius, value)| (celsius + ZERO, value)).to_vec()).unwrap()
}

const FULL: [Stage; 1] = [Stage { level: 1.0, duration: 0.0 }];

impl Case {
    /// A column by its name.
    pub fn get(&self, name: &str) -> f64 {
        let found = self.columns.iter().find(|(column, _)| column == name);
        found.unwrap_or_else(|| panic!("no column {name}")).1
    }

    /// The row as a section.
    pub fn section<'a>(&self, table: &'a Table) -> Section<'a> {
        let ambient = self.get("ambient_c") + ZERO;
        let line = Line {
            coupling: Coupling {
                kappa: self.get("kappa"),
                absorptance: self.get("absorptance"),
                reflectance: self.get("shield_reflectance"),
                plume_share: self.get("plume_share"),
                plume_peak: 0.0,
                gap: self.get("gap_mm") * 1e-3,
                channel: self.get("channel_mm") * 1e-3,
            },
            sink_factor: 1.0,
            opening_loss: 0.0,
            shield: None,
        };
        let second = (self.get("faces") > 1.5).then_some(line);
        let face = |line: Option<Line>, loss: f64| Face {
            line,
            loss,
            setting_loss: self.get("h_set"),
            setting_radiates: true,
        };
        let emission = Emission { radiated: self.get("p_rad_w_per_m"), convected: self.get("p_conv_w_per_m") };
        Section {
            sheet: Sheet {
                thickness: self.get("thickness_mm") * 1e-3,
                conductivity: self.get("conductivity"),
                density: self.get("density"),
                specific_heat: table,
                specific_heat_factor: 1.0,
                emissivity: self.get("emissivity"),
                start: ambient,
            },
            faces: [face(Some(line), self.get("h_heated_face")), face(second, self.get("h_other_face"))],
            drive: Drive::Constant([emission, emission]),
            ambient,
            transfer: self.get("transfer_s"),
            zone: 0.5e-3 * self.get("zone_mm"),
            limits: Limits {
                softened: self.get("softened_c") + ZERO,
                forming: self.get("forming_c") + ZERO,
                ceiling: self.get("ceiling_c") + ZERO,
                release: self.get("release_c") + ZERO,
                void: f64::INFINITY,
            },
            stages: &FULL,
            horizon: 400.0,
        }
    }

    /// Solves the row and compares every output.
    pub fn deviations(&self, solver: &mut Solver, resolution: Resolution) -> Vec<Deviation> {
        let table = specific_heat();
        let section = self.section(&table);
        let resolution = resolution.for_thickness(section.sheet.thickness);
        let heat: Heat = solver.heat(&section, resolution, Follow::UntilKnown).unwrap();
        let heat_s = self.get("heat_s");
        // The times may be known before the row's heat is over, or before its first half minute.
        solver.heat(&section, resolution, Follow::Until(heat_s.max(30.0))).unwrap();
        let (thickness, ambient) = (section.sheet.thickness, section.ambient);
        let at = |solver: &mut Solver, x: f64, y: f64, time: f64| solver.temperature(x, y, time);
        let mut temperatures = vec![
            ("t30_heated_c", at(solver, 0.0, 0.0, 30.0)),
            ("t30_other_c", at(solver, 0.0, thickness, 30.0)),
            ("end_heated_c", at(solver, 0.0, 0.0, heat_s)),
            ("end_other_c", at(solver, 0.0, thickness, heat_s)),
            ("end_edge_other_c", at(solver, section.zone, thickness, heat_s)),
            ("end_x6_mid_c", at(solver, 0.006, 0.5 * thickness, heat_s)),
        ];
        let run: Run = solver.run(&section, heat_s).unwrap();
        temperatures.push(("after_transfer_heated_c", run.faces[0]));
        temperatures.push(("after_transfer_other_c", run.faces[1]));
        temperatures.push(("after_transfer_mean_c", run.mean));
        temperatures.push(("set60_hottest_c", solver.hottest_in_arm(&section, heat_s, 60.0).unwrap()));
        let mut all: Vec<Deviation> = temperatures
            .into_iter()
            .map(|(name, kelvin)| {
                let expected = self.get(name);
                let rise = expected + ZERO - ambient;
                Deviation { name, expected, found: kelvin - ZERO, allowed: (SHARE * rise).max(0.5) }
            })
            .collect();
        for (name, found) in [("ready_s", heat.ready), ("over_s", heat.over), ("set_s", run.set)] {
            let expected = self.get(name);
            let found = found.unwrap_or(f64::NAN);
            all.push(Deviation { name, expected, found, allowed: (SHARE * expected).max(0.5) });
        }
        let emission = [self.get("p_rad_w_per_m"), self.get("p_conv_w_per_m")];
        let absorbed: f64 = section
            .faces
            .iter()
            .filter_map(|face| face.line)
            .map(|line| line.coupling.absorbed(emission[0], emission[1]))
            .sum();
        let expected = self.get("absorbed_w_per_m");
        all.push(Deviation { name: "absorbed_w_per_m", expected, found: absorbed, allowed: 1e-4 * expected });
        all
    }
}
