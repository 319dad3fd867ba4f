//! Vectors of three and matrices of six by six: the small algebra that the beam solver and the movement share.
//!
//! To change with care: sums here run in a fixed order, and every predicted number depends on it to the last digit.

/// A vector in space: x, y, z.
pub(crate) type Vector3 = [f64; 3];
/// Displacements or forces of one node or joint: along x, y, z, then about them.
pub(crate) type Vector6 = [f64; 6];
/// A six by six matrix by rows: a joint's own stiffness or compliance.
pub(crate) type Matrix6 = [[f64; 6]; 6];

/// Scalar product.
#[inline]
pub(crate) fn dot(a: Vector3, b: Vector3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Vector product, right-handed.
#[inline]
pub(crate) fn cross(a: Vector3, b: Vector3) -> Vector3 {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Difference of two points.
#[inline]
pub(crate) fn from_to(from: Vector3, to: Vector3) -> Vector3 {
    [to[0] - from[0], to[1] - from[1], to[2] - from[2]]
}

/// Length of a vector.
#[inline]
pub(crate) fn norm(a: Vector3) -> f64 {
    dot(a, a).sqrt()
}

/// Length of a vector, safe from overflow of the squares.
#[inline]
pub(crate) fn hypot3(a: Vector3) -> f64 {
    a[0].hypot(a[1]).hypot(a[2])
}

/// Solves three equations, given by the columns of their matrix (Cramer's rule).
pub(crate) fn solve3(columns: &[Vector3; 3], right: Vector3) -> Vector3 {
    let [a, b, c] = *columns;
    let determinant = dot(a, cross(b, c));
    [
        dot(right, cross(b, c)),
        dot(a, cross(right, c)),
        dot(a, cross(b, right)),
    ]
    .map(|one| one / determinant)
}

/// Adds a vector of six.
#[inline]
pub(crate) fn add6(sum: &mut Vector6, more: &Vector6) {
    sum.iter_mut().zip(more).for_each(|(s, m)| *s += m);
}

/// Scalar product of six.
#[inline]
pub(crate) fn dot6(a: &Vector6, b: &Vector6) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// A · B
#[inline]
pub(crate) fn product(a: &Matrix6, b: &Matrix6) -> Matrix6 {
    let mut product = [[0.0; 6]; 6];
    for (row, a) in product.iter_mut().zip(a) {
        for (a, b) in a.iter().zip(b) {
            row.iter_mut().zip(b).for_each(|(entry, b)| *entry += a * b);
        }
    }
    product
}

/// A − B
#[inline]
pub(crate) fn difference(a: &Matrix6, b: &Matrix6) -> Matrix6 {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] - b[i][j]))
}

/// 1 + A
#[inline]
pub(crate) fn plus_identity(a: &Matrix6) -> Matrix6 {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] + f64::from(i == j)))
}

/// A⁻¹ by elimination with the largest pivot of each column (Gauss and Jordan). A must not be singular.
pub(crate) fn inverse(a: &Matrix6) -> Matrix6 {
    let mut left = *a;
    let mut right: Matrix6 = plus_identity(&[[0.0; 6]; 6]);
    for column in 0..6 {
        let pivot = (column..6)
            .max_by(|&i, &j| left[i][column].abs().total_cmp(&left[j][column].abs()))
            .unwrap_or(column);
        left.swap(column, pivot);
        right.swap(column, pivot);
        let scale = 1.0 / left[column][column];
        left[column]
            .iter_mut()
            .chain(&mut right[column])
            .for_each(|entry| *entry *= scale);
        for row in (0..6).filter(|&row| row != column) {
            let factor = left[row][column];
            for k in 0..6 {
                left[row][k] -= factor * left[column][k];
                right[row][k] -= factor * right[column][k];
            }
        }
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_equations_are_solved_by_their_columns() {
        let columns = [[2.0, 0.0, 1.0], [1.0, 3.0, 0.0], [0.0, 1.0, 4.0]];
        let x = solve3(&columns, [4.0, 9.0, 13.0]);
        for (k, right) in [4.0, 9.0, 13.0].into_iter().enumerate() {
            let left: f64 = (0..3).map(|j| columns[j][k] * x[j]).sum();
            assert!((left - right).abs() < 1e-12, "{x:?}");
        }
    }

    #[test]
    fn a_matrix_times_its_inverse_is_one() {
        let a: Matrix6 = std::array::from_fn(|i| {
            std::array::from_fn(|j| {
                if i == j {
                    5.0
                } else {
                    1.0 / (1.0 + (i + 2 * j) as f64)
                }
            })
        });
        let one = product(&a, &inverse(&a));
        for (i, row) in one.iter().enumerate() {
            for (j, entry) in row.iter().enumerate() {
                assert!((entry - f64::from(i == j)).abs() < 1e-12, "{one:?}");
            }
        }
    }
}
