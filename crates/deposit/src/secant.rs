//! One equation for one unknown, by secants.

/// Bounds of a believable slope, as a share of the guessed one.
const SLOPES: (f64, f64) = (0.01, 20.0);

/// Seeks the zero of a residual that grows with its unknown.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Secant {
    /// The last unknown with its residual.
    last: Option<(f64, f64)>,
}

impl Secant {
    /// The next unknown, after one and its residual. `guess` is the slope taken where the last two
    /// tell none that can be believed.
    pub fn next(&mut self, at: f64, residual: f64, guess: f64) -> f64 {
        let slope = self.last.map_or(guess, |(x, r)| (residual - r) / (at - x));
        let sane = slope >= SLOPES.0 * guess && slope <= SLOPES.1 * guess;
        self.last = Some((at, residual));
        at - residual / if sane { slope } else { guess }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Solves made until the residual is small.
    fn rounds(residual: impl Fn(f64) -> f64, mut at: f64) -> usize {
        let mut secant = Secant::default();
        for n in 1..40 {
            let r = residual(at);
            if r.abs() < 1e-9 {
                return n;
            }
            at = secant.next(at, r, 1.0);
        }
        40
    }

    #[test]
    fn a_straight_line_takes_three_rounds() {
        // The first steps by the guess, the second by the true slope.
        assert_eq!(rounds(|x| 0.3 * x - 1.2, 1.0), 3);
        assert_eq!(rounds(|x| x - 1.2, 7.0), 2);
    }

    #[test]
    fn a_curve_takes_a_few() {
        assert!(rounds(|x: f64| x.sinh() - 2.0, 0.0) <= 9);
    }

    #[test]
    fn a_repeated_unknown_does_no_harm() {
        let mut secant = Secant::default();
        secant.next(1.0, 0.5, 1.0);
        assert!(secant.next(1.0, 0.5, 1.0).is_finite());
    }
}
