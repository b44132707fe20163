//! How the triangles of a mesh hang together: edges, neighbours, pieces, winding.

use super::bounds::Point;
use rayon::prelude::*;

/// Corner points of triangles.
pub(crate) fn corners_of(vertices: &[Point<3>], triangles: &[[u32; 3]]) -> Vec<[Point<3>; 3]> {
    triangles
        .iter()
        .map(|t| t.map(|v| vertices[v as usize]))
        .collect()
}

/// One side of one triangle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Side {
    /// The vertices, smaller number first.
    pub ends: [u32; 2],
    /// The triangle.
    pub triangle: u32,
    /// Does the triangle run from the smaller to the larger number?
    pub rising: bool,
}

impl Side {
    /// The ends in the direction the triangle runs.
    pub(crate) fn directed(&self) -> [u32; 2] {
        if self.rising {
            self.ends
        } else {
            [self.ends[1], self.ends[0]]
        }
    }
}

/// All sides, sorted by edge.
pub(crate) struct Edges {
    sides: Vec<Side>,
}

impl Edges {
    pub(crate) fn of(triangles: &[[u32; 3]]) -> Self {
        let mut sides: Vec<Side> = (0u32..)
            .zip(triangles)
            .flat_map(|(triangle, t)| {
                [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]].map(|[a, b]| Side {
                    ends: [a.min(b), a.max(b)],
                    triangle,
                    rising: a < b,
                })
            })
            .collect();
        sides.par_sort_unstable();
        Self { sides }
    }

    /// The sides that meet at each edge.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &[Side]> {
        self.sides.chunk_by(|p, q| p.ends == q.ends)
    }

    /// Sides without a neighbour.
    pub(crate) fn open(&self) -> Vec<Side> {
        self.iter().filter(|e| e.len() == 1).map(|e| e[0]).collect()
    }

    /// Triangles across the edges that join exactly two.
    pub(crate) fn neighbours(&self, triangles: usize) -> Vec<Vec<usize>> {
        let mut list = vec![Vec::with_capacity(3); triangles];
        for edge in self.iter().filter(|e| e.len() == 2) {
            let [a, b] = [0, 1].map(|k| edge[k].triangle as usize);
            list[a].push(b);
            list[b].push(a);
        }
        list
    }

    /// Piece of each triangle, and the number of pieces; pieces hang together by any edge.
    pub(crate) fn pieces(&self, triangles: usize) -> (Vec<usize>, usize) {
        let mut list: Vec<Vec<usize>> = vec![Vec::with_capacity(3); triangles];
        for edge in self.iter() {
            for pair in edge.windows(2) {
                let [a, b] = [0, 1].map(|k| pair[k].triangle as usize);
                list[a].push(b);
                list[b].push(a);
            }
        }
        let mut piece = vec![usize::MAX; triangles];
        let mut count = 0;
        for seed in 0..triangles {
            if piece[seed] != usize::MAX {
                continue;
            }
            piece[seed] = count;
            let mut stack = vec![seed];
            while let Some(t) = stack.pop() {
                for &n in &list[t] {
                    if piece[n] == usize::MAX {
                        piece[n] = count;
                        stack.push(n);
                    }
                }
            }
            count += 1;
        }
        (piece, count)
    }
}

/// Turns triangles over until neighbours agree; in each flooded part the majority stays. `edges` are
/// theirs. Gives those that were turned.
///
/// # Errors
/// The edges at which no choice makes both sides agree.
pub(crate) fn agree_winding(
    triangles: &mut [[u32; 3]],
    edges: &Edges,
) -> Result<Vec<usize>, Vec<[u32; 2]>> {
    let mut across: Vec<Vec<(usize, bool)>> = vec![Vec::with_capacity(3); triangles.len()];
    for edge in edges.iter().filter(|e| e.len() == 2) {
        let opposed = edge[0].rising != edge[1].rising;
        let [a, b] = [0, 1].map(|k| edge[k].triangle as usize);
        across[a].push((b, opposed));
        across[b].push((a, opposed));
    }
    let mut turn: Vec<Option<bool>> = vec![None; triangles.len()];
    for seed in 0..triangles.len() {
        if turn[seed].is_some() {
            continue;
        }
        turn[seed] = Some(false);
        let mut part = vec![seed];
        let mut done = 0;
        while done < part.len() {
            let t = part[done];
            done += 1;
            for &(n, opposed) in &across[t] {
                if turn[n].is_none() {
                    turn[n] = turn[t].map(|turned| turned == opposed);
                    part.push(n);
                }
            }
        }
        let turned = part.iter().filter(|&&t| turn[t] == Some(true)).count();
        if 2 * turned > part.len() {
            for &t in &part {
                turn[t] = turn[t].map(|turned| !turned);
            }
        }
    }
    let turned = |t: usize| turn[t] == Some(true);
    let disagree: Vec<[u32; 2]> = edges
        .iter()
        .filter(|e| e.len() == 2)
        .filter(|e| {
            let side = |s: &Side| s.rising != turned(s.triangle as usize);
            side(&e[0]) == side(&e[1])
        })
        .map(|e| e[0].ends)
        .collect();
    if !disagree.is_empty() {
        return Err(disagree);
    }
    let list: Vec<usize> = (0..triangles.len()).filter(|&t| turned(t)).collect();
    for &t in &list {
        triangles[t].swap(1, 2);
    }
    Ok(list)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TETRAHEDRON: [[u32; 3]; 4] = [[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]];

    #[test]
    fn a_turned_triangle_is_turned_back() {
        let mut t = TETRAHEDRON;
        t[2].swap(0, 1);
        let edges = Edges::of(&t);
        assert_eq!(agree_winding(&mut t, &edges), Ok(vec![2]));
        let edges = Edges::of(&t);
        assert!(edges.open().is_empty());
        assert!(
            edges
                .iter()
                .all(|e| e.len() == 2 && e[0].rising != e[1].rising)
        );
    }

    #[test]
    fn a_moebius_strip_has_no_sides() {
        let n = 5;
        let mut strip: Vec<[u32; 3]> = (0..n).map(|i| [i, (i + 1) % n, (i + 2) % n]).collect();
        let edges = Edges::of(&strip);
        assert!(agree_winding(&mut strip, &edges).is_err());
    }

    #[test]
    fn pieces_are_counted() {
        let mut two = TETRAHEDRON.to_vec();
        two.extend(TETRAHEDRON.map(|t| t.map(|v| v + 4)));
        let (piece, count) = Edges::of(&two).pieces(two.len());
        assert_eq!(count, 2);
        assert_ne!(piece[0], piece[4]);
    }
}
