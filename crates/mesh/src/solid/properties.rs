//! The examination of `testing` for primitives of random sizes, and for placed booleans.

use super::testing::{check_2d, check_3d, check_inset};
use super::{Ball, Cuboid, Extruded, HalfSpace, Placement, Point, Polygon, Revolved, Solid, Torus};
use ionfall_numerics::vector::{add, distance};
use proptest::prelude::*;
use std::f64::consts::PI;

/// A star-shaped outline with corners at random radii.
fn star() -> impl Strategy<Value = Polygon> {
    prop::collection::vec(0.3..1.0_f64, 5..14).prop_map(|radii| {
        let step = 2.0 * PI / radii.len() as f64;
        let corner = |(i, r): (usize, &f64)| {
            let (sin, cos) = (step * i as f64).sin_cos();
            [r * cos, r * sin]
        };
        Polygon::new(radii.iter().enumerate().map(corner).collect(), vec![]).unwrap()
    })
}

fn perimeter(p: &Polygon) -> f64 {
    p.edges().iter().map(|e| distance(&e.a, &e.b)).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn frustums(a in 0.1..1.0_f64, b in 0.1..1.0_f64, h in 0.1..2.0_f64, fine in 1e-3..1e-1_f64) {
        let area = PI * ((a + b) * (a - b).hypot(h) + a * a + b * b);
        let volume = PI * h / 3.0 * (a * a + a * b + b * b);
        let frustum = Revolved::frustum(a, b, h).unwrap();
        check_3d(&frustum, fine * a.min(b), area, volume);
        check_inset(&frustum, 0.02);
    }

    #[test]
    fn tori(ring in 0.5..2.0_f64, slender in 0.05..0.9_f64, fine in 1e-3..1e-1_f64) {
        let tube = slender * ring;
        let area = 4.0 * PI * PI * ring * tube;
        check_3d(&Torus::new(ring, tube).unwrap(), fine * tube, area, 0.5 * area * tube);
    }

    #[test]
    fn stars_flat_drawn_out_and_turned(outline in star(), h in 0.1..2.0_f64) {
        let (area, around) = (outline.area_m2(), perimeter(&outline));
        check_2d(&outline, 1e-9, around, area);
        let prism = Extruded::new(outline.clone(), h).unwrap();
        check_3d(&prism, 1e-9, 2.0 * area + around * h, area * h);
        // Pappus, with the first moment of area from the triangles.
        let away: Vec<Point<2>> = outline.points().map(|p| add(p, &[1.5, 0.0])).collect();
        let profile = Polygon::new(away.clone(), vec![]).unwrap();
        let moment: f64 = profile
            .triangles()
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| away[v as usize]);
                let twice = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
                0.5 * twice * (a[0] + b[0] + c[0]) / 3.0
            })
            .sum();
        let swept: f64 =
            profile.edges().iter().map(|e| PI * (e.a[0] + e.b[0]) * distance(&e.a, &e.b)).sum();
        check_3d(&Revolved::new(profile).unwrap(), 1e-3, swept, 2.0 * PI * moment);
    }

    #[test]
    fn placed_booleans_hold_the_placed_points(x in prop::array::uniform3(-2.0..2.0_f64),
                                              angle in -4.0..4.0_f64, scale in 0.2..3.0_f64) {
        let body = Solid::Difference(
            Box::new(Solid::Union(vec![
                Solid::new(Cuboid::new([-1.0; 3], [1.0, 1.0, 0.3]).unwrap()),
                Solid::new(Ball::new([0.5, 0.0, 0.3], 0.7).unwrap()),
            ])),
            vec![Solid::new(HalfSpace::new([0.0; 3], [1.0, 1.0, 0.0]).unwrap())],
        );
        prop_assume!(body.signed_distance(&x).abs() > 1e-9);
        let p = Placement::<3>::rotation([1.0, 2.0, -1.0], angle)
            .unwrap()
            .then(&Placement::scaling(scale).unwrap())
            .then(&Placement::mirror([0.0, 1.0, 1.0]).unwrap())
            .then(&Placement::translation([3.0, -1.0, 0.5]).unwrap());
        let moved = body.placed(&p);
        let y = p.apply(&x);
        prop_assert_eq!(moved.contains(&y), body.contains(&x));
        prop_assert!((moved.signed_distance(&y) - scale * body.signed_distance(&x)).abs() < 1e-12);
        prop_assert_eq!(moved.signed_distance(&y) < 0.0, moved.contains(&y));
    }
}
