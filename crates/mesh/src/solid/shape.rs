//! What a solid is: points and boxes, surfaces as flat elements, primitives, and trees of them.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use std::fmt::Debug;
use std::sync::Arc;

/// A point on a true surface with the unit normal that leaves the primitive.
#[derive(Clone, Copy, Debug)]
pub struct SurfacePoint<const D: usize> {
    /// The point, metres.
    pub point: Point<D>,
    /// Unit normal, out of the primitive.
    pub normal: Point<D>,
}

/// A surface as oriented simplices: segments in 2-D, triangles in 3-D.
///
/// Orientation: in 3-D the right-hand normal `(b-a) x (c-a)` leaves the primitive; in 2-D the
/// normal `(dy, -dx)` of the segment `(dx, dy)` from first to second vertex leaves it (so the
/// outline of a filled shape runs counter-clockwise).
#[derive(Clone, Debug)]
pub struct Soup<const D: usize> {
    /// Vertices, metres.
    pub vertices: Vec<Point<D>>,
    /// Vertex numbers of each element.
    pub elements: Vec<[u32; D]>,
    /// Smooth patch of each element: two elements of one patch join without an edge.
    pub patch: Vec<u16>,
    /// True surface area over flat element area (1 on flat surfaces).
    pub area_factor: Vec<f32>,
}

impl<const D: usize> Default for Soup<D> {
    fn default() -> Self {
        Self {
            vertices: Vec::new(),
            elements: Vec::new(),
            patch: Vec::new(),
            area_factor: Vec::new(),
        }
    }
}

/// How finely a curved surface is to be broken into flat elements.
#[derive(Clone, Copy, Debug)]
pub struct Fineness<const D: usize> {
    /// Largest distance between element and true surface, metres.
    pub sagitta_m: f64,
    /// Only this box matters: unbounded primitives stop here, others may be cut off outside it.
    pub within: Bounds<D>,
}

/// One smooth-sided building block of a body.
pub trait Primitive<const D: usize>: Send + Sync + Debug {
    /// A box that holds it (infinite for unbounded ones).
    fn bounds(&self) -> Bounds<D>;

    /// Is the point inside? On the surface either answer is right.
    fn contains(&self, x: &Point<D>) -> bool;

    /// Signed distance in metres, negative inside. Exact, or where no closed form exists a value
    /// of the right sign that vanishes on the surface.
    fn signed_distance(&self, x: &Point<D>) -> f64;

    /// Is the signed distance at least `radius_m`, a positive number?
    fn is_clear(&self, x: &Point<D>, radius_m: f64) -> bool {
        self.signed_distance(x) >= radius_m
    }

    /// Is it known to hold every straight line between points inside?
    fn is_convex(&self) -> bool {
        false
    }

    /// The surface as oriented elements. Curved surfaces keep the sagitta; flat ones use as few
    /// elements as they can.
    fn tessellate(&self, fineness: &Fineness<D>) -> Soup<D>;

    /// The true surface point and normal beside `x`, which lies on (or a sagitta away from) an
    /// element of `patch`. Flat-sided primitives return `x` itself with the side's normal; a
    /// triangle mesh returns `x` and `element_normal`.
    fn project(&self, patch: u16, x: &Point<D>, element_normal: &Point<D>) -> SurfacePoint<D>;

    /// What is left when a skin of `wall_m` metres is taken off everywhere: all points at least
    /// that deep inside.
    ///
    /// # Errors
    /// [`SolidError::NoInset`] for shapes whose inner offset has no exact form here,
    /// [`SolidError::WallTooThick`] if nothing would be left.
    fn inset(&self, _wall_m: f64) -> Result<Solid<D>, SolidError> {
        Err(SolidError::NoInset)
    }
}

/// A body: a boolean tree over primitives.
#[derive(Clone, Debug)]
pub enum Solid<const D: usize> {
    /// A single primitive.
    Primitive(Arc<dyn Primitive<D>>),
    /// Everything in any of the parts.
    Union(Vec<Solid<D>>),
    /// Everything in all of the parts.
    Intersection(Vec<Solid<D>>),
    /// The first without the others.
    Difference(Box<Solid<D>>, Vec<Solid<D>>),
}

impl<const D: usize> Solid<D> {
    /// Wraps a primitive.
    pub fn new(primitive: impl Primitive<D> + 'static) -> Self {
        Self::Primitive(Arc::new(primitive))
    }

    /// Is the point inside?
    pub fn contains(&self, x: &Point<D>) -> bool {
        match self {
            Self::Primitive(p) => p.contains(x),
            Self::Union(parts) => parts.iter().any(|s| s.contains(x)),
            Self::Intersection(parts) => parts.iter().all(|s| s.contains(x)),
            Self::Difference(from, parts) => {
                from.contains(x) && !parts.iter().any(|s| s.contains(x))
            }
        }
    }

    /// Signed distance in metres, negative inside; exact next to the surface of each primitive,
    /// a bound of the right sign elsewhere.
    pub fn signed_distance(&self, x: &Point<D>) -> f64 {
        match self {
            Self::Primitive(p) => p.signed_distance(x),
            Self::Union(parts) => parts
                .iter()
                .map(|s| s.signed_distance(x))
                .fold(f64::INFINITY, f64::min),
            Self::Intersection(parts) => parts
                .iter()
                .map(|s| s.signed_distance(x))
                .fold(f64::NEG_INFINITY, f64::max),
            Self::Difference(from, parts) => parts
                .iter()
                .map(|s| -s.signed_distance(x))
                .fold(from.signed_distance(x), f64::max),
        }
    }

    /// Is the signed distance at least `radius_m`, a positive number? For meshes this is cheaper
    /// to find out than the distance.
    pub fn is_clear(&self, x: &Point<D>, radius_m: f64) -> bool {
        match self {
            Self::Primitive(p) => p.is_clear(x, radius_m),
            Self::Union(parts) => parts.iter().all(|s| s.is_clear(x, radius_m)),
            Self::Intersection(_) | Self::Difference(..) => self.signed_distance(x) >= radius_m,
        }
    }

    /// A box that holds the body.
    pub fn bounds(&self) -> Bounds<D> {
        match self {
            Self::Primitive(p) => p.bounds(),
            Self::Union(parts) => parts
                .iter()
                .fold(Bounds::EMPTY, |b, s| b.union(&s.bounds())),
            Self::Intersection(parts) => {
                let all = Bounds {
                    low: [f64::NEG_INFINITY; D],
                    high: [f64::INFINITY; D],
                };
                parts.iter().fold(all, |b, s| b.intersection(&s.bounds()))
            }
            Self::Difference(from, _) => from.bounds(),
        }
    }

    /// Every primitive of the tree, in the order of writing.
    pub fn primitives(&self) -> Vec<Arc<dyn Primitive<D>>> {
        match self {
            Self::Primitive(p) => vec![p.clone()],
            Self::Union(parts) | Self::Intersection(parts) => {
                parts.iter().flat_map(Solid::primitives).collect()
            }
            Self::Difference(from, parts) => std::iter::once(from.as_ref())
                .chain(parts)
                .flat_map(Solid::primitives)
                .collect(),
        }
    }
}
