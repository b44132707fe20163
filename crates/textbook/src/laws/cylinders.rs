//! Round cylinders and spheres.
//!
//! Concentric: `R L = ln(b/a)/(2 pi kappa)` of cylinders, `R = (1/a - 1/b)/(4 pi kappa)` of
//! spheres (standard potential theory).
//!
//! Eccentric: bipolar coordinates with focal half distance `c`; the circles are `tau1 = asinh(c/r1)`
//! and `tau2 = asinh(c/r2)`. Primary: `i = kappa V (cosh tau - cos sigma)/(c (tau1 - tau2))`
//! (standard potential theory). With kinetics the potential on the inner circle is a cosine series
//! in `sigma`; the exact map to the normal derivative takes `cos k sigma` to
//! `k coth(k (tau1 - tau2)) cos k sigma`, and Newton finds the coefficients (own derivation).

use ionfall_numerics::dense::pivoted;
use std::f64::consts::PI;

/// Two circles, one in the other, their centres on the x axis.
#[derive(Clone, Copy, Debug)]
pub struct Eccentric {
    c: f64,
    tau: [f64; 2],
    /// Distance of the outer centre (the origin) from the radical axis.
    reach: f64,
}

impl Eccentric {
    /// Of radius `inner`, its centre at x = `offset`, in a circle of radius `outer` around the
    /// origin; metres.
    pub fn new(inner: f64, outer: f64, offset: f64) -> Self {
        let reach = (outer * outer - inner * inner + offset * offset) / (2.0 * offset);
        let c = ((reach - offset).powi(2) - inner * inner).sqrt();
        Self {
            c,
            tau: [(c / inner).asinh(), (c / outer).asinh()],
            reach,
        }
    }

    /// `cosh tau1 - cos sigma` at a point of the inner circle.
    fn metric(&self, x: f64) -> f64 {
        self.c * self.tau[0].sinh() / (self.reach - x)
    }

    /// Primary current density on the inner circle where its abscissa is `x`, A/m2.
    pub fn primary(&self, kappa_s_per_m: f64, volts: f64, x: f64) -> f64 {
        kappa_s_per_m * volts * self.metric(x) / (self.c * (self.tau[0] - self.tau[1]))
    }

    /// The bipolar angle sigma of a point of the inner circle.
    fn sigma(&self, x: f64) -> f64 {
        (self.tau[0].cosh() - self.metric(x))
            .clamp(-1.0, 1.0)
            .acos()
    }

    /// Current density on the inner circle under a law: potential in front of it (V) to current
    /// density (A/m2) and its slope. The outer circle is at `volts`. Gives abscissa to A/m2.
    pub fn secondary(
        self,
        kappa_s_per_m: f64,
        volts: f64,
        law: impl Fn(f64) -> (f64, f64),
    ) -> impl Fn(f64) -> f64 {
        const M: usize = 48;
        let [t1, t2] = self.tau;
        let width = t1 - t2;
        let sigma: Vec<f64> = (0..M).map(|j| PI * (j as f64 + 0.5) / M as f64).collect();
        // phi(sigma) = sum a_k cos k sigma on the inner circle, V on the outer one.
        let slope = |k: usize| {
            if k == 0 {
                1.0 / width
            } else {
                k as f64 / (k as f64 * width).tanh()
            }
        };
        let mut a = vec![0.0; M];
        a[0] = 0.5 * volts;
        for _ in 0..60 {
            let mut system: Vec<Vec<f64>> = Vec::new();
            let mut off = 0.0f64;
            for &s in &sigma {
                let stretch = kappa_s_per_m * (t1.cosh() - s.cos()) / self.c;
                let phi: f64 = (0..M).map(|k| a[k] * (k as f64 * s).cos()).sum();
                let inward: f64 = (0..M)
                    .map(|k| {
                        let above = if k == 0 { a[0] - volts } else { a[k] };
                        -slope(k) * above * (k as f64 * s).cos()
                    })
                    .sum();
                let (i, di) = law(phi);
                let residual = stretch * inward - i;
                off = off.max(residual.abs());
                let mut row: Vec<f64> = (0..M)
                    .map(|k| (-stretch * slope(k) - di) * (k as f64 * s).cos())
                    .collect();
                row.push(-residual);
                system.push(row);
            }
            let step = pivoted(&mut system);
            for (a, d) in a.iter_mut().zip(&step) {
                *a += d.clamp(-0.1, 0.1);
            }
            if off < 1e-9 {
                break;
            }
        }
        let values: Vec<f64> = a;
        let current: Vec<f64> = sigma
            .iter()
            .map(|s| {
                let phi: f64 = (0..M).map(|k| values[k] * (k as f64 * s).cos()).sum();
                law(phi).0
            })
            .collect();
        // The current as a cosine series of its own, from its values at the collocation points.
        let series: Vec<f64> = (0..M)
            .map(|k| {
                let sum: f64 = (sigma.iter().zip(&current))
                    .map(|(s, i)| i * (k as f64 * s).cos())
                    .sum();
                sum * if k == 0 { 1.0 } else { 2.0 } / M as f64
            })
            .collect();
        move |x| {
            let s = self.sigma(x);
            (0..M).map(|k| series[k] * (k as f64 * s).cos()).sum()
        }
    }
}

/// A linear law: ohm m2 to current density and slope.
pub fn linear(resistance_ohm_m2: f64) -> impl Fn(f64) -> (f64, f64) {
    move |phi| (phi / resistance_ohm_m2, 1.0 / resistance_ohm_m2)
}

/// A Tafel law: exchange current density (A/m2) and slope (V per factor e).
pub fn tafel(exchange_a_per_m2: f64, slope_v: f64) -> impl Fn(f64) -> (f64, f64) {
    move |phi| {
        let i = exchange_a_per_m2 * (phi / slope_v).exp();
        (i, i / slope_v)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::expected;
    use approx::assert_relative_eq;

    /// The formulae give the values of the table.
    #[test]
    fn tied_to_the_table() {
        let pair = Eccentric::new(0.01, 0.04, 0.02);
        for (x, place) in [(0.03, "nearest"), (0.01, "farthest")] {
            let stated = expected("P03", "current density", place);
            assert_relative_eq!(pair.primary(10.0, 0.5, x), stated, max_relative = 1e-9);
        }
        let nearest = |law: &str| {
            expected(
                "S04",
                "current density",
                &format!("inner, nearest point; {law}"),
            )
        };
        for (r, law) in [
            (2e-4, "R_ct = 0.0002"),
            (1e-3, "R_ct = 0.001"),
            (5e-3, "R_ct = 0.005"),
        ] {
            let found = pair.secondary(10.0, 0.5, linear(r))(0.03);
            assert_relative_eq!(found, nearest(law), max_relative = 1e-7);
        }
        let found = pair.secondary(10.0, 0.5, tafel(1.0, 0.05))(0.03);
        assert_relative_eq!(found, nearest("Tafel"), max_relative = 1e-7);
    }
}
