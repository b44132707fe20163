//! The network as plain data: what the mesher and the bath hand over to the solver.
//!
//! Unknowns are node potentials `phi` in volts. The current balance of node `n` is
//!
//! ```text
//! sum over links of n      g (phi_n - phi_other)
//! + sum over corrections   +-(sum_k w_k phi_k)       from -> to adds to `from`, subtracts at `to`
//! + sum over facets at n   -A i                      (i > 0: from the metal into the electrolyte)
//!   and +A i at the facet's metal node
//! = injected current of n
//! ```
//! A facet carries `i = law(phi_metal - phi_surface)` through the electrolyte resistance
//! `series` between its surface and its *probe*, the weighted mean `sum_k p_k phi_k`
//! (weights sum to one) of nearby cells: `i = law(phi_metal - sum_k p_k phi_k - series i)`.
//! With the probe replaced by the facet's own cell and the corrections left out, everything is a
//! graph of positive conductances: the operator used as preconditioner, for the start, and where the
//! corrected one leads astray (`newton.rs`). At the *plain* nodes the network itself has that form ([`Network::plain`]).

use crate::law::Law;

/// A linear conductance between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// One node.
    pub a: u32,
    /// The other node.
    pub b: u32,
    /// Conductance, S.
    pub conductance_s: f64,
}

/// Rows of (node, weight): compressed, row `r` is `entries[start[r]..start[r+1]]`.
#[derive(Clone, Debug, Default)]
pub struct Forms {
    /// Row starts, one more than there are rows (or empty).
    pub start: Vec<u32>,
    /// Node of each entry.
    pub node: Vec<u32>,
    /// Weight of each entry.
    pub weight: Vec<f64>,
}

impl Forms {
    /// Number of rows.
    pub fn len(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// No rows?
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Adds a row.
    pub fn push(&mut self, entries: impl IntoIterator<Item = (u32, f64)>) {
        if self.start.is_empty() {
            self.start.push(0);
        }
        for (node, weight) in entries {
            self.node.push(node);
            self.weight.push(weight);
        }
        self.start.push(self.node.len() as u32);
    }

    /// Entries of a row.
    pub fn row(&self, r: usize) -> impl Iterator<Item = (u32, f64)> + '_ {
        let range = self.start[r] as usize..self.start[r + 1] as usize;
        self.node[range.clone()]
            .iter()
            .copied()
            .zip(self.weight[range].iter().copied())
    }
}

/// A flux correction: `forms` row of the same number gives amperes per volt, flowing from `from`
/// to `to` on top of the two-point link.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// Node the corrected current leaves.
    pub from: u32,
    /// Node it enters.
    pub to: u32,
}

/// A piece of electrode surface between one cell and the metal (or coat node) behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facet {
    /// Electrolyte node whose balance the current enters.
    pub cell: u32,
    /// Metal node behind.
    pub metal: u32,
    /// Area, m2.
    pub area_m2: f64,
    /// Electrolyte resistance between surface and probe, ohm m2.
    pub series_ohm_m2: f64,
    /// Number of its law in [`Network::laws`].
    pub law: u32,
    /// How far the centre of its cell lies behind the surface, over the distance at which the
    /// electrolyte has the resistance `series`; zero where it lies in front.
    pub depth: f32,
}

/// What a node stands for; kinds never share a multigrid aggregate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NodeKind {
    /// A cell of electrolyte.
    Electrolyte,
    /// A node of a conducting skin.
    Coat,
    /// A metal body or supply terminal.
    Metal,
}

/// Where a node sits in a tree, as a hint for coarsening: children of one tree cell share
/// `key >> (dimension)` at the next coarser level. Packed: 10 bytes instead of 16.
#[repr(Rust, packed)]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Address {
    /// Kind of node.
    pub kind: NodeKind,
    /// Morton key of the cell on its own level.
    pub key: u64,
    /// Level: 0 is the root cell.
    pub level: u8,
}

/// The whole network. Metal nodes whose potential is prescribed appear in `fixed`; every part that
/// hangs together by links and facets needs one. A metal node that is neither there nor in
/// `injected` floats.
#[derive(Debug, Default)]
pub struct Network {
    /// One address a node; the number of nodes is its length.
    pub addresses: Vec<Address>,
    /// Address bits per level (2 for a quadtree, 3 for an octree; 1 to 3).
    pub dimension: u8,
    /// Linear conductances.
    pub links: Vec<Link>,
    /// Flux corrections, ends.
    pub corrections: Vec<Correction>,
    /// Flux corrections, weights in S.
    pub correction_forms: Forms,
    /// Electrode facets.
    pub facets: Vec<Facet>,
    /// Probe of each facet (weights sum to one).
    pub probes: Forms,
    /// Electrode laws.
    pub laws: Vec<Box<dyn Law>>,
    /// Prescribed potentials, V.
    pub fixed: Vec<(u32, f64)>,
    /// Injected currents, A (into the node from outside).
    pub injected: Vec<(u32, f64)>,
    /// Electrolyte nodes, ascending, whose facets see their own cell instead of their probe and
    /// that no correction touches: there every current falls as the potential does, so that the
    /// node's potential lies between those around it. A [solve](crate::Solver::solve) adds nodes where
    /// the accurate form has led to what no tank can do.
    pub plain: Vec<u32>,
}

impl Network {
    /// Makes more nodes plain. Says whether any of them is new.
    pub(crate) fn make_plain(&mut self, nodes: impl IntoIterator<Item = u32>) -> bool {
        let before = self.plain.len();
        self.plain.extend(nodes);
        self.plain.sort_unstable();
        self.plain.dedup();
        self.plain.len() > before
    }

    /// Multiplies what the electrolyte conducts by a factor: links between its cells, flux
    /// corrections, and the paths from surfaces to probes.
    pub(crate) fn scale_conductivity(&mut self, factor: f64) {
        let addresses = &self.addresses;
        let wet = |node: u32| addresses[node as usize].kind == NodeKind::Electrolyte;
        for link in &mut self.links {
            if wet(link.a) && wet(link.b) {
                link.conductance_s *= factor;
            }
        }
        for weight in &mut self.correction_forms.weight {
            *weight *= factor;
        }
        for facet in &mut self.facets {
            facet.series_ohm_m2 /= factor;
        }
    }
}
