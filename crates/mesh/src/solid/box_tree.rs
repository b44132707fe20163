//! A tree of boxes: which of many boxes hold a point, or meet another box?

use super::{Bounds, Point};

/// Boxes in one leaf.
const LEAF: usize = 4;

/// A part of the tree: its box, its stretch of `order`, and where the parts it is halved into are.
#[derive(Clone, Debug)]
struct Node<const D: usize> {
    bounds: Bounds<D>,
    range: [u32; 2],
    halves: Option<[u32; 2]>,
}

/// Numbered boxes in a binary tree, halved at the median along the longest side.
#[derive(Clone, Debug)]
pub(crate) struct BoxTree<const D: usize> {
    nodes: Vec<Node<D>>,
    order: Vec<u32>,
    boxes: Vec<Bounds<D>>,
}

impl<const D: usize> BoxTree<D> {
    pub fn new(boxes: Vec<Bounds<D>>) -> Self {
        let mut tree = Self {
            nodes: Vec::new(),
            order: (0..boxes.len() as u32).collect(),
            boxes,
        };
        if !tree.boxes.is_empty() {
            tree.part(0, tree.boxes.len());
        }
        tree
    }

    /// Adds the node of a stretch of `order`; returns its number.
    fn part(&mut self, from: usize, to: usize) -> u32 {
        let of = |n: &u32| &self.boxes[*n as usize];
        let bounds = (self.order[from..to].iter()).fold(Bounds::EMPTY, |b, n| b.union(of(n)));
        let number = self.nodes.len();
        self.nodes.push(Node {
            bounds,
            range: [from as u32, to as u32],
            halves: None,
        });
        if to - from > LEAF {
            // Unbounded boxes have no middle: far away will do.
            let middle = |n: &u32, k: usize| {
                let b = of(n);
                b.low[k].max(-1e9) + b.high[k].min(1e9)
            };
            let spread = |k: usize| {
                let at = self.order[from..to].iter().map(|n| middle(n, k));
                let (low, high) = at.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| {
                    (l.min(x), h.max(x))
                });
                high - low
            };
            let longest = (0..D).max_by(|a, b| spread(*a).total_cmp(&spread(*b)));
            let k = longest.unwrap_or(0);
            let half = (to - from) / 2;
            let mut sorted = self.order[from..to].to_vec();
            // Equal middles stay in the order of their numbers: one tree for one set of boxes.
            sorted.select_nth_unstable_by(half, |a, b| {
                middle(a, k).total_cmp(&middle(b, k)).then(a.cmp(b))
            });
            self.order[from..to].copy_from_slice(&sorted);
            let halves = [self.part(from, from + half), self.part(from + half, to)];
            self.nodes[number].halves = Some(halves);
        }
        number as u32
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
                let meeting = |n: &&u32| meets(&self.boxes[**n as usize]);
                (self.order[from..to].iter().filter(meeting)).any(|&n| found(n))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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
