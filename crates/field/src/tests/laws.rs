//! Electrode laws for the tests, and tests of the element of law and resistance.

use crate::law::{Law, Response};
use approx::assert_relative_eq;
use proptest::prelude::*;

/// The metal's surface is at one potential, whatever the current.
#[derive(Debug)]
pub struct Equipotential;

impl Law for Equipotential {
    fn at_drop(&self, drop_v: f64) -> Response {
        Response {
            current_a_per_m2: if drop_v == 0.0 {
                0.0
            } else {
                drop_v * f64::INFINITY
            },
            slope_s_per_m2: f64::INFINITY,
        }
    }

    fn drop_at(&self, _: f64) -> f64 {
        0.0
    }

    fn respond(&self, drive_v: f64, series_ohm_m2: f64) -> Response {
        Response {
            current_a_per_m2: drive_v / series_ohm_m2,
            slope_s_per_m2: 1.0 / series_ohm_m2,
        }
    }
}

/// `i = slope (drop - rest)`.
#[derive(Debug)]
pub struct Linear {
    pub slope_s_per_m2: f64,
    pub rest_v: f64,
}

impl Law for Linear {
    fn at_drop(&self, drop_v: f64) -> Response {
        Response {
            current_a_per_m2: self.slope_s_per_m2 * (drop_v - self.rest_v),
            slope_s_per_m2: self.slope_s_per_m2,
        }
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        self.rest_v + current_a_per_m2 / self.slope_s_per_m2
    }
}

/// Cathodic Tafel law `i = -i0 exp(-drop / b)`: never zero.
#[derive(Debug)]
pub struct Tafel {
    pub exchange_a_per_m2: f64,
    pub slope_v: f64,
}

impl Law for Tafel {
    fn at_drop(&self, drop_v: f64) -> Response {
        let i = self.exchange_a_per_m2 * (-drop_v / self.slope_v).exp();
        Response {
            current_a_per_m2: -i,
            slope_s_per_m2: i / self.slope_v,
        }
    }

    fn range_a_per_m2(&self) -> (f64, f64) {
        (f64::NEG_INFINITY, 0.0)
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        -self.slope_v * (-current_a_per_m2 / self.exchange_a_per_m2).ln()
    }
}

/// Symmetric Butler-Volmer law, `i = 2 i0 sinh(drop / b)`.
#[derive(Debug)]
pub struct ButlerVolmer {
    pub exchange_a_per_m2: f64,
    pub slope_v: f64,
}

impl Law for ButlerVolmer {
    fn at_drop(&self, drop_v: f64) -> Response {
        let e = drop_v / self.slope_v;
        Response {
            current_a_per_m2: 2.0 * self.exchange_a_per_m2 * e.sinh(),
            slope_s_per_m2: 2.0 * self.exchange_a_per_m2 / self.slope_v * e.cosh(),
        }
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        self.slope_v * (0.5 * current_a_per_m2 / self.exchange_a_per_m2).asinh()
    }
}

/// Butler-Volmer with a cathodic limiting current,
/// `i = i0 (e - 1/e) / (1 + (i0 / limit) / e)`, `e = exp(drop / b)`.
#[derive(Debug)]
pub struct Limited {
    pub exchange_a_per_m2: f64,
    pub slope_v: f64,
    pub limit_a_per_m2: f64,
}

impl Law for Limited {
    fn at_drop(&self, drop_v: f64) -> Response {
        let (i0, b) = (self.exchange_a_per_m2, self.slope_v);
        let share = i0 / self.limit_a_per_m2;
        if drop_v >= 0.0 {
            let e = (drop_v / b).exp();
            let below = 1.0 + share / e;
            let i = 2.0 * i0 * (drop_v / b).sinh() / below;
            Response {
                current_a_per_m2: i,
                slope_s_per_m2: (i0 * (e + 1.0 / e) / below + i * share / e / below) / b,
            }
        } else {
            // Multiplied by e, which is small here.
            let e = (drop_v / b).exp();
            let below = e + share;
            let i = i0 * (2.0 * drop_v / b).exp_m1() / below;
            Response {
                current_a_per_m2: i,
                slope_s_per_m2: (2.0 * i0 * e - i) * e / below / b,
            }
        }
    }

    fn range_a_per_m2(&self) -> (f64, f64) {
        (-self.limit_a_per_m2, f64::INFINITY)
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        // i0 e^2 - i e - i0 - i share = 0 for e = exp(drop / b), by the stable root.
        let (i0, i) = (self.exchange_a_per_m2, current_a_per_m2);
        let c = i0 + i * i0 / self.limit_a_per_m2;
        let root = (i * i + 4.0 * i0 * c).sqrt();
        let e = if i >= 0.0 {
            (i + root) / (2.0 * i0)
        } else {
            2.0 * c / (root - i)
        };
        self.slope_v * e.ln()
    }
}

/// One of each, at sizes met in practice.
pub fn all() -> Vec<Box<dyn Law>> {
    vec![
        Box::new(Linear {
            slope_s_per_m2: 300.0,
            rest_v: 0.2,
        }),
        Box::new(Tafel {
            exchange_a_per_m2: 0.5,
            slope_v: 0.05,
        }),
        Box::new(ButlerVolmer {
            exchange_a_per_m2: 2.0,
            slope_v: 0.03,
        }),
        Box::new(Limited {
            exchange_a_per_m2: 1.0,
            slope_v: 0.026,
            limit_a_per_m2: 400.0,
        }),
    ]
}

#[test]
fn laws_are_inverse_and_slopes_are_derivatives() {
    for law in all() {
        for i in [-390.0, -80.0, -1.0, -1e-3] {
            let drop = law.drop_at(i);
            assert_relative_eq!(law.at_drop(drop).current_a_per_m2, i, max_relative = 1e-9);
        }
        for drop in [-0.4, -0.11, -0.003, 0.0, 0.02, 0.3] {
            let h = 1e-6;
            let (up, down) = (law.at_drop(drop + h), law.at_drop(drop - h));
            let difference = (up.current_a_per_m2 - down.current_a_per_m2) / (2.0 * h);
            let slope = law.at_drop(drop).slope_s_per_m2;
            assert_relative_eq!(slope, difference, max_relative = 1e-6, epsilon = 1e-6);
        }
    }
}

#[test]
fn response_slopes_are_derivatives() {
    for law in all() {
        for series in [0.0, 1e-6, 1e-3, 1.0] {
            for drive in [-0.5, -0.11, -0.003, 0.0, 0.02, 0.3] {
                let h = 1e-5;
                let up = law.respond(drive + h, series).current_a_per_m2;
                let down = law.respond(drive - h, series).current_a_per_m2;
                let slope = law.respond(drive, series).slope_s_per_m2;
                let difference = (up - down) / (2.0 * h);
                assert_relative_eq!(slope, difference, max_relative = 1e-5, epsilon = 1e-5);
            }
        }
    }
}

proptest! {
    /// Whatever the drive, the element's voltage divides between law and resistance.
    #[test]
    fn response_satisfies_its_equation(
        law in 0usize..4,
        drive in prop_oneof![-1e6..1e6f64, -3.0..3.0f64, -1e-3..1e-3f64],
        exponent in -12.0..4.0f64,
    ) {
        let law = &all()[law];
        let series = 10f64.powf(exponent);
        let r = law.respond(drive, series);
        let i = r.current_a_per_m2;
        prop_assert!(i.is_finite() && r.slope_s_per_m2 >= 0.0);
        prop_assert!(r.slope_s_per_m2 <= 1.0 / series * (1.0 + 1e-12));
        // Judged by the change of i that would mend the equation g(i) = 0.
        let drop = drive - series * i;
        let at = law.at_drop(drop);
        let miss = (at.current_a_per_m2 - i) / (1.0 + series * at.slope_s_per_m2);
        let rounding = (drive.abs() + series * i.abs()) * at.slope_s_per_m2
            / (1.0 + series * at.slope_s_per_m2) + i.abs();
        if at.current_a_per_m2.is_finite() && at.slope_s_per_m2.is_finite() {
            prop_assert!(miss.abs() <= 1e-14 * rounding + 1e-280, "{miss} {rounding}");
        }
    }
}

/// The evaluation count of the element: a handful, even far up the exponential branch.
#[test]
fn responses_take_few_evaluations() {
    use std::sync::atomic::{AtomicUsize, Ordering};

    #[derive(Debug)]
    struct Counted(Box<dyn Law>, AtomicUsize);
    impl Law for Counted {
        fn at_drop(&self, drop_v: f64) -> Response {
            self.1.fetch_add(1, Ordering::Relaxed);
            self.0.at_drop(drop_v)
        }
        fn drop_at(&self, current_a_per_m2: f64) -> f64 {
            self.0.drop_at(current_a_per_m2)
        }
    }
    let (mut most, mut total, mut responses) = (0, 0, 0);
    for law in all() {
        let law = Counted(law, AtomicUsize::new(0));
        for step in -60..=60 {
            let drive = f64::from(step) * 0.05;
            for exponent in -8..=0 {
                law.1.store(0, Ordering::Relaxed);
                law.respond(drive, 10f64.powi(exponent));
                let count = law.1.load(Ordering::Relaxed);
                most = most.max(count);
                total += count;
                responses += 1;
            }
        }
    }
    assert!(most <= 25, "{most}");
    assert!(total <= 8 * responses, "{total} for {responses}");
}
