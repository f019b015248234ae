//! Reading temperatures out of the mesh: points, means, and the extremes of the bend zone.

use super::grid::Grid;
use super::lanes::largest;

/// A view of one state on its mesh.
#[derive(Clone, Copy, Debug)]
pub(super) struct View<'a> {
    pub grid: &'a Grid,
    pub sheet: &'a [f64],
}

/// Weights that carry values at some places to `x` by the polynomial through them (Lagrange).
fn weights<const N: usize>(places: [f64; N], x: f64) -> [f64; N] {
    std::array::from_fn(|node| {
        let here = places[node];
        let others = places.iter().enumerate().filter(|(other, _)| *other != node);
        others.fold(1.0, |product, (_, place)| product * (x - place) / (here - place))
    })
}

impl View<'_> {
    /// Temperature of a node, K.
    fn node(&self, column: usize, row: usize) -> f64 {
        let stride = self.grid.columns() + 2;
        self.sheet.get(row * stride + column + 1).copied().unwrap_or(f64::NAN)
    }

    /// The four columns around `x` and their weights in the cubic through them; mirrored on the line of symmetry.
    fn columns_around(&self, x: f64) -> [(usize, f64); 4] {
        let place = |column: usize| self.grid.x.get(column).copied().unwrap_or(0.0);
        let after = self.grid.x.partition_point(|node| *node <= x).clamp(1, self.grid.columns() - 2);
        let (first, outermost) = if after == 1 { (1, -place(1)) } else { (after - 2, place(after - 2)) };
        let columns = [first, after - 1, after, after + 1];
        let places = [outermost, place(after - 1), place(after), place(after + 1)];
        let weights = weights(places, x);
        std::array::from_fn(|index| (columns[index], weights[index]))
    }

    /// Temperature of a row between columns, K.
    fn blend(&self, columns: &[(usize, f64); 4], row: usize) -> f64 {
        columns.iter().map(|(column, weight)| weight * self.node(*column, row)).sum()
    }

    /// Temperature at a point: `x` m from the line, `y` m from the first face, K.
    pub fn point(&self, x: f64, y: f64) -> f64 {
        let depth = |row: usize| self.grid.y.get(row).copied().unwrap_or(0.0);
        let inner = 1..self.grid.rows() - 1;
        let middle = inner.min_by(|a, b| (depth(*a) - y).abs().total_cmp(&(depth(*b) - y).abs())).unwrap_or(1);
        let (rows, columns) = ([middle - 1, middle, middle + 1], self.columns_around(x));
        let weights = weights(rows.map(depth), y);
        rows.iter().zip(weights).map(|(row, weight)| weight * self.blend(&columns, *row)).sum()
    }

    /// Temperatures at the line on both faces, K.
    pub fn faces_at_line(&self) -> [f64; 2] {
        [self.node(0, 0), self.node(0, self.grid.rows() - 1)]
    }

    /// Mean through the thickness at the line, K.
    pub fn mean_at_line(&self) -> f64 {
        let weighted = self.grid.height.iter().enumerate().map(|(row, height)| self.node(0, row) * height).sum::<f64>();
        weighted / self.grid.height.iter().sum::<f64>()
    }

    /// Extreme of one column of values, K: the greatest of `sign` times the temperature, on a parabola's vertex where
    /// it lies between rows.
    fn extreme_of(&self, value: impl Fn(usize) -> f64) -> f64 {
        let rows = self.grid.rows();
        let mut best = (0, value(0));
        for row in 1..rows {
            let here = value(row);
            if here > best.1 {
                best = (row, here);
            }
        }
        let (row, top) = best;
        if row == 0 || row + 1 == rows {
            return top;
        }
        let depth = |row: usize| self.grid.y.get(row).copied().unwrap_or(0.0);
        let (above, below) = (depth(row) - depth(row - 1), depth(row + 1) - depth(row));
        let (rising, falling) = ((top - value(row - 1)) / above, (value(row + 1) - top) / below);
        let slope = (rising * below + falling * above) / (above + below);
        let bend = (falling - rising) / (above + below);
        if bend < 0.0 { top - slope * slope / (4.0 * bend) } else { top }
    }

    /// Extreme through the thickness at `x`, K.
    fn extreme_at(&self, x: f64, sign: f64) -> f64 {
        let columns = self.columns_around(x);
        sign * self.extreme_of(|row| sign * self.blend(&columns, row))
    }

    /// Coldest point through the thickness at `x`, K.
    pub fn coldest_at(&self, x: f64) -> f64 {
        self.extreme_at(x, -1.0)
    }

    /// Coldest point of |x| ≤ `half`, full thickness, K.
    pub fn coldest(&self, half: f64) -> f64 {
        self.extreme(half, -1.0)
    }

    /// Hottest point of |x| ≤ `half`, full thickness, K.
    pub fn hottest(&self, half: f64) -> f64 {
        self.extreme(half, 1.0)
    }

    /// Extreme over all columns inside the zone and at its very edge.
    fn extreme(&self, half: f64, sign: f64) -> f64 {
        let inside = self.grid.x.iter().take_while(|x| **x < half).count();
        let nodes = (0..inside).map(|column| self.extreme_of(|row| sign * self.node(column, row)));
        sign * nodes.fold(sign * self.extreme_at(half, sign), f64::max)
    }

    /// Hottest node of the whole section, K.
    pub fn hottest_node(&self) -> f64 {
        // The ghosts stand at the start and may be passed by nothing that is heated.
        largest(self.sheet)
    }

    /// Full width over which the whole thickness is at least at `softened` (K), m.
    pub fn softened_width(&self, softened: f64) -> f64 {
        if self.coldest_at(0.0) < softened {
            return 0.0;
        }
        let far = self.grid.x.iter().copied().find(|x| self.coldest_at(*x) < softened);
        let Some(mut outer) = far else { return 2.0 * self.grid.x.last().copied().unwrap_or(0.0) };
        let mut inner = self.grid.x.iter().copied().filter(|x| *x < outer).fold(0.0, f64::max);
        // 20 halvings of a column end far below a micrometre.
        for _ in 0..20 {
            let middle = 0.5 * (inner + outer);
            if self.coldest_at(middle) < softened {
                outer = middle;
            } else {
                inner = middle;
            }
        }
        inner + outer
    }
}
