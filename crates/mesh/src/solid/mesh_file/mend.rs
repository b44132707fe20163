//! Looking a mesh over: mend what is beyond doubt, say what was done, refuse the rest.
//!
//! The order: join equal points; leave out degenerate and repeated triangles; close hairline
//! cracks; make neighbours face the same way; fill small holes; refuse edges that leave inside and
//! outside open; refuse triangles that pass through each other; make shells face outwards.

use super::super::error::positive;
use super::super::mesh_topology::{Edges, Side, agree_winding, corners_of};
use super::super::triangle_tree::TriangleTree;
use super::super::{Bounds, Point, SolidError, TriangleMesh};
use super::raw::RawMesh;
use super::report::{Log, some};
use super::report::{MeshReport, RepairKind};
use super::{merge, shells, small_holes};
use ionfall_numerics::vector::{add, cross, dot, norm, scaled, sub};

/// Makes a sound mesh of what a file says, or tells why it cannot be one.
///
/// # Errors
/// [`SolidError::NotPositive`] for the scale, [`SolidError::NotFinite`],
/// [`SolidError::NoSuchVertex`], [`SolidError::EmptyMesh`], [`SolidError::OpenMesh`],
/// [`SolidError::NonManifold`], [`SolidError::NotOrientable`], [`SolidError::SelfCrossing`],
/// [`SolidError::NestedShell`], [`SolidError::NoVolume`].
pub fn mend(
    mut raw: RawMesh,
    scale_m_per_unit: f64,
) -> Result<(TriangleMesh, MeshReport), SolidError> {
    positive("the length of one unit of the mesh file", scale_m_per_unit)?;
    let triangles_read = raw.triangles.len();
    check_numbers(&raw)?;
    let mut log = Log::default();
    merge::join_equal(&mut raw);
    let mut degenerate = merge::drop_degenerate(&mut raw);
    let mut repeated = merge::drop_duplicates(&mut raw);
    let mut edges = Edges::of(&raw.triangles);
    let joined = merge::close_cracks(&mut raw, &edges);
    if !joined.is_empty() {
        degenerate.extend(merge::drop_degenerate(&mut raw));
        repeated.extend(merge::drop_duplicates(&mut raw));
        edges = Edges::of(&raw.triangles);
    }
    log.note(RepairKind::DroppedDegenerate, degenerate);
    log.note(RepairKind::DroppedDuplicates, repeated);
    log.note(RepairKind::ClosedCracks, joined);
    if raw.triangles.iter().all(|t| area(&raw, t) == 0.0) {
        return Err(SolidError::EmptyMesh);
    }

    refuse_edges(&raw, &edges, |edge| edge.len() > 2 && edge.len() % 2 == 1)?;
    let turned = agree_winding(&mut raw.triangles, &edges).map_err(|bad| {
        let at = bad.iter().map(|e| between(&raw, e)).collect();
        SolidError::NotOrientable { at: some(at) }
    })?;
    if !turned.is_empty() {
        edges = Edges::of(&raw.triangles);
    }
    log.note(
        RepairKind::TurnedTriangles,
        turned
            .iter()
            .map(|&t| middle(&raw, &raw.triangles[t]))
            .collect(),
    );
    log.note(
        RepairKind::FilledHoles,
        small_holes::fill(&mut raw, &edges)?,
    );
    if !log.0.is_empty() {
        // No vertex without a triangle is left.
        merge::join_equal(&mut raw);
        edges = Edges::of(&raw.triangles);
    }
    // As many triangles run one way along each edge as the other.
    refuse_edges(&raw, &edges, |edge| {
        2 * edge.iter().filter(|s| s.rising).count() != edge.len()
    })?;

    let tree = TriangleTree::new(corners_of(&raw.vertices, &raw.triangles));
    let crossings = tree.crossings();
    if !crossings.is_empty() {
        return Err(SolidError::SelfCrossing {
            pairs: crossings.len(),
            at: some(
                crossings
                    .iter()
                    .map(|p| middle(&raw, &raw.triangles[p.0]))
                    .collect(),
            ),
        });
    }
    let shells = shells::orient(&mut raw, &edges, &tree)?;
    log.note(RepairKind::TurnedShells, shells.turned);
    let slivers = raw.triangles.iter().filter(|t| area(&raw, t) == 0.0);
    log.note(
        RepairKind::KeptSlivers,
        slivers.map(|t| middle(&raw, t)).collect(),
    );
    let touching = edges
        .iter()
        .filter(|e| e.len() > 2)
        .map(|e| between(&raw, &e[0].ends));
    log.note(RepairKind::TouchingEdges, touching.collect());

    for v in &mut raw.vertices {
        *v = scaled(v, scale_m_per_unit);
    }
    let report = MeshReport {
        triangles_read,
        triangles: raw.triangles.len(),
        vertices: raw.vertices.len(),
        shells: shells.count,
        cavities: shells.cavities,
        volume_m3: volume(&raw),
        area_m2: raw.triangles.iter().map(|t| area(&raw, t)).sum(),
        bounds: Bounds::around(raw.vertices.iter().copied()),
        repairs: log.0,
    };
    let mesh = TriangleMesh::sound(raw.vertices, raw.triangles, &edges);
    Ok((mesh, report))
}

fn check_numbers(raw: &RawMesh) -> Result<(), SolidError> {
    let count = raw.vertices.len();
    if let Some(&index) = raw
        .triangles
        .iter()
        .flatten()
        .find(|&&v| v as usize >= count)
    {
        return Err(SolidError::NoSuchVertex {
            index: u64::from(index),
            count,
        });
    }
    // Squares and products of coordinates must not overflow either.
    let usable = |p: &Point<3>| p.iter().all(|c| c.abs() < 1e50);
    let bad = raw.vertices.iter().filter(|p| !usable(p)).count();
    match raw.vertices.iter().position(|p| !usable(p)) {
        Some(first) => Err(SolidError::NotFinite { count: bad, first }),
        None if raw.triangles.is_empty() => Err(SolidError::EmptyMesh),
        None => Ok(()),
    }
}

/// Refuses the mesh if any edge is bad.
fn refuse_edges(
    raw: &RawMesh,
    edges: &Edges,
    bad: impl Fn(&[Side]) -> bool,
) -> Result<(), SolidError> {
    let at: Vec<Point<3>> = edges
        .iter()
        .filter(|e| bad(e))
        .map(|e| between(raw, &e[0].ends))
        .collect();
    if at.is_empty() {
        return Ok(());
    }
    Err(SolidError::NonManifold {
        edges: at.len(),
        at: some(at),
    })
}

fn corner(raw: &RawMesh, v: u32) -> &Point<3> {
    &raw.vertices[v as usize]
}

fn between(raw: &RawMesh, ends: &[u32; 2]) -> Point<3> {
    scaled(&add(corner(raw, ends[0]), corner(raw, ends[1])), 0.5)
}

fn middle(raw: &RawMesh, t: &[u32; 3]) -> Point<3> {
    let [a, b, c] = t.map(|v| corner(raw, v));
    scaled(&add(&add(a, b), c), 1.0 / 3.0)
}

fn area(raw: &RawMesh, t: &[u32; 3]) -> f64 {
    let [a, b, c] = t.map(|v| corner(raw, v));
    0.5 * norm(&cross(&sub(b, a), &sub(c, a)))
}

fn volume(raw: &RawMesh) -> f64 {
    let origin = &raw.vertices[0];
    raw.triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|v| sub(corner(raw, v), origin));
            dot(&a, &cross(&b, &c)) / 6.0
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::super::super::testing::{agreement, fineness};
    use super::super::super::{Ball, Cuboid, Primitive};
    use super::*;

    fn raw_of(p: &dyn Primitive<3>) -> RawMesh {
        let soup = p.tessellate(&fineness(p, 0.02));
        RawMesh {
            vertices: soup.vertices,
            triangles: soup.elements,
        }
    }

    fn cube(low: f64, high: f64) -> RawMesh {
        raw_of(&Cuboid::new([low; 3], [high; 3]).unwrap())
    }

    fn ball() -> RawMesh {
        raw_of(&Ball::new([0.0; 3], 1.0).unwrap())
    }

    fn together(parts: &[RawMesh]) -> RawMesh {
        let mut all = RawMesh::default();
        for p in parts {
            let first = all.vertices.len() as u32;
            all.vertices.extend_from_slice(&p.vertices);
            all.triangles
                .extend(p.triangles.iter().map(|t| t.map(|v| v + first)));
        }
        all
    }

    fn inverted(mut raw: RawMesh) -> RawMesh {
        for t in &mut raw.triangles {
            t.swap(0, 1);
        }
        raw
    }

    fn done(report: &MeshReport) -> Vec<(RepairKind, usize)> {
        report.repairs.iter().map(|r| (r.kind, r.count)).collect()
    }

    #[test]
    fn sound_meshes_pass_untouched() {
        let (mesh, report) = mend(ball(), 2.0).unwrap();
        assert!(report.repairs.is_empty());
        assert_eq!((report.shells, report.cavities), (1, 0));
        assert!(report.volume_m3 > 32.0 && report.volume_m3 < 33.6);
        agreement(&mesh);
    }

    #[test]
    fn winding_is_mended() {
        let whole = mend(ball(), 1.0).unwrap().1;
        let (_, report) = mend(inverted(ball()), 1.0).unwrap();
        assert_eq!(done(&report), [(RepairKind::TurnedShells, 1)]);
        assert!((report.volume_m3 - whole.volume_m3).abs() < 1e-12);
        let mut some = ball();
        for t in some.triangles.iter_mut().step_by(7) {
            t.swap(0, 1);
        }
        let (_, report) = mend(some, 1.0).unwrap();
        assert!((report.volume_m3 - whole.volume_m3).abs() < 1e-12);
        assert_eq!(report.repairs[0].kind, RepairKind::TurnedTriangles);
    }

    #[test]
    fn duplicates_degenerates_and_cracks_are_mended() {
        let whole = mend(ball(), 1.0).unwrap().1;
        let mut raw = ball();
        raw.triangles.push(raw.triangles[5]);
        raw.triangles.push([3, 3, 8]);
        // A crack: one triangle gets its own corner, a hair away.
        let v = raw.triangles[9][0];
        raw.vertices
            .push(raw.vertices[v as usize].map(|c| c + 1e-6));
        raw.triangles[9][0] = raw.vertices.len() as u32 - 1;
        let (mesh, report) = mend(raw, 1.0).unwrap();
        assert_eq!(
            done(&report),
            [
                (RepairKind::DroppedDegenerate, 1),
                (RepairKind::DroppedDuplicates, 1),
                (RepairKind::ClosedCracks, 1)
            ]
        );
        assert_eq!(mesh.triangles().len(), whole.triangles);
        assert!((report.volume_m3 - whole.volume_m3).abs() < 1e-5);
    }

    /// Every triangle twice, facing the same way or both ways.
    #[test]
    fn a_doubled_mesh_is_the_mesh() {
        let whole = mend(ball(), 1.0).unwrap().1;
        for again in [ball(), inverted(ball())] {
            let (_, report) = mend(together(&[ball(), again]), 1.0).unwrap();
            assert_eq!(
                done(&report),
                [(RepairKind::DroppedDuplicates, whole.triangles)]
            );
            assert!((report.volume_m3 - whole.volume_m3).abs() < 1e-12);
        }
    }

    #[test]
    fn small_holes_are_filled_and_large_ones_shown() {
        let whole = mend(ball(), 1.0).unwrap().1;
        let mut raw = ball();
        raw.triangles.remove(40);
        let (_, report) = mend(raw, 1.0).unwrap();
        assert_eq!(done(&report), [(RepairKind::FilledHoles, 1)]);
        assert!((report.volume_m3 - whole.volume_m3).abs() < 1e-12);
        // A cube without its low side: four open edges around (0.5, 0.5, 0).
        let mut open = cube(0.0, 1.0);
        let low = |t: &[u32; 3]| t.iter().all(|&v| open.vertices[v as usize][2] == 0.0);
        let kept: Vec<[u32; 3]> = open.triangles.iter().filter(|t| !low(t)).copied().collect();
        open.triangles = kept;
        match mend(open, 1.0) {
            Err(SolidError::OpenMesh { edges, holes, at }) => {
                assert_eq!((edges, holes), (4, 1));
                assert_eq!(at, [[0.5, 0.5, 0.0]]);
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn cavities_and_bodies_in_bodies() {
        let hollow = together(&[cube(0.0, 3.0), inverted(cube(1.0, 2.0))]);
        for raw in [hollow.clone(), inverted(hollow)] {
            let (mesh, report) = mend(raw, 1.0).unwrap();
            assert_eq!((report.shells, report.cavities), (2, 1));
            assert!((report.volume_m3 - 26.0).abs() < 1e-12);
            assert!(!mesh.contains(&[1.5; 3]) && mesh.contains(&[0.5; 3]));
        }
        let twice = mend(together(&[cube(0.0, 3.0), cube(1.0, 2.0)]), 1.0);
        assert!(matches!(twice, Err(SolidError::NestedShell { .. })));
        // Two bodies apart, one inside out.
        let (_, report) = mend(together(&[cube(0.0, 1.0), inverted(cube(2.0, 3.0))]), 1.0).unwrap();
        assert_eq!(done(&report), [(RepairKind::TurnedShells, 1)]);
        assert!((report.volume_m3 - 2.0).abs() < 1e-12);
    }

    #[test]
    fn overlapping_bodies_are_refused_with_the_place() {
        match mend(together(&[cube(0.0, 2.0), cube(1.0, 3.0)]), 1.0) {
            Err(SolidError::SelfCrossing { pairs, at }) => {
                assert!(pairs >= 6, "{pairs}");
                assert!(at.iter().flatten().all(|c| (0.0..=3.0).contains(c)));
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn bodies_touching_along_an_edge_are_one_mesh() {
        let beside = raw_of(&Cuboid::new([1.0, 1.0, 0.0], [2.0, 2.0, 1.0]).unwrap());
        let (mesh, report) = mend(together(&[cube(0.0, 1.0), beside]), 1.0).unwrap();
        assert_eq!(done(&report), [(RepairKind::TouchingEdges, 1)]);
        assert!(mesh.contains(&[0.99, 0.99, 0.5]) && mesh.contains(&[1.01, 1.01, 0.5]));
        assert!(!mesh.contains(&[0.99, 1.01, 0.5]) && !mesh.contains(&[1.01, 0.99, 0.5]));
    }

    #[test]
    fn inner_walls_and_nonsense_are_refused() {
        let mut wall = cube(0.0, 1.0);
        wall.triangles.push([0, 3, 7]);
        wall.triangles.push([0, 7, 4]);
        assert!(matches!(
            mend(wall, 1.0),
            Err(SolidError::NonManifold { .. })
        ));
        assert!(matches!(
            mend(RawMesh::default(), 1.0),
            Err(SolidError::EmptyMesh)
        ));
        let mut nan = cube(0.0, 1.0);
        nan.vertices[3][1] = f64::NAN;
        assert!(matches!(
            mend(nan, 1.0),
            Err(SolidError::NotFinite { count: 1, first: 3 })
        ));
        assert!(matches!(
            mend(cube(0.0, 1.0), 0.0),
            Err(SolidError::NotPositive { .. })
        ));
        let mut astray = cube(0.0, 1.0);
        astray.triangles[0][0] = 99;
        assert!(matches!(
            mend(astray, 1.0),
            Err(SolidError::NoSuchVertex {
                index: 99,
                count: 8
            })
        ));
        let loose = RawMesh {
            vertices: vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]],
            triangles: vec![[0, 1, 2]],
        };
        assert!(matches!(
            mend(loose, 1.0),
            Err(SolidError::NoVolume { shells: 1, .. })
        ));
        let flat = RawMesh {
            vertices: vec![[0.0; 3], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0]],
            triangles: vec![[0, 1, 2]],
        };
        assert!(matches!(mend(flat, 1.0), Err(SolidError::EmptyMesh)));
    }

    #[test]
    fn a_sliver_that_joins_its_neighbours_stays() {
        // Side y = 0 of a cube: its lower triangle split at (0.5, 0, 0), where the bottom is not.
        let mut raw = cube(0.0, 1.0);
        raw.vertices.push([0.5, 0.0, 0.0]);
        let side = raw
            .triangles
            .iter()
            .position(|t| {
                t.iter().all(|&v| raw.vertices[v as usize][1] == 0.0)
                    && t.contains(&0)
                    && t.contains(&1)
            })
            .unwrap();
        let t = raw.triangles[side];
        let k = (0..3).find(|&k| t[k] != 0 && t[k] != 1).unwrap();
        let (top, a, b) = (t[k], t[(k + 1) % 3], t[(k + 2) % 3]);
        raw.triangles[side] = [top, a, 8];
        raw.triangles.push([top, 8, b]);
        raw.triangles.push([8, a, b]);
        let (mesh, report) = mend(raw, 1.0).unwrap();
        assert_eq!(done(&report), [(RepairKind::KeptSlivers, 1)]);
        assert_eq!(mesh.tessellate(&fineness(&mesh, 1.0)).elements.len(), 13);
        agreement(&mesh);
    }
}
