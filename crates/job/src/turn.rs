//! Bodies that turn: `turns = { about = "z", at = "100 x 50 x 0 mm" }`, in the plane `turns = { at = "100 x 50 mm" }`.

use crate::place::direction;
use crate::reader::Item;
use ionfall_mesh::grid::Space;
use ionfall_model::Turn;
use ionfall_numerics::vector::norm;

/// The axis that an electrode turns about.
pub(crate) fn read<const D: usize>(item: &Item, space: Space, electrode: usize) -> Option<Turn<D>> {
    let table = item.table()?;
    let at = table.need_point::<D>("at");
    let axis = match (D, table.get("about")) {
        (3, Some(item)) => direction::<D>(&item).filter(|axis| {
            let some = norm(axis) > 0.0;
            if !some {
                item.fault("the axis has no direction", "write an axis like \"z\"");
            }
            some
        }),
        (3, None) => table.need("about", "\"z\"").and(None),
        (_, Some(item)) => {
            item.fault(
                "in the plane the axis points out of it",
                "leave out `about`",
            );
            None
        }
        _ => Some([0.0; D]),
    };
    table.finish();
    if space == Space::Axisymmetric {
        item.fault("a revolved job is the same all around", "leave out `turns`");
        return None;
    }
    Some(Turn::new(electrode, at?, axis?))
}
