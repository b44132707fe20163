//! A tree of boxes: which of many boxes hold a point, or meet another box?
//!
//! ```
//! use ionfall_mesh::solid::{Bounds, BoxTree};
//!
//! let boxes = [0.0, 1.0, 2.0].map(|x| Bounds { low: [x, 0.0], high: [x + 1.5, 1.0] });
//! let tree = BoxTree::new(boxes.to_vec());
//! let mut holding = Vec::new();
//! tree.any_holding(&[1.2, 0.5], |n| {
//!     holding.push(n);
//!     false
//! });
//! holding.sort_unstable();
//! assert_eq!(holding, [0, 1]);
//! ```

use super::bounds::{Bounds, Point};

/// Boxes in one leaf.
const LEAF: usize = 4;
/// Boxes that tell along which side the others are halved.
const SOME: usize = 64;

/// A part of the tree: its box, its stretch of the boxes, and where the parts it is halved into are.
#[derive(Clone, Debug)]
struct Node<const D: usize> {
    bounds: Bounds<D>,
    range: [u32; 2],
    halves: Option<[u32; 2]>,
}

/// Numbered boxes in a binary tree, halved at the median along the longest side.
#[derive(Clone, Debug)]
pub struct BoxTree<const D: usize> {
    nodes: Vec<Node<D>>,
    /// The boxes of a leaf side by side, with their numbers.
    boxes: Vec<(Bounds<D>, u32)>,
}

impl<const D: usize> BoxTree<D> {
    /// Of boxes, numbered in their order.
    pub fn new(boxes: Vec<Bounds<D>>) -> Self {
        let mut boxes: Vec<(Bounds<D>, u32)> = boxes.into_iter().zip(0..).collect();
        let mut nodes = Vec::new();
        if !boxes.is_empty() {
            part(&mut nodes, &mut boxes, 0);
        }
        Self { nodes, boxes }
    }

    /// Asks `found` about each box that meets another box, until it says yes; did it?
    pub fn any_meeting(&self, with: &Bounds<D>, mut found: impl FnMut(u32) -> bool) -> bool {
        self.any_where(&|b: &Bounds<D>| b.overlaps(with), &mut found)
    }

    /// Asks `found` about each box for which `meets` holds, until it says yes; did it? `meets` must
    /// hold for any box around a box for which it holds.
    pub fn any_where(
        &self,
        meets: &impl Fn(&Bounds<D>) -> bool,
        found: &mut impl FnMut(u32) -> bool,
    ) -> bool {
        !self.nodes.is_empty() && self.walk(0, meets, found)
    }

    /// Asks `found` about each box that holds a point, until it says yes; did it?
    pub fn any_holding(&self, x: &Point<D>, found: impl FnMut(u32) -> bool) -> bool {
        self.any_meeting(&Bounds { low: *x, high: *x }, found)
    }

    /// Which of what lies in the boxes is nearest, if it is nearer than `within`: its number and how far it is.
    /// `gap` is at most the distance of whatever lies in a box. Of several as near it is always the same one.
    pub fn nearest(
        &self,
        within: f64,
        gap: &impl Fn(&Bounds<D>) -> f64,
        distance: &impl Fn(u32) -> f64,
    ) -> Option<(u32, f64)> {
        let mut best = (None, within);
        if !self.nodes.is_empty() {
            self.approach(0, gap, distance, &mut best);
        }
        best.0.map(|n| (n, best.1))
    }

    fn approach(
        &self,
        node: u32,
        gap: &impl Fn(&Bounds<D>) -> f64,
        distance: &impl Fn(u32) -> f64,
        best: &mut (Option<u32>, f64),
    ) {
        let node = &self.nodes[node as usize];
        if let Some(halves) = node.halves {
            // The nearer half first, so that most of the other need not be looked at.
            let mut halves = halves.map(|n| (gap(&self.nodes[n as usize].bounds), n));
            if halves[1].0 < halves[0].0 {
                halves.swap(0, 1);
            }
            for (gap_of_half, half) in halves {
                if gap_of_half < best.1 {
                    self.approach(half, gap, distance, best);
                }
            }
            return;
        }
        let [from, to] = node.range.map(|n| n as usize);
        for (b, n) in &self.boxes[from..to] {
            if gap(b) < best.1 {
                let away = distance(*n);
                if away < best.1 {
                    *best = (Some(*n), away);
                }
            }
        }
    }

    fn walk(
        &self,
        node: u32,
        meets: &impl Fn(&Bounds<D>) -> bool,
        found: &mut impl FnMut(u32) -> bool,
    ) -> bool {
        let node = &self.nodes[node as usize];
        if !meets(&node.bounds) {
            return false;
        }
        match node.halves {
            Some([a, b]) => self.walk(a, meets, found) || self.walk(b, meets, found),
            None => {
                let [from, to] = node.range.map(|n| n as usize);
                (self.boxes[from..to].iter()).any(|(b, n)| meets(b) && found(*n))
            }
        }
    }
}

/// Twice the middle of a box; those without bounds have none: far away will do.
fn middle<const D: usize>(b: &Bounds<D>, k: usize) -> f64 {
    b.low[k].max(-1e9) + b.high[k].min(1e9)
}

/// The axis along which the middles of boxes lie farthest apart, by some of them.
fn longest<const D: usize>(boxes: &[(Bounds<D>, u32)]) -> usize {
    let some = boxes.iter().step_by(boxes.len().div_ceil(SOME));
    let middles = some.map(|(b, _)| std::array::from_fn(|k| middle(b, k)));
    let around: Bounds<D> = Bounds::around(middles);
    let spread = |k: usize| around.high[k] - around.low[k];
    let longest = (0..D).max_by(|a, b| spread(*a).total_cmp(&spread(*b)));
    longest.unwrap_or(0)
}

/// Adds the node of a stretch of the boxes, the first of which is number `from`; returns its number.
fn part<const D: usize>(
    nodes: &mut Vec<Node<D>>,
    boxes: &mut [(Bounds<D>, u32)],
    from: usize,
) -> u32 {
    let number = nodes.len();
    nodes.push(Node {
        bounds: Bounds::EMPTY,
        range: [from as u32, (from + boxes.len()) as u32],
        halves: None,
    });
    nodes[number].bounds = if boxes.len() > LEAF {
        let k = longest(boxes);
        let half = boxes.len() / 2;
        // Equal middles stay in the order of their numbers: one tree for one set of boxes.
        boxes.select_nth_unstable_by(half, |a, b| {
            let [x, y] = [a, b].map(|c| middle(&c.0, k));
            x.total_cmp(&y).then(a.1.cmp(&b.1))
        });
        let (low, high) = boxes.split_at_mut(half);
        let halves = [part(nodes, low, from), part(nodes, high, from + half)];
        nodes[number].halves = Some(halves);
        let [a, b] = halves.map(|n| nodes[n as usize].bounds);
        a.union(&b)
    } else {
        (boxes.iter()).fold(Bounds::EMPTY, |all, (b, _)| all.union(b))
    };
    number as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_numerics::vector::{distance, norm};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn finds_what_a_search_of_all_finds(
            places in prop::collection::vec((prop::array::uniform3(-1.0..1.0), 0.0..0.3), 0..60),
            x in prop::array::uniform3(-1.0..1.0),
            reach in 0.0..0.5,
        ) {
            let boxes: Vec<Bounds<3>> =
                places.iter().map(|(p, r)| Bounds::around([*p]).grown(*r)).collect();
            let tree = BoxTree::new(boxes.clone());
            let with = Bounds::around([x]).grown(reach);
            let mut met = Vec::new();
            let stopped = tree.any_meeting(&with, |n| {
                met.push(n as usize);
                false
            });
            prop_assert!(!stopped);
            met.sort_unstable();
            let all: Vec<usize> = (0..boxes.len()).filter(|&n| boxes[n].overlaps(&with)).collect();
            prop_assert_eq!(met, all);
            let holds = boxes.iter().any(|b| b.contains(&x));
            prop_assert_eq!(tree.any_holding(&x, |_| true), holds);
        }

        #[test]
        fn nothing_is_nearer_than_the_nearest(
            places in prop::collection::vec((prop::array::uniform3(-1.0..1.0), 0.0..0.3), 0..60),
            x in prop::array::uniform3(-1.0..1.0),
            within in 0.0..1.5,
        ) {
            // Balls in their boxes.
            let away = |(p, r): &(Point<3>, f64)| (distance(p, &x) - r).max(0.0);
            let boxes = places.iter().map(|(p, r)| Bounds::around([*p]).grown(*r));
            let gap = |b: &Bounds<3>| {
                let beside = |k: usize| (b.low[k] - x[k]).max(x[k] - b.high[k]).max(0.0);
                norm(&std::array::from_fn::<f64, 3, _>(beside))
            };
            let of = |n: u32| away(&places[n as usize]);
            let found = BoxTree::new(boxes.collect()).nearest(within, &gap, &of);
            let least = places.iter().map(away).fold(f64::INFINITY, f64::min);
            prop_assert_eq!(found.map(|(_, d)| d), Some(least).filter(|d| *d < within));
            prop_assert!(found.is_none_or(|(n, d)| of(n) == d));
        }
    }

    #[test]
    fn unbounded_boxes_are_found() {
        let half = Bounds {
            low: [f64::NEG_INFINITY; 2],
            high: [0.0, f64::INFINITY],
        };
        let small = |x: f64| Bounds::around([[x, 0.0]]).grown(0.1);
        let tree = BoxTree::new((1..9).map(|n| small(f64::from(n))).chain([half]).collect());
        assert!(tree.any_holding(&[-5.0, 7.0], |n| n == 8));
        assert!(tree.any_holding(&[3.0, 0.0], |n| n == 2));
    }
}
