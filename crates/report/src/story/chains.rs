//! Lines of a plated surface strung together, so that values can be drawn over the way along it.

use super::plane::{Plane, Trace};
use super::surfaces::Shape;
use ionfall_model::Role;
use std::collections::BTreeMap;

/// Ends nearer than this share of the whole are one.
const WELD: f64 = 1e-7;
/// Strips shorter than this share of the longest are left out.
const SHORT: f64 = 0.02;

/// A plated way along a surface in the plane of the section.
#[derive(Clone, Debug)]
pub(super) struct Strip {
    /// Name of the body.
    pub name: String,
    /// Does it count as work (or is it a thief)?
    pub is_work: bool,
    /// Middles of its pieces in the plane, m.
    pub places: Vec<[f64; 2]>,
    /// Way from the beginning to each middle, m.
    pub way_m: Vec<f64>,
    /// Length of each piece, m.
    pub length_m: Vec<f64>,
    /// For each field one value a piece.
    pub values: Vec<Vec<f64>>,
}

impl Strip {
    /// Whole length, m.
    pub fn whole_m(&self) -> f64 {
        self.length_m.iter().sum()
    }
}

/// The strips of all shapes, the longest first.
pub(super) fn strips<const D: usize>(plane: &Plane, shapes: &[Shape<'_, D>]) -> Vec<Strip> {
    let mut strips: Vec<Strip> = shapes.iter().flat_map(|s| of_shape(plane, s)).collect();
    strips.sort_by(|a, b| b.whole_m().total_cmp(&a.whole_m()));
    let least = SHORT * strips.first().map_or(0.0, Strip::whole_m);
    strips.retain(|s| s.whole_m() > least);
    strips
}

fn of_shape<const D: usize>(plane: &Plane, shape: &Shape<'_, D>) -> Vec<Strip> {
    let value = |field: &[f64], trace: &Trace| -> f64 {
        let weighed = trace.mix.iter().filter(|m| m.1 > 0.0);
        weighed.map(|&(v, w)| w * field[v as usize]).sum()
    };
    let Some(first) = shape.values.first() else {
        return Vec::new();
    };
    let mut traces = plane.cut(&shape.drawn);
    traces.retain(|t| value(first, t).is_finite());
    chained(&traces)
        .into_iter()
        .map(|chain| {
            let length_m: Vec<f64> = chain.iter().map(|&(n, _)| length(&traces[n])).collect();
            let mut start = 0.0;
            let way_m = length_m.iter().map(|l| {
                start += l;
                start - 0.5 * l
            });
            Strip {
                name: shape.electrode.name.clone(),
                is_work: shape.electrode.role == Role::Work,
                places: chain.iter().map(|&(n, _)| middle(&traces[n])).collect(),
                way_m: way_m.collect(),
                values: shape
                    .values
                    .iter()
                    .map(|field| {
                        chain
                            .iter()
                            .map(|&(n, _)| value(field, &traces[n]))
                            .collect()
                    })
                    .collect(),
                length_m,
            }
        })
        .collect()
}

fn length(trace: &Trace) -> f64 {
    let [a, b] = trace.ends;
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn middle(trace: &Trace) -> [f64; 2] {
    let [a, b] = trace.ends;
    [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])]
}

/// Runs of traces that join end to end: number of each trace, and whether it is walked forwards.
fn chained(traces: &[Trace]) -> Vec<Vec<(usize, bool)>> {
    let extent = traces
        .iter()
        .flat_map(|t| t.ends)
        .flatten()
        .fold(0.0, |m: f64, x| m.max(x.abs()));
    let key = |p: [f64; 2]| p.map(|x| (x / (WELD * extent)).round() as i64);
    let mut at: BTreeMap<[i64; 2], Vec<usize>> = BTreeMap::new();
    for (n, trace) in traces.iter().enumerate() {
        for end in trace.ends {
            at.entry(key(end)).or_default().push(n);
        }
    }
    let mut used = vec![false; traces.len()];
    let mut chains = Vec::new();
    // Open ends first, then what is left: closed rings.
    let open = (0..traces.len())
        .flat_map(|n| [(n, true), (n, false)])
        .filter(|&(n, forward)| {
            let start = traces[n].ends[usize::from(!forward)];
            at[&key(start)].len() == 1
        });
    for (mut n, mut forward) in open.chain((0..traces.len()).map(|n| (n, true))) {
        let mut chain = Vec::new();
        while !used[n] {
            used[n] = true;
            chain.push((n, forward));
            let end = key(traces[n].ends[usize::from(forward)]);
            let Some(&next) = at[&end].iter().find(|&&m| !used[m]) else {
                break;
            };
            forward = key(traces[next].ends[0]) == end;
            n = next;
        }
        if !chain.is_empty() {
            chains.push(chain);
        }
    }
    chains
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace(a: [f64; 2], b: [f64; 2]) -> Trace {
        Trace {
            ends: [a, b],
            mix: [(0, 0.25); 4],
        }
    }

    #[test]
    fn lines_in_any_order_make_one_way_and_rings_close() {
        let (a, b, c, d) = ([0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [2.0, 1.0]);
        let chains = chained(&[trace(c, b), trace(d, c), trace(a, b)]);
        assert_eq!(chains, [[(1, true), (0, true), (2, false)]]);
        let ring = chained(&[trace(a, b), trace(b, d), trace(d, a)]);
        assert_eq!(ring, [[(0, true), (1, true), (2, true)]]);
        let apart = chained(&[trace(a, b), trace(c, d)]);
        assert_eq!(apart.len(), 2);
    }
}
