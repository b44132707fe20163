//! Round wire bent along a polyline: cylinders, with a ball at every joint and end.

use super::bounds::Point;
use super::error::SolidError;
use super::error::{finite, positive};
use super::shape::Solid;
use super::wire_parts::{Bend, Joint, Link};
use ionfall_numerics::vector::{distance, sub, unit};

/// A wire of radius `radius_m` along the points, metres; its ends are round. If the last point is
/// the first the wire is closed.
///
/// # Errors
/// [`SolidError::TooFewPoints`] with less than two distinct points, [`SolidError::NotPositive`]
/// for the radius, [`SolidError::OutOfRange`] for a point.
pub fn wire(points: &[Point<3>], radius_m: f64) -> Result<Solid<3>, SolidError> {
    positive("the radius of the wire", radius_m)?;
    let mut way: Vec<Point<3>> = Vec::with_capacity(points.len());
    for p in points {
        let p = finite("a coordinate of the wire", *p)?;
        if way.last().is_none_or(|last| distance(last, &p) > 0.0) {
            way.push(p);
        }
    }
    if way.len() < 2 {
        return Err(SolidError::TooFewPoints {
            what: "the wire",
            found: way.len(),
            needed: 2,
        });
    }
    let closed = way.first() == way.last();
    let links = way.len() - 1;
    let direction = |n: usize| unit(&sub(&way[n + 1], &way[n]));
    let bend = |n: usize| {
        let before = n.checked_sub(1).or(closed.then_some(links - 1));
        let behind = if n < links {
            Some(n)
        } else {
            closed.then_some(0)
        };
        Bend::new(way[n], before.map(direction), behind.map(direction))
    };
    let bends: Vec<Bend> = (0..way.len()).map(bend).collect();
    let mut parts = Vec::with_capacity(2 * way.len());
    for ends in bends.windows(2) {
        parts.push(Solid::new(Link::new([ends[0], ends[1]], radius_m)));
    }
    for bend in &bends[usize::from(closed)..] {
        parts.push(Solid::new(Joint::new(*bend, radius_m)?));
    }
    Ok(Solid::Union(parts))
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_numerics::vector::nearest_on_segment;
    use proptest::prelude::*;

    const BEND: [Point<3>; 3] = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.5]];

    proptest! {
        #[test]
        fn holds_all_points_near_the_line(x in prop::array::uniform3(-0.5..1.5)) {
            let w = wire(&BEND, 0.2).unwrap();
            let far = BEND
                .windows(2)
                .map(|e| distance(&x, &nearest_on_segment(&x, &e[0], &e[1])))
                .fold(f64::INFINITY, f64::min);
            prop_assume!((far - 0.2).abs() > 1e-9);
            prop_assert_eq!(w.contains(&x), far < 0.2);
            if far > 0.2 {
                prop_assert!((w.signed_distance(&x) - (far - 0.2)).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn closed_wires_have_a_joint_for_every_piece() {
        let mut triangle = BEND.to_vec();
        triangle.push(BEND[0]);
        assert_eq!(wire(&triangle, 0.1).unwrap().primitives().len(), 6);
        assert_eq!(wire(&BEND, 0.1).unwrap().primitives().len(), 5);
        assert!(matches!(
            wire(&BEND[..1], 0.1),
            Err(SolidError::TooFewPoints { .. })
        ));
    }
}
