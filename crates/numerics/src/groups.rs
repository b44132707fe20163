//! Disjoint groups of numbers: which of many things hang together.
//!
//! Every number points to one of its group, in the end to the smallest, which stands for the group; so
//! the outcome does not hang on the order of joining. The way there is halved on every search.
//!
//! ```
//! use ionfall_numerics::groups::Groups;
//!
//! let mut groups = Groups::new(5);
//! groups.join(4, 2);
//! groups.join(2, 1);
//! assert_eq!(groups.find(4), 1);
//! assert_eq!(groups.smallest(), [0, 1, 1, 3, 1]);
//! ```

/// A number of a group, as it is kept.
pub trait Number: Copy {
    /// From a number that fits.
    fn of(number: usize) -> Self;
    /// As an index.
    fn index(self) -> usize;
}

impl Number for u16 {
    #[inline]
    fn of(number: usize) -> Self {
        number as u16
    }
    #[inline]
    fn index(self) -> usize {
        usize::from(self)
    }
}

impl Number for u32 {
    #[inline]
    fn of(number: usize) -> Self {
        number as u32
    }
    #[inline]
    fn index(self) -> usize {
        self as usize
    }
}

/// The smallest number of the group of `x`, where `root[x]` is one of the group; a number that points
/// to itself is a group's smallest.
#[inline]
pub fn find<N: Number>(root: &mut [N], mut x: usize) -> usize {
    while root[x].index() != x {
        root[x] = root[root[x].index()];
        x = root[x].index();
    }
    x
}

/// Joins the groups of two numbers.
#[inline]
pub fn join<N: Number>(root: &mut [N], x: usize, y: usize) {
    let (x, y) = (find(root, x), find(root, y));
    root[x.max(y)] = N::of(x.min(y));
}

/// Points every number to the smallest of its group.
#[inline]
pub fn settle<N: Number>(root: &mut [N]) {
    for x in 0..root.len() {
        root[x] = N::of(find(root, x));
    }
}

/// Disjoint groups of the numbers from zero.
#[derive(Clone, Debug)]
pub struct Groups(Vec<u32>);

impl Groups {
    /// `n` numbers, each a group of its own.
    pub fn new(n: usize) -> Self {
        Self((0..n as u32).collect())
    }

    /// The smallest number of the group of `x`.
    #[inline]
    pub fn find(&mut self, x: usize) -> usize {
        find(&mut self.0, x)
    }

    /// Joins two groups.
    #[inline]
    pub fn join(&mut self, x: usize, y: usize) {
        join(&mut self.0, x, y);
    }

    /// The smallest number of the group of each.
    pub fn smallest(mut self) -> Vec<u32> {
        settle(&mut self.0);
        self.0
    }

    /// Consecutive group numbers of all.
    pub fn numbers(&mut self) -> Vec<usize> {
        let mut next = 0;
        let mut number = vec![0; self.0.len()];
        for x in 0..self.0.len() {
            let root = self.find(x);
            number[x] = if root == x {
                next += 1;
                next - 1
            } else {
                number[root]
            };
        }
        number
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the plain way: relabel all of one group by the other.
    #[test]
    fn groups_are_those_of_relabelling() {
        let n = 60;
        let mut state = 7_u32;
        let mut random = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 16) as usize % n
        };
        let mut groups = Groups::new(n);
        let mut short: Vec<u16> = (0..n as u16).collect();
        let mut plain: Vec<usize> = (0..n).collect();
        for _ in 0..45 {
            let (x, y) = (random(), random());
            groups.join(x, y);
            join(&mut short, x, y);
            let (low, high) = (plain[x].min(plain[y]), plain[x].max(plain[y]));
            for label in &mut plain {
                if *label == high {
                    *label = low;
                }
            }
        }
        let found: Vec<usize> = (0..n).map(|x| groups.find(x)).collect();
        assert_eq!(found, plain);
        settle(&mut short);
        assert!(short.iter().zip(&plain).all(|(s, p)| s.index() == *p));
        let numbers = groups.numbers();
        for x in 0..n {
            for y in 0..n {
                assert_eq!(numbers[x] == numbers[y], plain[x] == plain[y]);
            }
        }
        let settled = groups.smallest();
        assert!(settled.iter().zip(&plain).all(|(s, p)| s.index() == *p));
        assert!(numbers.iter().max() < Some(&n) && numbers[0] == 0);
    }
}
