//! Reading temperatures out of the mesh: points, means, and the extremes of the bend zone.

use super::grid::Grid;

/// A view of one state on its mesh.
#[derive(Clone, Copy, Debug)]
pub(super) struct View<'a> {
    pub grid: &'a Grid,
    pub sheet: &'a [f64],
}

/// The parabola through three values at three places, at `x`.
fn parabola(places: [f64; 3], values: [f64; 3], x: f64) -> f64 {
    let [a, b, c] = places;
    let [u, v, w] = values;
    u * (x - b) * (x - c) / ((a - b) * (a - c))
        + v * (x - a) * (x - c) / ((b - a) * (b - c))
        + w * (x - a) * (x - b) / ((c - a) * (c - b))
}

impl View<'_> {
    /// Temperature of a node, K.
    fn node(&self, column: usize, row: usize) -> f64 {
        let stride = self.grid.columns() + 2;
        self.sheet.get(row * stride + column + 1).copied().unwrap_or(f64::NAN)
    }

    /// The three columns around `x` with their places; the first is mirrored on the line of symmetry.
    fn columns_around(&self, x: f64) -> ([f64; 3], [usize; 3]) {
        let last = self.grid.columns() - 1;
        let nearest = self.grid.edge.partition_point(|edge| *edge <= x).saturating_sub(1).min(last - 1);
        let place = |column: usize| self.grid.x.get(column).copied().unwrap_or(0.0);
        if nearest == 0 {
            ([-place(1), place(0), place(1)], [1, 0, 1])
        } else {
            ([place(nearest - 1), place(nearest), place(nearest + 1)], [nearest - 1, nearest, nearest + 1])
        }
    }

    /// Temperature of a row at `x` (m from the line), K.
    pub fn row_at(&self, x: f64, row: usize) -> f64 {
        let (places, columns) = self.columns_around(x.abs());
        parabola(places, columns.map(|column| self.node(column, row)), x.abs())
    }

    /// Temperature at a point: `x` m from the line, `y` m from the first face, K.
    pub fn point(&self, x: f64, y: f64) -> f64 {
        let last = self.grid.rows - 1;
        let place = (y / self.grid.pitch).clamp(0.0, last as f64);
        let middle = (1..last).min_by(|a, b| (*a as f64 - place).abs().total_cmp(&(*b as f64 - place).abs()));
        let Some(middle) = middle else { return self.row_at(x, 0) };
        let rows = [middle - 1, middle, middle + 1];
        parabola(rows.map(|row| row as f64), rows.map(|row| self.row_at(x, row)), place)
    }

    /// Mean through the thickness at the line, K.
    pub fn mean_at_line(&self) -> f64 {
        let rows = self.grid.rows;
        let weighted = (0..rows).map(|row| self.node(0, row) * self.grid.height(row)).sum::<f64>();
        weighted / (self.grid.pitch * (rows - 1) as f64)
    }

    /// Extreme through the thickness at `x`, K: the greatest of `sign` times the temperature, on a parabola's vertex
    /// where it lies between rows.
    fn extreme_at(&self, x: f64, sign: f64) -> f64 {
        let rows = self.grid.rows;
        let value = |row: usize| sign * self.row_at(x, row);
        let mut best = (0, value(0));
        for row in 1..rows {
            let here = value(row);
            if here > best.1 {
                best = (row, here);
            }
        }
        let (row, top) = best;
        if row == 0 || row + 1 == rows {
            return sign * top;
        }
        let (down, up) = (value(row - 1), value(row + 1));
        let bend = 2.0 * top - down - up;
        let vertex = if bend > 0.0 { (up - down) * (up - down) / (8.0 * bend) } else { 0.0 };
        sign * (top + vertex)
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
        let inside = self.grid.x.iter().copied().filter(|x| *x < half);
        let all = inside.chain([half]).map(|x| sign * self.extreme_at(x, sign));
        sign * all.fold(f64::NEG_INFINITY, f64::max)
    }

    /// Hottest node of the whole section, K.
    pub fn hottest_node(&self) -> f64 {
        let stride = self.grid.columns() + 2;
        let mut top = f64::NEG_INFINITY;
        for row in 0..self.grid.rows {
            let from = row * stride + 1;
            let values = self.sheet.get(from..from + self.grid.columns()).unwrap_or(&[]);
            top = values.iter().fold(top, |top, value| top.max(*value));
        }
        top
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
