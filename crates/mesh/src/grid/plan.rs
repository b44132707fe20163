//! Everything known before the tree: the root cube, the scene, and which cells are wanted.

use super::check::{BYTES_PER_CELL, GridError, check_size, expected_cut_cells};
use super::edges::seed_edges;
use super::narrow::{self, Narrow};
use super::raster::{Lists, on_level};
use super::scene::{Role, Scene};
use super::tree::{Cell, MAX_LEVEL, Root, Seeds, sort_unique};
use super::{Domain, Space};
use crate::solid::{Bounds, Point};

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
    let mut bounds = domain.tank.bounds();
    if domain.space == Space::Axisymmetric {
        bounds.low[0] = 0.0;
    }
    let extent = (0..D)
        .map(|k| bounds.high[k] - bounds.low[k])
        .fold(0.0, f64::max);
    let solid = (0..D).all(|k| bounds.high[k] > bounds.low[k]);
    if !extent.is_finite() || !solid {
        return Err(GridError::EmptyTank);
    }
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
    // Walls lie at odd places of the grid, so that no grid plane falls into a wall plane.
    let shift = [0.137, 0.261, 0.419];
    let levels = ((extent / base_m + 2.0).log2().ceil()).max(2.0);
    // The axis is a grid plane; an odd size keeps round radii off the others.
    let odd = if domain.space == Space::Axisymmetric {
        0.9719
    } else {
        1.0
    };
    let side_m = odd * base_m * 2f64.powf(levels);
    if (side_m / finest_m).log2() > f64::from(MAX_LEVEL) {
        return Err(GridError::TooDeep {
            finest_mm: 1e3 * finest_m,
            extent_mm: 1e3 * extent,
        });
    }
    let mut origin: Point<D> = std::array::from_fn(|k| bounds.low[k] - (1.0 - shift[k]) * base_m);
    if domain.space == Space::Axisymmetric {
        origin[0] = 0.0;
    }
    let root = Root { origin, side_m };
    let level = |size_m: f64| {
        ((side_m / size_m).log2() - 1e-9)
            .ceil()
            .clamp(0.0, f64::from(MAX_LEVEL)) as u8
    };
    let surfaces = expected_cut_cells(domain, &bounds);
    check_size(domain, surfaces, memory_limit_bytes)?;
    let curve = if D == 2 { 1e-4 } else { 1.0 / 300.0 };
    let mut sagittas: Vec<f64> = domain
        .bodies
        .iter()
        .map(|b| (curve * b.finest_m).min(b.edge_m * if D == 2 { 1e-4 } else { 0.025 }))
        .collect();
    sagittas.push(
        curve
            * domain
                .wall_m
                .min(if D == 2 { domain.wall_m } else { 4.0 * base_m }),
    );
    let region = bounds.grown(base_m);
    // Only what lies in cells of the region refines them or bounds their electrolyte.
    let largest_m = asked().fold(domain.wall_m, f64::max);
    let around = region.grown(2.0 * largest_m);
    let tessellated = |sagittas: &[f64]| Scene::new(domain, &root, &around, finest_m, sagittas);
    let mut scene = tessellated(&sagittas);
    let contact_m = 2e-4 * finest_m;
    let mut seeds: Seeds = vec![Vec::new(); usize::from(level(finest_m)) + 1];
    let body_level: Vec<u8> = domain.bodies.iter().map(|b| level(b.finest_m)).collect();
    let edge_level: Vec<u8> = domain
        .bodies
        .iter()
        .map(|b| level(b.edge_m.min(b.finest_m)))
        .collect();
    let mut placed = sorted(&scene, &root, &level, contact_m);
    for (want, cells) in &placed {
        let keys = cells.at.iter().copied();
        let inside = |&key: &u64| root.bounds(Cell { key, level: *want }).overlaps(&region);
        // Stop-offs are sorted into cells like the walls, but are no reason to refine.
        if !cells.at.is_empty() && refines(&scene, cells.list(0)[0]) {
            seeds[usize::from(*want)].extend(keys.filter(inside));
        }
    }
    if let Some(start) = (0..domain.bodies.len())
        .filter(|&i| edge_level[i] > body_level[i])
        .map(|i| body_level[i])
        .min()
    {
        let all: Vec<u32> = (0..scene.elements.len() as u32).collect();
        let cells = on_level(&scene, &root, start, &all, contact_m);
        seed_edges(&scene, &root, start, &cells, &edge_level, &mut seeds);
    }
    for sheet in &domain.sheets {
        seed_rim(
            &root,
            sheet,
            level(sheet.edge_m.min(sheet.finest_m)),
            &mut seeds,
        );
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
            *sagitta_m = size_m.map_or(*sagitta_m, |size_m| sagitta_m.min(curve * size_m));
        }
        scene = tessellated(&sagittas);
        placed = sorted(&scene, &root, &level, contact_m);
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

/// Does an element ask for cells of its level?
fn refines<const D: usize>(scene: &Scene<'_, D>, e: u32) -> bool {
    scene.surfaces[scene.elements[e as usize].surface as usize].role != Role::StopOff
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
            Role::Sheet(i) => domain.sheets[i].finest_m,
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
fn seed_rim<const D: usize>(
    root: &Root<D>,
    sheet: &super::PlacedSheet<D>,
    level: u8,
    seeds: &mut Seeds,
) {
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
        let length = super::fragment::norm(&super::fragment::sub(&ends[1], &ends[0]));
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
    region: &super::Region<D>,
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
