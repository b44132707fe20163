//! Current through perforated sheets.
//!
//! A sheet of thickness `t` with the open share `f` is a resistance `t/f` in place of `t` of
//! electrolyte: `t (1/f - 1)` metres more than without it (the constriction in front of the holes is
//! left out, so fine gauzes are described better than coarse ones). Between the two nodes of a cell
//! that the sheet parts, with a probe ([`super::probe`]) on each side,
//!
//! ```text
//! F = kappa A (probe above - probe below) / (t (1/f - 1) + 1/a_above + 1/a_below)
//! ```

use super::beyond;
use super::face::Passage;
use super::facet::{Facet, Outline};
use super::links::Nodes;
use super::opening::OpenCell;
use super::probe::{Probes, Within, probes};
use ionfall_numerics::couplings::{Corrections, Coupling};

/// A piece of sheet with the nodes above and below.
#[derive(Clone, Debug)]
pub struct Placed<'a, const D: usize> {
    passage: &'a Passage<D>,
    /// Nodes above and below.
    pub nodes: [u32; 2],
}

/// Pieces of perforated sheets between two nodes.
pub fn place<'a, const D: usize>(
    leaves: &[u32],
    opened: &'a [OpenCell<D>],
    nodes: &Nodes,
) -> Vec<Placed<'a, D>> {
    let all = leaves
        .iter()
        .zip(opened)
        .flat_map(|(leaf, cell)| cell.passages.iter().map(move |p| (*leaf, p)));
    all.filter_map(|(leaf, passage)| {
        let [up, down] = passage.parts.map(|part| nodes.node(leaf as usize, part));
        Some(Placed {
            passage,
            nodes: [up?, down?],
        })
    })
    .collect()
}

/// Links and corrections of all passages.
pub fn passages<const D: usize>(
    within: Within<'_, D>,
    placed: &[Placed<'_, D>],
) -> (Vec<Coupling>, Corrections) {
    let found: Vec<(&Passage<D>, [u32; 2])> = placed
        .iter()
        .filter_map(|p| {
            let [up, down] = p.nodes.map(|n| within.around.renumbered[n as usize]);
            Some((p.passage, [up?, down?]))
        })
        .collect();
    let seen_from = |side: usize| -> Probes {
        let facets: Vec<Facet<D>> = found
            .iter()
            .map(|(p, _)| Facet {
                body: p.sheet,
                part: p.parts[side],
                point: p.point,
                normal: if side == 0 {
                    p.normal
                } else {
                    p.normal.map(|x| -x)
                },
                area_m2: p.area_m2,
                outline: Outline::default(),
            })
            .collect();
        let own: Vec<u32> = found.iter().map(|(_, nodes)| nodes[side]).collect();
        probes(within, &facets, &own)
    };
    let (above, below) = (seen_from(0), seen_from(1));
    let (mut links, mut corrections) = (Vec::new(), Corrections::default());
    for (n, (p, [up, down])) in found.iter().enumerate() {
        let (over, under) = (above.found[n], below.found[n]);
        let probes_m = 1.0 / over.scale.per_m + 1.0 / under.scale.per_m;
        let more = p.rim.map_or(1.0, |rim| beyond::at_rim(rim, 0.5 * probes_m));
        let metres = more * p.area_m2 / (p.extra_m + probes_m);
        links.push(Coupling {
            a: *up,
            b: *down,
            metres,
        });
        let row = [(*up, -metres), (*down, metres)].into_iter();
        let row = row.chain(above.rows.row(n).map(|(node, w)| (node, metres * w)));
        let row = row.chain(below.rows.row(n).map(|(node, w)| (node, -metres * w)));
        corrections.push(*up, *down, row);
    }
    (links, corrections)
}
