//! What a space says of its own shapes; the rest is the same in two and three dimensions.

use crate::named_files::NamedFiles;
use crate::reader::{Item, Table};
use ionfall_mesh::solid::{Placement, Sheet, Solid};

/// Kinds of shape in a space of `D` dimensions.
pub(crate) trait Drawing<const D: usize> {
    /// All kinds, with the combinations.
    const KINDS: &'static [&'static str];

    /// What shapes of the other spaces are.
    const ELSEWHERE: &'static str;

    /// Those, and what to write here instead.
    const INSTEAD: &'static [(&'static str, &'static str)];

    /// Draws a kind that is not a combination. Files are looked for in `files`.
    fn draw(kind: &str, item: &Item, files: &dyn NamedFiles) -> Option<Solid<D>>;

    /// Reads a turn by the angle in `value`.
    fn turn(step: &Table, value: &Item) -> Option<Placement<D>>;

    /// Draws a sheet of no thickness.
    fn sheet(table: &Table, item: &Item) -> Option<Sheet<D>>;
}
