//! The structure boiled down to what welds can do to it: one symmetric compliance matrix.
//!
//! A *coordinate* is a generalised displacement: the opening of a joint in one direction, the turning of one member's
//! end against another's, the shrinkage of a member's wall, or an answer such as the bow of a rail. For coordinates
//! `a` and `b` the entry `compliance[a][b]` is the movement of `a` under a unit of the force that works on `b`. Once
//! this matrix is known, laying a weld is a low-rank change of it and the whole structure is not needed again.
//!
//! The algebra (Sherman and Morrison, *Ann. Math. Statist.* 21 (1950) 124): a spring of stiffness `k` that is added
//! along the coordinate direction `d`, without force at that moment, changes the compliance `G` to
//! `G − (G d)(G d)ᵀ / (1/k + dᵀ G d)`. Taking a spring away is the same with `−k`.

use super::matrix6::{self, Matrix6};

/// Compliance over all coordinates, before the first weld.
#[derive(Clone, Debug)]
pub struct Condensed {
    size: usize,
    /// Row-major, symmetric, `size * size`.
    compliance: Vec<f64>,
}

impl Condensed {
    /// From a full row-major symmetric matrix.
    ///
    /// # Panics
    /// When the matrix does not have `size * size` entries.
    #[must_use]
    pub fn new(size: usize, compliance: Vec<f64>) -> Self {
        assert_eq!(compliance.len(), size * size, "a square matrix");
        Self { size, compliance }
    }

    /// Number of coordinates.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.size
    }

    /// Movement of `row` under a unit force on each coordinate.
    #[must_use]
    pub fn row(&self, row: usize) -> &[f64] {
        &self.compliance[row * self.size..(row + 1) * self.size]
    }
}

/// A direction in coordinate space: a few coordinates with their weights.
pub type Direction = [(usize, f64)];

/// The structure at one moment of the build: its compliance, and how far each coordinate has moved.
///
/// Coordinates are kept in an order chosen by the caller.
#[derive(Clone, Debug)]
pub struct Stage {
    /// Lower triangle by rows of `stride`, in the caller's order.
    compliance: Vec<f64>,
    stride: usize,
    moved: Vec<f64>,
    /// Where each coordinate of the condensed structure stands in this order.
    position: Vec<usize>,
    column: Vec<f64>,
    columns: [Vec<f64>; 6],
}

impl Stage {
    /// The structure before the first weld, with coordinates in `order`.
    #[must_use]
    pub fn new(condensed: &Condensed, order: &[usize]) -> Self {
        let size = condensed.size;
        let mut position = vec![usize::MAX; size];
        for (place, &coordinate) in order.iter().enumerate() {
            position[coordinate] = place;
        }
        let mut stage = Self {
            compliance: vec![0.0; order.len() * order.len()],
            stride: order.len(),
            moved: vec![0.0; order.len()],
            position,
            column: vec![0.0; order.len()],
            columns: std::array::from_fn(|_| vec![0.0; order.len()]),
        };
        stage.restart(condensed, order);
        stage
    }

    fn restart(&mut self, condensed: &Condensed, order: &[usize]) {
        for (i, &row) in order.iter().enumerate() {
            let source = &condensed.compliance[row * condensed.size..(row + 1) * condensed.size];
            let target = &mut self.compliance[i * self.stride..i * self.stride + i + 1];
            for (entry, &column) in target.iter_mut().zip(order) {
                *entry = source[column];
            }
        }
    }

    /// How far a coordinate has moved so far.
    #[must_use]
    pub fn moved(&self, coordinate: usize) -> f64 {
        self.moved[self.position[coordinate]]
    }

    /// How far a direction has moved so far.
    #[must_use]
    pub fn moved_along(&self, direction: &Direction) -> f64 {
        direction
            .iter()
            .map(|&(coordinate, weight)| weight * self.moved(coordinate))
            .sum()
    }

    /// Fills `self.column` with the movement of every coordinate under a unit force along `direction`, and
    /// returns the movement along the direction itself.
    fn respond(&mut self, direction: &Direction) -> f64 {
        let stride = self.stride;
        let column = &mut self.column;
        column.fill(0.0);
        for &(coordinate, weight) in direction {
            let at = self.position[coordinate];
            let row = &self.compliance[at * stride..at * stride + at + 1];
            for (entry, compliance) in column.iter_mut().zip(row) {
                *entry += weight * compliance;
            }
            for (offset, entry) in column.iter_mut().enumerate().skip(at + 1) {
                *entry += weight * self.compliance[offset * stride + at];
            }
        }
        direction
            .iter()
            .map(|&(coordinate, weight)| weight * self.column[self.position[coordinate]])
            .sum()
    }

    /// Adds a spring along a direction, without force as things stand. Nothing moves.
    ///
    /// A negative stiffness takes away a spring that is there, but not what it did so far: see [`Self::cut`].
    pub fn stiffen(&mut self, direction: &Direction, stiffness: f64) {
        let along = self.respond(direction);
        let pivot = 1.0 / stiffness + along;
        let stride = self.stride;
        for i in 0..stride {
            let factor = self.column[i] / pivot;
            if factor == 0.0 {
                continue;
            }
            let row = &mut self.compliance[i * stride..i * stride + i + 1];
            for (entry, other) in row.iter_mut().zip(&self.column) {
                *entry -= factor * other;
            }
        }
    }

    /// Takes away a spring that came without force at zero, together with the force it has now.
    pub fn cut(&mut self, direction: &Direction, stiffness: f64) {
        let force = stiffness * self.moved_along(direction);
        self.stiffen(direction, -stiffness);
        self.push(direction, force);
    }

    /// Applies a force along a direction to the structure as it stands, and returns how far the direction moves.
    pub fn push(&mut self, direction: &Direction, force: f64) -> f64 {
        let along = self.respond(direction);
        for (moved, column) in self.moved.iter_mut().zip(&self.column) {
            *moved += force * column;
        }
        force * along
    }

    /// Changes the stiffness of a joint, whose six coordinates begin at `first`, by a symmetric matrix: a weld adds
    /// to it, a tack that melts takes from it. Nothing moves. Returns the compliance of the joint as it is then.
    ///
    /// All six at once cost half of one after the other: `G − C M Cᵀ` with `C` the joint's six columns, `S` its own
    /// block, `M = K (1 + S K)⁻¹` (Woodbury's form of the formula above).
    pub fn stiffen_joint(&mut self, first: usize, change: &Matrix6) -> Matrix6 {
        self.gather(first);
        let at = self.position[first];
        let own: Matrix6 =
            std::array::from_fn(|i| std::array::from_fn(|j| self.columns[j][at + i]));
        let inner = matrix6::times(
            change,
            &matrix6::inverse(&matrix6::plus_one(&matrix6::times(&own, change))),
        );
        for i in 0..self.stride {
            let weights: [f64; 6] =
                std::array::from_fn(|k| (0..6).map(|j| self.columns[j][i] * inner[j][k]).sum());
            let [a, b, c, d, e, f] = &self.columns;
            let row = &mut self.compliance[i * self.stride..i * self.stride + i + 1];
            let n = row.len();
            let (a, b, c, d, e, f) = (&a[..n], &b[..n], &c[..n], &d[..n], &e[..n], &f[..n]);
            for j in 0..n {
                row[j] -= (weights[0] * a[j] + weights[1] * b[j])
                    + (weights[2] * c[j] + weights[3] * d[j])
                    + (weights[4] * e[j] + weights[5] * f[j]);
            }
        }
        std::array::from_fn(|i| std::array::from_fn(|j| self.entry(at + i, at + j)))
    }

    /// Applies forces and moments to the six coordinates that begin at `first`.
    pub fn push_joint(&mut self, first: usize, force: &[f64; 6]) {
        self.gather(first);
        for (i, moved) in self.moved.iter_mut().enumerate() {
            *moved += (0..6).map(|k| self.columns[k][i] * force[k]).sum::<f64>();
        }
    }

    /// How far the six coordinates that begin at `first` have moved.
    #[must_use]
    pub fn moved_joint(&self, first: usize) -> [f64; 6] {
        let at = self.position[first];
        std::array::from_fn(|k| self.moved[at + k])
    }

    fn entry(&self, row: usize, column: usize) -> f64 {
        self.compliance[row.max(column) * self.stride + row.min(column)]
    }

    /// Copies the six columns of a joint, out of the triangle.
    fn gather(&mut self, first: usize) {
        let at = self.position[first];
        for k in 0..6 {
            let place = at + k;
            for i in 0..self.stride {
                self.columns[k][i] = self.entry(i, place);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two springs in a row from ground: coordinates are the two node positions.
    fn chain() -> Condensed {
        // k1 = 10 to ground, k2 = 5 between: compliance [[0.1, 0.1], [0.1, 0.3]].
        Condensed::new(2, vec![0.1, 0.1, 0.1, 0.3])
    }

    fn close(a: f64, b: f64) -> bool {
        a.is_finite() && b.is_finite() && (a - b).abs() <= 1e-12 * a.abs().max(b.abs()).max(1.0)
    }

    #[test]
    fn a_spring_added_then_loaded_shares_the_load() {
        for order in [[0, 1], [1, 0]] {
            let mut stage = Stage::new(&chain(), &order);
            // A spring of 5 from the far node to ground, beside 10 and 5 in a row (10/3).
            stage.stiffen(&[(1, 1.0)], 5.0);
            let moved = stage.push(&[(1, 1.0)], 1.0);
            assert!(close(moved, 1.0 / (5.0 + 10.0 / 3.0)), "{moved}");
            assert!(close(stage.moved(1), moved));
            assert!(close(stage.moved(0), moved / 3.0));
        }
    }

    #[test]
    fn a_spring_taken_away_again_leaves_no_trace() {
        let mut stage = Stage::new(&chain(), &[0, 1]);
        stage.stiffen(&[(0, 1.0), (1, -1.0)], 7.0);
        stage.stiffen(&[(0, 1.0), (1, -1.0)], -7.0);
        assert!(close(stage.push(&[(1, 1.0)], 1.0), 0.3));
    }

    #[test]
    fn a_joint_changed_at_once_is_the_joint_changed_spring_by_spring() {
        // Seven coordinates with a compliance that is symmetric and positive: a joint and one outside it.
        let size = 7;
        let entry = |i: usize, j: usize| {
            if i == j {
                2.0 + i as f64
            } else {
                0.3 / (1.0 + i.abs_diff(j) as f64)
            }
        };
        let compliance = (0..size * size)
            .map(|k| entry(k / size, k % size))
            .collect();
        let condensed = Condensed::new(size, compliance);
        let order: Vec<usize> = (0..size).rev().collect();
        let directions = [
            [(0, 1.0), (4, 0.5)].as_slice(),
            &[(1, 0.7), (2, -0.2), (3, 0.4)],
            &[(5, 1.0)],
        ];
        let (mut slow, mut fast) = (
            Stage::new(&condensed, &order),
            Stage::new(&condensed, &[6, 0, 1, 2, 3, 4, 5]),
        );
        let mut change = [[0.0; 6]; 6];
        for (direction, stiffness) in directions.into_iter().zip([3.0, 0.5, -0.1]) {
            slow.stiffen(direction, stiffness);
            for &(i, a) in direction {
                for &(j, b) in direction {
                    change[i][j] += stiffness * a * b;
                }
            }
        }
        let own = fast.stiffen_joint(0, &change);
        assert!(close(own[0][0], slow.respond(&[(0, 1.0)])));
        fast.push_joint(0, &[0.0, 2.0, 0.0, 0.0, 0.0, -1.0]);
        slow.push(&[(1, 1.0)], 2.0);
        slow.push(&[(5, 1.0)], -1.0);
        for coordinate in 0..size {
            assert!(
                close(fast.moved(coordinate), slow.moved(coordinate)),
                "{coordinate}"
            );
        }
    }
}
