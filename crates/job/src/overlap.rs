//! Do two bodies have room in common?
//!
//! The boxes around them have a box in common. Its middle is inside both, or the larger of the distances to the two
//! says how far around it no place is; what is left is halved, where the bodies are nearest first, until the
//! boxes are small. Distances of some shapes are bounds only, and the number of places is limited, so that bodies
//! that overlap by little may pass: the grid finds those that touch.

use ionfall_mesh::solid::{Bounds, Point, Solid};
use ionfall_model::{Geometry, Model, Parts};
use ionfall_numerics::vector::norm;

/// Most places that are looked at.
const MOST: usize = 4000;
/// Longest side of the common box over the smallest boxes' halves.
const SMALLEST: f64 = 1e-3;
/// Longest side of the common box over the depth that is a touch only.
const TOUCH: f64 = 1e-6;

/// Bodies of a job that have room in common, by their names; none, where one of them has no end.
pub fn touching(model: &Model) -> Vec<[String; 2]> {
    match &model.geometry {
        Geometry::Flat(parts) => overlaps(parts),
        Geometry::Solid(parts) => overlaps(parts),
    }
}

/// The same of its parts.
pub fn overlaps<const D: usize>(parts: &Parts<D>) -> Vec<[String; 2]> {
    let bodies = &parts.domain.bodies;
    let pairs = (0..bodies.len()).flat_map(|a| (a + 1..bodies.len()).map(move |b| [a, b]));
    let pairs = pairs.map(|pair| pair.map(|n| &bodies[n]));
    let common = pairs.filter(|[a, b]| overlap(&a.solid, &b.solid));
    common
        .map(|pair| pair.map(|body| body.name.clone()))
        .collect()
}

/// Are there places deeper than a touch inside both?
pub(crate) fn overlap<const D: usize>(a: &Solid<D>, b: &Solid<D>) -> bool {
    let common = a.bounds().intersection(&b.bounds());
    let sides: [f64; D] = std::array::from_fn(|k| common.high[k] - common.low[k]);
    let longest = sides.iter().copied().fold(0.0, f64::max);
    if !longest.is_finite() || sides.iter().any(|side| *side <= TOUCH * longest) {
        return false;
    }
    let depth = |x: &Point<D>| a.signed_distance(x).max(b.signed_distance(x));
    let half =
        |b: &Bounds<D>| -> Point<D> { std::array::from_fn(|k| 0.5 * (b.high[k] - b.low[k])) };
    let middle =
        |b: &Bounds<D>| -> Point<D> { std::array::from_fn(|k| 0.5 * (b.low[k] + b.high[k])) };
    let mut left = vec![(depth(&middle(&common)), common)];
    for _ in 0..MOST {
        let Some((nearest, within)) = left.pop() else {
            return false;
        };
        if nearest < -TOUCH * longest {
            return true;
        }
        let half = half(&within);
        let radius = norm(&half);
        if nearest > radius || radius < SMALLEST * longest {
            continue;
        }
        let widest = (0..D).fold(0, |w, k| if half[k] > half[w] { k } else { w });
        let mut halves = [within, within];
        halves[0].high[widest] = middle(&within)[widest];
        halves[1].low[widest] = middle(&within)[widest];
        let mut halves = halves.map(|b| (depth(&middle(&b)), b));
        halves.sort_by(|a, b| b.0.total_cmp(&a.0));
        left.extend(halves);
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_mesh::solid::{Ball, Cuboid, Placement};

    fn cuboid(low: Point<3>, high: Point<3>) -> Solid<3> {
        Solid::new(Cuboid::new(low, high).unwrap())
    }

    #[test]
    fn boxes_that_overlap_touch_or_are_apart() {
        let one = cuboid([0.0; 3], [0.04, 0.001, 0.04]);
        let at = |shift: Point<3>| one.placed(&Placement::translation(shift).unwrap());
        assert!(overlap(&one, &one));
        assert!(overlap(&one, &at([0.039, 0.0, 0.039])));
        assert!(!overlap(&one, &at([0.04, 0.0, 0.0])));
        assert!(!overlap(&one, &at([0.05, 0.0, 0.0])));
        // Two thin plates across each other have a rod of 1 x 1 mm in common.
        let turned =
            Placement::<3>::rotation([0.0, 0.0, 1.0], std::f64::consts::FRAC_PI_2).unwrap();
        let turned = turned.about([0.02, 0.0005, 0.0]).unwrap();
        assert!(overlap(&one, &one.placed(&turned)));
    }

    /// The boxes around balls on a diagonal overlap before the balls do.
    #[test]
    fn balls_on_a_diagonal() {
        let ball = |x: f64| Solid::new(Ball::<2>::new([x, x], 0.01).unwrap());
        let apart = 0.02 / 2_f64.sqrt();
        assert!(!overlap(&ball(0.0), &ball(1.01 * apart)));
        assert!(overlap(&ball(0.0), &ball(0.97 * apart)));
    }
}
