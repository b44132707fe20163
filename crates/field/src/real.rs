//! The two number types of the solver: `f64` for the balance that counts, `f32` inside the
//! multigrid cycle, which only has to point in the right direction and then moves half the bytes.

use std::ops::{Add, AddAssign, Mul, Sub, SubAssign};

/// A floating-point number of a graph.
pub(crate) trait Real:
    Copy
    + Default
    + Send
    + Sync
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + AddAssign
    + SubAssign
    + 'static
{
    /// Rounds.
    fn of(value: f64) -> Self;
    /// Widens.
    fn wide(self) -> f64;
    /// Zero in place of anything so small that arithmetic with it would become denormal: denormal
    /// numbers slow a sweep several times and carry no information here.
    fn flushed(self) -> Self;
}

impl Real for f64 {
    #[inline(always)]
    fn of(value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn wide(self) -> f64 {
        self
    }
    #[inline(always)]
    fn flushed(self) -> Self {
        if self.abs() < 1e-150 { 0.0 } else { self }
    }
}

impl Real for f32 {
    #[inline(always)]
    fn of(value: f64) -> Self {
        value as f32
    }
    #[inline(always)]
    fn wide(self) -> f64 {
        f64::from(self)
    }
    #[inline(always)]
    fn flushed(self) -> Self {
        if self.abs() < 1e-22 { 0.0 } else { self }
    }
}
