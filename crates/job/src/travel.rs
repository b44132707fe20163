//! Bodies that travel while metal grows: on a rod to and fro, on a carousel around.
//!
//! ```toml
//! travels = { by = "80 x 0 x 0 mm", count = 5 }                           # from end to end, drawn in the middle
//! travels = { turn = "30 deg", about = "z", at = "100 x 100 x 0 mm", count = 12 }   # around; drawn at the first place
//! ```
//! A rod is driven by a crank, so it is slow at the ends: its positions are those of even times, which is the rule of
//! Gauss and Chebyshev: from the middle `1/2 cos(pi (2 k - 1) / (2 count))` of the way. The number of them is odd, so
//! that the place that is drawn is one.

use crate::drawing::Drawing;
use crate::place::accept;
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::Placement;
use std::f64::consts::PI;

/// Key of the table.
pub(crate) const KEY: &str = "travels";

/// Positions if nothing is said, and most of them.
const COUNT: f64 = 5.0;
const MOST: f64 = 72.0;

/// The ways from the place that is drawn to the other positions.
pub(crate) fn read<const D: usize, W: Drawing<D>>(
    item: &Item,
    space: Space,
) -> Option<Vec<Placement<D>>> {
    let table = item.table()?;
    let (kind, value) = table.one_of(&["by", "turn"])?;
    let ways = if kind == "by" {
        to_and_fro(&table, &value)
    } else {
        around::<D, W>(&table, &value)
    };
    table.finish();
    let ways = ways?;
    let off_axis = |way: &Placement<D>| {
        let moved = way.apply(&[0.0; D]);
        kind == "turn" || moved[0] != 0.0
    };
    if space == Space::Axisymmetric && ways.iter().any(off_axis) {
        item.fault(
            "a revolved job is the same all around",
            "let it travel along the axis, or draw it in space",
        );
        return None;
    }
    Some(ways)
}

fn to_and_fro<const D: usize>(table: &Table, by: &Item) -> Option<Vec<Placement<D>>> {
    let way = by.vector::<D>(Dimension::Length);
    let count = count(table, COUNT)?;
    let way = way?;
    if count.rem_euclid(2.0) != 1.0 {
        by.fault(
            "the place that is drawn is the middle of the way, and one of its positions",
            "let their count be odd, like 5",
        );
        return None;
    }
    let share = |k: usize| 0.5 * (PI * (k as f64 + 0.5) / count).cos();
    let others = (0..count as usize).filter(|k| 2 * k + 1 != count as usize);
    let ways = others.map(|k| accept(by, Placement::translation(way.map(|x| share(k) * x))));
    ways.collect()
}

fn around<const D: usize, W: Drawing<D>>(table: &Table, angle: &Item) -> Option<Vec<Placement<D>>> {
    let at = table.point("at");
    let motion = W::turn(table, angle);
    table.need("count", "12")?;
    let count = count(table, COUNT)?;
    let motion = accept(angle, motion?.about(at?))?;
    let mut ways = vec![motion];
    while ways.len() + 1 < count as usize {
        let last = ways[ways.len() - 1];
        ways.push(last.then(&motion));
    }
    Some(ways)
}

/// A whole number of positions, two at least.
fn count(table: &Table, usual: f64) -> Option<f64> {
    let Some(item) = table.get("count") else {
        return Some(usual);
    };
    let count = item.number()?;
    if count.fract() == 0.0 && (2.0..=MOST).contains(&count) {
        return Some(count);
    }
    item.fault(
        format!("{} is no number of positions", item.name()),
        format!("write a whole number from 2 to {MOST}: each costs a grid and a solve"),
    );
    None
}
