//! Vectors of a few components, on plain arrays.
//!
//! ```
//! use ionfall_numerics::vector::{dot, norm, sub};
//!
//! let arm = sub(&[4.0, 6.0], &[1.0, 2.0]);
//! assert_eq!(norm(&arm), 5.0);
//! assert_eq!(dot(&arm, &[1.0, 0.0]), 3.0);
//! ```

/// `a + b`.
#[inline]
pub fn add<const D: usize>(a: &[f64; D], b: &[f64; D]) -> [f64; D] {
    std::array::from_fn(|k| a[k] + b[k])
}

/// `a - b`.
#[inline]
pub fn sub<const D: usize>(a: &[f64; D], b: &[f64; D]) -> [f64; D] {
    std::array::from_fn(|k| a[k] - b[k])
}

/// `a + t b`.
#[inline]
pub fn add_scaled<const D: usize>(a: &[f64; D], t: f64, b: &[f64; D]) -> [f64; D] {
    std::array::from_fn(|k| a[k] + t * b[k])
}

/// `t a`.
#[inline]
pub fn scaled<const D: usize>(a: &[f64; D], t: f64) -> [f64; D] {
    a.map(|x| t * x)
}

/// Scalar product.
#[inline]
pub fn dot<const D: usize>(a: &[f64; D], b: &[f64; D]) -> f64 {
    (0..D).map(|k| a[k] * b[k]).sum()
}

/// Vector product.
#[inline]
pub fn cross(a: &[f64; 3], b: &[f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Length.
#[inline]
pub fn norm<const D: usize>(a: &[f64; D]) -> f64 {
    dot(a, a).sqrt()
}

/// Distance of two points.
#[inline]
pub fn distance<const D: usize>(a: &[f64; D], b: &[f64; D]) -> f64 {
    norm(&sub(a, b))
}

/// The vector divided by its length (zero stays zero).
#[inline]
pub fn unit<const D: usize>(a: &[f64; D]) -> [f64; D] {
    let n = norm(a);
    if n > 0.0 { a.map(|x| x / n) } else { *a }
}

/// The direction of `a`, or `fallback` where it has none.
#[inline]
pub fn unit_or<const D: usize>(a: &[f64; D], fallback: &[f64; D]) -> [f64; D] {
    let length = norm(a);
    if length > 0.0 && length.is_finite() {
        scaled(a, 1.0 / length)
    } else {
        *fallback
    }
}

/// The unit vector along axis `k`, times `sign`.
#[inline]
pub fn axis<const D: usize>(k: usize, sign: f64) -> [f64; D] {
    std::array::from_fn(|i| if i == k { sign } else { 0.0 })
}

/// The point of the segment `a b` nearest to `x`.
#[inline]
pub fn nearest_on_segment<const D: usize>(x: &[f64; D], a: &[f64; D], b: &[f64; D]) -> [f64; D] {
    let edge = sub(b, a);
    let length2 = dot(&edge, &edge);
    if length2 == 0.0 {
        return *a;
    }
    add_scaled(a, (dot(&sub(x, a), &edge) / length2).clamp(0.0, 1.0), &edge)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_have_length_one_or_fall_back() {
        assert_eq!(unit(&[0.0, 3.0, 4.0]), [0.0, 0.6, 0.8]);
        assert_eq!(unit(&[0.0; 3]), [0.0; 3]);
        let up = axis::<3>(2, -1.0);
        assert_eq!(up, [0.0, 0.0, -1.0]);
        assert_eq!(unit_or(&[0.0; 3], &up), up);
        assert_eq!(unit_or(&[f64::INFINITY, 0.0, 0.0], &up), up);
    }

    #[test]
    fn products() {
        let (a, b) = ([1.0, 2.0, 3.0], [-2.0, 0.5, 4.0]);
        let normal = cross(&a, &b);
        assert_eq!((dot(&normal, &a), dot(&normal, &b)), (0.0, 0.0));
        assert_eq!(add(&a, &scaled(&b, 2.0)), add_scaled(&a, 2.0, &b));
    }

    #[test]
    fn nearest_points_stay_on_the_segment() {
        let (a, b) = ([0.0, 0.0], [2.0, 0.0]);
        assert_eq!(nearest_on_segment(&[1.0, 5.0], &a, &b), [1.0, 0.0]);
        assert_eq!(nearest_on_segment(&[-3.0, 5.0], &a, &b), a);
        assert_eq!(nearest_on_segment(&[9.0, 5.0], &a, &b), b);
        assert_eq!(nearest_on_segment(&[9.0, 5.0], &a, &a), a);
        assert_eq!(distance(&a, &b), 2.0);
    }
}
