//! Everything known before the tree: the root cube, the scene, and which cells are wanted.

use super::check::{
    BYTES_PER_CELL, GridError, check_crowds, check_edges, check_size, check_volumes,
    expected_cut_cells,
};
use super::domain::{Domain, PlacedSheet, Region, Space};
use super::edges::Edged;
use super::narrow::{self, Narrow};
use super::raster::{Lists, on_level};
use super::scene::{CONTACT, Role, Scene};
use super::tree::{Cell, MAX_LEVEL, Root, Seeds, sort_unique};
use crate::solid::{Bounds, Point};
use ionfall_numerics::number::significant;
use ionfall_numerics::vector::distance;

/// Root, levels and wanted cells: everything known before the tree.
pub struct Plan<'a, const D: usize> {
    /// All surfaces.
    pub scene: Scene<'a, D>,
    /// Root cube.
    pub root: Root<D>,
    /// Wanted cells.
    pub seeds: Seeds,
    /// Level of the largest cells.
    pub coarsest: u8,
    /// Where cells are refined.
    pub region: Bounds<D>,
    /// Finest cell asked for, metres.
    pub finest_m: f64,
    /// Elements nearer to a cell than this reach it, metres.
    pub contact_m: f64,
    /// Every element with the cells it reaches, on the level it asks for.
    pub placed: Vec<(u8, Lists<u64>)>,
    /// Gaps and walls that are narrow for the cells the bodies ask for.
    pub narrow: Vec<Narrow<D>>,
}

/// Plans the grid of a domain.
///
/// # Errors
/// [`GridError`], as far as they show without a tree.
pub fn plan<const D: usize>(
    domain: &Domain<D>,
    memory_limit_bytes: u64,
) -> Result<Plan<'_, D>, GridError> {
    let bounds = room(domain)?;
    let asked = || {
        let bodies = domain.bodies.iter().map(|b| b.finest_m);
        bodies.chain(domain.sheets.iter().map(|s| s.finest_m))
    };
    let base_m = asked().fold(domain.wall_m.min(domain.coarsest_m), f64::min);
    let finest_m = domain
        .bodies
        .iter()
        .map(|b| b.edge_m)
        .chain(domain.sheets.iter().map(|s| s.edge_m))
        .chain(domain.regions.iter().map(|r| r.finest_m))
        .fold(base_m, f64::min);
    let root = lay_root(domain.space, &bounds, base_m, finest_m)?;
    let level = |size_m: f64| level_of(&root, size_m);
    check_crowds(domain)?;
    check_volumes(domain, &bounds, memory_limit_bytes)?;
    check_size(
        domain,
        expected_cut_cells(domain, &bounds),
        memory_limit_bytes,
    )?;
    let mut sagittas = sagittas(domain, base_m);
    let region = bounds.grown(base_m);
    // Only what lies in cells of the region refines them or bounds their electrolyte.
    let largest_m = asked().fold(domain.wall_m, f64::max);
    let around = region.grown(2.0 * largest_m);
    let tessellated = |sagittas: &[f64]| Scene::new(domain, &root, &around, finest_m, sagittas);
    let mut scene = tessellated(&sagittas);
    let contact_m = 2.0 * CONTACT * finest_m;
    let mut seeds: Seeds = vec![Vec::new(); usize::from(level(finest_m)) + 1];
    let mut placed = sorted(&scene, &root, &level, contact_m);
    seed_surfaces(&scene, &root, &placed, &region, &mut seeds);
    seed_body_edges(&scene, &root, contact_m, memory_limit_bytes, &mut seeds)?;
    for sheet in &domain.sheets {
        let finest_m = sheet.edge_m.min(sheet.finest_m);
        seed_rim(&root, sheet, level(finest_m), &mut seeds);
    }
    for r in &domain.regions {
        seed_region(&root, r, level(r.finest_m), &bounds, &mut seeds);
    }
    for keys in &mut seeds {
        sort_unique(keys);
    }
    check_size(
        domain,
        seeds.iter().map(|s| s.len() as f64).sum(),
        memory_limit_bytes,
    )?;
    let coarsest = level(domain.coarsest_m);
    let narrow = narrow::find(&scene, &root, &placed);
    let most_cells = memory_limit_bytes as f64 / BYTES_PER_CELL as f64;
    let smallest = narrow::refine(
        &scene, &root, &narrow, &mut seeds, coarsest, &region, most_cells,
    );
    if smallest.iter().any(Option::is_some) {
        // Smaller cells see flatter elements.
        for (sagitta_m, size_m) in sagittas.iter_mut().zip(smallest) {
            *sagitta_m = size_m.map_or(*sagitta_m, |size_m| sagitta_m.min(curve::<D>() * size_m));
        }
        let flatter = tessellated(&sagittas);
        // Flat sides and triangle meshes stay as they are.
        if flatter.elements != scene.elements {
            scene = flatter;
            placed = sorted(&scene, &root, &level, contact_m);
        }
    }
    Ok(Plan {
        scene,
        root,
        seeds,
        coarsest,
        narrow,
        region,
        finest_m,
        contact_m,
        placed,
    })
}

/// Where the walls lie between the grid planes, over the largest cells of the surfaces, along each axis:
/// on no level does a grid plane fall into a wall plane, and the three walls of a corner lie
/// differently. Chosen by hand; the tests below say what they must do.
const SHIFT: [f64; 3] = [0.137, 0.261, 0.419];

/// Size of the cells of a revolved job over the size asked for. Its axis is a grid plane and cannot be
/// shifted; an odd size keeps round radii off the other planes.
const ODD: f64 = 0.9719;

/// The box that holds the liquid.
fn room<const D: usize>(domain: &Domain<D>) -> Result<Bounds<D>, GridError> {
    let mut bounds = domain.tank.bounds();
    if domain.space == Space::Axisymmetric {
        bounds.low[0] = 0.0;
    }
    let solid = (0..D).all(|k| bounds.high[k] > bounds.low[k]);
    if !extent_m(&bounds).is_finite() || !solid {
        return Err(GridError::EmptyTank);
    }
    Ok(bounds)
}

fn extent_m<const D: usize>(bounds: &Bounds<D>) -> f64 {
    (0..D)
        .map(|k| bounds.high[k] - bounds.low[k])
        .fold(0.0, f64::max)
}

/// The root cube, around the liquid's room.
fn lay_root<const D: usize>(
    space: Space,
    bounds: &Bounds<D>,
    base_m: f64,
    finest_m: f64,
) -> Result<Root<D>, GridError> {
    let extent_m = extent_m(bounds);
    let levels = ((extent_m / base_m + 2.0).log2().ceil()).max(2.0);
    let revolved = space == Space::Axisymmetric;
    let odd = if revolved { ODD } else { 1.0 };
    let side_m = odd * base_m * 2f64.powf(levels);
    if (side_m / finest_m).log2() > f64::from(MAX_LEVEL) {
        return Err(GridError::TooDeep {
            finest_mm: significant(1e3 * finest_m, 3),
            extent_mm: significant(1e3 * extent_m, 4),
        });
    }
    let mut origin: Point<D> = std::array::from_fn(|k| bounds.low[k] - (1.0 - SHIFT[k]) * base_m);
    if revolved {
        origin[0] = 0.0;
    }
    Ok(Root { origin, side_m })
}

/// The level of cells of at most a size.
fn level_of<const D: usize>(root: &Root<D>, size_m: f64) -> u8 {
    ((root.side_m / size_m).log2() - 1e-9)
        .ceil()
        .clamp(0.0, f64::from(MAX_LEVEL)) as u8
}

/// Largest sagitta of an element over the size of the cells at its surface. In the plane elements are
/// cheap.
const fn curve<const D: usize>() -> f64 {
    if D == 2 { 1e-4 } else { 1.0 / 300.0 }
}

/// The same over the size of the cells at sharp edges.
const fn edge_curve<const D: usize>() -> f64 {
    if D == 2 { 1e-4 } else { 0.025 }
}

/// Largest sagitta of the elements of each body, and last of the tank, metres.
fn sagittas<const D: usize>(domain: &Domain<D>, base_m: f64) -> Vec<f64> {
    let bodies = domain.bodies.iter();
    let mut all: Vec<f64> = bodies
        .map(|b| (curve::<D>() * b.finest_m).min(b.edge_m * edge_curve::<D>()))
        .collect();
    let wall_m = if D == 2 {
        domain.wall_m
    } else {
        domain.wall_m.min(4.0 * base_m)
    };
    all.push(curve::<D>() * wall_m);
    all
}

/// Cells of the room's region that surfaces reach.
fn seed_surfaces<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    placed: &[(u8, Lists<u64>)],
    region: &Bounds<D>,
    seeds: &mut Seeds,
) {
    for (want, cells) in placed {
        let keys = cells.at.iter().copied();
        let inside = |&key: &u64| root.bounds(Cell { key, level: *want }).overlaps(region);
        // Stop-offs, and what lies beyond a sheet, are sorted into cells like the walls, but are no
        // reason to refine.
        if !cells.at.is_empty() && refines(scene, cells.list(0)[0]) {
            seeds[usize::from(*want)].extend(keys.filter(inside));
        }
    }
}

/// Cells at the sharp edges of bodies that ask for smaller cells there.
fn seed_body_edges<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    contact_m: f64,
    memory_limit_bytes: u64,
    seeds: &mut Seeds,
) -> Result<(), GridError> {
    let bodies = &scene.domain.bodies;
    let edge_level: Vec<u8> = bodies
        .iter()
        .map(|b| level_of(root, b.edge_m.min(b.finest_m)))
        .collect();
    let start = bodies
        .iter()
        .zip(&edge_level)
        .map(|(b, edge)| (level_of(root, b.finest_m), *edge))
        .filter(|(body, edge)| edge > body)
        .map(|(body, _)| body)
        .min();
    if let Some(start) = start {
        let all: Vec<u32> = (0..scene.elements.len() as u32).collect();
        let cells = on_level(scene, root, start, &all, contact_m);
        let edged = Edged::find(scene, root, start, &cells, &edge_level);
        check_edges(scene.domain, edged.expected(), memory_limit_bytes)?;
        edged.seed(seeds);
    }
    Ok(())
}

/// Does an element ask for cells of its level?
fn refines<const D: usize>(scene: &Scene<'_, D>, e: u32) -> bool {
    let role = scene.surfaces[scene.elements[e as usize].surface as usize].role;
    !matches!(role, Role::StopOff | Role::Beyond(_))
}

/// Sorts the elements into the cells of the levels that they ask for.
fn sorted<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    level: &impl Fn(f64) -> u8,
    contact_m: f64,
) -> Vec<(u8, Lists<u64>)> {
    let domain = scene.domain;
    let mut wanted: Vec<((u8, bool), Vec<u32>)> = Vec::new();
    for (e, element) in (0..).zip(&scene.elements) {
        let size_m = match scene.surfaces[element.surface as usize].role {
            Role::Body(i) => domain.bodies[i].finest_m,
            Role::Sheet(i) | Role::Beyond(i) => domain.sheets[i].finest_m,
            Role::Tank | Role::StopOff => domain.wall_m,
        };
        let want = (level(size_m), refines(scene, e));
        match wanted.iter_mut().find(|w| w.0 == want) {
            Some(w) => w.1.push(e),
            None => wanted.push((want, vec![e])),
        }
    }
    let place = |((want, _), elements): ((u8, bool), Vec<u32>)| {
        (want, on_level(scene, root, want, &elements, contact_m))
    };
    wanted.into_iter().map(place).collect()
}

/// Cells along the free rim of a sheet.
fn seed_rim<const D: usize>(root: &Root<D>, sheet: &PlacedSheet<D>, level: u8, seeds: &mut Seeds) {
    let soup = &sheet.sheet.soup;
    let mut sides: Vec<Vec<u32>> = soup
        .elements
        .iter()
        .flat_map(|e| {
            (0..D).map(move |k| {
                let mut side: Vec<u32> = (0..D).filter(|&m| m != k).map(|m| e[m]).collect();
                side.sort_unstable();
                side
            })
        })
        .collect();
    sides.sort();
    for run in sides.chunk_by(|a, b| a == b).filter(|run| run.len() == 1) {
        let ends = [run[0][0], run[0][run[0].len() - 1]].map(|v| soup.vertices[v as usize]);
        let length = distance(&ends[0], &ends[1]);
        let steps = (2.0 * length / root.size_m(level)).ceil().max(1.0) as u32;
        for s in 0..=steps {
            let t = f64::from(s) / f64::from(steps);
            let at = std::array::from_fn(|k| ends[0][k] + t * (ends[1][k] - ends[0][k]));
            if let Some(cell) = cell_at(root, &at, level) {
                seeds[usize::from(level)].push(cell.key);
            }
        }
    }
}

fn cell_at<const D: usize>(root: &Root<D>, x: &Point<D>, level: u8) -> Option<Cell> {
    let h = root.size_m(level);
    let mut c = [0; D];
    for k in 0..D {
        let f = ((x[k] - root.origin[k]) / h).floor();
        if f < 0.0 || f >= f64::from(1u32 << level) {
            return None;
        }
        c[k] = f as u32;
    }
    Some(Cell {
        key: super::tree::encode(c),
        level,
    })
}

/// Cells of a region that asks for small cells.
fn seed_region<const D: usize>(
    root: &Root<D>,
    region: &Region<D>,
    level: u8,
    tank: &Bounds<D>,
    seeds: &mut Seeds,
) {
    let within = region.solid.bounds().intersection(tank);
    let mut open = vec![Cell { key: 0, level: 0 }];
    while let Some(cell) = open.pop() {
        let bounds = root.bounds(cell);
        if !bounds.overlaps(&within) {
            continue;
        }
        if cell.level < level {
            open.extend((0..1u64 << D).map(|n| Cell {
                key: cell.key << D | n,
                level: cell.level + 1,
            }));
        } else if region.solid.contains(&root.centre(cell)) {
            seeds[usize::from(level)].push(cell.key);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How far a number is from the nearest whole one.
    fn off(x: f64) -> f64 {
        (x - x.round()).abs()
    }

    #[test]
    fn no_wall_lies_in_a_grid_plane() {
        for shift in SHIFT {
            for halvings in 0..10 {
                let cells = shift * f64::from(1 << halvings);
                assert!(off(cells) > 0.04, "{shift}, halved {halvings} times");
            }
        }
        for (k, shift) in SHIFT.iter().enumerate() {
            assert!(SHIFT[..k].iter().all(|other| (shift - other).abs() > 0.1));
        }
    }

    #[test]
    fn round_radii_lie_off_the_grid_planes() {
        for cells in 1..=34 {
            assert!(off(f64::from(cells) / ODD) > 0.01, "{cells} cells");
        }
    }
}
