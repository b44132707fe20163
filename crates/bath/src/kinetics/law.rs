//! The laws of the bath as a solver sees them.

use super::polarisation::Polarisation;
use ionfall_numerics::law::{Law, Response};

impl Law for Polarisation {
    fn at_drop(&self, drop_v: f64) -> Response {
        self.at_drop(drop_v)
    }

    fn range_a_per_m2(&self) -> (f64, f64) {
        self.range_a_per_m2()
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        self.drop_at(current_a_per_m2).unwrap_or(f64::NAN)
    }
}
