//! Where the conductances of a graph sit: every link of two nodes once.
//!
//! Nodes `0..cells` are cut into *chunks*; `cells..cells + hubs` are hubs. A link is
//!
//! * *inner*, both ends in one chunk: stored with the higher end, a compressed strictly lower
//!   triangle whose columns, counted from the start of the chunk, fit 16 bits;
//! * *cross*, ends in two chunks: listed with both ends;
//! * *spoke*, between a cell and a hub: listed with its cell;
//! * *axle*, between two hubs.
//!
//! The values live elsewhere, one array in that order; a place in it is a *slot*. Chunks are what
//! threads work on: their size is fixed, so results do not depend on the number of threads.

use std::ops::Range;

/// A link across chunks, seen from one of its ends.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Cross {
    pub row: u32,
    pub col: u32,
    pub slot: u32,
}

/// A link of a cell and a hub (hubs counted from zero).
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Spoke {
    pub cell: u32,
    pub hub: u32,
}

/// A list in the order of the chunks that its entries belong to.
#[derive(Debug, Default)]
pub(crate) struct ByChunk<T> {
    pub all: Vec<T>,
    /// First entry of every chunk, and the end.
    start: Vec<u32>,
}

impl<T> ByChunk<T> {
    /// Entries that are sorted by cell.
    fn new(chunks: &[u32], all: Vec<T>, cell: impl Fn(&T) -> u32) -> Self {
        let start = list_starts(chunks, all.iter().map(cell));
        Self { all, start }
    }

    /// Where the entries of a chunk are.
    pub fn range(&self, chunk: usize) -> Range<usize> {
        self.start[chunk] as usize..self.start[chunk + 1] as usize
    }

    /// The entries of a chunk.
    pub fn of(&self, chunk: usize) -> &[T] {
        &self.all[self.range(chunk)]
    }
}

/// The pattern of a graph.
#[derive(Debug, Default)]
pub(crate) struct Pattern {
    pub cells: usize,
    pub hubs: usize,
    /// First cell of every chunk, and the end.
    pub chunks: Vec<u32>,
    /// Row starts of the inner links.
    pub start: Vec<u32>,
    /// Lower end of the inner links, from the start of the chunk.
    pub col: Vec<u16>,
    /// Cross links from both ends, by row: each stands there twice.
    pub cross: ByChunk<Cross>,
    /// Spokes by cell.
    pub spokes: ByChunk<Spoke>,
    /// Axles, higher hub first.
    pub axles: Vec<(u32, u32)>,
}

/// Slot of a link that joins a node with itself.
pub(crate) const NO_SLOT: u32 = u32::MAX;

impl Pattern {
    /// Sorts links into a pattern, joining those with the same ends, and tells the slot of each.
    ///
    /// `chunks` holds the first cell of every chunk, none longer than 2^16, and the end. `ends` is
    /// gone through twice.
    pub fn new(
        chunks: Vec<u32>,
        hubs: usize,
        ends: impl Iterator<Item = (u32, u32)> + Clone,
    ) -> (Self, Vec<u32>) {
        let cells = chunks.last().map_or(0, |&end| end as usize);
        let mut start_of = vec![0; cells];
        for range in chunks.windows(2) {
            start_of[range[0] as usize..range[1] as usize].fill(range[0]);
        }
        // Both ends, the higher first, in the same chunk of cells, and not the same?
        let is_inner = |a: u32, b: u32| {
            a != b && (a as usize) < cells && start_of[a as usize] == start_of[b as usize]
        };
        let mut links = 0;
        let counted = ends.clone().inspect(|_| links += 1);
        let mut inner = Buckets::count(cells, counted, is_inner);
        let mut slots = vec![NO_SLOT; links];
        let mut others: [Vec<(u32, u32, u32)>; 3] = Default::default();
        for (link, (a, b)) in ends.enumerate() {
            let (a, b) = (a.max(b), a.min(b));
            if a == b {
                continue;
            }
            if is_inner(a, b) {
                inner.put(a, (b - start_of[b as usize]) as u16, link as u32);
            } else {
                let [cross, spokes, axles] = &mut others;
                let n = cells as u32;
                match (a < n, b < n) {
                    (true, _) => cross.push((a, b, link as u32)),
                    (false, true) => spokes.push((b, a - n, link as u32)),
                    _ => axles.push((a - n, b - n, link as u32)),
                }
            }
        }
        drop(start_of);
        let (start, col) = inner.merge(&mut slots);
        let mut next = col.len() as u32;
        let [cross, spokes, axles] =
            others.map(|mut list| distinct(&mut list, &mut slots, &mut next));
        let mut both = Vec::with_capacity(2 * cross.len());
        for (k, &(row, col)) in cross.iter().enumerate() {
            let slot = (start[cells] as usize + k) as u32;
            both.push(Cross { row, col, slot });
            both.push(Cross {
                row: col,
                col: row,
                slot,
            });
        }
        both.sort_unstable_by_key(|c| (c.row, c.col));
        let spokes: Vec<Spoke> = spokes
            .iter()
            .map(|&(cell, hub)| Spoke { cell, hub })
            .collect();
        let pattern = Pattern {
            cells,
            hubs,
            start,
            col,
            cross: ByChunk::new(&chunks, both, |c| c.row),
            spokes: ByChunk::new(&chunks, spokes, |s| s.cell),
            axles,
            chunks,
        };
        (pattern, slots)
    }

    /// Number of slots.
    pub fn slots(&self) -> usize {
        let [_, _, axles] = self.sections();
        axles + self.axles.len()
    }

    /// Number of nodes.
    pub fn nodes(&self) -> usize {
        self.cells + self.hubs
    }

    /// First slot of cross links, spokes and axles.
    pub fn sections(&self) -> [usize; 3] {
        let cross = self.col.len();
        let spokes = cross + self.cross.all.len() / 2;
        [cross, spokes, spokes + self.spokes.all.len()]
    }

    /// Slot of the link of two nodes; [`NO_SLOT`] if there is none.
    pub fn slot(&self, a: u32, b: u32) -> u32 {
        let (a, b) = (a.max(b), a.min(b));
        let n = self.cells as u32;
        let [_, spokes_at, axles_at] = self.sections();
        let found = if a == b {
            None
        } else if a < n {
            let chunk = self.chunks.partition_point(|&first| first <= a) - 1;
            let first = self.chunks[chunk];
            if b >= first {
                let start = self.start[a as usize] as usize;
                let row = &self.col[start..self.start[a as usize + 1] as usize];
                let at = row.binary_search(&((b - first) as u16));
                at.ok().map(|k| start + k)
            } else {
                let cross = self.cross.of(chunk);
                let at = cross.binary_search_by_key(&(a, b), |c| (c.row, c.col));
                at.ok().map(|k| cross[k].slot as usize)
            }
        } else if b < n {
            let at = (self.spokes.all).binary_search_by_key(&(b, a - n), |s| (s.cell, s.hub));
            at.ok().map(|k| spokes_at + k)
        } else {
            let at = self.axles.binary_search(&(a - n, b - n));
            at.ok().map(|k| axles_at + k)
        };
        found.map_or(NO_SLOT, |slot| slot as u32)
    }

    /// Calls `f(a, b, slot)` once for every link.
    pub fn each_link(&self, mut f: impl FnMut(u32, u32, usize)) {
        for chunk in 0..self.chunks.len().saturating_sub(1) {
            self.each_inner(chunk, &mut f);
        }
        self.each_outer(f);
    }

    /// Calls `f(a, b, slot)` once for every inner link of a chunk.
    pub fn each_inner(&self, chunk: usize, mut f: impl FnMut(u32, u32, usize)) {
        let first = self.chunks[chunk];
        for row in first..self.chunks[chunk + 1] {
            let at = row as usize;
            for slot in self.start[at] as usize..self.start[at + 1] as usize {
                f(row, first + u32::from(self.col[slot]), slot);
            }
        }
    }

    /// Calls `f(a, b, slot)` once for every other link.
    pub fn each_outer(&self, mut f: impl FnMut(u32, u32, usize)) {
        for c in &self.cross.all {
            if c.row > c.col {
                f(c.row, c.col, c.slot as usize);
            }
        }
        let n = self.cells as u32;
        let [_, spokes, axles] = self.sections();
        for (k, s) in self.spokes.all.iter().enumerate() {
            f(n + s.hub, s.cell, spokes + k);
        }
        for (k, &(a, b)) in self.axles.iter().enumerate() {
            f(n + a, n + b, axles + k);
        }
    }
}

/// Sorts `(a, b, link)` by ends, assigns slots from `next` on, and returns the distinct ends.
fn distinct(list: &mut [(u32, u32, u32)], slots: &mut [u32], next: &mut u32) -> Vec<(u32, u32)> {
    list.sort_unstable();
    let mut ends: Vec<(u32, u32)> = Vec::new();
    for &(a, b, link) in list.iter() {
        if ends.last() != Some(&(a, b)) {
            ends.push((a, b));
            *next += 1;
        }
        slots[link as usize] = *next - 1;
    }
    ends
}

/// Where the entries of each chunk begin in a list sorted by row.
fn list_starts(chunks: &[u32], rows: impl Iterator<Item = u32>) -> Vec<u32> {
    let mut starts = vec![0; chunks.len().max(1)];
    let mut chunk = 0;
    for row in rows {
        while row >= chunks[chunk + 1] {
            chunk += 1;
        }
        starts[chunk + 1] += 1;
    }
    for k in 1..starts.len() {
        starts[k] += starts[k - 1];
    }
    starts
}

/// Inner links, sorted into rows by counting.
struct Buckets {
    /// Where the next entry of each row belongs: in the end, the end of the row.
    next: Vec<u32>,
    entries: Vec<(u16, u32)>,
}

impl Buckets {
    fn count(
        cells: usize,
        ends: impl Iterator<Item = (u32, u32)>,
        is_inner: impl Fn(u32, u32) -> bool,
    ) -> Self {
        let mut start = vec![0u32; cells + 1];
        for (a, b) in ends {
            if is_inner(a.max(b), a.min(b)) {
                start[a.max(b) as usize + 1] += 1;
            }
        }
        for k in 0..cells {
            start[k + 1] += start[k];
        }
        let entries = vec![(0, 0); start[cells] as usize];
        Buckets {
            next: start,
            entries,
        }
    }

    fn put(&mut self, row: u32, col: u16, link: u32) {
        let at = &mut self.next[row as usize];
        self.entries[*at as usize] = (col, link);
        *at += 1;
    }

    /// Sorts every row, joins equal columns and records the slots.
    fn merge(mut self, slots: &mut [u32]) -> (Vec<u32>, Vec<u16>) {
        let mut col: Vec<u16> = Vec::with_capacity(self.entries.len());
        let cells = self.next.len() - 1;
        let mut start = Vec::with_capacity(cells + 1);
        start.push(0);
        let mut begin = 0;
        for &end in &self.next[..cells] {
            let row = &mut self.entries[begin as usize..end as usize];
            begin = end;
            if !row.is_sorted() {
                row.sort_unstable();
            }
            let first = col.len();
            for &(c, link) in row.iter() {
                if col.len() == first || col.last() != Some(&c) {
                    col.push(c);
                }
                slots[link as usize] = col.len() as u32 - 1;
            }
            start.push(col.len() as u32);
        }
        col.shrink_to_fit();
        (start, col)
    }
}
