//! Links between nodes, and rows of weights over them.

/// A geometric link: conductance is conductivity times `metres`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridLink {
    /// One node.
    pub a: u32,
    /// The other.
    pub b: u32,
    /// Open area over distance, metres (planar: per the job's depth).
    pub metres: f64,
}

/// Rows of (node, weight).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    /// Row starts, one more than rows.
    pub start: Vec<u32>,
    /// Node of each entry.
    pub node: Vec<u32>,
    /// Weight of each entry.
    pub weight: Vec<f64>,
}

impl Rows {
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

/// A flux correction between two nodes; its row in [`Grid::correction_rows`](super::Grid::correction_rows) gives metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridCorrection {
    /// Node the corrected current leaves.
    pub from: u32,
    /// Node it enters.
    pub to: u32,
}

/// Flux corrections with their rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Corrections {
    /// Ends.
    pub ends: Vec<GridCorrection>,
    /// Rows, metres.
    pub rows: Rows,
}

impl Corrections {
    /// Adds one.
    pub fn push(&mut self, from: u32, to: u32, row: impl IntoIterator<Item = (u32, f64)>) {
        self.ends.push(GridCorrection { from, to });
        self.rows.push(row);
    }

    /// All of several, in order.
    pub fn joined(parts: Vec<Self>) -> Self {
        let (ends, rows): (Vec<_>, Vec<_>) = parts.into_iter().map(|p| (p.ends, p.rows)).unzip();
        Self {
            ends: ends.concat(),
            rows: Rows::joined(rows),
        }
    }
}
