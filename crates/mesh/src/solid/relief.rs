//! Plates with a relief: a height field z = f(x, y) over a rectangle.
//!
//! Heights are given at the nodes of a regular lattice. Each mesh of the lattice is split into two
//! triangles along the diagonal whose ends differ less in height; the relief is exactly that
//! surface, so membership and elements agree to the last bit of rounding.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::positive;
use super::shape::{Fineness, Primitive, Soup, SurfacePoint};
use ionfall_numerics::vector::unit_or;
use ndarray::Array2;

/// Heights from 0 to 1 on a lattice, `[[iy, ix]]`, `iy` growing upwards.
pub type Heights = Array2<f32>;

/// A plate over `[0, width] x [0, height]` from z = 0 to its relief. Patch 0 is the relief, 1 the
/// back, 2 to 5 the sides x low, x high, y low, y high.
#[derive(Clone, Debug)]
pub struct Relief {
    /// z of the nodes, metres, `[[iy, ix]]`.
    z_m: Array2<f64>,
    size_m: Point<2>,
    highest_m: f64,
}

impl Relief {
    /// A plate of thickness `base_m` that carries a relief `depth_m` high.
    ///
    /// `heights[[iy, ix]]` from 0 to 1 lies at (ix, iy) of a lattice that spans the plate
    /// (`width_m` along x, `height_m` along y); see
    /// [`heights_from_png`](super::heights_from_png). With `white_is_high` 1 is the top,
    /// otherwise 0.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] for a length, [`SolidError::PictureTooSmall`] with less than
    /// 2 x 2 heights, [`SolidError::OutOfRange`] for a height outside 0 to 1.
    pub fn new(
        heights: &Array2<f32>,
        width_m: f64,
        height_m: f64,
        depth_m: f64,
        base_m: f64,
        white_is_high: bool,
    ) -> Result<Self, SolidError> {
        positive("the width of the relief", width_m)?;
        positive("the height of the relief", height_m)?;
        positive("the depth of the relief", depth_m)?;
        positive("the base under the relief", base_m)?;
        let (height, width) = heights.dim();
        if width < 2 || height < 2 {
            return Err(SolidError::PictureTooSmall { width, height });
        }
        if let Some(&bad) = heights.iter().find(|h| !(0.0..=1.0).contains(*h)) {
            return Err(SolidError::OutOfRange {
                what: "a height of the relief",
                value: f64::from(bad),
                expected: "it must lie between 0 and 1",
            });
        }
        let z_m = heights.mapv(|h| {
            let h = f64::from(h);
            base_m + depth_m * if white_is_high { h } else { 1.0 - h }
        });
        Ok(Self {
            highest_m: z_m.iter().copied().fold(0.0, f64::max),
            z_m,
            size_m: [width_m, height_m],
        })
    }

    /// Lattice meshes along x and y.
    fn meshes(&self) -> [usize; 2] {
        let (rows, columns) = self.z_m.dim();
        [columns - 1, rows - 1]
    }

    fn node(&self, ix: usize, iy: usize) -> Point<3> {
        let [nx, ny] = self.meshes();
        [
            self.size_m[0] * ix as f64 / nx as f64,
            self.size_m[1] * iy as f64 / ny as f64,
            self.z_m[[iy, ix]],
        ]
    }

    /// The two triangles of a lattice mesh as corners (0, 1: along x; 2, 3: the row above).
    fn split(&self, ix: usize, iy: usize) -> [[usize; 3]; 2] {
        let z = |dx: usize, dy: usize| self.z_m[[iy + dy, ix + dx]];
        if (z(0, 0) - z(1, 1)).abs() <= (z(1, 0) - z(0, 1)).abs() {
            [[0, 1, 3], [0, 3, 2]]
        } else {
            [[0, 1, 2], [1, 3, 2]]
        }
    }

    /// Height and slopes of the relief above (x, y) (the nearest point of the plate).
    fn top(&self, x: &Point<3>) -> (f64, Point<2>) {
        let meshes = self.meshes();
        let mut index = [0; 2];
        let mut part = [0.0; 2];
        for k in 0..2 {
            let at = (x[k] / self.size_m[k]).clamp(0.0, 1.0) * meshes[k] as f64;
            index[k] = (at as usize).min(meshes[k] - 1);
            part[k] = at - index[k] as f64;
        }
        let [ix, iy] = index;
        let z = |dx: usize, dy: usize| self.z_m[[iy + dy, ix + dx]];
        let [u, v] = part;
        let rising = self.split(ix, iy)[0][2] == 3;
        let (low_side, slope_u, slope_v) = if rising {
            if v <= u {
                (z(0, 0), z(1, 0) - z(0, 0), z(1, 1) - z(1, 0))
            } else {
                (z(0, 0), z(1, 1) - z(0, 1), z(0, 1) - z(0, 0))
            }
        } else if u + v <= 1.0 {
            (z(0, 0), z(1, 0) - z(0, 0), z(0, 1) - z(0, 0))
        } else {
            let (su, sv) = (z(1, 1) - z(0, 1), z(1, 1) - z(1, 0));
            (z(1, 1) - su - sv, su, sv)
        };
        let slopes = [
            slope_u * meshes[0] as f64 / self.size_m[0],
            slope_v * meshes[1] as f64 / self.size_m[1],
        ];
        (low_side + u * slope_u + v * slope_v, slopes)
    }

    /// The relief alone: nodes and triangles, facing up.
    pub fn top_surface(&self) -> (Vec<Point<3>>, Vec<[u32; 3]>) {
        let [nx, ny] = self.meshes();
        let mut nodes = Vec::with_capacity(self.z_m.len());
        let mut triangles = Vec::with_capacity(2 * nx * ny);
        for iy in 0..=ny {
            nodes.extend((0..=nx).map(|ix| self.node(ix, iy)));
        }
        for iy in 0..ny {
            for ix in 0..nx {
                let corner = |c: usize| ((iy + c / 2) * (nx + 1) + ix + c % 2) as u32;
                triangles.extend(self.split(ix, iy).map(|t| t.map(corner)));
            }
        }
        (nodes, triangles)
    }
}

impl Primitive<3> for Relief {
    fn bounds(&self) -> Bounds<3> {
        Bounds {
            low: [0.0; 3],
            high: [self.size_m[0], self.size_m[1], self.highest_m],
        }
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.bounds().contains(x) && x[2] <= self.top(x).0
    }

    /// Exact beside back and sides; above and below the relief the vertical gap times the cosine
    /// of the slope there, exact beside every triangle.
    fn signed_distance(&self, x: &Point<3>) -> f64 {
        let (z, [sx, sy]) = self.top(x);
        let above = (x[2] - z) / (1.0 + sx * sx + sy * sy).sqrt();
        let beside = (0..2)
            .map(|k| (-x[k]).max(x[k] - self.size_m[k]))
            .fold(-x[2], f64::max);
        above.max(beside)
    }

    fn tessellate(&self, _fineness: &Fineness<3>) -> Soup<3> {
        let [nx, ny] = self.meshes();
        let mut soup = Soup::default();
        let (nodes, triangles) = self.top_surface();
        soup.vertices = nodes;
        for t in triangles {
            soup.element(t, 0, 1.0);
        }
        let [w, h] = self.size_m;
        let [a, b, c, d] =
            [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|p| soup.vertex([p[0], p[1], 0.0]));
        soup.element([a, d, c], 1, 1.0);
        soup.element([a, c, b], 1, 1.0);
        // The rim, counter-clockwise from above, side by side.
        let top = |ix: usize, iy: usize| (iy * (nx + 1) + ix) as u32;
        let low: Vec<u32> = (0..=nx).map(|i| top(i, 0)).collect();
        let right: Vec<u32> = (0..=ny).map(|i| top(nx, i)).collect();
        let high: Vec<u32> = (0..=nx).rev().map(|i| top(i, ny)).collect();
        let left: Vec<u32> = (0..=ny).rev().map(|i| top(0, i)).collect();
        for (rim, patch) in [(low, 4), (right, 3), (high, 5), (left, 2)] {
            let feet: Vec<u32> = rim
                .iter()
                .map(|&v| {
                    let [x, y, _] = soup.vertices[v as usize];
                    soup.vertex([x, y, 0.0])
                })
                .collect();
            for i in 1..rim.len() {
                soup.element([feet[i - 1], feet[i], rim[i]], patch, 1.0);
                soup.element([feet[i - 1], rim[i], rim[i - 1]], patch, 1.0);
            }
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<3>, _element_normal: &Point<3>) -> SurfacePoint<3> {
        let mut point = *x;
        let mut normal = [0.0; 3];
        match patch {
            0 => {
                let (z, [sx, sy]) = self.top(x);
                point[2] = z;
                normal = unit_or(&[-sx, -sy, 1.0], &[0.0, 0.0, 1.0]);
            }
            1 => {
                point[2] = 0.0;
                normal[2] = -1.0;
            }
            side => {
                let (k, high) = (usize::from(side / 2 - 1) % 2, side % 2 == 1);
                point[k] = if high { self.size_m[k] } else { 0.0 };
                normal[k] = if high { 1.0 } else { -1.0 };
            }
        }
        SurfacePoint { point, normal }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{agreement, check_3d, fineness};
    use super::super::{TriangleMesh, mesh_file};
    use super::*;
    use ionfall_numerics::vector::{add, cross, dot, norm, scaled, sub};
    use proptest::prelude::*;

    fn wavy() -> Relief {
        let heights = Array2::from_shape_fn((5, 7), |(i, j)| ((i * 7 + j * 5) % 11) as f32 / 10.0);
        Relief::new(&heights, 6.0, 4.0, 1.0, 0.5, true).unwrap()
    }

    fn as_mesh(r: &Relief) -> (TriangleMesh, mesh_file::MeshReport) {
        let soup = r.tessellate(&fineness(r, 1.0));
        let mut raw = mesh_file::RawMesh {
            vertices: soup.vertices,
            triangles: soup.elements,
        };
        // The back is two triangles whatever the rim: replace it by a fan to get a closed mesh.
        let back: Vec<usize> = (0..raw.triangles.len())
            .filter(|&e| soup.patch[e] == 1)
            .collect();
        let middle = raw.vertices.len() as u32;
        raw.vertices.push([3.0, 2.0, 0.0]);
        let rim: Vec<[u32; 2]> = (0..raw.triangles.len())
            .filter(|&e| soup.patch[e] >= 2)
            .map(|e| raw.triangles[e])
            .filter(|t| {
                t.iter()
                    .filter(|&&v| raw.vertices[v as usize][2] == 0.0)
                    .count()
                    == 2
            })
            .map(|t| [t[0], t[1]])
            .collect();
        raw.triangles.retain({
            let mut e = 0;
            move |_| {
                e += 1;
                !back.contains(&(e - 1))
            }
        });
        raw.triangles
            .extend(rim.iter().map(|[a, b]| [*b, *a, middle]));
        mesh_file::mend(raw, 1.0).unwrap()
    }

    #[test]
    fn a_flat_relief_is_a_box() {
        let flat = Relief::new(&Array2::ones((2, 2)), 2.0, 3.0, 0.5, 0.5, true).unwrap();
        check_3d(&flat, 1e-9, 2.0 * (6.0 + 2.0 + 3.0), 6.0);
        let low = Relief::new(&Array2::ones((2, 2)), 2.0, 3.0, 0.5, 0.5, false).unwrap();
        check_3d(&low, 1e-9, 2.0 * (6.0 + 1.0 + 1.5), 3.0);
    }

    #[test]
    fn closed_and_consistent() {
        let r = wavy();
        agreement(&r);
        let (mesh, report) = as_mesh(&r);
        assert!(report.repairs.is_empty(), "{:?}", report.repairs);
        let soup = r.tessellate(&fineness(&r, 1.0));
        let mut closing = [0.0; 3];
        let mut volume = 0.0;
        for e in 0..soup.elements.len() {
            let n = soup.area_vector(e);
            closing = add(&closing, &n);
            let corners = soup.corners(e);
            volume += dot(&n, &corners[0]) / 3.0;
            let middle: Point<3> =
                std::array::from_fn(|k| corners.iter().map(|c| c[k]).sum::<f64>() / 3.0);
            let on = r.project(soup.patch[e], &middle, &[0.0; 3]);
            let flat = scaled(&n, 1.0 / norm(&n));
            assert!(
                norm(&sub(&on.normal, &flat)) < 1e-12,
                "patch {}",
                soup.patch[e]
            );
            assert!(norm(&sub(&on.point, &middle)) < 1e-12);
        }
        assert!(norm(&closing) < 1e-12);
        assert!((volume - report.volume_m3).abs() < 1e-12);
        let (nodes, triangles) = r.top_surface();
        assert_eq!((nodes.len(), triangles.len()), (35, 48));
        assert!(mesh.contains(&[3.0, 2.0, 0.2]));
        let t = triangles[0].map(|v| nodes[v as usize]);
        assert!(cross(&sub(&t[1], &t[0]), &sub(&t[2], &t[0]))[2] > 0.0);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(500))]
        #[test]
        fn holds_what_its_triangles_hold(x in 0.0..6.0_f64, y in 0.0..4.0_f64, z in 0.0..1.6_f64) {
            let r = wavy();
            let (mesh, _) = as_mesh(&r);
            let p = [x, y, z];
            prop_assert_eq!(r.contains(&p), mesh.contains(&p));
            let surface = [x, y, r.top(&p).0];
            prop_assert!(mesh.signed_distance(&surface).abs() < 1e-12);
        }
    }

    #[test]
    fn refuses_bad_numbers() {
        let make =
            |shape, depth: f64| Relief::new(&Array2::zeros(shape), 1.0, 1.0, depth, 1.0, true);
        assert!(matches!(
            make((1, 5), 1.0),
            Err(SolidError::PictureTooSmall {
                width: 5,
                height: 1
            })
        ));
        assert!(matches!(
            make((2, 2), 0.0),
            Err(SolidError::NotPositive { .. })
        ));
        let nan = Array2::from_elem((2, 2), f32::NAN);
        let r = Relief::new(&nan, 1.0, 1.0, 1.0, 1.0, true);
        assert!(matches!(r, Err(SolidError::OutOfRange { .. })));
    }
}
