//! Accuracy asked for instead of cells: grids that grow where the answers get their error from, until
//! their plus-minus is below what was asked.
//!
//! ```text
//! sizes     which cells a grid has: those of the job times 2^n, smaller ones in boxes
//! figures   the answers that count, and how far off each is
//! places    how far each place of a surface may be off, by two grids of it
//! flags     the places where a figure that is off gets its error from
//! level     a grid that is solved
//! seek      grid after grid
//! reached   what came of it
//! ```
//! The figures that count are those of the works: their thinnest place and mean, the thickest place, or,
//! where that lies at an edge, whose largest value may not converge, the thickness that 5 % of the area
//! exceeds; and the volts and amperes of the main supply. (1 % of a panel may be a strip of a quarter of a
//! millimetre along its edges: that took a million cells.) The plus-minus is that of
//! [`crate::uncertainty`], from the same cells times 2 and 4; and a thinnest place is no surer than all
//! places that could be thinner: a hollow in cells too large for it shows on no grid of the three, so that
//! boxes around what is thinnest now made a plus-minus of 1.5 % beside an error of 3 %.
//!
//! Told is the larger of that and of what the grids before say, because the first grid that looks sharp may
//! be so by chance.
//!
//! A step makes cells half as large:
//! * in boxes around the places that could be the extreme on a finer grid (`flags`), by two halvings
//!   where one would hardly add a cell;
//! * of all bodies, where a mean, volts or amperes are off, where nothing says how far off the
//!   answers are, and where the cells in the boxes are smaller than those of their bodies by
//!   `LEAD` halvings: from there on the error comes from elsewhere.
//!
//! Each grid begins with the potentials of the one before. What the grids so far say of how far off the answers
//! are costs nothing, and decides where the next one is finer; the plus-minus itself is worked out where
//! they say that it is good enough.

mod figures;
mod flags;
mod level;
mod places;
mod reached;
mod seek;
mod sizes;

pub use level::Sought;
pub use reached::{AccuracyReached, Ending, Laid};
pub use seek::seek;
