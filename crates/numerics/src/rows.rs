//! Rows of weights over nodes, compressed: row `r` is `start[r]..start[r + 1]` of the entries.
//!
//! ```
//! use ionfall_numerics::rows::Rows;
//!
//! let mut rows = Rows::default();
//! rows.push([(3, 0.25), (7, 0.75)]);
//! rows.push([(4, 1.0)]);
//! assert_eq!(rows.len(), 2);
//! assert!(rows.row(1).eq([(4, 1.0)]));
//! ```

/// Rows of (node, weight).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    /// Row starts, one more than rows (or empty).
    pub start: Vec<u32>,
    /// Node of each entry.
    pub node: Vec<u32>,
    /// Weight of each entry.
    pub weight: Vec<f64>,
}

impl Rows {
    /// Number of rows.
    pub fn len(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// No rows?
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Adds a row.
    pub fn push(&mut self, row: impl IntoIterator<Item = (u32, f64)>) {
        if self.start.is_empty() {
            self.start.push(0);
        }
        for (node, weight) in row {
            self.node.push(node);
            self.weight.push(weight);
        }
        self.start.push(self.node.len() as u32);
    }

    /// All rows of several, in order.
    pub fn joined(parts: Vec<Self>) -> Self {
        let entries = parts.iter().map(|p| p.node.len()).sum();
        let mut out = Self {
            start: Vec::with_capacity(1 + parts.iter().map(|p| p.start.len()).sum::<usize>()),
            node: Vec::with_capacity(entries),
            weight: Vec::with_capacity(entries),
        };
        out.start.push(0);
        for part in parts {
            let before = out.node.len() as u32;
            out.start
                .extend(part.start.iter().skip(1).map(|s| before + s));
            out.node.extend(part.node);
            out.weight.extend(part.weight);
        }
        out
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Parts end to end are the rows pushed one after the other, whether a part is empty or not.
    #[test]
    fn parts_are_joined_in_order() {
        let rows = [vec![(0, 1.0), (5, -2.0)], vec![], vec![(2, 3.0)]];
        let mut all = Rows::default();
        rows.iter().for_each(|row| all.push(row.iter().copied()));
        let part = |rows: &[Vec<(u32, f64)>]| {
            let mut part = Rows::default();
            rows.iter().for_each(|row| part.push(row.iter().copied()));
            part
        };
        let parts = vec![part(&rows[..1]), Rows::default(), part(&rows[1..])];
        assert_eq!(Rows::joined(parts), all);
        assert_eq!((all.len(), all.row(1).count()), (3, 0));
        assert!(Rows::default().is_empty());
    }
}
