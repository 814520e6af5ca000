//! Roots and inverses of small covariance matrices.
//!
//! Own arithmetic in a fixed order, where a library would do, because general ones pick their instructions by the processor
//! and then give other bits on another machine. Matrices here have at most a few hundred rows. Knows nothing of poles.

use crate::maths::ln;

/// A square matrix by rows.
pub(super) type Matrix = Vec<Vec<f64>>;

/// The lower triangle whose product with its transpose is a symmetric positive matrix.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Root(Matrix);

impl Root {
    /// Of a matrix; `None` unless every pivot is greater than `least`.
    pub(super) fn of(matrix: &Matrix, least: f64) -> Option<Self> {
        let mut lower: Matrix = vec![vec![0.0; matrix.len()]; matrix.len()];
        for row in 0..matrix.len() {
            for column in 0..=row {
                let rest = matrix[row][column] - dot(&lower[row], &lower[column], column);
                if row == column {
                    if rest <= least {
                        return None;
                    }
                    lower[row][row] = rest.sqrt();
                } else {
                    lower[row][column] = rest / lower[column][column];
                }
            }
        }
        Some(Self(lower))
    }

    /// The solution `x` of `matrix x = right`.
    pub(super) fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut x = right.to_vec();
        for row in 0..x.len() {
            x[row] = (x[row] - dot(&self.0[row], &x, row)) / self.0[row][row];
        }
        self.back(&mut x);
        x
    }

    /// The solution `x` of `root' x = right`: of independent normal numbers, numbers whose precision is the matrix.
    pub(super) fn solve_transposed(&self, right: &[f64]) -> Vec<f64> {
        let mut x = right.to_vec();
        self.back(&mut x);
        x
    }

    fn back(&self, x: &mut [f64]) {
        for row in (0..x.len()).rev() {
            let later: f64 = (row + 1..x.len()).map(|k| self.0[k][row] * x[k]).sum();
            x[row] = (x[row] - later) / self.0[row][row];
        }
    }

    /// ln of the matrix's determinant.
    pub(super) fn ln_determinant(&self) -> f64 {
        let pivots = self.0.iter().enumerate();
        2.0 * pivots.map(|(row, own)| ln(own[row])).sum::<f64>()
    }

    /// The matrix's inverse.
    pub(super) fn inverse(&self) -> Matrix {
        let count = self.0.len();
        (0..count)
            .map(|column| {
                let unit: Vec<f64> = (0..count)
                    .map(|row| f64::from(u8::from(row == column)))
                    .collect();
                self.solve(&unit)
            })
            .collect()
    }
}

fn dot(left: &[f64], right: &[f64], upto: usize) -> f64 {
    left.iter()
        .zip(right)
        .take(upto)
        .map(|(one, other)| one * other)
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rounding of sums of products of order one.
    const ROUNDING: f64 = 1e-12;

    #[test]
    fn a_root_solves_and_inverts_as_in_the_textbook() {
        // [[4, 2], [2, 3]]: determinant 8, inverse [[3, -2], [-2, 4]] / 8.
        let matrix = vec![vec![4.0, 2.0], vec![2.0, 3.0]];
        let root = Root::of(&matrix, 0.0).expect("positive");
        let expected = [[0.375, -0.25], [-0.25, 0.5]];
        for (row, known) in root.inverse().iter().zip(expected) {
            for (value, known) in row.iter().zip(known) {
                assert!((value - known).abs() < ROUNDING);
            }
        }
        // 4 x 1 + 2 x -1 = 2 and 2 x 1 + 3 x -1 = -1.
        let x = root.solve(&[2.0, -1.0]);
        assert!((x[0] - 1.0).abs() < ROUNDING && (x[1] + 1.0).abs() < ROUNDING);
        assert!((root.ln_determinant() - ln(8.0)).abs() < ROUNDING);
        // The root is [[2, 0], [1, sqrt 2]]: 2 x + y = 5 and sqrt 2 y = sqrt 2 give 2 and 1.
        let x = root.solve_transposed(&[5.0, f64::sqrt(2.0)]);
        assert!((x[0] - 2.0).abs() < ROUNDING && (x[1] - 1.0).abs() < ROUNDING);
    }

    #[test]
    fn a_matrix_that_is_no_covariance_has_no_root() {
        assert_eq!(Root::of(&vec![vec![1.0, 2.0], vec![2.0, 1.0]], 0.0), None);
    }
}
