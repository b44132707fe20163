//! A job on so large cells that a page need not wait for it.
//!
//! Counting the cells of a grid takes as long as laying it, so their number is guessed: small cells lie in layers around
//! the bodies, each twice as large as the one inside of it, and the largest fill the rest,
//!
//! ```text
//! cells = LAYERS sum of area / finest^2 + volume / coarsest^3          in two dimensions: length / finest, area / coarsest^2
//! ```
//! with the areas of the boxes around the bodies. All sizes times a factor make it smaller by the powers written there; the
//! factor follows by halving. Real numbers are from a third to twice of that, which is near enough for a wait.

use ionfall_deposit::uncertainty::scaled;
use ionfall_mesh::grid::Domain;
use ionfall_mesh::solid::Bounds;
use ionfall_model::{Model, Parts};

/// Cells over a patch of a body's surface of one finest cell.
const LAYERS: f64 = 20.0;
/// Largest factor.
const MOST: f64 = 64.0;

/// The job on cells so large that there are about so many; as it stands where it has fewer.
pub(crate) fn coarse<const D: usize>(model: &Model<Parts<D>>, most: u64) -> Model<Parts<D>> {
    let domain = &model.geometry.domain;
    let [layers, rest] = guess(domain);
    let cells = |factor: f64| layers / factor.powi(D as i32 - 1) + rest / factor.powi(D as i32);
    let (mut low, mut high) = (1.0, MOST);
    if cells(low) <= most as f64 {
        return model.clone();
    }
    while high / low > 1.001 {
        let middle = f64::sqrt(low * high);
        if cells(middle) > most as f64 {
            low = middle;
        } else {
            high = middle;
        }
    }
    scaled(model, high)
}

/// Cells in layers around the bodies, and of the rest.
fn guess<const D: usize>(domain: &Domain<D>) -> [f64; 2] {
    let room = domain.tank.bounds();
    let bodies = domain.bodies.iter().map(|b| (b.solid.bounds(), b.finest_m));
    let sheets = domain
        .sheets
        .iter()
        .map(|s| (around(&s.sheet.soup.vertices), s.finest_m));
    let regions = domain
        .regions
        .iter()
        .map(|r| (r.solid.bounds(), r.finest_m));
    let layers = bodies
        .chain(sheets)
        .chain(regions)
        .map(|(bounds, finest_m)| {
            let sides = sides(&bounds.intersection(&room));
            let faces = (0..D).map(|k| {
                let others = (0..D).filter(|o| *o != k);
                2.0 * others.map(|o| sides[o] / finest_m).product::<f64>()
            });
            LAYERS * faces.sum::<f64>()
        });
    let rest = sides(&room)
        .iter()
        .map(|side| side / domain.coarsest_m)
        .product();
    [layers.sum(), rest]
}

fn around<const D: usize>(points: &[[f64; D]]) -> Bounds<D> {
    Bounds::around(points.iter().copied())
}

fn sides<const D: usize>(bounds: &Bounds<D>) -> [f64; D] {
    std::array::from_fn(|k| (bounds.high[k] - bounds.low[k]).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::examples;
    use ionfall_mesh::grid::count_cells;
    use ionfall_model::Known;

    fn counted<const D: usize>(model: &Model<Parts<D>>, most: u64) -> f64 {
        let coarse = coarse(model, most);
        count_cells(&coarse.geometry.domain, 1 << 32).unwrap() as f64
    }

    /// The shipped jobs, those too whose cells are few already.
    #[test]
    fn there_are_about_as_many_cells_as_are_asked_for() {
        let most = 15_000;
        let mut shares = Vec::new();
        for (name, text, files) in examples() {
            let model = ionfall_job::parse_with(&name, &text, &files.light()).unwrap();
            let cells = match model.known() {
                Known::Flat(model) => counted(&model, most),
                Known::Solid(model) => counted(&model, most),
            };
            let share = cells / most as f64;
            assert!(share < 2.2, "{name}: {cells} cells");
            shares.push(share);
        }
        // Some jobs have fewer cells as they stand.
        let large = shares.iter().filter(|share| **share > 0.3).count();
        assert!(large > 4, "{shares:?}");
    }
}
