//! The parts of a wire: links and joints, of which only what can be seen is made into elements.
//!
//! A link is the cylinder between two points of the wire, a joint the ball around one of them. The ends of
//! a link lie inside of the balls; and of a ball everything but the lune between the two links is inside of
//! these. With the direction `d` of the link before, `u` across it and out of the bend, `n = u x d` and the
//! angle `b` of the bend the lune is
//!
//! ```text
//! x = r (sin(t) n + cos(t) (cos(p) u + sin(p) d)),    -90 deg <= t <= 90 deg,  0 <= p <= b
//! ```
//! For any `t` its side `p = 0` is the rim of the link before, `p = b` that of the link behind: all take
//! their corners from here, so that links and joints meet without a gap. The end of a wire is a bend of
//! 180 degrees, a half ball. Wires of thousands of points so have some dozens of elements a point, of which
//! only those on the inner side of a bend cross each other.

use super::ball::{Ball, solid_angle};
use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::rings::{FINEST, Ring, chords, join};
use super::shape::{Fineness, Primitive, Soup, SurfacePoint};
use ionfall_numerics::vector::{
    add, add_scaled, axis, cross, distance, dot, norm, scaled, sub, unit, unit_or,
};
use std::f64::consts::TAU;

/// Bends of less, and what is as near to turning back, radians: the plane of the bend is lost in rounding.
const STRAIGHT: f64 = 1e-9;

/// How a wire goes around one of its points.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bend {
    at: Point<3>,
    /// Direction of the link before, unit vector.
    along: Point<3>,
    /// Across it, out of the bend.
    out: Point<3>,
    /// Across the bend.
    normal: Point<3>,
    angle_rad: f64,
}

impl Bend {
    /// At a point between links of these directions; an end has one of them only.
    pub fn new(at: Point<3>, before: Option<Point<3>>, behind: Option<Point<3>>) -> Self {
        let back = |way: Option<Point<3>>| way.map(|d| scaled(&d, -1.0));
        let along = before.or(back(behind)).unwrap_or(axis(0, 1.0));
        let next = behind.or(back(before)).unwrap_or(along);
        let across = cross(&along, &next);
        let angle_rad = norm(&across).atan2(dot(&along, &next));
        let out = if norm(&across) < STRAIGHT {
            // The axis that is most across it.
            let flattest = |a: &usize, b: &usize| along[*a].abs().total_cmp(&along[*b].abs());
            let k = (0..3).min_by(flattest).unwrap_or(0);
            unit(&cross(&along, &axis(k, 1.0)))
        } else {
            unit(&cross(&along, &across))
        };
        Self {
            at,
            along,
            out,
            normal: unit(&cross(&out, &along)),
            angle_rad,
        }
    }

    /// Unit vector from the point to `k` of `count` steps around, measured from the outside of the bend,
    /// and `p` radians towards the link behind.
    fn spoke(&self, k: i64, count: i64, p: f64) -> Point<3> {
        // Both poles are the same for all `p`, to the last bit.
        if 4 * k.abs() == count {
            return scaled(&self.normal, k.signum() as f64);
        }
        let t = TAU * k as f64 / count as f64;
        let level = add_scaled(&scaled(&self.out, p.cos()), p.sin(), &self.along);
        add_scaled(&scaled(&level, t.cos()), t.sin(), &self.normal)
    }

    fn corner(&self, radius_m: f64, k: i64, count: i64, p: f64) -> Point<3> {
        add_scaled(&self.at, radius_m, &self.spoke(k, count, p))
    }
}

/// Corners around a wire: a multiple of four, so that the poles of all bends are among them.
fn around(radius_m: f64, sagitta_m: f64) -> i64 {
    4 * i64::from(chords(radius_m, sagitta_m).div_ceil(4))
}

/// A cylinder between two points.
#[derive(Clone, Debug)]
pub(super) struct Link {
    ends: [Bend; 2],
    along: Point<3>,
    length_m: f64,
    radius_m: f64,
}

impl Link {
    /// From one bend to the next.
    pub fn new(ends: [Bend; 2], radius_m: f64) -> Self {
        let way = sub(&ends[1].at, &ends[0].at);
        Self {
            along: unit(&way),
            length_m: norm(&way),
            ends,
            radius_m,
        }
    }

    /// Way along the axis, and what points from there to `x`.
    fn split(&self, x: &Point<3>) -> (f64, Point<3>) {
        let from = sub(x, &self.ends[0].at);
        let s = dot(&from, &self.along);
        (s, add_scaled(&from, -s, &self.along))
    }
}

impl Primitive<3> for Link {
    fn bounds(&self) -> Bounds<3> {
        let [a, b] = self.ends.map(|e| e.at);
        let reach = self
            .along
            .map(|d| self.radius_m * (1.0 - d * d).max(0.0).sqrt());
        let corners = [a, b].map(|p| [sub(&p, &reach), add(&p, &reach)]);
        Bounds::around(corners.into_iter().flatten())
    }

    fn contains(&self, x: &Point<3>) -> bool {
        let (s, off) = self.split(x);
        (0.0..=self.length_m).contains(&s) && dot(&off, &off) <= self.radius_m * self.radius_m
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        let (s, off) = self.split(x);
        let (side, end) = (norm(&off) - self.radius_m, (-s).max(s - self.length_m));
        if side <= 0.0 || end <= 0.0 {
            side.max(end)
        } else {
            side.hypot(end)
        }
    }

    fn is_convex(&self) -> bool {
        true
    }

    /// The mantle, in one row: along the wire it is straight.
    fn tessellate(&self, fineness: &Fineness<3>) -> Soup<3> {
        let count = around(self.radius_m, fineness.sagitta_m);
        let [first, last] = &self.ends;
        let across = first.spoke(0, count, first.angle_rad);
        let turn = dot(&across, &last.normal).atan2(dot(&across, &last.out));
        let steps = turn * count as f64 / TAU;
        let shift = steps.round();
        let mut soup = Soup::default();
        let mut ring = |end: &Bend, p: f64, shift: i64, phase: f64| {
            let from = soup.vertices.len() as u32;
            for n in 0..count {
                // From one pole on, as joints do.
                let k = (n - shift).rem_euclid(count) - count / 4;
                soup.vertex(end.corner(self.radius_m, k, count, p));
            }
            Ring::new(from, count as u32, phase)
        };
        let low = ring(last, 0.0, 0, 0.0);
        let high = ring(first, first.angle_rad, shift as i64, steps - shift);
        join(
            &mut soup,
            &low,
            &high,
            0,
            TAU * self.radius_m * self.length_m,
        );
        soup
    }

    fn project(&self, _patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        let (s, off) = self.split(x);
        let normal = unit_or(&off, element_normal);
        let foot = add_scaled(&self.ends[0].at, s.clamp(0.0, self.length_m), &self.along);
        SurfacePoint {
            point: add_scaled(&foot, self.radius_m, &normal),
            normal,
        }
    }
}

/// The ball around a point of the wire.
#[derive(Clone, Debug)]
pub(super) struct Joint {
    ball: Ball<3>,
    bend: Bend,
    radius_m: f64,
}

impl Joint {
    /// # Errors
    /// As of [`Ball::new`].
    pub fn new(bend: Bend, radius_m: f64) -> Result<Self, SolidError> {
        Ok(Self {
            ball: Ball::new(bend.at, radius_m)?,
            bend,
            radius_m,
        })
    }
}

impl Primitive<3> for Joint {
    fn bounds(&self) -> Bounds<3> {
        self.ball.bounds()
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.ball.contains(x)
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        self.ball.signed_distance(x)
    }

    fn is_convex(&self) -> bool {
        true
    }

    /// The lune, in columns from pole to pole.
    fn tessellate(&self, fineness: &Fineness<3>) -> Soup<3> {
        let mut soup = Soup::default();
        let (bend, radius_m) = (&self.bend, self.radius_m);
        if bend.angle_rad < STRAIGHT {
            return soup;
        }
        let count = around(radius_m, fineness.sagitta_m);
        let columns = (bend.angle_rad * count as f64 / TAU).ceil().max(1.0) as i64;
        let [low, high] = [-count / 4, count / 4];
        let poles = [low, high].map(|k| soup.vertex(bend.corner(radius_m, k, count, 0.0)));
        let mut meridians: Vec<Vec<u32>> = Vec::new();
        for column in 0..=columns {
            let p = bend.angle_rad * (column as f64 / columns as f64);
            let mut corners = vec![poles[0]];
            corners
                .extend((low + 1..high).map(|k| soup.vertex(bend.corner(radius_m, k, count, p))));
            corners.push(poles[1]);
            meridians.push(corners);
        }
        let field = Field {
            centre: bend.at,
            radius_m,
            longest_m: longest_chord(radius_m, fineness.sagitta_m),
        };
        for pair in meridians.windows(2) {
            for k in 0..pair[0].len() - 1 {
                field.fill(
                    &mut soup,
                    [pair[0][k], pair[1][k], pair[1][k + 1], pair[0][k + 1]],
                );
            }
        }
        for e in 0..soup.elements.len() {
            let spokes = soup.corners(e).map(|c| unit(&sub(&c, &bend.at)));
            let true_m2 = solid_angle(&spokes) * radius_m * radius_m;
            soup.area_factor[e] = (true_m2 / soup.area(e)) as f32;
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        self.ball.project(patch, x, element_normal)
    }
}

/// How fields of a sphere between four corners are filled.
struct Field {
    centre: Point<3>,
    radius_m: f64,
    /// Longest edge that keeps the sagitta.
    longest_m: f64,
}

impl Field {
    /// Corners counter-clockwise seen from outside, of which two that follow each other may be one. A field
    /// too wide gets triangles that meet in its middle.
    fn fill(&self, soup: &mut Soup<3>, corners: [u32; 4]) {
        let mut outline = corners.to_vec();
        outline.dedup();
        let places: Vec<Point<3>> = (outline.iter())
            .map(|v| soup.vertices[*v as usize])
            .collect();
        // The circle around the corners is the one in which the ball rises over the field.
        let wide_m = match places.as_slice() {
            &[a, b, c] => {
                let sides = distance(&a, &b) * distance(&b, &c) * distance(&c, &a);
                sides / norm(&cross(&sub(&b, &a), &sub(&c, &a)))
            }
            _ => distance(&places[0], &places[2]),
        };
        if wide_m <= self.longest_m {
            for pair in outline[1..].windows(2) {
                soup.element([outline[0], pair[0], pair[1]], 0, 1.0);
            }
            return;
        }
        let spokes = places.iter().map(|x| sub(x, &self.centre));
        let middle = unit(&spokes.fold([0.0; 3], |sum, x| add(&sum, &x)));
        let middle = soup.vertex(add_scaled(&self.centre, self.radius_m, &middle));
        for (n, &corner) in outline.iter().enumerate() {
            let next = outline[(n + 1) % outline.len()];
            soup.element([corner, next, middle], 0, 1.0);
        }
    }
}

/// Longest edge on a ball that deviates by at most a sagitta.
fn longest_chord(radius_m: f64, sagitta_m: f64) -> f64 {
    let s = (sagitta_m / radius_m).clamp(FINEST, 1.0);
    2.0 * radius_m * (s * (2.0 - s)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::testing::{agreement, fineness};
    use super::*;
    use proptest::prelude::*;

    const R: f64 = 0.2;

    /// Links through these points with the joints between them, as a wire has them.
    fn parts(way: &[Point<3>]) -> (Vec<Link>, Vec<Joint>) {
        let direction = |n: usize| way.get(n + 1).map(|b| unit(&sub(b, &way[n])));
        let bend = |n: usize| Bend::new(way[n], n.checked_sub(1).and_then(direction), direction(n));
        let bends: Vec<Bend> = (0..way.len()).map(bend).collect();
        let links = bends.windows(2).map(|e| Link::new([e[0], e[1]], R));
        let joints = bends.iter().map(|b| Joint::new(*b, R).unwrap());
        (links.collect(), joints.collect())
    }

    /// True area of the elements of a part, if all of them are as they should be.
    fn looked_at(part: &dyn Primitive<3>, sagitta_m: f64) -> f64 {
        let soup = part.tessellate(&fineness(part, sagitta_m));
        let mut area = 0.0;
        for e in 0..soup.elements.len() {
            let (corners, vector) = (soup.corners(e), soup.area_vector(e));
            area += soup.area(e) * f64::from(soup.area_factor[e]);
            let middle = corners
                .iter()
                .fold([0.0; 3], |s, c| add_scaled(&s, 1.0 / 3.0, c));
            for n in 0..3 {
                assert!(part.signed_distance(&corners[n]).abs() < 1e-12);
                let edge = scaled(&add(&corners[n], &corners[(n + 1) % 3]), 0.5);
                assert!(part.signed_distance(&edge).abs() < 1.01 * sagitta_m);
            }
            let on = part.project(0, &middle, &vector);
            assert!(distance(&on.point, &middle) < 1.01 * sagitta_m);
            assert!(part.signed_distance(&on.point).abs() < 1e-12);
            // Flat elements of this fineness lean by up to some 30 degrees.
            let along = dot(&unit(&vector), &on.normal);
            assert!(along > 0.5, "turned inside out: {along}");
        }
        agreement(part);
        area
    }

    proptest! {
        /// However the wire bends, links and joints have their areas, and all corners at the sides of a
        /// lune are corners of the links beside it, to the last bit.
        #[test]
        fn links_and_joints_meet(
            way in prop::collection::vec(prop::array::uniform3(-1.0..1.0), 2..5),
            sagitta_m in 1e-4..0.05,
        ) {
            prop_assume!(way.windows(2).all(|e| distance(&e[0], &e[1]) > 1e-3));
            let (links, joints) = parts(&way);
            for link in &links {
                let area = looked_at(link, sagitta_m);
                prop_assert!((area / (TAU * R * link.length_m) - 1.0).abs() < 1e-5);
            }
            for (n, joint) in joints.iter().enumerate() {
                let area = looked_at(joint, sagitta_m);
                let exact = 2.0 * R * R * joint.bend.angle_rad;
                prop_assert!((area - exact).abs() < 1e-5 * exact + 1e-12, "{} for {}", area, exact);
                let corners = |part: &dyn Primitive<3>| part.tessellate(&fineness(part, sagitta_m)).vertices;
                let own = corners(joint);
                let half = around(R, sagitta_m) as usize / 2;
                for (link, side) in [(n.checked_sub(1), 0.0), (Some(n), joint.bend.angle_rad)] {
                    let Some(link) = link.and_then(|n| links.get(n)) else { continue };
                    let rim = corners(link);
                    let shared = own.iter().filter(|c| rim.contains(c)).count();
                    prop_assert!(shared > half, "{} of {} at {}", shared, half, side);
                }
            }
        }
    }

    #[test]
    fn straight_on_there_is_no_joint_to_be_seen() {
        let (links, joints) = parts(&[[0.0; 3], [1.0, 0.0, 0.0], [3.0, 0.0, 0.0]]);
        assert_eq!(looked_at(&joints[1], 1e-3), 0.0);
        // Half a ball at each end, and long elements between.
        assert!((looked_at(&joints[0], 1e-3) / (TAU * R * R) - 1.0).abs() < 1e-5);
        let count = around(R, 1e-3) as usize;
        let soup = links[1].tessellate(&fineness(&links[1], 1e-3));
        assert_eq!(soup.elements.len(), 2 * count);
    }
}
