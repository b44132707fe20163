//! The diffusion film of a stirred liquid as a diffusivity that grows with the distance `s` from the wall:
//!
//! ```text
//! D_e = D (1 + (s / y0)^3)      y0 = 3 sqrt(3) delta / (2 pi)
//! F(s) = integral_0^s D/D_e dy = y0 [ln((1 + t)^2 / (t^2 - t + 1)) / 6 + (atan((2 t - 1) / sqrt(3)) + pi/6) / sqrt(3)]
//! ```
//! with `t = s / y0`, so that a flat plate in the open has exactly the film `delta = F(infinity)`: the
//! cube is how turbulence dies out towards a wall. Where nothing stirs, `s` is negative: as far as
//! the stirred liquid is away, `D_e = D`, `F(s) = s`.

use std::f64::consts::PI;

/// Square root of three.
const ROOT_3: f64 = 1.732_050_807_568_877_2;

/// A film of the thickness that a limiting current belongs to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EddyFilm {
    /// Thickness `delta`, m.
    pub thickness_m: f64,
    y0_m: f64,
}

impl EddyFilm {
    pub fn new(thickness_m: f64) -> Self {
        Self {
            thickness_m,
            y0_m: 3.0 * ROOT_3 * thickness_m / (2.0 * PI),
        }
    }

    /// `F(s)`: the thickness of liquid at rest that resists as much, m.
    pub fn resting_m(&self, s_m: f64) -> f64 {
        if s_m <= 0.0 {
            return s_m;
        }
        let t = s_m / self.y0_m;
        let log = ((1.0 + t).powi(2) / (t * t - t + 1.0)).ln() / 6.0;
        let angle = ((2.0 * t - 1.0) / ROOT_3).atan() + PI / 6.0;
        self.y0_m * (log + angle / ROOT_3)
    }

    /// Mean of `D_e / D` (as of resistances in series) on a way along which `s` goes evenly from one
    /// value to another.
    pub fn along(&self, from_m: f64, to_m: f64) -> f64 {
        let way = to_m - from_m;
        if way.abs() > 1e-3 * self.y0_m {
            way / (self.resting_m(to_m) - self.resting_m(from_m))
        } else {
            let t = (0.5 * (from_m + to_m) / self.y0_m).max(0.0);
            1.0 + t.powi(3)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The closed form against the integral itself, and all of it is the film.
    #[test]
    fn resists_as_much_as_the_film() {
        let film = EddyFilm::new(5e-5);
        for s in [1e-5, 4e-5, 2e-4] {
            let steps = 20_000;
            let dy = s / f64::from(steps);
            let at =
                |k: i32| 1.0 / film.along((f64::from(k) + 0.5) * dy, (f64::from(k) + 0.5) * dy);
            let sum: f64 = (0..steps).map(at).sum();
            assert_relative_eq!(film.resting_m(s), sum * dy, max_relative = 1e-8);
        }
        assert_relative_eq!(film.resting_m(1.0), 5e-5, max_relative = 1e-8);
        assert_relative_eq!(film.resting_m(-2e-4), -2e-4);
    }

    /// Half of a way at rest, half through the film.
    #[test]
    fn a_way_into_the_stirred_liquid() {
        let film = EddyFilm::new(5e-5);
        let resistance_m = 0.02 / film.along(-0.01, 0.01);
        assert_relative_eq!(
            resistance_m,
            0.01 + film.resting_m(0.01),
            max_relative = 1e-12
        );
        assert_relative_eq!(film.along(-0.3, -0.1), 1.0, max_relative = 1e-12);
        assert_relative_eq!(
            film.along(1e-4, 1e-4),
            film.along(0.99e-4, 1.01e-4),
            max_relative = 1e-3
        );
    }
}
