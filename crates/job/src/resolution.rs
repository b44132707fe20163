//! How sharp the answers shall be, instead of how small the cells.

use crate::reader::{Item, Table};
use ionfall_model::{Resolution, Step};

/// The key of the accuracy in the table of the grid.
pub(crate) const ACCURACY: &str = "accuracy";

/// What the grid's table says; faults of its lengths are told where the sizes are read.
pub(crate) fn read(job: &Table, plan: Option<&[Step]>) -> Resolution {
    let Some(grid) = job.table("grid") else {
        return Resolution::default();
    };
    Resolution {
        accuracy: grid.get(ACCURACY).and_then(|item| accuracy(&item, plan)),
        smallest_m: grid.length("finest"),
    }
}

fn accuracy(item: &Item, plan: Option<&[Step]>) -> Option<f64> {
    let share = item.share()?;
    if share <= 0.0 {
        item.fault(
            format!("{} must be greater than zero", item.name()),
            "write how far the answers may be off, as in \"2 %\"",
        );
        return None;
    }
    if plan.is_some_and(<[Step]>::is_empty) {
        item.fault(
            format!(
                "{} is that of thicknesses, and without a plan no metal grows",
                item.name()
            ),
            "add [plan] with its time, or give cells by `finest`",
        );
        return None;
    }
    Some(share)
}
