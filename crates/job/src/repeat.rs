//! Copies of a body: a rack of parts is drawn once.
//!
//! ```toml
//! [[work]]
//! name = "medal"
//! shape.cylinder = { diameter = "40 mm", height = "3 mm", axis = "x", at = "100 x 60 x 60 mm" }
//! repeat = { pitch = "0 x 80 x 90 mm", count = "1 x 3 x 2" }          # 3 x 2, pitch 80 x 90 mm
//! ```
//! The body that is drawn is the first; the copies are called `medal 1.1` to `medal 3.2`, and `medal` is all of
//! them. Several steps in square brackets are carried out in the order written, each on all that is there so far:
//!
//! ```text
//! { pitch = "0 x 80 x 90 mm", count = "1 x 3 x 2" }    an array along the axes
//! { pitch = "0 x 80 x 0 mm", count = 3 }               a row
//! { turn = "60 deg", about = "z", at = "...", count = 6 }    a ring; count is 2 if it is not given
//! { mirror = "x", at = "..." }                         the mirror image beside it
//! ```

use crate::drawing::Drawing;
use crate::place::{accept, direction};
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::solid::Placement;

/// Key of the steps.
pub(crate) const KEY: &str = "repeat";

/// Most copies in a job: a rack that is larger is computed in part, at planes of symmetry.
pub(crate) const MOST: usize = 500;

const STEPS: [&str; 3] = ["pitch", "turn", "mirror"];

/// One of the copies.
#[derive(Clone)]
pub(crate) struct Copy<const D: usize> {
    /// What follows the name of the body: a blank and its numbers, nothing if there is but one.
    pub ending: String,
    /// From the body that is drawn to it.
    pub moved: Placement<D>,
}

/// What a step makes of a body: numbers for the name, and the way there.
type Made<const D: usize> = Vec<(Vec<usize>, Placement<D>)>;

/// The copies that a table asks for, the body that is drawn among them as the first.
pub(crate) fn read<const D: usize, W: Drawing<D>>(table: &Table) -> Option<Vec<Copy<D>>> {
    let Some(item) = table.get(KEY) else {
        return Some(vec![Copy {
            ending: String::new(),
            moved: Placement::identity(),
        }]);
    };
    let steps: Vec<_> = table.tables(KEY).iter().map(step::<D, W>).collect();
    let mut all: Made<D> = vec![(Vec::new(), Placement::identity())];
    for made in steps.into_iter().collect::<Option<Vec<_>>>()? {
        if all.len() * made.len() > MOST {
            too_many(&item, all.len() * made.len());
            return None;
        }
        let further = |(numbers, moved): &(Vec<usize>, Placement<D>)| -> Made<D> {
            let next = |(more, way): &(Vec<usize>, Placement<D>)| {
                ([numbers.as_slice(), more].concat(), moved.then(way))
            };
            made.iter().map(next).collect()
        };
        all = all.iter().flat_map(further).collect();
    }
    let alone = all.len() == 1;
    let copy = |(numbers, moved): (Vec<usize>, Placement<D>)| {
        let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
        let ending = if alone {
            String::new()
        } else {
            format!(" {}", numbers.join("."))
        };
        Copy { ending, moved }
    };
    Some(all.into_iter().map(copy).collect())
}

/// Notes that there are more copies than are allowed.
pub(crate) fn too_many(item: &Item, found: usize) {
    item.fault(
        format!("{found} copies are too many: {MOST} are allowed in a job"),
        "draw a part of the rack, with the walls of the tank where it is the same on both sides",
    );
}

fn step<const D: usize, W: Drawing<D>>(table: &Table) -> Option<Made<D>> {
    let pitch = "pitch, how far it is from one copy to the next, with a count";
    if table.strays("no step that makes copies", &[("move", pitch.into())]) {
        return None;
    }
    let (kind, value) = table.one_of(&STEPS).or_else(|| {
        // Known all the same.
        ["count", "at", "about"]
            .iter()
            .for_each(|key| drop(table.get(key)));
        table.finish();
        None
    })?;
    if kind == "pitch" {
        let pitch = value.vector::<D>(Dimension::Length);
        let count = table.need("count", "\"1 x 3 x 2\"");
        table.finish();
        return array(&value, pitch?, &count?);
    }
    let at = table.point("at");
    let (motion, count) = if kind == "turn" {
        let count = table
            .get("count")
            .map_or(Some(2), |item| whole(&item, item.number()?));
        (W::turn(table, &value), count)
    } else {
        let mirror = |n| accept(&value, Placement::mirror(n));
        (direction(&value).and_then(mirror), Some(2))
    };
    table.finish();
    let motion = accept(&value, motion?.about(at?))?;
    let mut moved = Placement::identity();
    let mut made = Made::new();
    for n in 1..=count? {
        made.push((vec![n], moved));
        moved = moved.then(&motion);
    }
    Some(made)
}

/// Rows along the axes: so many along each, or along the one that the pitch goes along.
fn array<const D: usize>(item: &Item, pitch: [f64; D], count: &Item) -> Option<Made<D>> {
    let along: Vec<usize> = (0..D).filter(|k| pitch[*k] != 0.0).collect();
    let counts: [usize; D] = if count.is_row() {
        let numbers = count.numbers::<D>()?;
        let read: Vec<_> = numbers.iter().map(|n| whole(count, *n)).collect();
        read.into_iter()
            .collect::<Option<Vec<_>>>()?
            .try_into()
            .ok()?
    } else {
        let n = whole(count, count.number()?)?;
        if along.len() > 1 {
            count.fault(
                format!(
                    "{} does not say how many there are along each axis",
                    count.name()
                ),
                if D == 2 {
                    "write for example count = \"3 x 2\""
                } else {
                    "write for example count = \"1 x 3 x 2\""
                },
            );
            return None;
        }
        std::array::from_fn(|k| if along.contains(&k) { n } else { 1 })
    };
    let still = (0..D).any(|k| counts[k] > 1 && pitch[k] == 0.0);
    if still || along.is_empty() {
        item.fault(
            format!(
                "{} is zero along a row, whose copies would lie upon each other",
                item.name()
            ),
            "say how far it is from one to the next",
        );
        return None;
    }
    let whole: usize = counts.iter().product();
    if whole > MOST {
        too_many(item, whole);
        return None;
    }
    let mut made = Made::new();
    for n in 0..whole {
        let mut left = n;
        let mut place = [0; D];
        for k in (0..D).rev() {
            place[k] = left % counts[k];
            left /= counts[k];
        }
        let shift = std::array::from_fn(|k| place[k] as f64 * pitch[k]);
        let numbers = (0..D).filter(|k| counts[*k] > 1).map(|k| place[k] + 1);
        made.push((
            numbers.collect(),
            accept(item, Placement::translation(shift))?,
        ));
    }
    Some(made)
}

/// How many, from one on.
fn whole(item: &Item, number: f64) -> Option<usize> {
    if number.fract() == 0.0 && (1.0..=MOST as f64).contains(&number) {
        return Some(number as usize);
    }
    item.fault(
        format!("{} is no number of copies", item.name()),
        format!("write whole numbers from 1 to {MOST}"),
    );
    None
}
