//! Values of facets on the vertices of any mesh of the same surface.
//!
//! Each vertex takes the mean of the facets near it, weighted by area over squared distance; facets
//! that face another way than the vertex (the other side of a thin wall) do not count.

use ionfall_mesh::grid::facet::Facet;
use ionfall_mesh::grid::fragment::{dot, norm, sub};
use ionfall_mesh::solid::Point;
use rustc_hash::FxHashMap;

/// Facets of one body, sorted into boxes.
#[derive(Debug)]
pub struct FacetIndex<'a, const D: usize> {
    facets: Vec<(&'a Facet<D>, usize)>,
    boxes: FxHashMap<[i64; D], Vec<u32>>,
    size_m: f64,
}

impl<'a, const D: usize> FacetIndex<'a, D> {
    /// Of the facets of a body; `size_m` is about two facets wide.
    pub fn new(facets: &'a [Facet<D>], body: usize, size_m: f64) -> Self {
        let own: Vec<(&Facet<D>, usize)> = facets
            .iter()
            .enumerate()
            .filter(|(_, f)| usize::from(f.body) == body)
            .map(|(n, f)| (f, n))
            .collect();
        let mut boxes: FxHashMap<[i64; D], Vec<u32>> = FxHashMap::default();
        for (n, (facet, _)) in own.iter().enumerate() {
            boxes
                .entry(key(&facet.point, size_m))
                .or_default()
                .push(n as u32);
        }
        Self {
            facets: own,
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
            for &f in self.boxes.get(&k).into_iter().flatten() {
                let (facet, number) = self.facets[f as usize];
                let distance = norm(&sub(&facet.point, vertex));
                if dot(&facet.normal, normal) < 0.3 || distance > self.size_m {
                    continue;
                }
                let w = facet.area_m2 / (distance * distance + 1e-3 * self.size_m * self.size_m);
                sum += w * value(number);
                weights += w;
            }
        }
        (weights > 0.0).then(|| sum / weights)
    }
}

fn key<const D: usize>(x: &Point<D>, size_m: f64) -> [i64; D] {
    std::array::from_fn(|k| (x[k] / size_m).floor() as i64)
}
