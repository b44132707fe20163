//! From the domain to the finished grid.

use super::check::{GridError, check_reached, check_surfaces, check_touching};
use super::cut::cut_all;
use super::domain::Domain;
use super::facet::Facet;
use super::feed::feed;
use super::finished::{Grid, GridNote, NoteKind};
use super::hanging;
use super::links::{FaceLink, LeafState, Leaves, Neighbours, Nodes, faces, node_cells, two_point};
use super::narrow;
use super::opening::{OpenCell, open};
use super::passage::Placed;
use super::plan::{Plan, plan};
use super::probe::{Probes, Within, probes};
use super::raster::{Lists, on_leaves};
use super::rims;
use super::scene::Scene;
use super::surroundings::{Adjacency, Surroundings};
use super::tree::{Cell, Tree};
use super::{partial, passage};
use ionfall_numerics::couplings::{Corrections, Coupling, Couplings};
use ionfall_numerics::groups::Groups;
use ionfall_numerics::vector::add_scaled;
use std::sync::Arc;

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

/// What a grid will be, known without weights and without a solve.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// Leaves of the tree, which memory goes with.
    pub leaves: u64,
    /// Cells of the grid: those that current can reach.
    pub cells: u64,
    /// Surface of each body that passes current, m2: cut at the tank and at other bodies, without what
    /// is under lacquer; zero for insulators.
    pub areas_m2: Vec<f64>,
}

/// Cuts the grid of a domain as [`build`] does, and stops before weights are computed.
///
/// # Errors
/// As [`build`]; all of its errors show here.
pub fn survey<const D: usize>(
    domain: &Domain<D>,
    memory_limit_bytes: u64,
) -> Result<Survey, GridError> {
    let laid = lay(domain, plan(domain, memory_limit_bytes)?)?;
    let mut areas_m2 = vec![0.0; domain.bodies.len()];
    for facet in &laid.facets {
        areas_m2[usize::from(facet.body)] += facet.area_m2;
    }
    Ok(Survey {
        leaves: laid.tree.leaves.len() as u64,
        cells: laid.node_cell.len() as u64,
        areas_m2,
    })
}

/// A tree that is cut: its nodes, the faces between them and the facets, as far as current reaches.
struct Laid<const D: usize> {
    tree: Tree<D>,
    cut_leaves: Vec<u32>,
    opened: Vec<OpenCell<D>>,
    neighbours: Neighbours<D>,
    states: Vec<LeafState>,
    nodes: Nodes,
    node_cell: Vec<Cell>,
    face_links: Vec<FaceLink>,
    facets: Vec<Facet<D>>,
    facet_node: Vec<u32>,
    /// New number of each node; nothing where no current comes.
    renumbered: Vec<Option<u32>>,
    narrow: Vec<narrow::Narrow<D>>,
    notes: Vec<GridNote<D>>,
}

/// Builds the tree and cuts it.
fn lay<const D: usize>(domain: &Domain<D>, planned: Plan<'_, D>) -> Result<Laid<D>, GridError> {
    let (scene, root) = (&planned.scene, planned.root);
    let tree = Tree::build(root, &planned.seeds, planned.coarsest, &planned.region);
    let neighbours = Neighbours::of(&tree);
    let mut lists = on_leaves(scene, &tree, &planned.placed, planned.contact_m);
    rims::only_at_rims(scene, &neighbours, &mut lists);
    drop((planned.seeds, planned.placed));
    let mut notes = Vec::new();
    let mut opened = open_leaves(scene, &tree, &lists, &mut notes)?;
    let cut_leaves = lists.at;
    let states = leaf_states(scene, &tree, &neighbours, &cut_leaves, &opened);
    let nodes = Nodes::number(&states, &opened);
    let mut face_links = faces(Leaves {
        space: domain.space,
        tree: &tree,
        neighbours: &neighbours,
        states: &states,
        cut: &opened,
        nodes: &nodes,
    });
    let placed = place_facets(
        &tree,
        &cut_leaves,
        &mut opened,
        &nodes,
        planned.finest_m,
        &mut notes,
    );
    check_surfaces(domain, scene, &placed)?;
    let (mut facets, mut facet_node): (Vec<_>, Vec<_>) = placed.into_iter().unzip();
    let mut node_cell = node_cells(&tree, &nodes);
    let sheets = passage::place(&cut_leaves, &opened, &nodes);
    let through: Vec<[u32; 2]> = sheets.iter().map(|p| p.nodes).collect();
    drop(sheets);
    let renumbered = drop_unreached(
        &through,
        &mut node_cell,
        &mut face_links,
        &mut facets,
        &mut facet_node,
    );
    check_reached(domain, &facets)?;
    Ok(Laid {
        tree,
        cut_leaves,
        opened,
        neighbours,
        states,
        nodes,
        node_cell,
        face_links,
        facets,
        facet_node,
        renumbered,
        narrow: planned.narrow,
        notes,
    })
}

/// Builds the grid. `memory_limit_bytes` bounds the whole run (see [`BYTES_PER_CELL`](super::BYTES_PER_CELL)).
///
/// # Errors
/// [`GridError`]: what is wrong with the domain, where, and the way out.
pub fn build<const D: usize>(
    domain: &Domain<D>,
    memory_limit_bytes: u64,
) -> Result<Grid<D>, GridError> {
    let mut laid = lay(domain, plan(domain, memory_limit_bytes)?)?;
    let (tree, facets) = (&laid.tree, &laid.facets);
    let (root, node_cell) = (tree.root, laid.node_cell);
    let sheets = passage::place(&laid.cut_leaves, &laid.opened, &laid.nodes);
    let mut notes = laid.notes;
    let mut links = two_point(tree, &laid.face_links);
    let electrodes_m2 = facets.iter().map(|f| f.area_m2).sum();
    notes.extend(narrow::notes(&laid.narrow, tree, electrodes_m2));
    drop(laid.narrow);
    let adjacency = Adjacency::new(node_cell.len(), &links);
    let fit = feed(
        &root,
        &node_cell,
        &links,
        &adjacency,
        facets,
        &mut laid.facet_node,
    );
    let around = Surroundings {
        tree,
        neighbours: &laid.neighbours,
        nodes: &laid.nodes,
        renumbered: &laid.renumbered,
    };
    let within = Within {
        space: domain.space,
        around,
        node_cell: &node_cell,
        adjacency: &adjacency,
        readable: &fit,
    };
    let read = Read {
        face_links: &laid.face_links,
        opened: &laid.opened,
        states: &laid.states,
        sheets: &sheets,
    };
    let fluxes = fluxes(within, domain, read, &mut links);
    // From here on memory is at its peak.
    drop(sheets);
    drop((laid.face_links, laid.opened, laid.states));
    let corrections = Corrections::joined(fluxes);
    let probes = probes(within, facets, &laid.facet_node);
    notes.extend(rough_note(&probes, facets));
    let probe_scale = probes.found.iter().map(|p| p.scale).collect();
    Ok(Grid {
        space: domain.space,
        root,
        node_cell,
        couplings: Arc::new(Couplings { links, corrections }),
        facets: laid.facets,
        facet_node: laid.facet_node,
        probe_scale,
        probe_rows: Arc::new(probes.rows),
        notes,
    })
}

/// Cuts the leaves that surfaces reach, and reads what is open of them.
fn open_leaves<const D: usize>(
    scene: &Scene<'_, D>,
    tree: &Tree<D>,
    lists: &Lists<u32>,
    notes: &mut Vec<GridNote<D>>,
) -> Result<Vec<OpenCell<D>>, GridError> {
    let cells: Vec<Cell> = lists
        .at
        .iter()
        .map(|&leaf| tree.leaves[leaf as usize])
        .collect();
    let cuts = cut_all(scene, &tree.root, &cells, lists);
    check_touching(scene.domain, &cuts)?;
    let opened = open(scene, &tree.root, &cells, lists, cuts);
    note_tangled(tree, &cells, &opened, notes);
    Ok(opened)
}

/// What was read of leaves and faces; only corrections of fluxes want it.
#[derive(Clone, Copy)]
struct Read<'a, const D: usize> {
    face_links: &'a [FaceLink],
    opened: &'a [OpenCell<D>],
    states: &'a [LeafState],
    sheets: &'a [Placed<'a, D>],
}

/// Corrections of fluxes: between leaves of different size, through partly open faces, and through
/// perforated sheets, whose links are added.
fn fluxes<const D: usize>(
    within: Within<'_, D>,
    domain: &Domain<D>,
    read: Read<'_, D>,
    links: &mut Vec<Coupling>,
) -> Vec<Corrections> {
    let (around, faces) = (within.around, read.face_links);
    let hanging = hanging::corrections(around, within.node_cell, within.adjacency, faces);
    let partial = partial::corrections(
        domain.space,
        around,
        read.states,
        read.opened,
        within.readable,
        faces,
    );
    let (through, passing) = passage::passages(within, read.sheets);
    links.extend(through);
    vec![hanging, partial, passing]
}

/// Facets that see too few cells.
fn rough_note<const D: usize>(probes: &Probes, facets: &[Facet<D>]) -> Option<GridNote<D>> {
    let mut rough = probes.found.iter().zip(facets).filter(|(p, _)| p.rough);
    let (_, first) = rough.next()?;
    Some(GridNote {
        kind: NoteKind::RoughProbe,
        count: 1 + rough.count(),
        place: first.point,
    })
}

/// Wet, dry or cut for every leaf. Uncut leaves that touch are of one state; cut cells beside
/// them tell which, the scene is asked once for each region that no cut cell tells of.
fn leaf_states<const D: usize>(
    scene: &Scene<'_, D>,
    tree: &Tree<D>,
    neighbours: &Neighbours<D>,
    cut_leaves: &[u32],
    opened: &[OpenCell<D>],
) -> Vec<LeafState> {
    let n = tree.leaves.len();
    let mut cut_of = vec![u32::MAX; n];
    for (c, leaf) in cut_leaves.iter().enumerate() {
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
    for (cell, leaf) in opened.iter().zip(cut_leaves) {
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
    cut_leaves: &[u32],
    opened: &mut [OpenCell<D>],
    nodes: &Nodes,
    finest_m: f64,
    notes: &mut Vec<GridNote<D>>,
) -> Vec<(Facet<D>, u32)> {
    let mut out = Vec::new();
    let mut lost: Option<GridNote<D>> = None;
    for (leaf, cell) in cut_leaves.iter().zip(opened) {
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
