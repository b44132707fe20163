//! The name of a cell in a tree of squares or cubes.

/// A cell by level and Morton key: children of one cell share `key >> dimension`. Packed: 9 bytes
/// instead of 16.
#[repr(Rust, packed)]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Cell {
    /// Morton key on its own level.
    pub key: u64,
    /// Level, 0 for the root.
    pub level: u8,
}
