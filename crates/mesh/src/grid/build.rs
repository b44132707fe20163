//! From the domain to the finished grid.

use super::cut::{CellCut, cut};
use super::edges::seed_edges;
use super::facet::Facet;
use super::fragment::{Fragment, add_scaled};
use super::hanging::{self, Surroundings};
use super::links::{FaceLink, Groups, LeafState, Neighbours, Nodes, faces, node_cells, two_point};
use super::opening::{OpenCell, open};
use super::probe::{Adjacency, probes};
use super::raster::{on_leaves, on_level};
use super::scene::{Role, Scene};
use super::tree::{Cell, MAX_LEVEL, Root, Seeds, Tree, sort_unique};
use super::{BodyKind, Domain, Grid, GridNote, NoteKind, Rows, Space};
use super::{partial, passage};
use crate::solid::{Bounds, Fineness, Point};
use rayon::prelude::*;
use thiserror::Error;

/// Why a grid could not be built.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum GridError {
    /// The tank has no finite bounds or no inside.
    #[error("the tank is empty or unbounded: give it a shape with a finite inside")]
    EmptyTank,
    /// More cells than memory.
    #[error(
        "the grid would have about {cells} cells and need {need_mib} MiB, but only {have_mib} MiB \
         are allowed: make the finest size larger (about {suggested_mm:.2} mm would fit)"
    )]
    TooLarge {
        /// Estimated leaves.
        cells: u64,
        /// Memory for a whole run, MiB.
        need_mib: u64,
        /// Limit, MiB.
        have_mib: u64,
        /// A finest size that should fit, mm.
        suggested_mm: f64,
    },
    /// The finest size is too small against the tank for the tree's depth.
    #[error(
        "a finest size of {finest_mm} mm is more than a million times smaller than the tank \
         ({extent_mm} mm): make it larger"
    )]
    TooDeep {
        /// Wanted, mm.
        finest_mm: f64,
        /// Tank, mm.
        extent_mm: f64,
    },
    /// An electrode has no surface in the electrolyte.
    #[error("\"{name}\" has no surface in the electrolyte: {reason}")]
    NoSurface {
        /// Electrode.
        name: String,
        /// Why, and the way out.
        reason: String,
    },
    /// Two electrodes touch.
    #[error(
        "\"{first}\" and \"{second}\" touch near ({}): electrodes must be apart, or be one body",
        place_mm(.place_m)
    )]
    Touching {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// Where, metres.
        place_m: Vec<f64>,
    },
    /// A facet sees no cells.
    #[error(
        "the gap in front of \"{name}\" near ({}) is too narrow for cells of {size_mm} mm: \
         make the finest size smaller there, or close the gap",
        place_mm(.place_m)
    )]
    NarrowGap {
        /// Electrode.
        name: String,
        /// Where, metres.
        place_m: Vec<f64>,
        /// Cell size there, mm.
        size_mm: f64,
    },
    /// No cell of electrolyte connects electrodes.
    #[error("no electrolyte joins two electrodes: the grid is empty")]
    NothingToSolve,
}

fn place_mm(place_m: &[f64]) -> String {
    let parts: Vec<String> = place_m
        .iter()
        .map(|x| format!("{:.2} mm", 1e3 * x))
        .collect();
    parts.join(", ")
}

/// Bytes a leaf costs in a whole run, from measured peaks.
pub const BYTES_PER_CELL: u64 = 900;

/// Root, levels and wanted cells: everything known before the tree.
struct Plan<'a, const D: usize> {
    scene: Scene<'a, D>,
    root: Root<D>,
    seeds: Seeds,
    coarsest: u8,
    region: Bounds<D>,
    finest_m: f64,
    contact_m: f64,
}

fn plan<const D: usize>(
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
    let scene = Scene::new(domain, &root, finest_m, &sagittas);
    let contact_m = 2e-4 * finest_m;
    let region = bounds.grown(base_m);
    let mut seeds: Seeds = vec![Vec::new(); usize::from(level(finest_m)) + 1];
    let body_level: Vec<u8> = domain.bodies.iter().map(|b| level(b.finest_m)).collect();
    let edge_level: Vec<u8> = domain
        .bodies
        .iter()
        .map(|b| level(b.edge_m.min(b.finest_m)))
        .collect();
    let mut wanted: Vec<(u8, Vec<u32>)> = Vec::new();
    for (e, element) in scene.elements.iter().enumerate() {
        let want = match scene.surfaces[element.surface as usize].role {
            Role::Tank => level(domain.wall_m),
            Role::Body(i) => body_level[i],
            Role::Sheet(i) => level(domain.sheets[i].finest_m),
            Role::StopOff => continue,
        };
        match wanted.iter_mut().find(|w| w.0 == want) {
            Some(w) => w.1.push(e as u32),
            None => wanted.push((want, vec![e as u32])),
        }
    }
    for (want, elements) in wanted {
        let cells = on_level(&scene, &root, want, elements, contact_m);
        seeds[usize::from(want)].extend(
            cells
                .into_iter()
                .filter(|(cell, _)| root.bounds(*cell).overlaps(&region))
                .map(|(cell, _)| cell.key),
        );
    }
    if let Some(start) = (0..domain.bodies.len())
        .filter(|&i| edge_level[i] > body_level[i])
        .map(|i| body_level[i])
        .min()
    {
        let all = (0..scene.elements.len() as u32).collect();
        let cells = on_level(&scene, &root, start, all, contact_m);
        seed_edges(&scene, &root, cells, &edge_level, &mut seeds);
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
    Ok(Plan {
        scene,
        root,
        seeds,
        coarsest: level(domain.coarsest_m),
        region,
        finest_m,
        contact_m,
    })
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

/// Leaves the grid of a domain would have, without cutting it.
///
/// # Errors
/// As [`build`], as far as they show without cutting.
pub fn count_cells<const D: usize>(
    domain: &Domain<D>,
    memory_limit_bytes: u64,
) -> Result<u64, GridError> {
    let plan = plan(domain, memory_limit_bytes)?;
    let tree = Tree::build(plan.root, &plan.seeds, plan.coarsest, &plan.region);
    Ok(tree.leaves.len() as u64)
}

/// Builds the grid. `memory_limit_bytes` bounds the whole run (see [`BYTES_PER_CELL`]).
///
/// # Errors
/// [`GridError`]: what is wrong with the domain, where, and the way out.
pub fn build<const D: usize>(
    domain: &Domain<D>,
    memory_limit_bytes: u64,
) -> Result<Grid<D>, GridError> {
    let plan = plan(domain, memory_limit_bytes)?;
    let tree = Tree::build(plan.root, &plan.seeds, plan.coarsest, &plan.region);
    let scene = &plan.scene;
    let lists = on_leaves(scene, &tree, plan.contact_m);
    let cells: Vec<Cell> = lists
        .iter()
        .map(|(leaf, _)| tree.leaves[*leaf as usize])
        .collect();
    let cuts: Vec<CellCut<D>> = cells
        .par_iter()
        .zip(&lists)
        .map(|(&cell, (_, elements))| cut(scene, &tree.root.bounds(cell), elements))
        .collect();
    check_touching(domain, &cuts)?;
    let mut opened = open(scene, &tree.root, &cells, &lists, cuts);
    let neighbours = Neighbours::of(&tree);
    let states = leaf_states(scene, &tree, &neighbours, &lists, &opened);
    let nodes = Nodes::number(&states, &opened);
    let mut face_links = faces(domain.space, &tree, &neighbours, &states, &opened, &nodes);
    let mut notes = Vec::new();
    note_tangled(&tree, &cells, &opened, &mut notes);
    let placed = place_facets(
        &tree,
        &lists,
        &mut opened,
        &nodes,
        plan.finest_m,
        &mut notes,
    );
    check_surfaces(domain, scene, &placed)?;
    let (mut facets, mut facet_node): (Vec<_>, Vec<_>) = placed.into_iter().unzip();
    let mut node_cell = node_cells(&tree, &nodes);
    let sheets = passage::place(&lists, &opened, &nodes);
    let through: Vec<[u32; 2]> = sheets.iter().map(|p| p.nodes).collect();
    let renumbered = drop_unreached(
        &through,
        &mut node_cell,
        &mut face_links,
        &mut facets,
        &mut facet_node,
    );
    check_reached(domain, &facets)?;
    let mut links = two_point(&tree, &face_links);
    let adjacency = Adjacency::new(
        node_cell.len(),
        face_links.iter().map(|f| (f.owner, f.other)),
    );
    let around = Surroundings {
        tree: &tree,
        neighbours: &neighbours,
        nodes: &nodes,
        renumbered: &renumbered,
    };
    let mut corrected = hanging::corrections(around, &node_cell, &adjacency, &face_links);
    corrected.extend(partial::corrections(
        domain.space,
        around,
        &states,
        &opened,
        &face_links,
    ));
    for (link, ends, row) in passage::passages(around, domain, &sheets, &node_cell, &adjacency) {
        links.push(link);
        corrected.push((ends, row));
    }
    let (corrections, rows): (Vec<_>, Vec<_>) = corrected.into_iter().unzip();
    let correction_rows = Rows::collect(rows);
    let found = probes(
        domain.space,
        &tree.root,
        &node_cell,
        &adjacency,
        &facets,
        &facet_node,
    );
    drop((face_links, adjacency, neighbours));
    let mut probe_scale = Vec::with_capacity(found.len());
    let mut rows = Vec::with_capacity(found.len());
    let mut linear: Option<(usize, Point<D>)> = None;
    for (n, probe) in found.into_iter().enumerate() {
        let Some(probe) = probe else {
            let level = node_cell[facet_node[n] as usize].level;
            return Err(GridError::NarrowGap {
                name: domain.bodies[usize::from(facets[n].body)].name.clone(),
                place_m: facets[n].point.to_vec(),
                size_mm: 1e3 * tree.root.size_m(level),
            });
        };
        if probe.linear {
            linear.get_or_insert((0, facets[n].point)).0 += 1;
        }
        probe_scale.push(probe.scale);
        rows.push(probe.weights);
    }
    if let Some((count, place)) = linear {
        notes.push(GridNote {
            kind: NoteKind::LinearProbe,
            count,
            place,
        });
    }
    Ok(Grid {
        space: domain.space,
        root: tree.root,
        node_cell,
        links,
        corrections,
        correction_rows,
        facets,
        facet_node,
        probe_scale,
        probe_rows: Rows::collect(rows),
        notes,
    })
}

/// Leaves for each wanted cell: a surface of `n` cut cells carries a band of leaves of its own size,
/// and again a third of that in coarser ones.
const LEAVES_PER_SEED: [f64; 2] = [24.0, 12.0];

/// Cut cells by surface area alone, from a rough tessellation: known in no time, so that a size
/// far too fine is refused before anything large is made.
fn expected_cut_cells<const D: usize>(domain: &Domain<D>, bounds: &Bounds<D>) -> f64 {
    let extent = (0..D)
        .map(|k| bounds.high[k] - bounds.low[k])
        .fold(0.0, f64::max);
    let rough = Fineness {
        sagitta_m: 2e-3 * extent,
        within: bounds.grown(extent),
    };
    let area = |solid: &crate::solid::Solid<D>| -> f64 {
        let soups = solid.primitives().into_iter().map(|p| p.tessellate(&rough));
        soups
            .flat_map(|soup| {
                let elements = soup.elements.into_iter();
                let corners = elements.map(move |e| e.map(|v| soup.vertices[v as usize]));
                corners.filter_map(|c| Some(Fragment::simplex(&c).clipped(bounds)?.measure().0))
            })
            .sum()
    };
    let cells =
        |solid: &crate::solid::Solid<D>, size_m: f64| area(solid) / size_m.powi(D as i32 - 1);
    cells(&domain.tank, domain.wall_m)
        + domain
            .bodies
            .iter()
            .map(|b| cells(&b.solid, b.finest_m))
            .sum::<f64>()
}

/// Refuses what would not fit into memory.
fn check_size<const D: usize>(domain: &Domain<D>, seeds: f64, limit: u64) -> Result<(), GridError> {
    let cells = LEAVES_PER_SEED[D - 2] * seeds;
    let need = cells * BYTES_PER_CELL as f64;
    if need <= limit as f64 {
        return Ok(());
    }
    let coarser = (need / limit as f64).powf(1.0 / (D as f64 - 1.0));
    let finest = domain
        .bodies
        .iter()
        .map(|b| b.finest_m)
        .fold(f64::INFINITY, f64::min);
    Err(GridError::TooLarge {
        cells: cells as u64,
        need_mib: (need / 1048576.0) as u64,
        have_mib: limit >> 20,
        suggested_mm: 1e3 * finest * coarser * 1.1,
    })
}

fn check_touching<const D: usize>(
    domain: &Domain<D>,
    cuts: &[CellCut<D>],
) -> Result<(), GridError> {
    match cuts.iter().flat_map(|c| &c.touches).next() {
        None => Ok(()),
        Some((a, b, place)) => Err(GridError::Touching {
            first: domain.bodies[usize::from(*a)].name.clone(),
            second: domain.bodies[usize::from(*b)].name.clone(),
            place_m: place.to_vec(),
        }),
    }
}

/// Wet, dry or cut for every leaf. Uncut leaves that touch are of one state; cut cells beside
/// them tell which, the scene is asked once for each region that no cut cell tells of.
fn leaf_states<const D: usize>(
    scene: &Scene<'_, D>,
    tree: &Tree<D>,
    neighbours: &Neighbours<D>,
    lists: &[(u32, Vec<u32>)],
    opened: &[OpenCell<D>],
) -> Vec<LeafState> {
    let n = tree.leaves.len();
    let mut cut_of = vec![u32::MAX; n];
    for (c, (leaf, _)) in lists.iter().enumerate() {
        cut_of[*leaf as usize] = c as u32;
    }
    let mut groups = Groups::new(n);
    for leaf in 0..n {
        if cut_of[leaf] != u32::MAX {
            continue;
        }
        for face in 0..2 * D {
            if let Some(across) = neighbours.across(leaf, face)
                && tree.leaves[across].level <= tree.leaves[leaf].level
                && cut_of[across] == u32::MAX
            {
                groups.join(leaf, across);
            }
        }
    }
    let mut votes = vec![0i32; n];
    for (cell, (leaf, _)) in opened.iter().zip(lists) {
        let leaf = *leaf as usize;
        for face in 0..2 * D {
            let Some(across) = neighbours.across(leaf, face) else {
                continue;
            };
            if cut_of[across] != u32::MAX || tree.leaves[across].level > tree.leaves[leaf].level {
                continue;
            }
            let k = face / 2;
            let on_face = (0..1 << D).filter(|c| (c >> k & 1 == 1) == (face & 1 == 1));
            let wet = on_face.filter(|c| cell.wet >> c & 1 == 1).count();
            let group = groups.find(across);
            votes[group] += (2 * wet) as i32 - (1 << (D - 1));
        }
    }
    let wet: Vec<bool> = (0..n)
        .map(|leaf| {
            groups.find(leaf) == leaf
                && cut_of[leaf] == u32::MAX
                && match votes[leaf] {
                    0 => scene.is_electrolyte(&tree.root.centre(tree.leaves[leaf])),
                    v => v > 0,
                }
        })
        .collect();
    (0..n)
        .map(|leaf| match cut_of[leaf] {
            u32::MAX if wet[groups.find(leaf)] => LeafState::Wet,
            u32::MAX => LeafState::Dry,
            c => LeafState::Cut(c),
        })
        .collect()
}

fn note_tangled<const D: usize>(
    tree: &Tree<D>,
    cells: &[Cell],
    opened: &[OpenCell<D>],
    notes: &mut Vec<GridNote<D>>,
) {
    let mut tangled = cells
        .iter()
        .zip(opened)
        .filter(|(_, o)| o.tangled)
        .map(|(c, _)| c);
    if let Some(&first) = tangled.next() {
        notes.push(GridNote {
            kind: NoteKind::Tangled,
            count: 1 + tangled.count(),
            place: tree.root.centre(first),
        });
    }
}

/// Gives each facet its node; a facet in a closed sliver goes to the cell in front of it.
fn place_facets<const D: usize>(
    tree: &Tree<D>,
    lists: &[(u32, Vec<u32>)],
    opened: &mut [OpenCell<D>],
    nodes: &Nodes,
    finest_m: f64,
    notes: &mut Vec<GridNote<D>>,
) -> Vec<(Facet<D>, u32)> {
    let mut out = Vec::new();
    let mut lost: Option<GridNote<D>> = None;
    for ((leaf, _), cell) in lists.iter().zip(opened) {
        for facet in std::mem::take(&mut cell.facets) {
            let node = nodes.node(*leaf as usize, facet.part).or_else(|| {
                let h = tree
                    .root
                    .size_m(tree.leaves[*leaf as usize].level)
                    .max(finest_m);
                [0.5, 0.75, 1.0].into_iter().find_map(|s| {
                    let ahead = tree.locate(&add_scaled(&facet.point, s * h, &facet.normal))?;
                    nodes.node(ahead, 0)
                })
            });
            match node {
                Some(node) => out.push((facet, node)),
                None => {
                    let note = lost.get_or_insert(GridNote {
                        kind: NoteKind::LostFacet,
                        count: 0,
                        place: facet.point,
                    });
                    note.count += 1;
                }
            }
        }
    }
    notes.extend(lost);
    out
}

fn check_surfaces<const D: usize>(
    domain: &Domain<D>,
    scene: &Scene<'_, D>,
    facets: &[(Facet<D>, u32)],
) -> Result<(), GridError> {
    let mut seen = vec![false; domain.bodies.len()];
    for (facet, _) in facets {
        seen[usize::from(facet.body)] = true;
    }
    for (i, body) in domain.bodies.iter().enumerate() {
        if body.kind != BodyKind::Electrode || seen[i] {
            continue;
        }
        let of_body = || {
            scene
                .elements
                .iter()
                .filter(move |e| scene.surfaces[e.surface as usize].role == Role::Body(i))
        };
        let centre = |e: &super::scene::Element<D>| -> Point<D> {
            std::array::from_fn(|k| e.corners.iter().map(|c| c[k]).sum::<f64>() / D as f64)
        };
        let in_tank = of_body().any(|e| domain.tank.contains(&centre(e)));
        let stopped = of_body().any(|e| {
            domain
                .stop_offs
                .iter()
                .any(|s| s.solid.contains(&centre(e)))
        });
        let reason = if !in_tank {
            "it lies outside the tank or above the liquid; move it, or enlarge the tank"
        } else if stopped {
            "all of it is under stop-off; leave some of it bare"
        } else {
            "it is buried in other bodies; move it"
        };
        return Err(GridError::NoSurface {
            name: body.name.clone(),
            reason: reason.into(),
        });
    }
    Ok(())
}

/// Removes nodes that no electrode can send current through, and facets of electrodes that face
/// nobody else; returns the new number of each node.
fn drop_unreached<const D: usize>(
    through_sheets: &[[u32; 2]],
    node_cell: &mut Vec<Cell>,
    faces: &mut Vec<FaceLink>,
    facets: &mut Vec<Facet<D>>,
    facet_node: &mut Vec<u32>,
) -> Vec<Option<u32>> {
    let mut groups = Groups::new(node_cell.len());
    for f in faces.iter() {
        groups.join(f.owner as usize, f.other as usize);
    }
    for [up, down] in through_sheets {
        groups.join(*up as usize, *down as usize);
    }
    // Bodies met in each group: none, one, or several.
    const NONE: u32 = u32::MAX;
    const SEVERAL: u32 = u32::MAX - 1;
    let mut met = vec![NONE; node_cell.len()];
    for (facet, &node) in facets.iter().zip(facet_node.iter()) {
        let group = groups.find(node as usize);
        met[group] = match met[group] {
            NONE => u32::from(facet.body),
            one if one == u32::from(facet.body) => one,
            _ => SEVERAL,
        };
    }
    let mut number = vec![NONE; node_cell.len()];
    let mut next = 0;
    for (node, n) in number.iter_mut().enumerate() {
        if met[groups.find(node)] == SEVERAL {
            *n = next;
            next += 1;
        }
    }
    let renumbered = number.iter().map(|&n| (n != NONE).then_some(n)).collect();
    if next as usize == node_cell.len() {
        return renumbered;
    }
    let kept = |node: u32| number[node as usize] != NONE;
    let mut at = 0;
    node_cell.retain(|_| {
        at += 1;
        kept(at - 1)
    });
    faces.retain(|f| kept(f.owner));
    for f in faces.iter_mut() {
        f.owner = number[f.owner as usize];
        f.other = number[f.other as usize];
    }
    let mut keep = facet_node.iter().map(|&n| kept(n));
    facets.retain(|_| keep.next().unwrap_or(false));
    facet_node.retain(|&n| kept(n));
    for n in facet_node.iter_mut() {
        *n = number[*n as usize];
    }
    renumbered
}

fn check_reached<const D: usize>(domain: &Domain<D>, facets: &[Facet<D>]) -> Result<(), GridError> {
    if facets.is_empty() {
        return Err(GridError::NothingToSolve);
    }
    for (i, body) in domain.bodies.iter().enumerate() {
        if body.kind == BodyKind::Electrode && !facets.iter().any(|f| usize::from(f.body) == i) {
            return Err(GridError::NoSurface {
                name: body.name.clone(),
                reason: "no electrolyte joins it to another electrode; open a way for the current"
                    .into(),
            });
        }
    }
    Ok(())
}
