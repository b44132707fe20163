//! A network sorted into the solver's own numbering: what depends on its structure alone, and which
//! conductance of the graph each link adds to.

use crate::graph::Graph;
use crate::network::{Link, Network};
use crate::order::Order;
use crate::pattern::{NO_SLOT, Pattern};
use std::sync::Arc;

/// A facet by the numbers of the solver.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    pub cell: u32,
    pub metal: u32,
    /// Slot of the graph between the two, if both are unknown.
    pub slot: u32,
}

/// What sorting a network yields.
#[derive(Debug)]
pub(crate) struct Sorted {
    pub order: Order,
    /// Links among the unknowns; facets have slots, but of no conductance. Conductances to
    /// prescribed potentials are not in it yet.
    pub graph: Graph<f64>,
    /// Links between an unknown and a prescribed potential.
    pub grounded: Vec<u32>,
    pub places: Vec<Place>,
    /// Terms of every unknown: number and, in the last bit, whether the term enters it.
    pub term_start: Vec<u32>,
    pub terms: Vec<u32>,
}

impl Sorted {
    /// Numbers and sorts a network whose node numbers are good.
    pub fn new(network: &Network) -> Self {
        let order = Order::new(&network.addresses, network.dimension, &network.fixed);
        let place = |node: u32| order.place[node as usize];
        let unknowns = order.unknowns();
        let free = |node: u32| (node as usize) < unknowns;
        let facets = network.facets.iter();
        let mut places: Vec<Place> = facets
            .map(|f| Place {
                cell: place(f.cell),
                metal: place(f.metal),
                slot: NO_SLOT,
            })
            .collect();
        let from_to = (network.couplings.corrections.ends.iter())
            .map(|c| [place(c.from), place(c.to)])
            .chain(places.iter().map(|p| [p.metal, p.cell]));
        let sort_links = || {
            let links = network.all_links().map(|l| (place(l.a), place(l.b)));
            let inside = |&(a, b): &(u32, u32)| free(a) && free(b);
            let all = links.chain(places.iter().map(|p| (p.cell, p.metal)));
            Pattern::new(order.chunks.clone(), order.hubs, all.filter(inside))
        };
        let ((pattern, slots), (term_start, terms)) =
            rayon::join(sort_links, || gather(unknowns, from_to));
        let mut graph = Graph::zero(Arc::new(pattern));
        let mut grounded = Vec::new();
        let mut slots = slots.into_iter();
        for (number, link) in (0..).zip(network.all_links()) {
            let (a, b) = (place(link.a), place(link.b));
            if free(a) && free(b) {
                let slot = slots.next().unwrap_or(NO_SLOT);
                if slot != NO_SLOT {
                    graph.value[slot as usize] += link.conductance_s;
                }
            } else if free(a) || free(b) {
                grounded.push(number);
            }
        }
        for p in places.iter_mut().filter(|p| free(p.cell) && free(p.metal)) {
            p.slot = slots.next().unwrap_or(NO_SLOT);
        }
        Sorted {
            graph,
            grounded,
            places,
            term_start,
            terms,
            order,
        }
    }

    /// Slot of a link, if both its ends are unknown.
    pub fn slot(&self, link: &Link) -> Option<usize> {
        let place = |node: u32| self.order.place[node as usize];
        let (a, b) = (place(link.a), place(link.b));
        if a.max(b) as usize >= self.order.unknowns() {
            return None;
        }
        let slot = self.graph.pattern.slot(a, b);
        (slot != NO_SLOT).then_some(slot as usize)
    }

    /// Sums up the conductances of all links between unknowns anew.
    pub fn sum_links(&mut self, network: &Network) {
        let mut value = std::mem::take(&mut self.graph.value);
        value.fill(0.0);
        for link in network.all_links() {
            if let Some(slot) = self.slot(&link) {
                value[slot] += link.conductance_s;
            }
        }
        self.graph.value = value;
    }
}

/// Lists, for every unknown, the terms that leave (`[from, _]`) or enter (`[_, to]`) it.
fn gather(
    unknowns: usize,
    from_to: impl Iterator<Item = [u32; 2]> + Clone,
) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0u32; unknowns + 1];
    let ends = from_to
        .enumerate()
        .flat_map(|(term, ends)| [(ends[0], 2 * term as u32), (ends[1], 2 * term as u32 + 1)])
        .filter(|&(node, _)| (node as usize) < unknowns);
    for (node, _) in ends.clone() {
        start[node as usize + 1] += 1;
    }
    for k in 0..unknowns {
        start[k + 1] += start[k];
    }
    let mut fill = start[..unknowns].to_vec();
    let mut terms = vec![0; start[unknowns] as usize];
    for (node, term) in ends {
        let at = &mut fill[node as usize];
        terms[*at as usize] = term;
        *at += 1;
    }
    (start, terms)
}
