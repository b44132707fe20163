//! Facets: the pieces of one electrode side in one cell, as one surface element.

use crate::solid::Point;
use ionfall_numerics::vector::{add_scaled, distance, dot, nearest_on_segment, norm, sub};

/// A facet of an electrode.
#[derive(Clone, Debug)]
pub struct Facet<const D: usize> {
    /// Number of the body in [`super::Domain::bodies`].
    pub body: u16,
    /// Separate part of the electrolyte in its cell that it borders.
    pub part: u8,
    /// Point on the true surface near the middle, metres.
    pub point: Point<D>,
    /// Unit normal into the electrolyte.
    pub normal: Point<D>,
    /// True area, m2 (planar jobs: length times depth; axisymmetric ones: band of revolution).
    pub area_m2: f64,
    /// Outlines of its flat pieces, metres; in space counter-clockwise seen from the electrolyte.
    pub outline: Outline<D>,
}

/// Outlines of flat pieces. Pieces of one surface share most corners: each is kept once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline<const D: usize> {
    points: Vec<Point<D>>,
    /// For each piece the number of its corners, then their numbers.
    corners: Vec<u32>,
}

impl<const D: usize> Outline<D> {
    /// Corners of the pieces, one piece after the other.
    pub fn iter(&self) -> Pieces<'_, D> {
        Pieces {
            outline: self,
            at: 0,
        }
    }

    /// All corners, each once.
    pub fn points(&self) -> &[Point<D>] {
        &self.points
    }

    /// The pieces by the numbers of their corners in [`Self::points`].
    pub fn numbered(&self) -> impl Iterator<Item = &[u32]> {
        let mut rest = &self.corners[..];
        std::iter::from_fn(move || {
            let (&count, after) = rest.split_first()?;
            let (piece, after) = after.split_at(count as usize);
            rest = after;
            Some(piece)
        })
    }

    /// Distance of a point from the nearest piece, m; infinite without pieces.
    pub fn distance(&self, x: &Point<D>) -> f64 {
        let pieces = self.iter().map(|piece| off_piece(&piece, x));
        pieces.fold(f64::INFINITY, f64::min)
    }

    /// Number of pieces.
    pub fn len(&self) -> usize {
        self.iter().count()
    }

    /// No pieces?
    pub fn is_empty(&self) -> bool {
        self.corners.is_empty()
    }
}

impl<const D: usize, P: IntoIterator<Item = Point<D>>> FromIterator<P> for Outline<D> {
    fn from_iter<I: IntoIterator<Item = P>>(pieces: I) -> Self {
        let mut out = Self::default();
        for piece in pieces {
            let count = out.corners.len();
            out.corners.push(0);
            for point in piece {
                let known = out.points.iter().rposition(|p| *p == point);
                let number = known.unwrap_or_else(|| {
                    out.points.push(point);
                    out.points.len() - 1
                });
                out.corners.push(number as u32);
                out.corners[count] += 1;
            }
        }
        out.points.shrink_to_fit();
        out.corners.shrink_to_fit();
        out
    }
}

impl<'a, const D: usize> IntoIterator for &'a Outline<D> {
    type Item = Vec<Point<D>>;
    type IntoIter = Pieces<'a, D>;

    fn into_iter(self) -> Pieces<'a, D> {
        self.iter()
    }
}

/// Distance of a point from a flat convex piece: a stretch, or a fan of triangles.
fn off_piece<const D: usize>(piece: &[Point<D>], x: &Point<D>) -> f64 {
    let [first, rest @ ..] = piece else {
        return f64::INFINITY;
    };
    let sides = (0..piece.len()).map(|n| [piece[n], piece[(n + 1) % piece.len()]]);
    let off_sides = sides
        .map(|[a, b]| distance(&nearest_on_segment(x, &a, &b), x))
        .fold(f64::INFINITY, f64::min);
    let fan = rest
        .windows(2)
        .filter_map(|pair| above(first, &pair[0], &pair[1], x));
    fan.fold(off_sides, f64::min)
}

/// Height of a point above a triangle, if its foot lies within.
fn above<const D: usize>(a: &Point<D>, b: &Point<D>, c: &Point<D>, x: &Point<D>) -> Option<f64> {
    let [u, v, w] = [b, c, x].map(|p| sub(p, a));
    let (uu, uv, vv) = (dot(&u, &u), dot(&u, &v), dot(&v, &v));
    let (wu, wv) = (dot(&w, &u), dot(&w, &v));
    let whole = uu * vv - uv * uv;
    let s = (vv * wu - uv * wv) / whole;
    let t = (uu * wv - uv * wu) / whole;
    // A triangle without area gives no numbers, and does not pass.
    let within = s >= 0.0 && t >= 0.0 && s + t <= 1.0;
    within.then(|| norm(&add_scaled(&add_scaled(&w, -s, &u), -t, &v)))
}

/// The pieces of an [`Outline`].
#[derive(Clone, Debug)]
pub struct Pieces<'a, const D: usize> {
    outline: &'a Outline<D>,
    at: usize,
}

impl<const D: usize> Iterator for Pieces<'_, D> {
    type Item = Vec<Point<D>>;

    fn next(&mut self) -> Option<Vec<Point<D>>> {
        let rest = self.outline.corners.get(self.at..)?;
        let (&count, rest) = rest.split_first()?;
        self.at += 1 + count as usize;
        let corners = rest[..count as usize].iter();
        Some(corners.map(|&c| self.outline.points[c as usize]).collect())
    }
}

/// A facet in the making.
#[derive(Clone, Debug)]
pub struct FacetGroup<const D: usize> {
    /// Body number.
    pub body: u16,
    /// Part of the electrolyte.
    pub part: u8,
    /// Surface number in the scene.
    pub surface: u32,
    /// Patch of the surface.
    pub patch: u16,
    /// Sum of areas, m2.
    pub area_m2: f64,
    /// Sum of area times normal, m2.
    pub area_vector: Point<D>,
    /// Sum of area times centroid, m3.
    pub moment: Point<D>,
    /// Numbers of the pieces.
    pub pieces: Vec<usize>,
}

impl<const D: usize> FacetGroup<D> {
    /// An empty group.
    pub fn new(body: u16, part: u8, surface: u32, patch: u16) -> Self {
        Self {
            body,
            part,
            surface,
            patch,
            area_m2: 0.0,
            area_vector: [0.0; D],
            moment: [0.0; D],
            pieces: Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlines_come_back_as_they_were() {
        let (a, b, c, d) = (
            [0.0, 0.0, 0.0],
            [1.0, 0.0, 0.0],
            [1.0, 1.0, 0.5],
            [0.0, 1.0, 0.0],
        );
        let pieces = vec![vec![a, b, c], vec![a, c, d]];
        let outline: Outline<3> = pieces.iter().cloned().collect();
        assert_eq!(outline.iter().collect::<Vec<_>>(), pieces);
        assert_eq!((outline.len(), outline.points().len()), (2, 4));
        assert_eq!(
            outline.numbered().collect::<Vec<_>>(),
            [[0, 1, 2], [0, 2, 3]]
        );
        assert!(Outline::<3>::default().is_empty());
    }

    #[test]
    fn distances_from_pieces() {
        let square = vec![
            [0.0, 0.0, 0.0],
            [1.0, 0.0, 0.0],
            [1.0, 1.0, 0.0],
            [0.0, 1.0, 0.0],
        ];
        let square: Outline<3> = [square].into_iter().collect();
        assert!((square.distance(&[0.7, 0.2, 0.5]) - 0.5).abs() < 1e-12);
        assert!((square.distance(&[2.0, 0.5, 0.0]) - 1.0).abs() < 1e-12);
        assert!((square.distance(&[-3.0, -4.0, 12.0]) - 13.0).abs() < 1e-12);
        let stretch = |b: [f64; 2]| -> Outline<2> { [vec![[0.0; 2], b]].into_iter().collect() };
        assert!((stretch([1.0, 0.0]).distance(&[0.5, 0.25]) - 0.25).abs() < 1e-12);
        assert!((stretch([0.0, 0.0]).distance(&[3.0, 4.0]) - 5.0).abs() < 1e-12);
        assert_eq!(Outline::<2>::default().distance(&[0.0; 2]), f64::INFINITY);
    }
}
