//! Numbering of the unknowns.
//!
//! Free cells and coat nodes come first, along the Morton curve of the finest level, cut into
//! chunks so that neighbours are near in memory. Within a chunk the cells of one colour of a
//! chessboard come before those of the other: a sweep then meets no cell whose neighbour it has
//! just changed, and need not wait for that result. Then come the free metals ("hubs", which may
//! have very many links), then the nodes with a prescribed potential. Within the solver a node is
//! known by this number only.

use crate::network::{Address, NodeKind};
use rayon::prelude::*;

/// Longest chunk. Single-threaded, 4096 to 16384 took the same time (a million unknowns, 2026);
/// short ones share work more evenly, long ones have fewer links across their borders. Places in a
/// chunk must fit 16 bits.
pub(crate) const CHUNK: usize = 8192;

/// The numbering.
#[derive(Debug)]
pub(crate) struct Order {
    /// Where the chunks of free cells and coat nodes begin, and the end.
    pub chunks: Vec<u32>,
    /// Free cells and coat nodes.
    pub cells: usize,
    /// Free metals.
    pub hubs: usize,
    /// Place of every node of the network.
    pub place: Vec<u32>,
}

/// Location code: a leading one, the Morton key, and a last bit for the kind. Two codes of one
/// kind are equal only for the same tree cell, and [`parent`] is a shift.
fn code(address: &Address, dimension: u32) -> u64 {
    let cell = (1u64 << (dimension * u32::from(address.cell.level))) | address.cell.key;
    cell << 1 | u64::from(address.kind == NodeKind::Coat)
}

/// Code of the parent tree cell; the root is its own parent.
pub(crate) fn parent(code: u64, dimension: u32) -> u64 {
    let cell = code >> 1;
    (cell >> dimension).max(1) << 1 | (code & 1)
}

/// Colour of the tree cell on the chessboard of its level; a coat node has that of the cells
/// beside its own.
pub(crate) fn colour(code: u64, dimension: u32) -> u64 {
    let cell = (code >> 1) & ((1 << dimension) - 1);
    (u64::from(cell.count_ones()) + code) & 1
}

/// Place on the Morton curve: the code shifted so that its leading bit is the highest.
pub(crate) fn along_curve(code: u64) -> u64 {
    code << code.leading_zeros()
}

/// Deepest level whose location code fits, for a tree of this many address bits a level.
pub(crate) fn deepest_level(dimension: u8) -> u8 {
    (62 / dimension.max(1)).min(62)
}

impl Order {
    /// Numbers the nodes. Levels must not exceed [`deepest_level`].
    pub fn new(addresses: &[Address], dimension: u8, fixed: &[(u32, f64)]) -> Self {
        let dimension = u32::from(dimension.max(1));
        let mut group = vec![0u8; addresses.len()];
        for (group, address) in group.iter_mut().zip(addresses) {
            *group = u8::from(address.kind == NodeKind::Metal);
        }
        for &(node, _) in fixed {
            group[node as usize] = 2;
        }
        let deepest = addresses
            .iter()
            .filter(|a| a.kind != NodeKind::Metal)
            .map(|a| a.cell.level)
            .max()
            .unwrap_or(0);
        let sort_key = |node: u32| {
            let a = &addresses[node as usize];
            match group[node as usize] {
                0 => {
                    let up = dimension * u32::from(deepest - a.cell.level);
                    (0, a.cell.key << up, a.cell.level, node)
                }
                other => (other, 0, 0, node),
            }
        };
        let mut nodes: Vec<u32> = (0..addresses.len() as u32).collect();
        if !nodes.is_sorted_by_key(|&node| sort_key(node)) {
            nodes.par_sort_by_cached_key(|&node| sort_key(node));
        }
        let cells = group.iter().filter(|&&g| g == 0).count();
        let hubs = group.iter().filter(|&&g| g == 1).count();
        let code_of = |node: u32| code(&addresses[node as usize], dimension);
        for chunk in nodes[..cells].chunks_mut(CHUNK) {
            chunk.sort_by_key(|&node| colour(code_of(node), dimension));
        }
        let mut place = vec![0; nodes.len()];
        for (new, &old) in nodes.iter().enumerate() {
            place[old as usize] = new as u32;
        }
        Order {
            chunks: chunk_ends(cells),
            cells,
            hubs,
            place,
        }
    }

    /// Location code of every free cell and coat node, in the new order.
    pub fn codes(&self, addresses: &[Address], dimension: u8) -> Vec<u64> {
        let dimension = u32::from(dimension.max(1));
        let mut codes = vec![0; self.cells];
        for (address, &place) in addresses.iter().zip(&self.place) {
            if let Some(of_cell) = codes.get_mut(place as usize) {
                *of_cell = code(address, dimension);
            }
        }
        codes
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.cells + self.hubs
    }
}

/// Cuts `cells` cells into chunks.
fn chunk_ends(cells: usize) -> Vec<u32> {
    let starts = (0..cells).step_by(CHUNK).chain([cells]);
    starts.map(|start| start as u32).collect()
}
