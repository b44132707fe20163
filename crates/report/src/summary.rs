//! `summary.json`: the answers of a run as one document.
//!
//! The serde structs here are its schema: keys are the field names, values are in SI units, and
//! every key ends in its unit (`_m`, `_a`, `_a_per_m2`, `_kg`, `_j`, `_s` ...; shares, counts,
//! names and residuals have none). What does not apply is `null`. Distributions are weighted by
//! area.

use crate::facets::axes;
use ionfall_bath::Electrolyte;
use ionfall_deposit::{BodyOutcome, Outcome, note_text};
use ionfall_job::{Model, Supply};
use serde::Serialize;

/// Version of this schema.
const SCHEMA: u32 = 1;

/// Share of the limiting current from which deposits roughen (common practice, no source).
pub(crate) const ROUGH_SHARE: f64 = 0.4;
/// Share of the limiting current from which deposits grow trees and burn (common practice, no
/// source).
pub(crate) const TREEING_SHARE: f64 = 0.7;

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// Version of the schema, raised when a key changes its meaning.
    pub schema: u32,
    /// Version of ionfall.
    pub ionfall: &'static str,
    /// Title of the job.
    pub title: String,
    /// The bath: every figure with value, unit, grade and source; its cautions.
    pub bath: Electrolyte,
    /// What the supply held constant.
    pub supply: SupplySummary,
    /// Plating time, s.
    pub time_s: Option<f64>,
    /// What was wanted of the deposit, and whether it was met.
    pub wanted: Option<WantedSummary>,
    /// Voltage between anodes and work, V.
    pub voltage_v: f64,
    /// Current of the supply, A.
    pub current_a: f64,
    /// Energy taken over the plating time, J.
    pub energy_j: Option<f64>,
    /// Anodic and cathodic currents differ by this share.
    pub balance_error: f64,
    /// The electrodes: areas, currents, thickness, metal. Magnitudes, except `current_a`, which is
    /// negative at cathodes.
    pub bodies: Vec<BodyOutcome>,
    /// The grid.
    pub grid: GridSummary,
    /// The solver.
    pub solver: SolverSummary,
    /// Time spent on the grid, s.
    pub grid_s: f64,
    /// Time spent on the field, s.
    pub field_s: f64,
    /// Largest memory of the process, bytes, where the system tells.
    pub peak_memory_bytes: Option<u64>,
    /// Cautions about this result.
    pub cautions: Vec<String>,
    /// What was mended in the input or is worth knowing about the grid.
    pub notes: Vec<String>,
}

/// What the supply held constant.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SupplySummary {
    /// Current, A.
    CurrentA(f64),
    /// Voltage, V.
    VoltageV(f64),
    /// Mean current density on the work, A/m2.
    MeanCurrentDensityAPerM2(f64),
}

/// What was wanted, and how it went.
#[derive(Clone, Debug, Serialize)]
pub struct WantedSummary {
    /// Least thickness wanted, m.
    pub thickness_m: f64,
    /// On which work; `null` is all of it.
    pub on: Option<String>,
    /// Is the thinnest place thick enough? `null` without a plating time.
    pub met: Option<bool>,
    /// Least thickness reached there, m.
    pub least_m: Option<f64>,
    /// Time after which it would be reached at this current, s.
    pub reached_after_s: Option<f64>,
}

/// The grid.
#[derive(Clone, Debug, Serialize)]
pub struct GridSummary {
    /// Names of the coordinates of places.
    pub axes: &'static [&'static str],
    /// Cells of electrolyte.
    pub cells: usize,
    /// Facets of electrodes.
    pub facets: usize,
    /// Edge of the finest cells, m.
    pub finest_m: f64,
    /// Edge of the coarsest cells, m.
    pub coarsest_m: f64,
}

/// How the field was solved.
#[derive(Clone, Debug, Serialize)]
pub struct SolverSummary {
    /// Newton steps.
    pub newton_steps: usize,
    /// Multigrid cycles.
    pub multigrid_cycles: usize,
    /// Imbalance of the nodes relative to the currents, before the first step and after each.
    pub residual_history: Vec<f64>,
}

impl Summary {
    /// Of a finished run. `ionfall` is the version of the program.
    pub fn new<const D: usize>(
        model: &Model,
        outcome: &Outcome<D>,
        ionfall: &'static str,
        peak_memory_bytes: Option<u64>,
    ) -> Self {
        let grid = &outcome.grid;
        let sizes = (0..grid.len()).map(|n| grid.size_m(n));
        let solution = &outcome.solution;
        let mut notes = model.notes.clone();
        notes.extend(grid.notes.iter().map(note_text));
        let mut summary = Self {
            schema: SCHEMA,
            ionfall,
            title: model.title.clone(),
            bath: model.bath.clone(),
            supply: match model.supply {
                Supply::Current(i) => SupplySummary::CurrentA(i),
                Supply::Voltage(v) => SupplySummary::VoltageV(v),
                Supply::MeanCurrentDensity(i) => SupplySummary::MeanCurrentDensityAPerM2(i),
            },
            time_s: model.time_s,
            wanted: None,
            voltage_v: outcome.voltage_v,
            current_a: outcome.current_a,
            energy_j: outcome.energy_j,
            balance_error: outcome.balance_error,
            bodies: outcome.bodies.clone(),
            grid: GridSummary {
                axes: axes(grid.space),
                cells: grid.len(),
                facets: grid.facets.len(),
                finest_m: sizes.clone().fold(f64::INFINITY, f64::min),
                coarsest_m: sizes.fold(0.0, f64::max),
            },
            solver: SolverSummary {
                newton_steps: solution.newton_steps,
                multigrid_cycles: solution.linear_iterations,
                residual_history: solution.residual_history.clone(),
            },
            grid_s: outcome.grid_s,
            field_s: outcome.field_s,
            peak_memory_bytes,
            cautions: Vec::new(),
            notes,
        };
        summary.wanted = model
            .wanted
            .as_ref()
            .map(|w| summary.judge(w.thickness_m, &w.on));
        summary.cautions = summary.strains();
        summary
    }

    /// The works, or the one of a name.
    pub(crate) fn works(&self, on: Option<&str>) -> impl Iterator<Item = &BodyOutcome> {
        self.bodies
            .iter()
            .filter(move |b| b.role == "work" && on.is_none_or(|name| name == b.name))
    }

    fn judge(&self, thickness_m: f64, on: &Option<String>) -> WantedSummary {
        let thinnest = self
            .works(on.as_deref())
            .filter_map(|b| b.thinnest)
            .map(|p| p.value);
        let least_m = thinnest.reduce(f64::min);
        let growing = least_m.filter(|least| *least > 0.0);
        WantedSummary {
            thickness_m,
            on: on.clone(),
            met: least_m.map(|least| least >= thickness_m),
            least_m,
            // Thickness grows in proportion to time as long as the shape counts as unchanged.
            reached_after_s: growing
                .zip(self.time_s)
                .map(|(least, t)| t * thickness_m / least),
        }
    }

    /// Assumptions this run strains.
    fn strains(&self) -> Vec<String> {
        let mut cautions = Vec::new();
        for body in self.bodies.iter().filter(|b| b.role != "anode") {
            let Some(place) = body.limit_share else {
                continue;
            };
            let what = match place.value {
                share if share >= TREEING_SHARE => "expect trees and burning",
                share if share >= ROUGH_SHARE => "expect roughness",
                _ => continue,
            };
            cautions.push(format!(
                "`{}` reaches {:.0} % of the limiting current: {what} there (common practice: \
                 smooth below {:.0} %, trees from {:.0} %)",
                body.name,
                100.0 * place.value,
                100.0 * ROUGH_SHARE,
                100.0 * TREEING_SHARE
            ));
        }
        if self.bodies.iter().all(|b| b.limit_share.is_none()) {
            cautions.push(
                "no limiting current is known, so burning cannot be judged: say how the bath is \
                 agitated"
                    .into(),
            );
        }
        let thickest = self.works(None).filter_map(|b| b.thickest).map(|p| p.value);
        let thickest = thickest.fold(0.0, f64::max);
        if thickest > self.grid.finest_m {
            cautions.push(
                "the deposit is thicker than the finest cells, but the shape was kept as it was at \
                 the start: inside corners close up sooner than computed"
                    .into(),
            );
        }
        cautions
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::tank;
    use approx::assert_relative_eq;
    use serde_json::Value;

    /// Every key names its unit or is known to have none.
    fn check_keys(value: &Value, path: &str) {
        const UNITS: [&str; 12] = [
            "_m", "_m2", "_m3", "_a", "_v", "_s", "_j", "_kg", "_k", "_per_m2", "_bytes", "_c",
        ];
        const WITHOUT: [&str; 24] = [
            "ionfall",
            "title",
            "supply",
            "wanted",
            "bodies",
            "grid",
            "solver",
            "cautions",
            "notes",
            "name",
            "role",
            "axes",
            "schema",
            "cells",
            "facets",
            "newton_steps",
            "multigrid_cycles",
            "residual_history",
            "balance_error",
            "on",
            "met",
            "share_below_wanted",
            "limit_share",
            "bath",
        ];
        if let Value::Object(map) = value {
            for (key, inner) in map {
                let path = format!("{path}.{key}");
                let unit = UNITS.iter().any(|u| key.ends_with(u));
                assert!(
                    unit || WITHOUT.contains(&key.as_str()),
                    "{path} has no unit"
                );
                // Figures of the bath carry their unit beside them; distributions and places
                // have it in their own key.
                if key != "bath" && !unit && key != "limit_share" {
                    check_keys(inner, &path);
                }
            }
        }
        if let Value::Array(list) = value {
            list.iter().for_each(|inner| check_keys(inner, path));
        }
    }

    #[test]
    fn the_document_is_whole_and_says_its_units() {
        let case = tank();
        let summary = Summary::new(&case.model, &case.outcome, "0.0.0", Some(1));
        let json = serde_json::to_value(&summary).unwrap();
        check_keys(&json, "");
        assert_eq!(json["supply"]["mean_current_density_a_per_m2"], 200.0);
        assert_eq!(json["bath"]["conductivity"]["unit"], "S/m");
        assert_eq!(json["bath"]["conductivity"]["grade"], "computed");
        assert_eq!(json["grid"]["axes"][2], "z");
        let plate = &json["bodies"][1];
        assert_eq!(plate["name"], "plate");
        // Faraday's law by hand: 2 A/dm2 for 10 h on the plate's own area.
        let charge_c = 200.0 * plate["area_m2"].as_f64().unwrap() * 36_000.0;
        let kg = charge_c * 63.546e-3 / (2.0 * 96_485.332_12);
        assert_relative_eq!(plate["metal_kg"].as_f64().unwrap(), kg, max_relative = 1e-6);
        let energy_j = summary.voltage_v * summary.current_a * 36_000.0;
        assert_relative_eq!(
            json["energy_j"].as_f64().unwrap(),
            energy_j,
            max_relative = 1e-12
        );
    }

    #[test]
    fn the_wish_is_judged_at_the_thinnest_place() {
        let case = tank();
        let summary = Summary::new(&case.model, &case.outcome, "0.0.0", None);
        let least = summary.works(None).next().unwrap().thinnest.unwrap().value;
        for (factor, met) in [(0.99, true), (1.01, false)] {
            let wish = summary.judge(factor * least, &Some("plate".into()));
            assert_eq!(wish.met, Some(met));
            assert_relative_eq!(wish.reached_after_s.unwrap(), factor * 36_000.0);
        }
        assert_eq!(summary.judge(1e-4, &Some("other".into())).met, None);
    }

    #[test]
    fn strained_assumptions_are_told() {
        let case = tank();
        let mut summary = Summary::new(&case.model, &case.outcome, "0.0.0", None);
        let with_share = |summary: &mut Summary, share: f64| {
            for body in &mut summary.bodies {
                if let Some(place) = &mut body.limit_share {
                    place.value = share;
                }
            }
            summary.strains().join("; ")
        };
        assert!(!with_share(&mut summary, 0.39).contains("limiting"));
        assert!(
            with_share(&mut summary, 0.41).contains("41 % of the limiting current: expect rough")
        );
        assert!(with_share(&mut summary, 0.71).contains("expect trees"));
        summary.grid.finest_m = 1e-6;
        assert!(with_share(&mut summary, 0.1).contains("thicker than the finest cells"));
        summary.bodies.iter_mut().for_each(|b| b.limit_share = None);
        assert!(
            summary
                .strains()
                .join("; ")
                .contains("burning cannot be judged")
        );
    }
}
