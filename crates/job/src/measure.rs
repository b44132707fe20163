//! Volume of a body from its surface.
//!
//! By the divergence theorem `V = integral of g(x) n_0 dS` over the surface, with
//!
//! ```text
//!                 g
//! tank            x
//! planar          depth x
//! axisymmetric    pi r^2
//! ```
//! Elements of the surfaces of the primitives are split until small; a piece counts if the body is
//! on one side of it only. Surfaces that cross are therefore cut to within a piece: about 1 %.

use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Bounds, Fineness, Members, Point, Solid, Soup};
use std::f64::consts::PI;

/// Pieces along the longest side of the body.
const PIECES: [f64; 2] = [2000.0, 100.0];

/// Volume of a whole body, m3; unbounded bodies have none.
pub(crate) fn volume_m3<const D: usize>(solid: &Solid<D>, space: Space) -> Option<f64>
where
    Soup<D>: Split<D>,
{
    let within = solid.bounds();
    if (0..D).any(|k| !(within.high[k] - within.low[k]).is_finite()) {
        return None;
    }
    let extent = longest(&within);
    let lone = matches!(solid, Solid::Primitive(_));
    let fineness = Fineness {
        sagitta_m: 1e-3 * extent,
        within: within.grown(1e-3 * extent),
    };
    let piece_m = if lone {
        f64::INFINITY
    } else {
        extent / PIECES[D - 2]
    };
    let members = Members::new(solid);
    let mut volume_m3 = 0.0;
    for primitive in solid.primitives() {
        let soup = primitive.tessellate(&fineness);
        for e in 0..soup.elements.len() {
            Soup::split(soup.corners(e), piece_m, &fineness.within, &mut |corners| {
                let (x, normal, area) = Soup::middle(&corners);
                let side = if lone {
                    1.0
                } else {
                    // On the true surface: a chord of a curved one lies inside of it.
                    let on = primitive.project(soup.patch[e], &x, &normal);
                    side(&members, &on.point, &on.normal, extent)
                };
                volume_m3 += side * g(&x, space) * normal[0] * area;
            });
        }
    }
    Some(volume_m3)
}

fn longest<const D: usize>(b: &Bounds<D>) -> f64 {
    (0..D).map(|k| b.high[k] - b.low[k]).fold(0.0, f64::max)
}

/// 1 if the body ends here on the side of the normal, -1 on the other, 0 if it does not end here.
fn side<const D: usize>(solid: &Members<D>, x: &Point<D>, normal: &Point<D>, extent: f64) -> f64 {
    let probe = |sign: f64| {
        let step = sign * 1e-6 * extent;
        solid.contains(&std::array::from_fn(|k| x[k] + step * normal[k]))
    };
    match (probe(-1.0), probe(1.0)) {
        (true, false) => 1.0,
        (false, true) => -1.0,
        _ => 0.0,
    }
}

/// What the divergence theorem integrates.
fn g<const D: usize>(x: &Point<D>, space: Space) -> f64 {
    match space {
        Space::Tank => x[0],
        Space::Planar { depth_m } => depth_m * x[0],
        Space::Axisymmetric => PI * x[0].max(0.0).powi(2),
    }
}

/// Splitting of the elements of a soup.
pub(crate) trait Split<const D: usize> {
    /// Splits an element at its longest edge until none is longer than `longest_m`; what lies outside
    /// a box is left out.
    fn split(
        corners: [Point<D>; D],
        longest_m: f64,
        within: &Bounds<D>,
        visit: &mut dyn FnMut([Point<D>; D]),
    );

    /// Middle, unit normal and area.
    fn middle(corners: &[Point<D>; D]) -> (Point<D>, Point<D>, f64);
}

fn halfway<const D: usize>(a: &Point<D>, b: &Point<D>) -> Point<D> {
    std::array::from_fn(|k| 0.5 * (a[k] + b[k]))
}

fn distance<const D: usize>(a: &Point<D>, b: &Point<D>) -> f64 {
    (0..D).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

impl Split<2> for Soup<2> {
    fn split(
        [a, b]: [Point<2>; 2],
        longest_m: f64,
        within: &Bounds<2>,
        visit: &mut dyn FnMut([Point<2>; 2]),
    ) {
        if !Bounds::around([a, b]).overlaps(within) {
            return;
        }
        if distance(&a, &b) <= longest_m {
            visit([a, b]);
        } else {
            let m = halfway(&a, &b);
            Self::split([a, m], longest_m, within, visit);
            Self::split([m, b], longest_m, within, visit);
        }
    }

    fn middle([a, b]: &[Point<2>; 2]) -> (Point<2>, Point<2>, f64) {
        let length = distance(a, b).max(f64::MIN_POSITIVE);
        let normal = [(b[1] - a[1]) / length, -(b[0] - a[0]) / length];
        (halfway(a, b), normal, length)
    }
}

impl Split<3> for Soup<3> {
    fn split(
        corners: [Point<3>; 3],
        longest_m: f64,
        within: &Bounds<3>,
        visit: &mut dyn FnMut([Point<3>; 3]),
    ) {
        if !Bounds::around(corners).overlaps(within) {
            return;
        }
        // Turned so that the longest edge is the one from the first to the second corner.
        let edge = |k: usize| distance(&corners[k], &corners[(k + 1) % 3]);
        let k = (0..3).fold(0, |best, k| if edge(k) > edge(best) { k } else { best });
        let [a, b, c] = [0, 1, 2].map(|n| corners[(k + n) % 3]);
        if edge(k) <= longest_m {
            visit([a, b, c]);
        } else {
            let m = halfway(&a, &b);
            Self::split([a, m, c], longest_m, within, visit);
            Self::split([m, b, c], longest_m, within, visit);
        }
    }

    fn middle([a, b, c]: &[Point<3>; 3]) -> (Point<3>, Point<3>, f64) {
        let (u, v): (Point<3>, Point<3>) = (
            std::array::from_fn(|k| b[k] - a[k]),
            std::array::from_fn(|k| c[k] - a[k]),
        );
        let n: Point<3> = std::array::from_fn(|k| {
            let (i, j) = ((k + 1) % 3, (k + 2) % 3);
            u[i] * v[j] - u[j] * v[i]
        });
        let twice = n
            .iter()
            .map(|x| x * x)
            .sum::<f64>()
            .sqrt()
            .max(f64::MIN_POSITIVE);
        let middle = std::array::from_fn(|k| (a[k] + b[k] + c[k]) / 3.0);
        (middle, n.map(|x| x / twice), 0.5 * twice)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use ionfall_mesh::solid::{Ball, Cuboid, HalfSpace};

    fn cuboid<const D: usize>(low: f64, high: f64) -> Solid<D> {
        Solid::new(Cuboid::new([low; D], [high; D]).unwrap())
    }

    #[test]
    fn a_box_is_exact() {
        let volume = volume_m3(&cuboid::<3>(0.1, 0.3), Space::Tank).unwrap();
        assert_relative_eq!(volume, 0.008, max_relative = 1e-12);
    }

    /// Chords at a sagitta of a thousandth of the extent: volume low by about half a per cent.
    #[test]
    fn a_ball() {
        let ball = Solid::new(Ball::<3>::new([0.5, 0.5, 1.0], 0.2).unwrap());
        let volume = volume_m3(&ball, Space::Tank).unwrap();
        assert_relative_eq!(volume, 4.0 / 3.0 * PI * 0.008, max_relative = 0.01);
    }

    #[test]
    fn a_box_with_a_corner_cut_out() {
        let body = Solid::Difference(Box::new(cuboid::<3>(0.1, 0.3)), vec![cuboid(0.2, 0.4)]);
        let volume = volume_m3(&body, Space::Tank).unwrap();
        assert_relative_eq!(volume, 0.007, max_relative = 0.02);
    }

    /// A wall of a kilometre, cut off at a tenth of it, is split no more than the rest.
    #[test]
    fn what_is_cut_off_does_not_count() {
        let tall = Solid::new(Cuboid::new([0.0; 3], [0.1, 0.1, 1000.0]).unwrap());
        let low = Solid::new(HalfSpace::new([0.0, 0.0, 0.1], [0.0, 0.0, 1.0]).unwrap());
        let clock = std::time::Instant::now();
        let volume = volume_m3(&Solid::Intersection(vec![tall, low]), Space::Tank).unwrap();
        assert_relative_eq!(volume, 1e-3, max_relative = 0.02);
        assert!(clock.elapsed().as_secs() < 20, "{:?}", clock.elapsed());
    }

    /// A circle in (r, z) on the axis is a ball; a square away from it a ring.
    #[test]
    fn bodies_of_revolution() {
        let half = Solid::Intersection(vec![
            Solid::new(Ball::<2>::new([0.0, 0.5], 0.2).unwrap()),
            Solid::new(HalfSpace::new([0.0, 0.0], [-1.0, 0.0]).unwrap()),
        ]);
        let ball = volume_m3(&half, Space::Axisymmetric).unwrap();
        assert_relative_eq!(ball, 4.0 / 3.0 * PI * 0.008, max_relative = 0.01);
        let ring = Solid::new(Cuboid::new([0.3, 0.3], [0.5, 0.4]).unwrap());
        let ring = volume_m3(&ring, Space::Axisymmetric).unwrap();
        assert_relative_eq!(ring, PI * (0.25 - 0.09) * 0.1, max_relative = 1e-6);
    }

    #[test]
    fn planar_bodies_have_the_depth_of_the_job() {
        let planar = Space::Planar { depth_m: 0.5 };
        let volume = volume_m3(&cuboid::<2>(0.1, 0.3), planar).unwrap();
        assert_relative_eq!(volume, 0.02, max_relative = 1e-12);
    }

    #[test]
    fn an_unbounded_body_has_no_volume() {
        let behind = Solid::new(HalfSpace::new([0.4, 0.0], [1.0, 0.0]).unwrap());
        let planar = Space::Planar { depth_m: 0.5 };
        assert_eq!(volume_m3(&behind, planar), None);
    }
}
