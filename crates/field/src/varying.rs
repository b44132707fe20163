//! Links whose conductances change from solve to solve, as those of a coat do while metal grows.

use crate::network::{Link, Network};
use crate::sorted::Sorted;
use std::ops::Range;

/// A run of the network's own links, and where their conductances are summed up.
#[derive(Debug)]
pub(crate) struct Varying {
    range: Range<usize>,
    /// Slot of each of them that joins two unknowns.
    slots: Vec<Option<usize>>,
    /// What all other links add to those slots, S.
    rest: Vec<(usize, f64)>,
}

impl Varying {
    /// Finds the slots of the links of a range.
    pub fn new(sorted: &Sorted, network: &Network, range: Range<usize>) -> Self {
        let links = &network.links;
        let slots: Vec<_> = links[range.clone()]
            .iter()
            .map(|l| sorted.slot(l))
            .collect();
        let mut ends = vec![false; sorted.order.place.len()];
        for link in &links[range.clone()] {
            ends[link.a as usize] = true;
            ends[link.b as usize] = true;
        }
        let mut rest: Vec<_> = slots.iter().flatten().map(|&slot| (slot, 0.0)).collect();
        rest.sort_unstable_by_key(|r| r.0);
        rest.dedup_by_key(|r| r.0);
        let others = links[..range.start].iter().chain(&links[range.end..]);
        let others = network.coupled().chain(others.copied());
        for link in others.filter(|l| ends[l.a as usize] && ends[l.b as usize]) {
            if let Some(slot) = sorted.slot(&link)
                && let Ok(at) = rest.binary_search_by_key(&slot, |r| r.0)
            {
                rest[at].1 += link.conductance_s;
            }
        }
        Varying { range, slots, rest }
    }

    /// The numbers of the links.
    pub fn range(&self) -> &Range<usize> {
        &self.range
    }

    /// Sums up their conductances.
    pub fn sum(&self, links: &[Link], value: &mut [f64]) {
        for &(slot, rest) in &self.rest {
            value[slot] = rest;
        }
        for (slot, link) in self.slots.iter().zip(&links[self.range.clone()]) {
            if let Some(slot) = *slot {
                value[slot] += link.conductance_s;
            }
        }
    }
}
