//! What the cases are made of.

use crate::case::{Reading, Tolerance};

/// Name and text of a job of `examples/textbook`.
macro_rules! job {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/../../examples/textbook/",
                $name,
                ".toml"
            )),
        )
    };
}
pub(super) use job;

/// A share of the reference value, in percent.
pub(super) fn percent(value: f64) -> Tolerance {
    Tolerance::Share(0.01 * value)
}

/// Current density at a point of a planar or axisymmetric job.
pub(super) fn at(body: &'static str, x: f64, y: f64) -> Reading {
    Reading::At(body, [x, y, 0.0])
}
