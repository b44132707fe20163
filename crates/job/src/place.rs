//! Placements: `place = [ { move = "10 x 0 x 0 mm" }, { turn = "90 deg", about = "x" } ]`.
//!
//! Steps are carried out in the order written. Turning, mirroring and scaling leave the point `at`
//! where it is (the origin if it is not given).

use crate::drawing::Drawing;
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::solid::{Placement, SolidError};

const STEPS: [&str; 4] = ["move", "turn", "mirror", "scale"];

/// The placement of a table that may have a `place`.
pub(crate) fn read<const D: usize, W: Drawing<D>>(table: &Table) -> Option<Placement<D>> {
    let Some(list) = table.get("place") else {
        return Some(Placement::identity());
    };
    list.list()
        .iter()
        .map(step::<D, W>)
        // All steps are read before any is missed, so that every fault shows.
        .collect::<Vec<_>>()
        .into_iter()
        .try_fold(Placement::identity(), |so_far, next| {
            Some(so_far.then(&next?))
        })
}

fn step<const D: usize, W: Drawing<D>>(item: &Item) -> Option<Placement<D>> {
    let table = item.table()?;
    let (kind, value) = table.one_of(&STEPS).or_else(|| {
        // Known all the same.
        ["at", "about"].iter().for_each(|key| drop(table.get(key)));
        table.finish();
        None
    })?;
    if kind == "move" {
        let shift = value.vector(Dimension::Length);
        table.finish();
        return accept(&value, Placement::translation(shift?));
    }
    let at = table.point("at");
    let motion = match kind {
        "turn" => W::turn(&table, &value),
        "mirror" => direction(&value).and_then(|n| accept(&value, Placement::mirror(n))),
        _ => value
            .positive_number()
            .and_then(|factor| accept(&value, Placement::scaling(factor))),
    };
    table.finish();
    accept(&value, motion?.about(at?))
}

/// The result, or a fault at the item.
pub(crate) fn accept<T>(item: &Item, result: Result<T, SolidError>) -> Option<T> {
    result
        .map_err(|error| item.fault(error.to_string(), "change this shape"))
        .ok()
}

/// A direction: an axis by name, with or without sign, or a list of numbers.
pub(crate) fn direction<const N: usize>(item: &Item) -> Option<[f64; N]> {
    let known = ["x", "y", "z", "-x", "-y", "-z"];
    if !item.is_text() {
        let numbers: Option<Vec<f64>> = item.list().iter().map(Item::number).collect();
        let numbers = numbers?;
        let found = numbers.len();
        return numbers.try_into().ok().or_else(|| {
            item.fault(
                format!("{} needs {N} numbers, found {found}", item.name()),
                "write an axis like \"x\" or numbers like [1, 0, 0]",
            );
            None
        });
    }
    let allowed: Vec<_> = known
        .into_iter()
        .filter(|w| N == 3 || !w.ends_with('z'))
        .collect();
    let word = item.choice(&allowed)?;
    let axis = known.iter().position(|w| *w == word)?;
    let mut vector = [0.0; N];
    vector[axis % 3] = if axis < 3 { 1.0 } else { -1.0 };
    Some(vector)
}
