//! The mesh of the half section: columns across the line, rows through the thickness.

use std::f64::consts::PI;

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
    /// Depth of each row below the first face, m.
    pub y: Vec<f64>,
    /// Height of each row's volumes, m; the first and last are half volumes.
    pub height: Vec<f64>,
}

/// How far rows crowd towards the faces and columns towards the opening's edge: spacing there is (1 − this) of the mean.
const CROWDING: f64 = 0.5;

/// Columns beyond the opening's edge over which the widening sets in.
const EASING: f64 = 6.0;

impl Grid {
    /// Lays the mesh for a sheet of `thickness`, an opening of half width `half`, out to `reach` (all m).
    ///
    /// Columns crowd towards the opening's edge, where the flux steps and where an edge between two volumes lies exactly;
    /// beyond it they widen more and more, up to a constant ratio, since nothing happens far out but conduction. Rows crowd towards both
    /// faces, where switching the heater off leaves the steepest gradients. Both do so smoothly, to keep second order.
    pub fn lay(&mut self, thickness: f64, half: f64, reach: f64, resolution: Resolution) {
        let inside = columns_inside(half, resolution.pitch);
        self.x.clear();
        self.x.extend((0..=inside).map(|column| {
            let part = f64::from(column) / (f64::from(inside) + 0.5);
            half * (part + CROWDING * libm::sin(PI * part) / PI)
        }));
        let mut x = self.x.last().copied().unwrap_or(0.0);
        let mut gap = 2.0 * (half - x);
        let mut beyond = 0.0_f64;
        while x < reach {
            x += gap;
            self.x.push(x);
            beyond += 1.0;
            gap *= 1.0 + (resolution.widening - 1.0) * (beyond / EASING).min(1.0);
        }
        self.y.clear();
        let count = f64::from(resolution.through);
        self.y.extend((0..=resolution.through).map(|row| {
            let part = f64::from(row) / count;
            thickness * (part - CROWDING * libm::sin(2.0 * PI * part) / (2.0 * PI))
        }));
        self.edge.clear();
        volumes(&self.x, &mut self.edge, &mut self.width);
        let mut edges = Vec::new();
        volumes(&self.y, &mut edges, &mut self.height);
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.x.len()
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.y.len()
    }
}

/// Columns between the line and an opening's edge, a pitch apart: a few in any case, and not without end.
fn columns_inside(half: f64, pitch: f64) -> u16 {
    let wanted = (half / pitch).clamp(5.0, 60.0);
    (5..60).find(|count| f64::from(*count) >= wanted).unwrap_or(60)
}

/// Edges and sizes of the volumes around nodes: edges half way between nodes, the outer ones on the end nodes.
fn volumes(nodes: &[f64], edges: &mut Vec<f64>, sizes: &mut Vec<f64>) {
    edges.clear();
    edges.extend(nodes.first().copied());
    edges.extend(nodes.iter().zip(nodes.iter().skip(1)).map(|(a, b)| 0.5 * (a + b)));
    edges.extend(nodes.last().copied());
    sizes.clear();
    sizes.extend(edges.iter().zip(edges.iter().skip(1)).map(|(a, b)| b - a));
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
        assert!((grid.height.iter().sum::<f64>() - 0.003).abs() < 1e-15);
    }
}
