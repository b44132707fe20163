//! Round wire bent along a polyline: cylinders, with a ball at every joint and end.

use super::ball::Ball;
use super::bounds::Point;
use super::error::SolidError;
use super::error::{finite, positive};
use super::placement::Placement;
use super::revolved::Revolved;
use super::shape::Solid;
use ionfall_numerics::vector::{distance, sub};

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
        if way.last() != Some(&finite("a coordinate of the wire", *p)?) {
            way.push(*p);
        }
    }
    if way.len() < 2 {
        return Err(SolidError::TooFewPoints {
            what: "the wire",
            found: way.len(),
            needed: 2,
        });
    }
    let mut parts = Vec::with_capacity(2 * way.len());
    for ends in way.windows(2) {
        let turn = Placement::z_to(sub(&ends[1], &ends[0]))?;
        let place = turn.then(&Placement::translation(ends[0])?);
        let length = distance(&ends[0], &ends[1]);
        parts.push(Solid::new(Revolved::cylinder(radius_m, length)?).placed(&place));
    }
    let closed = way.first() == way.last();
    for p in &way[usize::from(closed)..] {
        parts.push(Solid::new(Ball::new(*p, radius_m)?));
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
