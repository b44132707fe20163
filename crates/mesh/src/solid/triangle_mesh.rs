//! A closed triangle mesh as a solid, exactly as drawn: never refined, never smoothed.

use super::bounds::{Bounds, Point};
use super::mesh_topology::{Edges, corners_of};
use super::polygon::SMOOTH_COS;
use super::shape::{Fineness, Primitive, Soup, SurfacePoint};
use super::triangle_tree::TriangleTree;
use ionfall_numerics::vector::{cross, dot, sub, unit_or};

/// A closed, outward-facing triangle mesh that does not cross itself; made by
/// [`mesh_file::read`](super::mesh_file::read) or [`mesh_file::mend`](super::mesh_file::mend).
///
/// A patch is what can be reached without crossing an edge of 30 degrees or more (numbers start
/// again at 0 after 65536 patches).
#[derive(Clone, Debug)]
pub struct TriangleMesh {
    vertices: Vec<Point<3>>,
    triangles: Vec<[u32; 3]>,
    patch: Vec<u16>,
    tree: TriangleTree,
    bounds: Bounds<3>,
}

impl TriangleMesh {
    /// From vertices in metres and triangles that are known to be sound.
    pub(crate) fn sound(vertices: Vec<Point<3>>, triangles: Vec<[u32; 3]>, edges: &Edges) -> Self {
        let corners = corners_of(&vertices, &triangles);
        Self {
            patch: patches(&corners, edges),
            bounds: Bounds::around(vertices.iter().copied()),
            tree: TriangleTree::new(corners),
            vertices,
            triangles,
        }
    }

    /// Vertices, metres.
    pub fn vertices(&self) -> &[Point<3>] {
        &self.vertices
    }

    /// Vertex numbers of the triangles, counter-clockwise from outside.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// Smooth patch of each triangle.
    pub fn patches(&self) -> &[u16] {
        &self.patch
    }
}

/// Floods patches over edges that turn by less than 30 degrees.
fn patches(corners: &[[Point<3>; 3]], edges: &Edges) -> Vec<u16> {
    let normals: Vec<Point<3>> = corners
        .iter()
        .map(|t| unit_or(&cross(&sub(&t[1], &t[0]), &sub(&t[2], &t[0])), &[0.0; 3]))
        .collect();
    let neighbours = edges.neighbours(corners.len());
    let mut patch: Vec<Option<u16>> = vec![None; corners.len()];
    let mut next: u16 = 0;
    for seed in 0..corners.len() {
        if patch[seed].is_some() {
            continue;
        }
        patch[seed] = Some(next);
        let mut stack = vec![seed];
        while let Some(t) = stack.pop() {
            for &n in &neighbours[t] {
                if patch[n].is_none() && dot(&normals[t], &normals[n]) >= SMOOTH_COS {
                    patch[n] = Some(next);
                    stack.push(n);
                }
            }
        }
        next = next.wrapping_add(1);
    }
    patch.into_iter().map(Option::unwrap_or_default).collect()
}

impl Primitive<3> for TriangleMesh {
    fn bounds(&self) -> Bounds<3> {
        self.bounds
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.bounds.contains(x) && self.tree.winding(x) > 0
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        let far = self.tree.distance(x);
        if self.contains(x) { -far } else { far }
    }

    fn is_clear(&self, x: &Point<3>, radius_m: f64) -> bool {
        self.tree.is_clear(x, radius_m) && !self.contains(x)
    }

    /// The triangles themselves, but for those without area.
    fn tessellate(&self, _fineness: &Fineness<3>) -> Soup<3> {
        let mut soup = Soup {
            vertices: self.vertices.clone(),
            elements: self.triangles.clone(),
            patch: self.patch.clone(),
            area_factor: vec![1.0; self.triangles.len()],
        };
        let flat: Vec<bool> = (0..soup.elements.len())
            .map(|e| soup.area(e) == 0.0)
            .collect();
        if flat.contains(&true) {
            let mut keep = flat.iter().map(|f| !f);
            soup.elements.retain(|_| keep.next() == Some(true));
            let mut keep = flat.iter().map(|f| !f);
            soup.patch.retain(|_| keep.next() == Some(true));
            soup.area_factor.truncate(soup.elements.len());
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        SurfacePoint {
            point: *x,
            normal: *element_normal,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_3d, fineness};
    use super::super::{Ball, Cuboid};
    use super::*;
    use ionfall_numerics::vector::{add_scaled, scaled};
    use proptest::prelude::*;

    fn mesh_of(p: &dyn Primitive<3>, sagitta_m: f64) -> TriangleMesh {
        let soup = p.tessellate(&fineness(p, sagitta_m));
        let edges = Edges::of(&soup.elements);
        TriangleMesh::sound(soup.vertices, soup.elements, &edges)
    }

    #[test]
    fn cube_mesh() {
        let cube = mesh_of(&Cuboid::new([1.0; 3], [3.0; 3]).unwrap(), 1.0);
        check_3d(&cube, 1e-9, 24.0, 8.0);
        assert_eq!(cube.patches().iter().max(), Some(&5));
    }

    #[test]
    fn ball_mesh_is_one_patch() {
        let ball = mesh_of(&Ball::new([0.0; 3], 1.0).unwrap(), 1e-2);
        assert!(ball.patches().iter().all(|p| *p == 0));
        let soup = ball.tessellate(&fineness(&ball, 1.0));
        let area: f64 = (0..soup.elements.len()).map(|e| soup.area(e)).sum();
        let volume: f64 = (0..soup.elements.len())
            .map(|e| dot(&soup.area_vector(e), &soup.corners(e)[0]) / 3.0)
            .sum();
        check_3d(&ball, 1e-9, area, volume);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]
        /// Points a hair beside faces, edges and vertices, where rays graze other triangles.
        #[test]
        fn right_next_to_the_surface(e in 0_usize..10_000, u in 0.0..1.0_f64, v in 0.0..1.0_f64,
                                     kind in 0..3, hair in -12..-6_i32) {
            let hair = 10.0_f64.powi(hair);
            let shapes = [
                mesh_of(&Ball::new([0.0; 3], 1.0).unwrap(), 2e-2),
                mesh_of(&Cuboid::sized([1.0; 3]).unwrap(), 1.0),
            ];
            for mesh in &shapes {
                let soup = mesh.tessellate(&fineness(mesh, 1.0));
                let e = e % soup.elements.len();
                let [a, b, c] = soup.corners(e);
                // On the face, on an edge, or in a vertex.
                let (u, v) = match kind { 0 => (u * (1.0 - v), v), 1 => (u, 0.0), _ => (0.0, 0.0) };
                let x = add_scaled(&add_scaled(&a, u, &sub(&b, &a)), v, &sub(&c, &a));
                // Radial from the middle: inside and outside for both convex shapes.
                let middle = scaled(&add_scaled(&mesh.bounds().low, 1.0, &mesh.bounds().high), 0.5);
                let out = sub(&x, &middle);
                prop_assert!(mesh.contains(&add_scaled(&x, -hair, &out)));
                prop_assert!(!mesh.contains(&add_scaled(&x, hair, &out)));
            }
        }

        #[test]
        fn agrees_with_the_true_cube(x in prop::array::uniform3(-0.5..1.5)) {
            let cube = Cuboid::sized([1.0; 3]).unwrap();
            let mesh = mesh_of(&cube, 1.0);
            prop_assert_eq!(mesh.contains(&x), cube.contains(&x));
            prop_assert!((mesh.signed_distance(&x) - cube.signed_distance(&x)).abs() < 1e-12);
        }
    }
}
