//! Work that turns: metal is the mean over the turn.
//!
//! The field of a body of revolution is the same at every angle, so a place on it passes through the current
//! densities of its own ring, and grows by their mean:
//!
//! ```text
//! dh/dt = sum (dh/dt)_f A_f / sum A_f      over the facets of one ring: less than a cell along the axis and away from it
//! ```
//! What the ring gains is what its facets gain. That is exact where the body is one of revolution about its axis, all
//! of it conducts, and what has grown does not change the field. Else it is told: with a coat, and where normals
//! lean sideways by more than a fifth, the mean over the angle is an estimate. Facets of a side along the axes of the grid
//! lie in rings, all angles alike; those of ends and of bodies aslant do not, and up to 4 % of what varies with the
//! angle is left there (a roller of 20 mm in cells of 2 mm).

use ionfall_mesh::grid::Grid;
use ionfall_model::{Parts, Turn};
use ionfall_numerics::vector::{add_scaled, dot, norm, sub};
use serde::Serialize;

/// Sine of the angle by which the normal of a facet may lean along the turn.
const SIDEWAYS: f64 = 0.2;
/// How long rings are along the axis and away from it, over the cells: less than one, so that of facets that lie
/// one cell after another each is in a ring of its own, at every angle.
const LONGEST: f64 = 0.75;

/// A body that turned, as it is told.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Turned {
    /// Name.
    pub name: String,
    /// Rings that metal is a mean over.
    pub rings: usize,
    /// Share of its area that is none of a surface of revolution.
    pub sideways_share: f64,
    /// Does a coat carry its current?
    pub coated: bool,
}

impl Turned {
    /// Is the mean over the angle the mean over the turn?
    pub fn is_exact(&self) -> bool {
        self.sideways_share == 0.0 && !self.coated
    }
}

/// The rings of all bodies that turn: numbers of facets.
#[derive(Clone, Debug, Default)]
pub(crate) struct Rings {
    rings: Vec<Vec<usize>>,
    area_m2: Vec<f64>,
    pub turned: Vec<Turned>,
}

impl Rings {
    /// Of the facets that conduct.
    pub fn new<const D: usize>(
        grid: &Grid<D>,
        parts: &Parts<D>,
        conducts: impl Fn(usize) -> bool,
    ) -> Self {
        let mut all = Self::default();
        if parts.turns.is_empty() {
            return all;
        }
        all.area_m2 = grid.facets.iter().map(|f| f.area_m2).collect();
        for turn in &parts.turns {
            let electrode = &parts.electrodes[turn.electrode];
            let mut places = Vec::new();
            let (mut area_m2, mut sideways_m2, mut cell_m) = (0.0, 0.0, 0.0_f64);
            for (f, facet) in grid.facets.iter().enumerate() {
                if usize::from(facet.body) != electrode.body || !conducts(f) {
                    continue;
                }
                let (place_m, sideways) = seen(turn, &facet.point, &facet.normal);
                places.push((place_m, f));
                cell_m = cell_m.max(grid.size_m(grid.facet_node[f] as usize));
                area_m2 += facet.area_m2;
                sideways_m2 += if sideways > SIDEWAYS {
                    facet.area_m2
                } else {
                    0.0
                };
            }
            let along = pieces(places, 0, cell_m).into_iter();
            let rings: Vec<_> = along.flat_map(|piece| pieces(piece, 1, cell_m)).collect();
            all.turned.push(Turned {
                name: electrode.name.clone(),
                rings: rings.len(),
                sideways_share: if area_m2 > 0.0 {
                    sideways_m2 / area_m2
                } else {
                    0.0
                },
                coated: parts.coats.iter().any(|c| c.electrode == turn.electrode),
            });
            let numbers = |ring: Vec<Place>| ring.into_iter().map(|(_, f)| f).collect();
            all.rings.extend(rings.into_iter().map(numbers));
        }
        all
    }

    /// Means over the rings; nothing where nothing turns.
    pub fn means(&self, growth: &[f64]) -> Option<Vec<f64>> {
        if self.rings.is_empty() {
            return None;
        }
        let mut means = growth.to_vec();
        for ring in &self.rings {
            let area_m2: f64 = ring.iter().map(|&f| self.area_m2[f]).sum();
            let sum: f64 = ring.iter().map(|&f| self.area_m2[f] * growth[f]).sum();
            if area_m2 > 0.0 {
                ring.iter().for_each(|&f| means[f] = sum / area_m2);
            }
        }
        Some(means)
    }
}

/// Where a facet lies, along the axis and away from it, and its number.
type Place = ([f64; 2], usize);

/// Facets in pieces no longer than [`LONGEST`] cells, each from the first that is in none before: a cylinder is never
/// parted along its side.
fn pieces(mut places: Vec<Place>, by: usize, cell_m: f64) -> Vec<Vec<Place>> {
    places.sort_by(|a, b| a.0[by].total_cmp(&b.0[by]).then(a.1.cmp(&b.1)));
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    for place in places {
        match pieces.last_mut() {
            Some(piece) if place.0[by] - piece[0].0[by] <= LONGEST * cell_m => piece.push(place),
            _ => pieces.push(vec![place]),
        }
    }
    pieces
}

/// Where a point lies along the axis and away from it, and how far a normal there leans along the turn.
fn seen<const D: usize>(turn: &Turn<D>, point: &[f64; D], normal: &[f64; D]) -> ([f64; 2], f64) {
    let from = sub(point, &turn.at);
    let along_m = dot(&from, &turn.axis);
    let away = add_scaled(&from, -along_m, &turn.axis);
    let away_m = norm(&away);
    let flat = add_scaled(normal, -dot(normal, &turn.axis), &turn.axis);
    let sideways = if away_m > 0.0 {
        let outward = dot(&flat, &away) / away_m;
        norm(&add_scaled(&flat, -outward / away_m, &away))
    } else {
        0.0
    };
    ([along_m, away_m], sideways)
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_mesh::grid::build;
    use ionfall_mesh::solid::{Cuboid, Placement, Revolved, Solid};
    use ionfall_model::Tank;

    /// A roller of 20 mm, 30 mm long, about the x axis of a tank.
    fn turned(solid: Solid<3>) -> (Grid<3>, Rings) {
        let lie = Placement::<3>::rotation([0.0, 1.0, 0.0], std::f64::consts::FRAC_PI_2).unwrap();
        let shift = Placement::translation([0.01, 0.03, 0.03]).unwrap();
        let tank = Tank::sized_m([0.05, 0.06, 0.06])
            .unwrap()
            .conductivity_s_per_m(10.0)
            .work("roller", solid.placed(&lie.then(&shift)))
            .turns_m([0.0, 0.03, 0.03], [2.0, 0.0, 0.0])
            .cells_m(2e-3, 2e-3)
            .anode(
                "anode",
                Solid::new(Cuboid::new([0.0; 3], [0.05, 0.06, 0.004]).unwrap()),
            )
            .current_a(1.0);
        let parts = Parts::<3>::try_from(tank.model().unwrap().geometry).unwrap();
        let grid = build(&parts.domain, 1 << 30).unwrap();
        let rings = Rings::new(&grid, &parts, |_| true);
        (grid, rings)
    }

    /// What depends on the angle goes away, what depends on the place along the axis stays; nothing is lost.
    #[test]
    fn rings_of_a_roller() {
        let (grid, rings) = turned(Solid::new(Revolved::cylinder(0.01, 0.03).unwrap()));
        let told = &rings.turned[0];
        assert!(told.is_exact() && told.rings > 15, "{told:?}");
        let of = |f: usize| {
            let [x, y, _] = grid.facets[f].point;
            (1.0 + 20.0 * x, 100.0 * (y - 0.03))
        };
        let growth: Vec<f64> = (0..grid.facets.len()).map(|f| of(f).0 + of(f).1).collect();
        let means = rings.means(&growth).unwrap();
        let total = |all: &[f64]| -> f64 {
            all.iter()
                .zip(&grid.facets)
                .map(|(g, f)| g * f.area_m2)
                .sum()
        };
        assert!((total(&means) / total(&growth) - 1.0).abs() < 1e-12);
        let own = |f: usize| grid.facets[f].body == 0;
        for (f, mean) in means.iter().enumerate().filter(|(f, _)| own(*f)) {
            // Along the axis a ring is less than a cell long; around it next to nothing is left on the side, and on the ends
            // a few percent of what varies with the angle.
            let side = grid.facets[f].normal[0].abs() < 1e-6;
            let most = if side {
                0.75 * 20.0 * 2e-3 + 5e-3
            } else {
                0.05
            };
            assert!((mean - of(f).0).abs() < most, "{side} {mean} {}", of(f).0);
        }
    }

    #[test]
    fn a_block_is_no_roller() {
        let block = Cuboid::new([-0.01, -0.01, 0.0], [0.01, 0.01, 0.03]).unwrap();
        let (_, rings) = turned(Solid::new(block));
        assert!(!rings.turned[0].is_exact());
        assert!(rings.turned[0].sideways_share > 0.3, "{:?}", rings.turned);
    }
}
