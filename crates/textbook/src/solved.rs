//! A solved job, and what can be read off it.

use crate::local::{Local, local, value_at};
use ionfall_bath::Electrolyte;
use ionfall_deposit::uncertainty::COARSER;
use ionfall_deposit::{BodyOutcome, Outcome};
use ionfall_mesh::solid::Point;

/// Cell sizes over those of the job, coarsest first.
pub(crate) const FACTORS: [f64; 3] = [COARSER * COARSER, COARSER, 1.0];

/// A solved job.
#[derive(Debug)]
pub struct Solved {
    /// Its bath.
    pub bath: Electrolyte,
    pub(crate) names: Vec<(String, usize)>,
    pub(crate) answer: Answer,
}

/// The outcome in its own number of coordinates.
#[derive(Debug)]
pub(crate) enum Answer {
    Flat(Box<Outcome<2>>),
    Solid(Box<Outcome<3>>),
}

/// The first coordinates of a point.
fn cut<const D: usize>(x: &[f64; 3]) -> Point<D> {
    std::array::from_fn(|k| x[k])
}

/// A point in three coordinates, the missing ones zero.
fn whole<const D: usize>(x: &Point<D>) -> [f64; 3] {
    std::array::from_fn(|k| if k < D { x[k] } else { 0.0 })
}

/// The same expression for two and three coordinates.
macro_rules! either {
    ($solved:expr, $outcome:ident => $what:expr) => {
        match &$solved.answer {
            Answer::Flat($outcome) => $what,
            Answer::Solid($outcome) => $what,
        }
    };
}

impl Solved {
    /// Current of the main supply at the end, A.
    pub fn current_a(&self) -> f64 {
        either!(self, o => o.current_a)
    }

    /// Voltage of the main supply at the end, V.
    pub fn voltage_v(&self) -> f64 {
        either!(self, o => o.voltage_v)
    }

    /// Charge of the main supply, C.
    pub fn charge_c(&self) -> Option<f64> {
        either!(self, o => o.supplies.first().map(|s| s.charge_c))
    }

    /// Cells of the grid.
    pub fn cells(&self) -> usize {
        either!(self, o => o.grid.len())
    }

    /// What happened at an electrode.
    pub fn body(&self, name: &str) -> Option<&BodyOutcome> {
        either!(self, o => o.body(name))
    }

    fn number(&self, name: &str) -> Option<usize> {
        self.names.iter().find(|n| n.0 == name).map(|n| n.1)
    }

    /// Current of an electrode, magnitude, A.
    pub fn body_current_a(&self, name: &str) -> Option<f64> {
        Some(self.body(name)?.current_a.abs())
    }

    /// Mean current density of an electrode, magnitude, A/m2.
    pub fn mean(&self, name: &str) -> Option<f64> {
        let body = self.body(name)?;
        Some(body.current_a.abs() / body.area_m2)
    }

    /// Current density magnitude of an electrode at a point, A/m2.
    pub fn at(&self, name: &str, x: &[f64; 3]) -> Option<f64> {
        let body = self.number(name)?;
        let value = either!(self, o => {
            value_at(o, &o.solution.current_density_a_per_m2, body, &cut(x))
        });
        value.map(f64::abs)
    }

    /// Thickness of the deposit on an electrode at a point and a saved time, m.
    pub fn thickness_m(&self, name: &str, x: &[f64; 3], time_s: f64) -> Option<f64> {
        let body = self.number(name)?;
        either!(self, o => {
            let saved = o.history.snapshots.iter().find(|s| (s.time_s - time_s).abs() < 1e-6 * time_s);
            let values = saved.map_or(&o.thickness_m, |s| &s.thickness_m);
            value_at(o, values, body, &cut(x))
        })
    }

    /// Current through the part of an electrode where `inside`, magnitude, A.
    pub fn part_current_a(&self, name: &str, inside: impl Fn(&[f64; 3]) -> bool) -> Option<f64> {
        let body = self.number(name)?;
        let sum: f64 = either!(self, o => {
            let currents = &o.solution.current_density_a_per_m2;
            let own = o.grid.facets.iter().zip(currents).filter(|(f, _)| {
                usize::from(f.body) == body && inside(&whole(&f.point))
            });
            own.map(|(f, i)| f.area_m2 * i).sum()
        });
        Some(sum.abs())
    }

    /// Current through the part of an electrode where a coordinate of its surface is less than
    /// `limit`, magnitude, A; of a facet across the limit the share of its extent counts.
    pub fn current_before_a(
        &self,
        name: &str,
        along: impl Fn(&[f64; 3]) -> f64,
        limit: f64,
    ) -> Option<f64> {
        let body = self.number(name)?;
        let sum: f64 = either!(self, o => {
            let currents = &o.solution.current_density_a_per_m2;
            let own = o.grid.facets.iter().zip(currents);
            own.filter(|(f, _)| usize::from(f.body) == body)
                .map(|(f, i)| {
                    let ends = f.outline.points().iter().map(|p| along(&whole(p)));
                    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| {
                        (l.min(s), h.max(s))
                    });
                    let share = if high > low { (limit - low) / (high - low) } else { 0.0 };
                    share.clamp(0.0, 1.0) * f.area_m2 * i
                })
                .sum()
        });
        Some(sum.abs())
    }

    /// Where the computed current density is farthest from `exact` (A/m2, where known).
    pub fn worst(&self, name: &str, exact: &dyn Fn(&[f64; 3]) -> Option<f64>) -> Option<Local<3>> {
        let body = self.number(name)?;
        either!(self, o => {
            local(o, body, |x| exact(&whole(x))).map(|l| Local {
                at: whole(&l.at),
                max: l.max,
                found: l.found,
                exact: l.exact,
                rms: l.rms,
                facets: l.facets,
            })
        })
    }

    /// Points of an electrode with the current density magnitude there, A/m2.
    pub fn points(&self, name: &str) -> Vec<([f64; 3], f64)> {
        let Some(body) = self.number(name) else {
            return Vec::new();
        };
        either!(self, o => {
            let currents = &o.solution.current_density_a_per_m2;
            let own = o.grid.facets.iter().zip(currents);
            own.filter(|(f, _)| usize::from(f.body) == body)
                .map(|(f, i)| (whole(&f.point), i.abs()))
                .collect()
        })
    }
}
