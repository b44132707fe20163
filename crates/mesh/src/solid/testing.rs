//! One examination for every primitive: closedness, area, volume, orientation, distance,
//! membership, projection and inset must all tell the same story.

use super::{Bounds, Fineness, Point, Primitive, Solid};
use ionfall_numerics::vector::{add_scaled, distance, dot, norm, scaled, unit_or};

/// A fineness that keeps everything of the primitive.
pub(crate) fn fineness<const D: usize>(p: &dyn Primitive<D>, sagitta_m: f64) -> Fineness<D> {
    Fineness {
        sagitta_m,
        within: p.bounds().grown(1.0),
    }
}

fn size<const D: usize>(b: &Bounds<D>) -> f64 {
    distance(&b.low, &b.high)
}

/// Examines a closed 3-D primitive of known area and volume.
pub(crate) fn check_3d(p: &dyn Primitive<3>, sagitta_m: f64, area_m2: f64, volume_m3: f64) {
    check(p, sagitta_m, area_m2, volume_m3);
}

/// Examines a closed 2-D primitive of known perimeter and area.
pub(crate) fn check_2d(p: &dyn Primitive<2>, sagitta_m: f64, perimeter_m: f64, area_m2: f64) {
    check(p, sagitta_m, perimeter_m, area_m2);
}

/// `content` is volume or area, `surface` area or perimeter.
fn check<const D: usize>(p: &dyn Primitive<D>, sagitta_m: f64, surface: f64, content: f64) {
    let box_ = p.bounds();
    let tiny = 1e-9 * size(&box_);
    let soup = p.tessellate(&fineness(p, sagitta_m));
    let (mut total, mut moment, mut closing) = (0.0, 0.0, [0.0; D]);
    for e in 0..soup.elements.len() {
        let corners = soup.corners(e);
        let vector = soup.area_vector(e);
        let area = norm(&vector);
        assert!(area > 0.0, "element {e} has no area");
        let normal = scaled(&vector, 1.0 / area);
        let factor = f64::from(soup.area_factor[e]);
        assert!(factor > 0.5 && factor < 3.0, "factor {factor}");
        total += area * factor;
        moment += dot(&vector, &corners[0]) / D as f64;
        closing = add_scaled(&closing, 1.0, &vector);
        for c in &corners {
            assert!(
                p.signed_distance(c).abs() < tiny,
                "corner off by {}",
                p.signed_distance(c)
            );
            assert!(box_.grown(tiny).contains(c), "corner outside the bounds");
        }
        let mut middle = [0.0; D];
        for c in &corners {
            middle = add_scaled(&middle, 1.0 / D as f64, c);
        }
        let edge = scaled(&add_scaled(&corners[0], 1.0, &corners[1]), 0.5);
        for x in [middle, edge] {
            let off = p.signed_distance(&x).abs();
            assert!(
                off <= sagitta_m * 1.01 + tiny,
                "sagitta {off} over {sagitta_m}"
            );
            let on = p.project(soup.patch[e], &x, &normal);
            assert!(
                p.signed_distance(&on.point).abs() < tiny,
                "projection off the surface"
            );
            assert!((norm(&on.normal) - 1.0).abs() < 1e-9);
            assert!(dot(&on.normal, &normal) > 0.5, "normals disagree");
        }
        // Step off the true surface: outside must be positive, inside negative.
        let on = p.project(soup.patch[e], &middle, &normal);
        let step = 1e-6 * size(&box_);
        for side in [-1.0, 1.0] {
            let x = add_scaled(&on.point, side * step, &on.normal);
            let d = p.signed_distance(&x);
            assert!(
                (d - side * step).abs() < 1e-3 * step + tiny,
                "{d} for {}",
                side * step
            );
            assert_eq!(p.contains(&x), side < 0.0);
        }
    }
    assert!(
        (total / surface - 1.0).abs() < 1e-6,
        "surface {total}, expected {surface}"
    );
    assert!(norm(&closing) < 1e-9 * surface, "not closed: {closing:?}");
    let error = (moment - content).abs();
    assert!(
        error < surface * sagitta_m,
        "content {moment}, expected {content}"
    );
    agreement(p);
}

/// Membership and sign of the distance agree on a lattice of points.
pub(crate) fn agreement<const D: usize>(p: &dyn Primitive<D>) {
    let b = p.bounds();
    let n = 13_usize;
    for i in 0..n.pow(D as u32) {
        let x: Point<D> = std::array::from_fn(|k| {
            let t = (i / n.pow(k as u32) % n) as f64 / (n - 1) as f64;
            b.low[k] + (1.2 * t - 0.1 + 0.001 * k as f64) * (b.high[k] - b.low[k])
        });
        let d = p.signed_distance(&x);
        if d != 0.0 {
            assert_eq!(p.is_clear(&x, 0.999 * d.abs()), d > 0.0, "{d} at {x:?}");
            assert!(!p.is_clear(&x, 1.001 * d.abs()), "{d} at {x:?}");
        }
        if d.abs() > 1e-9 * size(&b) {
            assert_eq!(p.contains(&x), d < 0.0, "{x:?}: {d}");
        }
    }
}

/// Every point of the inset's surface is `wall_m` deep, and no deeper point is missing.
pub(crate) fn check_inset<const D: usize>(p: &dyn Primitive<D>, wall_m: f64) {
    let Solid::Primitive(inner) = p.inset(wall_m).unwrap() else {
        panic!("an inset primitive is a primitive");
    };
    let tiny = 1e-9 * size(&p.bounds());
    let soup = inner.tessellate(&fineness(inner.as_ref(), 1e-3 * wall_m));
    assert!(!soup.elements.is_empty());
    for (e, _) in soup.elements.iter().enumerate() {
        for c in soup.corners(e) {
            assert!((p.signed_distance(&c) + wall_m).abs() < tiny);
        }
        let normal = unit_or(&soup.area_vector(e), &[0.0; D]);
        let mut middle = [0.0; D];
        for c in soup.corners(e) {
            middle = add_scaled(&middle, 1.0 / D as f64, &c);
        }
        let on = inner.project(soup.patch[e], &middle, &normal);
        assert!((p.signed_distance(&on.point) + wall_m).abs() < tiny);
    }
}
