//! Algebra of the few figures that describe a job: symmetric matrices of four or five
//! rows. A linear algebra crate would bring more code than this file saves.

/// A symmetric matrix.
pub(super) type Matrix<const N: usize> = [[f64; N]; N];

/// The least pivot that is believed; below it rounding has eaten the figure.
const PIVOT_MIN: f64 = 1e-12;

/// Inner product.
pub(super) fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Matrix times vector.
pub(super) fn times<const N: usize>(matrix: &Matrix<N>, vector: &[f64; N]) -> [f64; N] {
    std::array::from_fn(|row| dot(&matrix[row], vector))
}

/// Inverse and logarithm of the determinant of a positive definite matrix, by the
/// decomposition of Cholesky.
pub(super) fn inverse<const N: usize>(matrix: &Matrix<N>) -> (Matrix<N>, f64) {
    let mut lower = [[0.0; N]; N];
    let mut ln_determinant = 0.0;
    for row in 0..N {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let rest = matrix[row][column] - known;
            lower[row][column] = if row == column {
                rest.max(PIVOT_MIN).sqrt()
            } else {
                rest / lower[column][column]
            };
        }
        ln_determinant += 2.0 * lower[row][row].ln();
    }
    let mut inverse = [[0.0; N]; N];
    #[expect(
        clippy::needless_range_loop,
        reason = "a column is no slice of the rows that the matrix is made of"
    )]
    for column in 0..N {
        let mut forward = [0.0; N];
        for row in column..N {
            let known: f64 = (column..row).map(|k| lower[row][k] * forward[k]).sum();
            forward[row] = (f64::from(u8::from(row == column)) - known) / lower[row][row];
        }
        for row in (0..N).rev() {
            let known: f64 = (row + 1..N)
                .map(|k| lower[k][row] * inverse[k][column])
                .sum();
            inverse[row][column] = (forward[row] - known) / lower[row][row];
        }
    }
    (inverse, ln_determinant)
}

#[cfg(test)]
mod tests {
    use super::{dot, inverse, times};

    #[test]
    fn a_matrix_times_its_inverse_is_one() {
        let matrix = [[4.0, 1.0, 0.5], [1.0, 3.0, 0.2], [0.5, 0.2, 2.0]];
        let (inverted, ln_determinant) = inverse(&matrix);
        for (at, row) in matrix.iter().enumerate() {
            let product = times(&inverted, row);
            for (column, value) in product.iter().enumerate() {
                let one = f64::from(u8::from(at == column));
                assert!((value - one).abs() < 1e-12, "{product:?}");
            }
        }
        // By the rule of Sarrus.
        let determinant: f64 = 24.0 + 0.1 + 0.1 - 0.75 - 0.16 - 2.0;
        assert!((ln_determinant - determinant.ln()).abs() < 1e-12);
        assert_eq!(dot(&[1.0, 2.0], &[3.0, 4.0]), 11.0);
    }
}
