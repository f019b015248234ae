//! The mesh of the half section: columns across the line, rows through the thickness.

use super::Resolution;

/// Control volumes around nodes; the first and last row lie on the faces, the first column on the line.
#[derive(Clone, Debug, Default)]
pub(super) struct Grid {
    /// Distance of each column from the line, m.
    pub x: Vec<f64>,
    /// Width of each column's volumes, m; the first is half a volume.
    pub width: Vec<f64>,
    /// Where each column's volume begins, m; one more than there are columns.
    pub edge: Vec<f64>,
    /// Number of rows.
    pub rows: usize,
    /// Distance of neighbouring rows, m.
    pub pitch: f64,
}

impl Grid {
    /// Lays the mesh for a sheet of `thickness`, an opening of half width `half`, out to `reach` (all m).
    ///
    /// Columns are even inside the opening, and an edge between two volumes lies exactly at the opening's edge, where
    /// the flux steps; outside they widen by a constant ratio, since nothing happens there but conduction.
    pub fn lay(&mut self, thickness: f64, half: f64, reach: f64, resolution: Resolution) {
        let step = half / (f64::from(resolution.inside) + 0.5);
        self.rows = usize::from(resolution.through) + 1;
        self.pitch = thickness / f64::from(resolution.through);
        self.x.clear();
        self.x.extend((0..=resolution.inside).map(|column| f64::from(column) * step));
        let (mut x, mut gap) = (half - 0.5 * step, step);
        while x < reach {
            x += gap;
            gap *= resolution.widening;
            self.x.push(x);
        }
        self.edge.clear();
        self.edge.push(0.0);
        self.edge.extend(self.x.windows(2).map(|pair| 0.5 * pair.iter().sum::<f64>()));
        self.edge.extend(self.x.last().copied());
        self.width.clear();
        self.width
            .extend(self.edge.windows(2).map(|pair| pair.iter().rev().copied().reduce(|a, b| a - b).unwrap_or(0.0)));
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.x.len()
    }

    /// Height of a row's volumes, m: half a pitch on the faces.
    pub fn height(&self, row: usize) -> f64 {
        if row == 0 || row + 1 == self.rows { 0.5 * self.pitch } else { self.pitch }
    }
}

#[cfg(test)]
mod tests {
    use super::{Grid, Resolution};

    #[test]
    fn volumes_tile_the_section_and_meet_at_the_opening() {
        let mut grid = Grid::default();
        grid.lay(0.003, 0.009, 0.06, Resolution::NORMAL);
        let total: f64 = grid.width.iter().sum();
        assert!((total - grid.x.last().unwrap()).abs() < 1e-15);
        assert!(grid.edge.iter().any(|edge| (edge - 0.009).abs() < 1e-15));
        let height: f64 = (0..grid.rows).map(|row| grid.height(row)).sum();
        assert!((height - 0.003).abs() < 1e-15);
    }
}
