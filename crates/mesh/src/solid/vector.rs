//! The few vector operations the solids need, on plain arrays of any dimension.

use super::Point;

pub(crate) fn add<const D: usize>(a: &Point<D>, b: &Point<D>) -> Point<D> {
    std::array::from_fn(|k| a[k] + b[k])
}

pub(crate) fn sub<const D: usize>(a: &Point<D>, b: &Point<D>) -> Point<D> {
    std::array::from_fn(|k| a[k] - b[k])
}

/// `a + t b`.
pub(crate) fn along<const D: usize>(a: &Point<D>, t: f64, b: &Point<D>) -> Point<D> {
    std::array::from_fn(|k| a[k] + t * b[k])
}

pub(crate) fn dot<const D: usize>(a: &Point<D>, b: &Point<D>) -> f64 {
    (0..D).map(|k| a[k] * b[k]).sum()
}

pub(crate) fn norm<const D: usize>(a: &Point<D>) -> f64 {
    dot(a, a).sqrt()
}

pub(crate) fn distance<const D: usize>(a: &Point<D>, b: &Point<D>) -> f64 {
    norm(&sub(a, b))
}

pub(crate) fn scaled<const D: usize>(a: &Point<D>, t: f64) -> Point<D> {
    a.map(|x| t * x)
}

/// The direction of `a`, or `fallback` where it has none.
pub(crate) fn unit_or<const D: usize>(a: &Point<D>, fallback: &Point<D>) -> Point<D> {
    let length = norm(a);
    if length > 0.0 && length.is_finite() {
        scaled(a, 1.0 / length)
    } else {
        *fallback
    }
}

pub(crate) fn cross(a: &Point<3>, b: &Point<3>) -> Point<3> {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// The unit vector along axis `k`, times `sign`.
pub(crate) fn axis<const D: usize>(k: usize, sign: f64) -> Point<D> {
    std::array::from_fn(|i| if i == k { sign } else { 0.0 })
}

/// The point of the segment `a b` nearest to `x`.
pub(crate) fn nearest_on_segment<const D: usize>(
    x: &Point<D>,
    a: &Point<D>,
    b: &Point<D>,
) -> Point<D> {
    let edge = sub(b, a);
    let length2 = dot(&edge, &edge);
    if length2 == 0.0 {
        return *a;
    }
    along(a, (dot(&sub(x, a), &edge) / length2).clamp(0.0, 1.0), &edge)
}
