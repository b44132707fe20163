//! The network in the solver's own numbering: its balance, and the derivative of it.
//!
//! Two operators share one code. The *corrected* one is the network as it stands. The *plain* one
//! takes the potential of a facet's own cell for that of its probe and leaves the flux corrections
//! out; it is symmetric, and its graph is what the multigrid is built on.
//!
//! Corrections and facets are *terms*: currents that leave one node and enter another. They are
//! computed once each, in parallel, and then gathered by node, so that nothing is lost between
//! the two ends and the order of summation never changes.

use crate::graph::Graph;
use crate::hierarchy::{Coarse, Hierarchy};
use crate::law::Response;
use crate::network::{Conductivity, Correction, Network, Rows};
use crate::pattern::NO_SLOT;
use crate::preconditioner::Preconditioner;
use crate::real::Real;
use crate::sorted::{Place, Sorted};
use crate::varying::Varying;
use crate::vector::{each_piece, round};
use rayon::prelude::*;
use std::sync::{Mutex, PoisonError};

/// Which operator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Operator {
    Plain,
    Corrected,
}

/// Least conductance of a facet in the preconditioner, as a share of the largest: a facet at its
/// limiting current would otherwise let go of its cell altogether.
const FLOOR: f64 = 1e-9;

/// The network, ready to be evaluated. Rows name nodes as the network does, and are read through the
/// list of places: they lie where the grid has them, and a second list would be a tenth of the memory
/// of a run.
#[derive(Debug)]
pub(crate) struct System {
    pub network: Network,
    pub sorted: Sorted,
    /// Injected currents and those that prescribed potentials drive through links, A, and where.
    source: Vec<(u32, f64)>,
    varying: Option<Varying>,
    /// The currents of the terms while they are being gathered.
    flux: Mutex<Vec<f64>>,
    /// Is a facet that of a plain node? Empty if there are none.
    plain_facet: Vec<bool>,
    /// Corrections that touch plain nodes, ascending.
    pub left_out: Vec<u32>,
}

impl System {
    /// Takes a valid network over, sorted.
    pub fn new(network: Network, sorted: Sorted) -> Self {
        let corrections = network.couplings.corrections.ends.len();
        let mut system = System {
            flux: Mutex::new(vec![0.0; corrections + sorted.places.len()]),
            network,
            sorted,
            source: Vec::new(),
            varying: None,
            plain_facet: Vec::new(),
            left_out: Vec::new(),
        };
        system.connect();
        system.find_plain();
        system
    }

    /// Place of every node of the network.
    pub fn places(&self) -> &[u32] {
        &self.sorted.order.place
    }

    /// Number of unknowns; the nodes of prescribed potential come after them.
    pub fn unknowns(&self) -> usize {
        self.sorted.order.unknowns()
    }

    /// Takes notice of other prescribed potentials (of the same nodes), injected currents, or
    /// conductances to prescribed potentials.
    pub fn connect(&mut self) {
        let (network, unknowns) = (&self.network, self.unknowns());
        let Sorted {
            order,
            graph,
            grounded,
            ..
        } = &mut self.sorted;
        let place = |node: u32| order.place[node as usize] as usize;
        let mut potential = vec![0.0; order.place.len() - unknowns];
        for &(node, value) in &network.fixed {
            potential[place(node) - unknowns] = value;
        }
        let mut source = vec![0.0; order.place.len()];
        for &(node, current) in &network.injected {
            source[place(node)] += current;
        }
        graph.ground.fill(0.0);
        for &link in &*grounded {
            let link = network.link(link as usize);
            let (a, b) = (place(link.a), place(link.b));
            let (node, other) = (a.min(b), a.max(b));
            graph.ground[node] += link.conductance_s;
            source[node] += link.conductance_s * potential[other - unknowns];
        }
        self.source = (0..).zip(source).filter(|s| s.1 != 0.0).collect();
    }

    /// Gives the links from number `first` on other conductances.
    pub fn set_links(&mut self, first: usize, conductances_s: &[f64]) {
        let range = first..first + conductances_s.len();
        let links = &mut self.network.links;
        for (link, &g) in links[range.clone()].iter_mut().zip(conductances_s) {
            link.conductance_s = g;
        }
        let known = self.varying.take().filter(|v| *v.range() == range);
        let varying = known.unwrap_or_else(|| Varying::new(&self.sorted, &self.network, range));
        varying.sum(&self.network.links, &mut self.sorted.graph.value);
        self.varying = Some(varying);
        self.connect();
    }

    /// Gives the electrolyte another conductivity.
    pub fn set_conductivity(&mut self, conductivity: Conductivity) {
        self.network.conductivity = conductivity;
        self.sorted.sum_links(&self.network);
        self.varying = None;
        self.connect();
    }

    /// Makes more nodes plain, by their names in the network. Says whether any of them is new.
    pub fn make_plain(&mut self, nodes: impl IntoIterator<Item = u32>) -> bool {
        let more = self.network.make_plain(nodes);
        self.find_plain();
        more
    }

    fn find_plain(&mut self) {
        let network = &self.network;
        if network.plain.is_empty() {
            return;
        }
        let mut plain = vec![false; network.addresses.len()];
        for &node in &network.plain {
            plain[node as usize] = true;
        }
        let facets = network.facets.iter();
        self.plain_facet = facets.map(|f| plain[f.cell as usize]).collect();
        let corrections = (0..).zip(&network.couplings.corrections.ends);
        let touched = corrections.filter(|(_, c)| plain[c.from as usize] || plain[c.to as usize]);
        self.left_out = touched.map(|(k, _)| k).collect();
    }

    /// Does a facet see its own cell instead of its probe?
    pub fn sees_own_cell(&self, facet: usize) -> bool {
        self.plain_facet.get(facet).copied().unwrap_or(false)
    }

    /// Nodes, in the solver's numbering unknowns first.
    pub fn nodes(&self) -> usize {
        self.places().len()
    }

    /// Anything that makes the corrected operator differ from the plain one?
    pub fn is_plain(&self) -> bool {
        let Rows { start, node, .. } = &*self.network.probes;
        let own = |f: usize, cell: u32| node[start[f] as usize..start[f + 1] as usize] == [cell];
        let rows = self.correction_rows();
        (rows.len() == self.left_out.len() || rows.node.is_empty())
            && (self.network.facets.iter().enumerate())
                .all(|(f, facet)| self.sees_own_cell(f) || own(f, facet.cell))
    }

    /// Potential of a facet's probe, or of its own cell.
    pub fn probe<X: Real>(&self, operator: Operator, facet: usize, x: &[X]) -> f64 {
        if operator == Operator::Plain || self.sees_own_cell(facet) {
            x[self.sorted.places[facet].cell as usize].wide()
        } else {
            self.row_product(&self.network.probes, facet, x)
        }
    }

    /// Metal potential less probe potential of a facet.
    pub fn drive<X: Real>(&self, operator: Operator, facet: usize, x: &[X]) -> f64 {
        x[self.sorted.places[facet].metal as usize].wide() - self.probe(operator, facet, x)
    }

    /// Responses of all facets to the potentials `x`.
    pub fn responses(&self, operator: Operator, x: &[f64], responses: &mut [Response]) {
        each_piece(responses, |lo, responses| {
            for (k, response) in responses.iter_mut().enumerate() {
                let facet = &self.network.facets[lo + k];
                let law = &self.network.laws[facet.law as usize];
                let drive = self.drive(operator, lo + k, x);
                *response = law.respond(drive, self.network.series_ohm_m2(facet));
            }
        });
    }

    /// Imbalance of every unknown, A: what leaves it less what is injected.
    pub fn balance(&self, operator: Operator, x: &[f64], responses: &[Response], y: &mut [f64]) {
        self.apply_terms(operator, x, y, |f, _| responses[f].current_a_per_m2);
        for &(node, current) in &self.source {
            y[node as usize] -= current;
        }
        y[self.unknowns()..].fill(0.0);
    }

    /// Derivative of the balance in the direction `x`, which must vanish at prescribed nodes.
    pub fn derivative<X: Real>(
        &self,
        operator: Operator,
        responses: &[Response],
        x: &[X],
        y: &mut [f64],
    ) {
        self.apply_terms(operator, x, y, |f, drive| {
            responses[f].slope_s_per_m2 * drive()
        });
    }

    /// Links, corrections, and facets whose current density is `density(facet, drive)`.
    fn apply_terms<X: Real>(
        &self,
        operator: Operator,
        x: &[X],
        y: &mut [f64],
        density: impl Fn(usize, &dyn Fn() -> f64) -> f64 + Sync,
    ) {
        let ends = &self.network.couplings.corrections.ends;
        let mut flux = self.flux.lock().unwrap_or_else(PoisonError::into_inner);
        let flux = &mut flux[..];
        let (by_row, by_facet) = flux.split_at_mut(ends.len());
        if operator == Operator::Corrected {
            let rows = self.correction_rows();
            each_piece(by_row, |lo, flux| {
                for (k, flux) in flux.iter_mut().enumerate() {
                    let Correction { from, to } = ends[lo + k];
                    let conductivity = self.network.conductivity.between(from, to);
                    *flux = conductivity * self.row_product(rows, lo + k, x);
                }
            });
            for &k in &self.left_out {
                by_row[k as usize] = 0.0;
            }
        } else {
            by_row.fill(0.0);
        }
        each_piece(by_facet, |lo, flux| {
            for (k, flux) in flux.iter_mut().enumerate() {
                let f = lo + k;
                let drive = || self.drive(operator, f, x);
                *flux = self.network.facets[f].area_m2 * density(f, &drive);
            }
        });
        let flux = &*flux;
        let unknowns = self.unknowns();
        self.sorted.graph.apply(x, y);
        each_piece(&mut y[..unknowns], |lo, y| {
            let rows = self.sorted.term_start[lo..=lo + y.len()].windows(2);
            for (y, row) in y.iter_mut().zip(rows) {
                for &term in &self.sorted.terms[row[0] as usize..row[1] as usize] {
                    let flux = flux[(term >> 1) as usize];
                    *y += if term & 1 == 0 { flux } else { -flux };
                }
            }
        });
        y[unknowns..].fill(0.0);
    }

    /// Multigrid of the links alone; [`load`](Self::load) puts the facets in.
    pub fn hierarchy(&self) -> Hierarchy {
        let mut fine = Graph::zero(self.sorted.graph.pattern.clone());
        self.copy_links(&mut fine);
        let network = &self.network;
        let codes = (self.sorted.order).codes(&network.addresses, network.dimension);
        Hierarchy::new(fine, codes, u32::from(network.dimension))
    }

    /// Gives the preconditioner the present conductances of the links, where
    /// [`load`](Self::load) does not.
    pub fn load_links(&self, preconditioner: &mut dyn Preconditioner) {
        if !self.joins_cells() {
            self.copy_links(preconditioner.graph());
            preconditioner.refresh(true);
        }
    }

    /// Does a facet lie between cells? Metal is a hub or grounded; only facets of a coat do.
    fn joins_cells(&self) -> bool {
        let [_, spokes_at, _] = self.sorted.graph.pattern.sections();
        let between_cells = |p: &Place| p.slot != NO_SLOT && (p.slot as usize) < spokes_at;
        self.sorted.places.iter().any(between_cells)
    }

    /// Gives the preconditioner the present slopes of the facets.
    pub fn load(&self, responses: &[Response], preconditioner: &mut dyn Preconditioner) {
        let fine = preconditioner.graph();
        let [_, spokes_at, _] = self.sorted.graph.pattern.sections();
        let cells_too = self.joins_cells();
        if cells_too {
            self.copy_links(fine);
        } else {
            let tail = spokes_at..;
            round(
                &self.sorted.graph.value[tail.clone()],
                &mut fine.value[tail],
            );
            round(&self.sorted.graph.ground, &mut fine.ground);
        }
        let conductance = |f: usize| self.network.facets[f].area_m2 * responses[f].slope_s_per_m2;
        let largest = (0..self.sorted.places.len())
            .map(conductance)
            .fold(0.0, f64::max);
        let unknowns = self.unknowns();
        for (f, place) in self.sorted.places.iter().enumerate() {
            let g = conductance(f).max(FLOOR * largest) as Coarse;
            if place.slot != NO_SLOT {
                fine.value[place.slot as usize] += g;
            } else {
                let node = place.cell.min(place.metal) as usize;
                if node < unknowns {
                    fine.ground[node] += g;
                }
            }
        }
        preconditioner.refresh(cells_too);
    }

    fn copy_links(&self, fine: &mut Graph<Coarse>) {
        round(&self.sorted.graph.value, &mut fine.value);
        round(&self.sorted.graph.ground, &mut fine.ground);
    }

    /// Size of rounding errors in the balance: machine precision times the norm of the sums of
    /// the absolute values of all link currents' two halves.
    pub fn rounding(&self, x: &[f64]) -> f64 {
        let diagonal = self.sorted.graph.diagonal();
        let sum: f64 = (diagonal.par_iter().zip(x))
            .map(|(d, x)| (d * x).powi(2))
            .collect::<Vec<f64>>()
            .iter()
            .sum();
        f64::EPSILON * sum.sqrt()
    }

    /// Rows of the flux corrections.
    pub fn correction_rows(&self) -> &Rows {
        &self.network.couplings.corrections.rows
    }

    /// Value of a row at `x`, in four interleaved sums.
    fn row_product<X: Real>(&self, rows: &Rows, row: usize, x: &[X]) -> f64 {
        let place = self.places();
        let at = |node: u32| x[place[node as usize] as usize].wide();
        let range = rows.start[row] as usize..rows.start[row + 1] as usize;
        let (nodes, last_nodes) = rows.node[range.clone()].as_chunks::<4>();
        let (weights, last_weights) = rows.weight[range].as_chunks::<4>();
        let mut sum = [0.0; 4];
        for (nodes, weights) in nodes.iter().zip(weights) {
            for k in 0..4 {
                sum[k] += weights[k] * at(nodes[k]);
            }
        }
        for ((sum, &node), w) in sum.iter_mut().zip(last_nodes).zip(last_weights) {
            *sum += w * at(node);
        }
        (sum[0] + sum[1]) + (sum[2] + sum[3])
    }
}
