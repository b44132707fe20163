//! Membership in a solid of many parts: a tree of boxes tells which of them to ask.

use super::bounds::{Bounds, Point};
use super::box_tree::BoxTree;
use super::shape::{Primitive, Solid};
use std::sync::Arc;

/// Boxes are wider than what they hold by this share of their extent, for rounding.
const HAIR: f64 = 1e-9;

/// Unions of fewer parts are asked one after the other.
const FEW: usize = 4;

/// A solid as it is asked for membership many times.
#[derive(Clone, Debug)]
pub struct Members<const D: usize>(Part<D>);

/// A part of it.
#[derive(Clone, Debug)]
enum Part<const D: usize> {
    /// A primitive.
    One(Arc<dyn Primitive<D>>),
    /// Everything in any part; with a tree of their boxes where there are many.
    Any(Vec<Part<D>>, Option<BoxTree<D>>),
    /// Everything in all parts.
    All(Vec<Part<D>>),
    /// The first without the second.
    Without(Box<[Part<D>; 2]>),
}

impl<const D: usize> Members<D> {
    /// Of a solid.
    pub fn new(solid: &Solid<D>) -> Self {
        Self(Part::new(solid))
    }

    /// Is the point inside? As [`Solid::contains`].
    pub fn contains(&self, x: &Point<D>) -> bool {
        self.0.contains(x)
    }

    /// Is it a single primitive?
    pub fn is_single(&self) -> bool {
        matches!(self.0, Part::One(_))
    }
}

impl<const D: usize> Part<D> {
    fn new(solid: &Solid<D>) -> Self {
        let each = |parts: &[Solid<D>]| parts.iter().map(Self::new).collect();
        let any = |parts: &[Solid<D>]| {
            let boxes = || parts.iter().map(box_around).collect();
            let tree = (parts.len() > FEW).then(|| BoxTree::new(boxes()));
            Self::Any(each(parts), tree)
        };
        match solid {
            Solid::Primitive(p) => Self::One(p.clone()),
            Solid::Union(parts) => any(parts),
            Solid::Intersection(parts) => Self::All(each(parts)),
            Solid::Difference(from, parts) => {
                Self::Without(Box::new([Self::new(from), any(parts)]))
            }
        }
    }

    fn contains(&self, x: &Point<D>) -> bool {
        match self {
            Self::One(p) => p.contains(x),
            Self::Any(parts, None) => parts.iter().any(|s| s.contains(x)),
            Self::Any(parts, Some(tree)) => tree.any_holding(x, |n| parts[n as usize].contains(x)),
            Self::All(parts) => parts.iter().all(|s| s.contains(x)),
            Self::Without(pair) => pair[0].contains(x) && !pair[1].contains(x),
        }
    }
}

fn box_around<const D: usize>(solid: &Solid<D>) -> Bounds<D> {
    let bounds = solid.bounds();
    let extent = (0..D)
        .map(|k| bounds.high[k] - bounds.low[k])
        .filter(|side| side.is_finite())
        .fold(0.0, f64::max);
    bounds.grown(HAIR * extent)
}

impl<const D: usize> Solid<D> {
    /// For each primitive, in the order of [`Solid::primitives`]: is everything in it in the solid?
    pub(crate) fn fills(&self) -> Vec<bool> {
        match self {
            Self::Primitive(_) => vec![true],
            Self::Union(parts) => parts.iter().flat_map(Self::fills).collect(),
            Self::Intersection(_) | Self::Difference(..) => vec![false; self.primitives().len()],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Ball, Cuboid};
    use super::*;
    use proptest::prelude::*;

    fn balls(n: usize) -> Solid<3> {
        let at = |n: usize| [0.1 * n as f64, 0.05 * (n % 3) as f64, 0.0];
        let ball = |n| Solid::new(Ball::<3>::new(at(n), 0.12).unwrap());
        Solid::Union((0..n).map(ball).collect())
    }

    proptest! {
        #[test]
        fn is_what_the_solid_says(x in prop::array::uniform3(-0.3..1.3)) {
            let cut = Solid::new(Cuboid::new([0.2, -0.1, -0.1], [0.6, 0.1, 0.05]).unwrap());
            let all = Solid::Intersection(vec![balls(12), cut.clone()]);
            let less = Solid::Difference(Box::new(balls(12)), vec![cut, balls(7)]);
            for solid in [balls(3), balls(12), all, less] {
                prop_assert_eq!(Members::new(&solid).contains(&x), solid.contains(&x));
            }
        }
    }

    #[test]
    fn only_parts_of_unions_fill() {
        let nested = Solid::Union(vec![
            balls(2),
            Solid::Difference(Box::new(balls(1)), vec![balls(1)]),
        ]);
        assert_eq!(nested.fills(), [true, true, false, false]);
    }
}
