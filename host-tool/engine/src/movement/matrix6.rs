//! Arithmetic of 6 by 6 matrices: what a joint's two sides do to each other.

/// A joint's own stiffness or compliance.
pub type Matrix6 = [[f64; 6]; 6];

pub(super) fn times(a: &Matrix6, b: &Matrix6) -> Matrix6 {
    let mut product = [[0.0; 6]; 6];
    for (row, a) in product.iter_mut().zip(a) {
        for (a, b) in a.iter().zip(b) {
            row.iter_mut().zip(b).for_each(|(entry, b)| *entry += a * b);
        }
    }
    product
}

pub(super) fn plus_one(a: &Matrix6) -> Matrix6 {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] + f64::from(i == j)))
}

/// By elimination with the largest pivot of each column. What is inverted here is one plus the product of a
/// compliance and a stiffness, which has no zero eigenvalue as long as the structure stands.
pub(super) fn inverse(a: &Matrix6) -> Matrix6 {
    let mut left = *a;
    let mut right: Matrix6 = plus_one(&[[0.0; 6]; 6]);
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
