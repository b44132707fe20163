//! The first metal on a powder: on graphite and bronze powder it grows in islands, which conduct along the surface only
//! when they touch.

use crate::figure::{Grade, Range};

/// Coats of at least this resistance of a square, ohm, are powders rather than metal.
pub const POWDER_OHM: f64 = 1.0;

/// Thickness of the first metal on graphite or bronze powder that is islands still: of the order of the grains, which
/// are a micrometre or less where they are rubbed flat.
pub const POWDER_ISLANDS: Range = Range::new(
    0.1,
    1.0,
    "um",
    Grade::Memory,
    "of the order of the rubbed grains",
);
