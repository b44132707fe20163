//! Values of facets on the vertices of any mesh of the same surface.
//!
//! Each vertex takes the mean of the facets near it, weighted by area over squared distance; facets
//! that face another way than the vertex (the other side of a thin wall) do not count.

use ionfall_mesh::grid::facet::Facet;
use ionfall_mesh::grid::fragment::{dot, norm, sub};
use ionfall_mesh::solid::Point;
use rustc_hash::FxHashMap;
use std::ops::Range;

/// Facets of one body, sorted into boxes.
#[derive(Debug)]
pub struct FacetIndex<const D: usize> {
    /// Those of a box side by side.
    facets: Vec<Near<D>>,
    boxes: FxHashMap<[i64; D], Range<usize>>,
    size_m: f64,
}

/// What is asked of a facet near a vertex.
#[derive(Debug)]
struct Near<const D: usize> {
    point: Point<D>,
    normal: Point<D>,
    area_m2: f64,
    number: usize,
}

impl<const D: usize> FacetIndex<D> {
    /// Of the facets of a body; `size_m` is about two facets wide.
    pub fn new(facets: &[Facet<D>], body: usize, size_m: f64) -> Self {
        let own = (facets.iter().enumerate()).filter(|(_, f)| usize::from(f.body) == body);
        let mut sorted: Vec<([i64; D], Near<D>)> = own
            .map(|(number, f)| {
                let near = Near {
                    point: f.point,
                    normal: f.normal,
                    area_m2: f.area_m2,
                    number,
                };
                (key(&f.point, size_m), near)
            })
            .collect();
        sorted.sort_by_key(|(key, near)| (*key, near.number));
        let mut boxes = FxHashMap::default();
        let mut from = 0;
        for same in sorted.chunk_by(|a, b| a.0 == b.0) {
            boxes.insert(same[0].0, from..from + same.len());
            from += same.len();
        }
        Self {
            facets: sorted.into_iter().map(|(_, near)| near).collect(),
            boxes,
            size_m,
        }
    }

    /// Weighted mean at a vertex with its normal out of the body; `None` where no facet is near
    /// (dry, insulated, or buried places).
    pub fn at(
        &self,
        vertex: &Point<D>,
        normal: &Point<D>,
        value: impl Fn(usize) -> f64,
    ) -> Option<f64> {
        let centre = key(vertex, self.size_m);
        let (mut sum, mut weights) = (0.0, 0.0);
        for n in 0..3usize.pow(D as u32) {
            let mut k = centre;
            let mut rest = n;
            for c in &mut k {
                *c += (rest % 3) as i64 - 1;
                rest /= 3;
            }
            let Some(range) = self.boxes.get(&k) else {
                continue;
            };
            for near in &self.facets[range.clone()] {
                let distance = norm(&sub(&near.point, vertex));
                if distance > self.size_m || dot(&near.normal, normal) < 0.3 {
                    continue;
                }
                let w = near.area_m2 / (distance * distance + 1e-3 * self.size_m * self.size_m);
                sum += w * value(near.number);
                weights += w;
            }
        }
        (weights > 0.0).then(|| sum / weights)
    }
}

fn key<const D: usize>(x: &Point<D>, size_m: f64) -> [i64; D] {
    std::array::from_fn(|k| (x[k] / size_m).floor() as i64)
}
