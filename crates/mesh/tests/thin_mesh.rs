//! A thin plate as a mesh of triangles far smaller than the cells: both sides lie in one cell, and
//! most triangles touch no face of it.
//!
//! The surface of a piece of electrolyte is closed: the open faces of a node and the facets in it
//! balance as vectors, `sum of A n over openings = sum of A n over facets` (the normals of facets point
//! into the electrolyte). Facets given to the wrong side break that at once, and starve their cell.

use ionfall_mesh::grid::{Body, BodyKind, Domain, Grid, Space, build};
use ionfall_mesh::solid::mesh_file::{RawMesh, mend};
use ionfall_mesh::solid::{Cuboid, Placement, Point, Solid};
use proptest::prelude::*;

const H: f64 = 1e-3;

/// A plate of 12 x 12 mm and the given thickness, each side in `n` x `n` squares of two triangles.
fn plate(thickness_m: f64, n: u32) -> Solid<3> {
    let at = |i: u32, j: u32, top: bool| -> Point<3> {
        let along = |k: u32| 0.012 * (f64::from(k) / f64::from(n) - 0.5);
        let z = if top { 0.5 } else { -0.5 } * thickness_m;
        [along(i), along(j), z]
    };
    let mut vertices: Vec<Point<3>> = Vec::new();
    let mut triangles = Vec::new();
    let mut square = |corners: [Point<3>; 4]| {
        let first = vertices.len() as u32;
        vertices.extend(corners);
        triangles.extend([[first, first + 1, first + 2], [first, first + 2, first + 3]]);
    };
    for i in 0..n {
        for j in 0..n {
            let ring = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
            square(ring.map(|(i, j)| at(i, j, true)));
            let [a, b, c, d] = ring.map(|(i, j)| at(i, j, false));
            square([d, c, b, a]);
        }
        for (a, b) in [
            ((i, 0), (i + 1, 0)),
            ((i + 1, n), (i, n)),
            ((n, i), (n, i + 1)),
            ((0, i + 1), (0, i)),
        ] {
            let side = |p: (u32, u32), top| at(p.0, p.1, top);
            square([side(a, false), side(b, false), side(b, true), side(a, true)]);
        }
    }
    let raw = RawMesh {
        vertices,
        triangles,
    };
    Solid::new(mend(raw, 1.0).expect("a sound mesh").0)
}

fn grid(work: Solid<3>) -> Grid<3> {
    let block = |low, high| Solid::new(Cuboid::new(low, high).expect("a good block"));
    let body = |name: &str, solid, finest_m: f64| Body {
        name: name.into(),
        solid,
        kind: BodyKind::Electrode,
        finest_m,
        edge_m: finest_m,
        across: 0.0,
    };
    let domain = Domain {
        space: Space::Tank,
        tank: block([-0.02; 3], [0.02; 3]),
        bodies: vec![
            body("work", work, H),
            body(
                "anode",
                block([0.019, -0.02, -0.02], [0.03, 0.02, 0.02]),
                2.0 * H,
            ),
        ],
        stop_offs: Vec::new(),
        sheets: Vec::new(),
        regions: Vec::new(),
        wall_m: 4.0 * H,
        coarsest_m: 4.0 * H,
    };
    build(&domain, 4 << 30).expect("a grid")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..Default::default() })]

    #[test]
    fn facets_lie_on_their_own_side(
        thickness in 0.15..0.9f64,
        turns in prop::array::uniform3(0.0..360.0f64),
        shift in prop::array::uniform3(-0.5..0.5f64),
    ) {
        let mut placed = Placement::identity();
        for (k, turn) in turns.iter().enumerate() {
            let mut axis = [0.0; 3];
            axis[k] = 1.0;
            placed = placed.then(&Placement::<3>::rotation(axis, turn.to_radians()).unwrap());
        }
        let placed = placed.then(&Placement::translation(shift.map(|s| s * H)).unwrap());
        let grid = grid(plate(thickness * H, 60).placed(&placed));
        let mut open = vec![[0.0; 3]; grid.len()];
        for link in &grid.couplings.links {
            let (a, b) = (link.a as usize, link.b as usize);
            let way: Point<3> = std::array::from_fn(|k| grid.centre(b)[k] - grid.centre(a)[k]);
            for k in 0..3 {
                // Leaves beside the plate are all of one size.
                let vector = if way[k].abs() > 0.5 * H { way[k].signum() * link.metres * H } else { 0.0 };
                open[a][k] += vector;
                open[b][k] -= vector;
            }
        }
        let mut within = vec![true; grid.len()];
        for (facet, &node) in grid.facets.iter().zip(&grid.facet_node) {
            let place = placed.undo(&facet.point);
            within[node as usize] &= facet.body == 0 && place[..2].iter().all(|x| x.abs() < 0.006 - 2.0 * H);
            for k in 0..3 {
                open[node as usize][k] -= facet.area_m2 * facet.normal[k];
            }
        }
        let mut seen = 0;
        for (facet, &node) in grid.facets.iter().zip(&grid.facet_node) {
            if facet.body == 0 && within[node as usize] {
                seen += 1;
                let gap = open[node as usize].iter().map(|x| x * x).sum::<f64>().sqrt();
                prop_assert!(gap < 1e-3 * H * H, "{gap} m2 at {:?}", facet.point);
            }
        }
        prop_assert!(seen > 100, "{seen} facets looked at");
    }
}
