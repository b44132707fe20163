//! The boxes around the bodies of a job, mm.

use crate::drawn::Drawn;
use ionfall_mesh::solid::{Bounds, Point};
use ionfall_model::{Geometry, Model, Parts};

/// Lowest and highest corner; the third coordinate is nought in two dimensions.
pub(crate) type Box3 = [[f64; 3]; 2];

/// The box around a body, the first of its copies, as far as it lies near the tank; nothing for stop-offs on several
/// bodies.
pub(crate) fn of(model: &Model, all: &[Drawn], one: &Drawn) -> Option<Box3> {
    match &model.geometry {
        Geometry::Flat(parts) => in_parts(parts, all, one),
        Geometry::Solid(parts) => in_parts(parts, all, one),
    }
}

/// The room of the liquid.
pub(crate) fn tank(model: &Model) -> Box3 {
    match &model.geometry {
        Geometry::Flat(parts) => mm(&parts.domain.tank.bounds()),
        Geometry::Solid(parts) => mm(&parts.domain.tank.bounds()),
    }
}

pub(crate) fn in_parts<const D: usize>(
    parts: &Parts<D>,
    all: &[Drawn],
    one: &Drawn,
) -> Option<Box3> {
    let domain = &parts.domain;
    let first = |name: &str| one.answers_to(name);
    let found = match one.key {
        "contact" => {
            let contact = parts.contacts.iter().find(|c| first(&c.name))?;
            contact.region.bounds()
        }
        "stop_off" => {
            let lacquers = all.iter().filter(|d| d.key == "stop_off");
            let is_each_one = lacquers.clone().count() == domain.stop_offs.len();
            let number = lacquers
                .clone()
                .position(|d| d == one)
                .filter(|_| is_each_one)?;
            domain.stop_offs[number].solid.bounds()
        }
        _ => {
            let body = domain.bodies.iter().find(|b| first(&b.name));
            let sheet = || domain.sheets.iter().find(|s| first(&s.name));
            match body {
                Some(body) => body.solid.bounds(),
                None => Bounds::around(sheet()?.sheet.soup.vertices.iter().copied()),
            }
        }
    };
    let room = domain.tank.bounds();
    let is_finite = |b: &Bounds<D>| (0..D).all(|k| b.low[k].is_finite() && b.high[k].is_finite());
    Some(mm(&if is_finite(&found) {
        found
    } else {
        found.intersection(&room)
    }))
}

fn mm<const D: usize>(bounds: &Bounds<D>) -> Box3 {
    let mm = |x: &Point<D>| std::array::from_fn(|k| x.get(k).map_or(0.0, |x| 1e3 * x));
    [mm(&bounds.low), mm(&bounds.high)]
}
