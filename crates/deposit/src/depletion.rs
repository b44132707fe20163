//! How far the metal in front of a facet is used up: burning needs time.
//!
//! A film of thickness `d` between the stirred bath and the surface does not empty at once. Under a
//! current density `i(t)` the concentration at the surface falls by the share `s` of that of the bath
//! (diffusion through a film whose outer side is kept at the bath's concentration):
//!
//! ```text
//! s(t) = integral of (i / i_L)'(t') f(t - t') dt'
//! f(t) = 1 - sum_n a_n exp(-t / t_n)      a_n = 8 / ((2 n + 1)^2 pi^2),   t_n = 4 d^2 / ((2 n + 1)^2 pi^2 D)
//! ```
//! At rest `s = i / i_L`, the share of the limiting current; long before, `f = 2 sqrt(D t / (pi d^2))`, and
//! `s = 1` after `t = pi D (z F c / (2 i))^2`, the transition time of H. J. S. Sand (Phil. Mag. 1 (1901) 45, from
//! memory; derived again by a test). Every term of the sum is a share that follows the current with its own
//! delay, so all that is kept of the past is a number for each. The last term stands for all that come after.
//! `d = z F D c / i_L` belongs to the limiting current, whoever says it.

use ionfall_bath::{Electrolyte, constants::FARADAY_C_PER_MOL};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Terms of the sum: Sand's time is within 1 % up to five times the limiting current.
const COUNT: usize = 8;

/// Weight and delay, over `d^2 / D`, of each term.
const TERMS: [(f64, f64); COUNT] = {
    let (mut terms, mut left, mut n) = ([(0.0, 0.0); COUNT], 1.0, 0);
    while n < COUNT {
        let odd = (2 * n + 1) as f64 * PI;
        let weight = if n + 1 == COUNT {
            left
        } else {
            8.0 / (odd * odd)
        };
        terms[n] = (weight, 4.0 / (odd * odd));
        left -= weight;
        n += 1;
    }
    terms
};

/// The share that is used up in front of a facet, term by term.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Depletion([f64; COUNT]);

impl Depletion {
    /// The share that is used up now.
    pub fn share(&self) -> f64 {
        self.0.iter().sum()
    }

    /// After `dt_s` seconds in which the share of the limiting current went evenly from one value to
    /// another; `film_s` is `d^2 / D`, nought for a film that follows at once.
    pub fn advance(&mut self, film_s: f64, [from, to]: [f64; 2], dt_s: f64) {
        for (held, (weight, delay)) in self.0.iter_mut().zip(TERMS) {
            let delays = dt_s / (film_s * delay);
            *held = if film_s <= 0.0 {
                weight * to
            } else if delays > 0.0 {
                let (kept, lag) = ((-delays).exp(), -(-delays).exp_m1() / delays);
                weight * to + (*held - weight * from) * kept - weight * (to - from) * lag
            } else {
                *held
            };
        }
    }
}

/// `d^2 / D`, s, of the film that belongs to a limiting current density, A/m2; nought where the bath
/// does not say how much metal diffuses how fast.
pub(crate) fn film_s(bath: &Electrolyte, limit_a_per_m2: f64) -> f64 {
    let (Some(concentration), Some(diffusion)) = (bath.concentration, bath.diffusion) else {
        return 0.0;
    };
    let charge = bath.metal.electrons_per_atom.value * FARADAY_C_PER_MOL * concentration.value;
    diffusion.value * (charge / limit_a_per_m2).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Sand's time over that of the film is `(pi / 4) (i_L / i)^2`.
    #[test]
    fn the_surface_is_empty_after_sands_time() {
        for times in [2.0, 3.0, 5.0] {
            let sand_s = PI / 4.0 / (times * times);
            let mut depletion = Depletion::default();
            depletion.advance(1.0, [times, times], sand_s);
            assert_relative_eq!(depletion.share(), 1.0, max_relative = 1e-2);
        }
    }

    /// One long step is many short ones, and in the end the share of the limiting current stands.
    #[test]
    fn steps_add_up_and_come_to_rest() {
        let mut whole = Depletion::default();
        whole.advance(7.5, [0.2, 0.8], 10.0);
        let mut parts = Depletion::default();
        for n in 0..40 {
            let at = |k: usize| 0.2 + 0.6 * k as f64 / 40.0;
            parts.advance(7.5, [at(n), at(n + 1)], 0.25);
        }
        assert_relative_eq!(whole.share(), parts.share(), max_relative = 1e-12);
        whole.advance(7.5, [0.8, 0.8], 1e4);
        assert_relative_eq!(whole.share(), 0.8, max_relative = 1e-12);
        whole.advance(7.5, [0.1, 0.1], 0.0);
        assert_relative_eq!(whole.share(), 0.8, max_relative = 1e-12);
        let mut at_once = Depletion::default();
        at_once.advance(0.0, [0.3, 0.4], 1.0);
        assert_relative_eq!(at_once.share(), 0.4, max_relative = 1e-12);
    }

    /// Against the series itself, long and short after a current is switched on.
    #[test]
    fn follows_the_film() {
        for t in [0.02, 0.1, 0.5, 2.0_f64] {
            let exact: f64 = 1.0
                - (0..400)
                    .map(|n| {
                        let odd = ((2 * n + 1) as f64 * PI).powi(2);
                        8.0 / odd * (-t * odd / 4.0).exp()
                    })
                    .sum::<f64>();
            let mut depletion = Depletion::default();
            depletion.advance(1.0, [1.0, 1.0], t);
            assert_relative_eq!(depletion.share(), exact, max_relative = 5e-3);
        }
    }
}
