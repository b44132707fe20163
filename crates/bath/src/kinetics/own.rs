//! A law that a program brings along.

use ionfall_numerics::law::{Law, Response};
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// A law of a program's own. Its drop is metal less solution; an equilibrium drop is the law's own
/// affair. Two are equal if they are one and the same.
#[derive(Clone, Debug)]
pub struct OwnLaw(Arc<dyn Law>);

impl OwnLaw {
    /// Takes it over.
    pub fn new(law: impl Law + 'static) -> Self {
        Self(Arc::new(law))
    }
}

impl PartialEq for OwnLaw {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// As it shows itself for debugging: what is in it is not known.
impl Serialize for OwnLaw {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&format_args!("{:?}", self.0))
    }
}

impl Law for OwnLaw {
    fn at_drop(&self, drop_v: f64) -> Response {
        self.0.at_drop(drop_v)
    }

    fn range_a_per_m2(&self) -> (f64, f64) {
        self.0.range_a_per_m2()
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        self.0.drop_at(current_a_per_m2)
    }

    fn respond(&self, drive_v: f64, series_ohm_m2: f64) -> Response {
        self.0.respond(drive_v, series_ohm_m2)
    }
}
