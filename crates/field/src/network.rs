//! The network as plain data: what the mesher and the bath hand over to the solver.
//!
//! Unknowns are node potentials `phi` in volts. The current balance of node `n` is
//!
//! ```text
//! sum over links of n      g (phi_n - phi_other)         g in S; kappa times metres in the electrolyte
//! + sum over corrections   +-kappa (sum_k w_k phi_k)     from -> to adds to `from`, subtracts at `to`
//! + sum over facets at n   -A i                          (i > 0: from the metal into the electrolyte)
//!   and +A i at the facet's metal node
//! = injected current of n
//! ```
//! A facet carries `i = law(phi_metal - phi_surface)` through the electrolyte between its surface and
//! its *probe*, the weighted mean `sum_k p_k phi_k` (weights sum to one) of nearby cells:
//! `i = law(phi_metal - sum_k p_k phi_k - (series / kappa) i)`.
//! Couplings and probes are geometry and may be shared with the grid; the conductivity `kappa` is a
//! factor beside them.
//! With the probe replaced by the facet's own cell and the corrections left out, everything is a
//! graph of positive conductances: the operator used as preconditioner, for the start, and where the
//! corrected one leads astray (`newton.rs`). At the *plain* nodes the network itself has that form ([`Network::plain`]).

use crate::law::Law;
pub use ionfall_numerics::cell::Cell;
pub use ionfall_numerics::couplings::{Correction, Corrections, Coupling, Couplings};
pub use ionfall_numerics::rows::Rows;
use std::sync::Arc;

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

/// Conductivity of the electrolyte: what makes conductances of lengths. It is the same everywhere;
/// whoever asks says where all the same, so that a bath of layers needs no other questions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conductivity {
    s_per_m: f64,
}

impl Conductivity {
    /// The same everywhere.
    pub fn uniform(s_per_m: f64) -> Self {
        Self { s_per_m }
    }

    /// In a cell, S/m.
    pub fn at(&self, _cell: u32) -> f64 {
        self.s_per_m
    }

    /// From one cell to another, S/m.
    pub fn between(&self, _a: u32, _b: u32) -> f64 {
        self.s_per_m
    }
}

/// 1 S/m: lengths are conductances.
impl Default for Conductivity {
    fn default() -> Self {
        Self::uniform(1.0)
    }
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
    /// Electrolyte between surface and probe, m: over the conductivity a resistance, ohm m2.
    pub series_m: f64,
    /// Number of its law in [`Network::laws`].
    pub law: u32,
    /// How far the centre of its cell lies behind the surface, over the distance at which the
    /// electrolyte has that resistance; zero where it lies in front.
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

/// What a node is, and where it sits in a tree, as a hint for coarsening. Packed: 10 bytes instead
/// of 16.
#[repr(Rust, packed)]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Address {
    /// Kind of node.
    pub kind: NodeKind,
    /// Its cell; of no account for metals.
    pub cell: Cell,
}

impl Address {
    /// Of electrolyte in a cell.
    pub fn electrolyte(cell: Cell) -> Self {
        let kind = NodeKind::Electrolyte;
        Self { kind, cell }
    }

    /// Of a coat on a surface in a cell.
    pub fn coat(cell: Cell) -> Self {
        let kind = NodeKind::Coat;
        Self { kind, cell }
    }

    /// Of a metal.
    pub fn metal() -> Self {
        Self {
            kind: NodeKind::Metal,
            cell: Cell { key: 0, level: 0 },
        }
    }
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
    /// What joins the cells of electrolyte, as lengths.
    pub couplings: Arc<Couplings>,
    /// Conductivity of the electrolyte.
    pub conductivity: Conductivity,
    /// All other linear conductances: leads, contacts, coats.
    pub links: Vec<Link>,
    /// Electrode facets.
    pub facets: Vec<Facet>,
    /// Probe of each facet (weights sum to one).
    pub probes: Arc<Rows>,
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

    /// The couplings, to be changed; a copy if others share them.
    pub fn couplings_mut(&mut self) -> &mut Couplings {
        Arc::make_mut(&mut self.couplings)
    }

    /// The probes, to be changed; a copy if others share them.
    pub fn probes_mut(&mut self) -> &mut Rows {
        Arc::make_mut(&mut self.probes)
    }

    /// The links of the electrolyte as conductances.
    pub fn coupled(&self) -> impl Iterator<Item = Link> + Clone + '_ {
        let links = self.couplings.links.iter();
        links.map(|coupling| self.conducting(coupling))
    }

    /// All conductances: those of the electrolyte, then the others.
    pub fn all_links(&self) -> impl Iterator<Item = Link> + Clone + '_ {
        self.coupled().chain(self.links.iter().copied())
    }

    /// One of [`all_links`](Self::all_links), by its number there.
    pub(crate) fn link(&self, number: usize) -> Link {
        let coupled = &self.couplings.links;
        match number.checked_sub(coupled.len()) {
            Some(other) => self.links[other],
            None => self.conducting(&coupled[number]),
        }
    }

    fn conducting(&self, &Coupling { a, b, metres }: &Coupling) -> Link {
        Link {
            a,
            b,
            conductance_s: self.conductivity.between(a, b) * metres,
        }
    }

    /// Resistance of the electrolyte between a facet's surface and its probe, ohm m2.
    pub fn series_ohm_m2(&self, facet: &Facet) -> f64 {
        facet.series_m / self.conductivity.at(facet.cell)
    }
}
