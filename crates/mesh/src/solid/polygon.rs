//! Plane outlines, with holes: a 2-D body, and the ground plan of extruded, revolved and sheet
//! shapes.
//!
//! Inside is decided by crossing parity with exact orientation tests (Shewchuk's adaptive
//! predicates), so no point is ever on both sides of an edge. The outer ring runs
//! counter-clockwise, holes clockwise; the outside is to the right of every edge.

use super::bounds::{Bounds, Point};
use super::error::{SolidError, finite};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::{distance, dot, nearest_on_segment, norm, sub, unit_or};
use robust::{Coord, orient2d};

/// Neighbouring edges that turn by less than this (30 degrees) belong to one smooth patch.
pub(crate) const SMOOTH_COS: f64 = 0.866_025_403_784_438_6;

/// Most points of an outline: patches are numbered with 16 bits.
pub(crate) const MOST_POINTS: usize = 60_000;

/// Does the way through three points turn by 30 degrees or more?
pub(crate) fn is_corner(way: &[Point<2>]) -> bool {
    let (p, q) = (sub(&way[1], &way[0]), sub(&way[2], &way[1]));
    dot(&p, &q) < SMOOTH_COS * (norm(&p) * norm(&q))
}

/// One side of an outline.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    /// Start, metres.
    pub a: Point<2>,
    /// End, metres.
    pub b: Point<2>,
    /// Unit normal to the outside.
    pub normal: Point<2>,
    /// Smooth run of edges it belongs to.
    pub patch: u16,
}

/// The nearest point of some edges.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Near {
    /// Distance, metres.
    pub distance: f64,
    /// The point, metres.
    pub point: Point<2>,
    /// Outward normal of its edge.
    pub normal: Point<2>,
}

/// The nearest point of the edges of one patch (or of all).
pub(crate) fn nearest(edges: &[Edge], x: &Point<2>, patch: Option<u16>) -> Option<Near> {
    edges
        .iter()
        .filter(|e| patch.is_none_or(|p| e.patch == p))
        .map(|e| {
            let point = nearest_on_segment(x, &e.a, &e.b);
            Near {
                distance: distance(x, &point),
                point,
                normal: e.normal,
            }
        })
        .min_by(|p, q| p.distance.total_cmp(&q.distance))
}

/// A filled outline with holes.
#[derive(Clone, Debug)]
pub struct Polygon {
    pub(crate) rings: Vec<Vec<Point<2>>>,
    edges: Vec<Edge>,
}

/// Sign of the turn a, b, c: positive to the left. Exact.
pub(crate) fn turn(a: &Point<2>, b: &Point<2>, c: &Point<2>) -> f64 {
    let coord = |p: &Point<2>| Coord { x: p[0], y: p[1] };
    orient2d(coord(a), coord(b), coord(c))
}

/// Twice the signed area of a ring.
fn twice_area(ring: &[Point<2>]) -> f64 {
    let o = ring[0];
    ring.windows(2)
        .map(|w| {
            let (p, q) = (sub(&w[0], &o), sub(&w[1], &o));
            p[0] * q[1] - p[1] * q[0]
        })
        .sum()
}

/// Crossing parity; exact.
fn ring_contains(ring: &[Point<2>], x: &Point<2>) -> bool {
    let mut inside = false;
    for (i, a) in ring.iter().enumerate() {
        let b = &ring[(i + 1) % ring.len()];
        if (a[1] > x[1]) != (b[1] > x[1]) {
            let (low, high) = if a[1] < b[1] { (a, b) } else { (b, a) };
            inside ^= turn(low, high, x) > 0.0;
        }
    }
    inside
}

/// A ring without repeated points, turning the right way, its first point first.
fn clean_ring(
    what: &'static str,
    points: Vec<Point<2>>,
    counter_clockwise: bool,
) -> Result<Vec<Point<2>>, SolidError> {
    let mut ring: Vec<Point<2>> = Vec::with_capacity(points.len());
    for p in points {
        let p = finite("a coordinate of the outline", p)?.map(|c| c + 0.0);
        if ring.last() != Some(&p) {
            ring.push(p);
        }
    }
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    if ring.len() < 3 {
        return Err(SolidError::TooFewPoints {
            what,
            found: ring.len(),
            needed: 3,
        });
    }
    let area = twice_area(&ring);
    if area == 0.0 {
        return Err(SolidError::NoArea);
    }
    if (area > 0.0) != counter_clockwise {
        ring[1..].reverse();
    }
    Ok(ring)
}

/// Do two edges that are not neighbours touch?
fn touch(p: &Edge, q: &Edge) -> bool {
    let side = |e: &Edge, x: &Point<2>| turn(&e.a, &e.b, x);
    let (q1, q2) = (side(p, &q.a), side(p, &q.b));
    let (p1, p2) = (side(q, &p.a), side(q, &p.b));
    if q1 == 0.0 && q2 == 0.0 {
        let (bp, bq) = (Bounds::around([p.a, p.b]), Bounds::around([q.a, q.b]));
        return bp.overlaps(&bq);
    }
    q1 * q2 <= 0.0 && p1 * p2 <= 0.0
}

/// Does the edge fold back onto the one before it?
fn folds(p: &Edge, q: &Edge) -> bool {
    turn(&p.a, &p.b, &q.b) == 0.0 && dot(&p.normal, &q.normal) < 0.0
}

/// The first place where edges touch that should not: a sweep over x.
fn crossing(edges: &[Edge]) -> Option<Point<2>> {
    let low = |e: &Edge| e.a[0].min(e.b[0]);
    let high = |e: &Edge| e.a[0].max(e.b[0]);
    let mut order: Vec<&Edge> = edges.iter().collect();
    order.sort_by(|p, q| low(p).total_cmp(&low(q)));
    for (i, p) in order.iter().enumerate() {
        for q in order[i + 1..].iter().take_while(|q| low(q) <= high(p)) {
            let bad = if p.b == q.a {
                folds(p, q) || p.a == q.b
            } else if q.b == p.a {
                folds(q, p)
            } else {
                touch(p, q)
            };
            if bad {
                return Some(nearest_on_segment(&q.a, &p.a, &p.b));
            }
        }
    }
    None
}

impl Polygon {
    /// A filled outline with holes; the rings may turn either way and need not repeat their first
    /// point.
    ///
    /// # Errors
    /// [`SolidError`] if a ring has too few (or too many) points, encloses nothing, crosses or
    /// touches itself or another ring, or if a hole is not inside.
    pub fn new(outline: Vec<Point<2>>, holes: Vec<Vec<Point<2>>>) -> Result<Self, SolidError> {
        let mut rings = vec![clean_ring("the outline", outline, true)?];
        for hole in holes {
            rings.push(clean_ring("a hole of the outline", hole, false)?);
        }
        let found = rings.iter().map(Vec::len).sum();
        if found > MOST_POINTS {
            return Err(SolidError::TooManyPoints {
                what: "the outline",
                found,
                limit: MOST_POINTS,
            });
        }
        let mut edges = Vec::with_capacity(found);
        let mut patches = 0;
        for ring in &rings {
            patches = ring_edges(ring, patches, &mut edges);
        }
        if let Some(at) = crossing(&edges) {
            return Err(SolidError::OutlineCrosses { at });
        }
        for (i, hole) in rings.iter().enumerate().skip(1) {
            let in_other = rings[1..]
                .iter()
                .enumerate()
                .any(|(j, other)| j + 1 != i && ring_contains(other, &hole[0]));
            if in_other || !ring_contains(&rings[0], &hole[0]) {
                return Err(SolidError::HoleOutside { hole: i });
            }
        }
        Ok(Self { rings, edges })
    }

    /// The sides, ring by ring.
    pub(crate) fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Number of smooth runs of sides.
    pub(crate) fn patches(&self) -> u16 {
        self.edges.iter().map(|e| e.patch + 1).max().unwrap_or(0)
    }

    /// Points of all rings, outline first.
    pub(crate) fn points(&self) -> impl Iterator<Item = &Point<2>> {
        self.rings.iter().flatten()
    }

    /// Area in m2.
    pub fn area_m2(&self) -> f64 {
        self.rings.iter().map(|r| 0.5 * twice_area(r)).sum()
    }

    /// The rest of its plane, as outlines of their own: what each hole holds, and all around it up to
    /// an upright rectangle that reaches `share` of the diagonal past its outermost points.
    ///
    /// # Errors
    /// As [`Polygon::new`]; none is known to come from a valid outline.
    pub(crate) fn around(&self, share: f64) -> Result<Vec<Self>, SolidError> {
        let bounds = Bounds::around(self.rings[0].iter().copied());
        let out = bounds.grown(share * distance(&bounds.low, &bounds.high));
        let ([x0, y0], [x1, y1]) = (out.low, out.high);
        let ring = vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
        let mut open = vec![Self::new(ring, vec![self.rings[0].clone()])?];
        for hole in &self.rings[1..] {
            open.push(Self::new(hole.clone(), Vec::new())?);
        }
        Ok(open)
    }

    /// The outline cut back by `wall_m` from every edge that `counts`: the exact inner offset of
    /// a convex outline.
    ///
    /// # Errors
    /// [`SolidError::NoInset`] if the outline has holes or is not convex,
    /// [`SolidError::WallTooThick`] if nothing is left.
    pub(crate) fn cut_back(
        &self,
        wall_m: f64,
        counts: impl Fn(&Edge) -> bool,
    ) -> Result<Self, SolidError> {
        let ring = &self.rings[0];
        let n = ring.len();
        let convex = (0..n).all(|i| turn(&ring[i], &ring[(i + 1) % n], &ring[(i + 2) % n]) >= 0.0);
        if !convex || self.rings.len() > 1 {
            return Err(SolidError::NoInset);
        }
        let cut = |wall: f64| {
            self.edges
                .iter()
                .filter(|e| counts(e))
                .fold(ring.clone(), |left, e| {
                    clip(&left, &e.normal, dot(&e.normal, &e.a) - wall)
                })
        };
        let left = |wall: f64| cut(wall).len() >= 3;
        if left(wall_m)
            && let Ok(inner) = Self::new(cut(wall_m), Vec::new())
        {
            return Ok(inner);
        }
        let (mut low, mut high) = (0.0, wall_m);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if left(middle) {
                low = middle
            } else {
                high = middle
            }
        }
        Err(SolidError::WallTooThick {
            wall_m,
            limit_m: low,
        })
    }
}

/// The part of a convex ring where `normal . x <= offset`.
fn clip(ring: &[Point<2>], normal: &Point<2>, offset: f64) -> Vec<Point<2>> {
    let mut left = Vec::with_capacity(ring.len() + 1);
    for (i, a) in ring.iter().enumerate() {
        let b = &ring[(i + 1) % ring.len()];
        let (da, db) = (dot(normal, a) - offset, dot(normal, b) - offset);
        if da <= 0.0 {
            left.push(*a);
        }
        if (da < 0.0 && db > 0.0) || (da > 0.0 && db < 0.0) {
            let t = da / (da - db);
            left.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
        }
    }
    left
}

/// Adds the edges of a ring, numbering its smooth runs from `patch`; returns the next free number.
fn ring_edges(ring: &[Point<2>], mut patch: u16, edges: &mut Vec<Edge>) -> u16 {
    let first = edges.len();
    let base = patch;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        let normal = unit_or(&[b[1] - a[1], a[0] - b[0]], &[0.0, 0.0]);
        if i > 0 && dot(&edges[first + i - 1].normal, &normal) < SMOOTH_COS {
            patch += 1;
        }
        edges.push(Edge {
            a: *a,
            b,
            normal,
            patch,
        });
    }
    let closes_smoothly = dot(&edges[edges.len() - 1].normal, &edges[first].normal) >= SMOOTH_COS;
    if closes_smoothly && patch > base {
        for e in edges[first..].iter_mut().filter(|e| e.patch == patch) {
            e.patch = base;
        }
        return patch;
    }
    patch + 1
}

impl Primitive<2> for Polygon {
    fn bounds(&self) -> Bounds<2> {
        Bounds::around(self.rings[0].iter().copied())
    }

    fn contains(&self, x: &Point<2>) -> bool {
        self.rings
            .iter()
            .fold(false, |inside, ring| inside ^ ring_contains(ring, x))
    }

    fn signed_distance(&self, x: &Point<2>) -> f64 {
        let far = nearest(&self.edges, x, None).map_or(f64::INFINITY, |n| n.distance);
        if self.contains(x) { -far } else { far }
    }

    fn tessellate(&self, _fineness: &Fineness<2>) -> Soup<2> {
        let mut soup = Soup::default();
        for ring in &self.rings {
            let first = soup.vertices.len() as u32;
            let n = ring.len() as u32;
            soup.vertices.extend_from_slice(ring);
            for i in 0..n {
                let patch = self.edges[(first + i) as usize].patch;
                soup.element([first + i, first + (i + 1) % n], patch, 1.0);
            }
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<2>, element_normal: &Point<2>) -> SurfacePoint<2> {
        nearest(&self.edges, x, Some(patch)).map_or(
            SurfacePoint {
                point: *x,
                normal: *element_normal,
            },
            |near| SurfacePoint {
                point: near.point,
                normal: near.normal,
            },
        )
    }

    /// Exact for convex outlines without holes.
    fn inset(&self, wall_m: f64) -> Result<Solid<2>, SolidError> {
        Ok(Solid::new(self.cut_back(wall_m, |_| true)?))
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_2d, check_inset};
    use super::*;

    fn plate_with_hole() -> Polygon {
        Polygon::new(
            vec![[0.0, 0.0], [0.0, 4.0], [6.0, 4.0], [6.0, 0.0]],
            vec![vec![[1.0, 1.0], [3.0, 1.0], [3.0, 2.0], [1.0, 2.0]]],
        )
        .unwrap()
    }

    #[test]
    fn plate_with_a_hole() {
        let p = plate_with_hole();
        check_2d(&p, 0.1, 20.0 + 6.0, 22.0);
        assert_eq!(p.area_m2(), 22.0);
        assert_eq!(p.patches(), 8);
        assert!(!p.contains(&[2.0, 1.5]));
    }

    #[test]
    fn gentle_corners_join_into_one_patch() {
        let round: Vec<Point<2>> = (0..36)
            .map(|i| {
                let (s, c) = (f64::from(i) * 10.0).to_radians().sin_cos();
                [c, s]
            })
            .collect();
        assert_eq!(Polygon::new(round.clone(), vec![]).unwrap().patches(), 1);
        let mut drop = round;
        drop[0] = [3.0, 0.0];
        assert_eq!(Polygon::new(drop, vec![]).unwrap().patches(), 3);
    }

    #[test]
    fn says_what_is_wrong_with_an_outline() {
        let make = |points: &[Point<2>]| Polygon::new(points.to_vec(), vec![]);
        let bow = make(&[[0.0, 0.0], [2.0, 1.0], [2.0, 0.0], [0.0, 2.0]]);
        assert!(
            matches!(bow, Err(SolidError::OutlineCrosses { .. })),
            "{bow:?}"
        );
        let spike = make(&[[0.0, 0.0], [2.0, 0.0], [3.0, 0.0], [2.0, 0.0], [1.0, 1.0]]);
        assert!(
            matches!(spike, Err(SolidError::OutlineCrosses { .. })),
            "{spike:?}"
        );
        let line = make(&[[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]);
        assert!(matches!(line, Err(SolidError::NoArea)));
        let two = make(&[[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 0.0]]);
        assert!(matches!(
            two,
            Err(SolidError::TooFewPoints { found: 2, .. })
        ));
        let nan = make(&[[0.0, 0.0], [f64::NAN, 0.0], [2.0, 3.0]]);
        assert!(matches!(nan, Err(SolidError::OutOfRange { .. })));
        let square = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        let away: Vec<Point<2>> = square.iter().map(|p| [p[0] + 5.0, p[1]]).collect();
        let outside = Polygon::new(square, vec![away]);
        assert!(matches!(outside, Err(SolidError::HoleOutside { hole: 1 })));
    }

    #[test]
    fn convex_outlines_shrink_exactly() {
        let kite = Polygon::new(
            vec![[0.0, -3.0], [2.0, 0.0], [0.0, 1.0], [-2.0, 0.0]],
            vec![],
        );
        check_inset(&kite.unwrap(), 0.3);
        assert!(matches!(
            plate_with_hole().inset(0.1),
            Err(SolidError::NoInset)
        ));
        let square = Polygon::new(vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], vec![]);
        match square.unwrap().inset(0.7) {
            Err(SolidError::WallTooThick { limit_m, .. }) => assert!((limit_m - 0.5).abs() < 1e-9),
            other => panic!("{other:?}"),
        }
    }
}
