//! Axes of the faces of a cell, numbers of its edges.

/// Edges of a cell: axis `k` runs along it, `high` tells for the other axes (in cyclic order after
/// `k`) whether it lies on the high side. In 2-D the edges are the faces.
pub fn edge_number(k: usize, high: [bool; 2]) -> u8 {
    (4 * k + usize::from(high[0]) + 2 * usize::from(high[1])) as u8
}

/// The two axes of a face across axis `k` in right-handed order.
pub fn face_axes(k: usize) -> [usize; 2] {
    [(k + 1) % 3, (k + 2) % 3]
}
