//! Points, and boxes along the axes.

/// A point or vector, metres.
pub type Point<const D: usize> = [f64; D];

/// An axis-aligned box, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds<const D: usize> {
    /// Corner with the smallest coordinates.
    pub low: Point<D>,
    /// Corner with the largest coordinates.
    pub high: Point<D>,
}

impl<const D: usize> Bounds<D> {
    /// The empty box: grows to whatever is added.
    pub const EMPTY: Self = Self {
        low: [f64::INFINITY; D],
        high: [f64::NEG_INFINITY; D],
    };

    /// The smallest box around both.
    pub fn union(&self, other: &Self) -> Self {
        Self {
            low: std::array::from_fn(|k| self.low[k].min(other.low[k])),
            high: std::array::from_fn(|k| self.high[k].max(other.high[k])),
        }
    }

    /// The common part (empty if `low > high` in any direction).
    pub fn intersection(&self, other: &Self) -> Self {
        Self {
            low: std::array::from_fn(|k| self.low[k].max(other.low[k])),
            high: std::array::from_fn(|k| self.high[k].min(other.high[k])),
        }
    }

    /// The box around a set of points.
    pub fn around(points: impl IntoIterator<Item = Point<D>>) -> Self {
        points
            .into_iter()
            .fold(Self::EMPTY, |b, p| b.union(&Self { low: p, high: p }))
    }

    /// Grown by `margin_m` on every side.
    pub fn grown(&self, margin_m: f64) -> Self {
        Self {
            low: self.low.map(|x| x - margin_m),
            high: self.high.map(|x| x + margin_m),
        }
    }

    /// Does the closed box hold the point?
    pub fn contains(&self, x: &Point<D>) -> bool {
        (0..D).all(|k| self.low[k] <= x[k] && x[k] <= self.high[k])
    }

    /// Do the closed boxes touch?
    pub fn overlaps(&self, other: &Self) -> bool {
        (0..D).all(|k| self.low[k] <= other.high[k] && other.low[k] <= self.high[k])
    }
}
