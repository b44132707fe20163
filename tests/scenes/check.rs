//! What must be so in every solution, whatever the grid: metal only where it belongs (a bare cathode
//! of a single supply takes current everywhere, an anode gives it everywhere: maximum principle),
//! potentials between those of the metals, currents that balance.

use crate::scene::Scene;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::NoteKind;
use ionfall_mesh::solid::Point;
use ionfall_model::Role;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Instant;

/// Current the wrong way over all current: what rounding may leave.
pub const WRONG: f64 = 1e-6;
/// How far potentials in the electrolyte may lie beyond those of the metals, over the difference of
/// these.
pub const BEYOND: f64 = 0.01;
/// Tafel's law gives current at any potential, and a deep hollow takes it up evenly: the least of it
/// is of the order `kappa b w / l^2` (width `w`, depth `l`), in these scenes never less than this
/// share of the mean. Potentials that ran away show here.
pub const LEAST: f64 = 1e-4;
/// Imbalance of current, charge and energy.
pub const BALANCE: f64 = 1e-8;

/// What was found in a solution.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    pub cells: usize,
    pub facets: usize,
    pub newton: usize,
    pub cycles: usize,
    /// Current out of works and into anodes, over the current of the supply.
    pub wrong: [f64; 2],
    /// Farthest potential beyond those of the metals, over their difference.
    pub beyond: f64,
    /// Of current, charge and energy.
    pub balance: f64,
    /// Least thickness over mean that the law allows.
    pub allowed: f64,
    /// Where most goes the wrong way or, if nothing does, where the thinnest place is, mm.
    pub place_mm: [f64; 3],
    /// Thinnest place and mean of the works, m.
    pub least_m: f64,
    pub mean_m: f64,
    /// Current of the supply and of each electrode, A.
    pub current_a: f64,
    pub currents_a: Vec<f64>,
    /// Facets without a quadratic fit, facets left out, cells not understood.
    pub notes: [usize; 3],
    pub seconds: f64,
}

/// Runs a scene; an error says why there is no solution.
pub fn findings(scene: &Scene) -> Result<Findings, String> {
    let clock = Instant::now();
    let outcome = catch_unwind(AssertUnwindSafe(|| scene.run()))
        .unwrap_or_else(|_| Err("it panicked".into()))?;
    let seconds = clock.elapsed().as_secs_f64();
    let mut found = measure(scene, &outcome);
    found.seconds = seconds;
    Ok(found)
}

fn measure(scene: &Scene, outcome: &Outcome<3>) -> Findings {
    let grid = &outcome.grid;
    let total = outcome.current_a.abs();
    let mut wrong = [0.0; 2];
    let (mut worst, mut place_m) = (0.0, None);
    let (mut area_m2, mut volume_m3) = (0.0, 0.0);
    for (f, facet) in grid.facets.iter().enumerate() {
        let out = facet.area_m2 * outcome.solution.current_density_a_per_m2[f];
        let share = match scene.parts[usize::from(facet.body)].role {
            Some(Role::Work) => {
                area_m2 += facet.area_m2;
                volume_m3 += facet.area_m2 * outcome.thickness_m[f];
                wrong[0] += out.max(0.0) / total;
                out
            }
            _ => {
                wrong[1] += (-out).max(0.0) / total;
                -out
            }
        };
        if share > worst {
            (worst, place_m) = (share, Some(facet.point));
        }
    }
    let places = outcome.bodies.iter().filter(|b| b.role == Role::Work);
    let places = places.filter_map(|b| b.thinnest);
    let thinnest = places.min_by(|a, b| a.value.total_cmp(&b.value));
    let place_m = place_m.or(thinnest.map(|p| p.at_m));
    let count = |kind: NoteKind| {
        let notes = grid.notes.iter().filter(|n| n.kind == kind);
        notes.map(|n| n.count).sum()
    };
    Findings {
        cells: grid.len(),
        facets: grid.facets.len(),
        newton: outcome.work[1],
        cycles: outcome.work[2],
        wrong,
        beyond: beyond(scene, outcome),
        balance: outcome
            .balance_error
            .max(outcome.ledger.charge_error())
            .max(outcome.ledger.energy_error()),
        allowed: if scene.follows_tafel() { LEAST } else { -WRONG },
        place_mm: place_m.map_or([f64::NAN; 3], |p| p.map(|x| 1e3 * x)),
        least_m: thinnest.map_or(f64::NAN, |p| p.value),
        mean_m: volume_m3 / area_m2,
        current_a: outcome.current_a,
        currents_a: outcome.bodies.iter().map(|b| b.current_a).collect(),
        notes: [NoteKind::RoughProbe, NoteKind::LostFacet, NoteKind::Tangled].map(count),
        seconds: 0.0,
    }
}

/// How far potentials go beyond those of the metals, over their difference. Need not keep to it:
/// nodes whose centre is not in the electrolyte, or that share their cell with others; and cut
/// cells that feed no facet, whose potential lies between those of their neighbours and is read by
/// no probe.
fn beyond(scene: &Scene, outcome: &Outcome<3>) -> f64 {
    let grid = &outcome.grid;
    let metals = outcome.metal_potential_v.iter().copied();
    let low = metals.clone().fold(f64::INFINITY, f64::min);
    let high = metals.fold(f64::NEG_INFINITY, f64::max);
    let mut cells = grid.node_cell.clone();
    cells.sort_unstable();
    let shared: Vec<_> = (cells.windows(2))
        .filter(|w| w[0] == w[1])
        .map(|w| w[0])
        .collect();
    let alone = |n: usize| shared.binary_search(&grid.node_cell[n]).is_err();
    let inside =
        |x: &Point<3>| scene.tank.contains(x) && !scene.parts.iter().any(|p| p.solid.contains(x));
    let wet = |n: usize| inside(&grid.centre(n));
    let mut feeds = vec![false; grid.len()];
    for &node in &grid.facet_node {
        feeds[node as usize] = true;
    }
    let whole = |n: usize| {
        let (centre, half) = (grid.centre(n), 0.5 * grid.size_m(n));
        (0..8).all(|corner| {
            let side = |k: usize| if corner >> k & 1 == 1 { half } else { -half };
            inside(&std::array::from_fn(|k| centre[k] + side(k)))
        })
    };
    let mut worst = 0.0_f64;
    for n in 0..grid.len() {
        let v = outcome.solution.potential_v[n];
        let over = (v - high).max(low - v) / (high - low);
        // A potential that is no number is the worst of all.
        let worse = over.is_nan() || over > worst;
        if worse && alone(n) && wet(n) && (feeds[n] || whole(n)) {
            worst = if over.is_nan() { f64::INFINITY } else { over };
        }
    }
    worst
}

impl Findings {
    /// Is the thinnest place less than there can be?
    pub fn is_too_thin(&self) -> bool {
        let least = self.least_m / self.mean_m;
        least.is_nan() || least < self.allowed
    }

    /// What is not as it must be.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        for (share, what) in self.wrong.iter().zip(["work", "anodes"]) {
            if share.is_nan() || *share > WRONG {
                faults.push(format!(
                    "{share:.1e} of the current the wrong way at {what}"
                ));
            }
        }
        if self.beyond > BEYOND {
            faults.push(format!(
                "potentials beyond the metals by {:.1e}",
                self.beyond
            ));
        }
        if self.balance.is_nan() || self.balance > BALANCE {
            faults.push(format!("imbalance {:.1e}", self.balance));
        }
        if self.is_too_thin() {
            let least = self.least_m / self.mean_m;
            faults.push(format!("thinnest place over mean {least:.1e}"));
        }
        faults
    }
}
