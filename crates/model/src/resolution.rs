//! How sharp the answers shall be, and how small cells may be for it.

/// What is asked beyond the sizes of cells.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Resolution {
    /// Largest plus-minus of an answer over the answer, if cells are to follow from it.
    pub accuracy: Option<f64>,
    /// Smallest cells that may be made for it, m, where they are bounded; bodies that ask for smaller ones
    /// themselves get them.
    pub smallest_m: Option<f64>,
}
