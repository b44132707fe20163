//! If the liquid in the recesses stands still.
//!
//! A run takes every place for stirred to its foot. Where a ball of the radius of stirring does not enter, the
//! liquid may stand still instead, and diffusion from the mouth is all that feeds the place: its
//! [shelter](fn@ionfall_network::shelter) says how much of the limiting current is left. The truth lies between, so the
//! run is gone through once more with those limits, and both ends are told. The radius is the job's, else the usual one
//! of the agitation, which is known to a factor of two: then corners between stirred faces, which no ball enters, count
//! as stirred ([`stir_corners`]), so that nothing is told of a work without recesses.
//!
//! The film is the mean one of the limiting current, `delta = z F D c / i_L`, else that of the bath. Where a limit is not
//! known nothing is computed; nothing is solved again where no sheltered place comes near its own limit.

use crate::error::DepositError;
use crate::observer::{Observer, Stage};
use crate::outcome::{BodyOutcome, Outcome};
use crate::recess::{Recesses, Still, StillBody};
use crate::run::{Begin, run_with_shares};
use crate::settings::Settings;
use ionfall_bath::constants::FARADAY_C_PER_MOL;
use ionfall_bath::{Electrolyte, Figure, Grade};
use ionfall_field::FieldError;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Model, Parts};
use ionfall_network::{shelter, stir_corners};

/// Share of its own limit below which a sheltered place gets what it would get in the open: the drop of 2 mV that
/// belongs to it moves no current.
const NEAR: f64 = 0.05;
/// Imbalance left: both ends are told in three digits.
const TOLERANCE: f64 = 1e-7;

/// What recesses that stand still make of a finished run; nothing where there are none, or no limit is known.
///
/// # Errors
/// [`DepositError`]; a current that cannot flow then is part of the answer.
pub fn recesses<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    observer: &mut dyn Observer,
    outcome: &Outcome<D>,
) -> Result<Option<Recesses>, DepositError> {
    let (grid, parts) = (&outcome.grid, &model.geometry);
    let limits = limits_in_open(grid, parts, outcome);
    let largest = limits.iter().copied().fold(f64::NAN, f64::max);
    let Some(film_m) = film_m(&model.bath, largest) else {
        return Ok(None);
    };
    let Some(radius) = radius(&model.bath) else {
        return Ok(None);
    };
    let radius_m = radius.value;
    observer.begins(Stage::Field, "looking for sheltered places");
    let Some(mut shelter) = shelter(grid, parts, film_m, radius_m)? else {
        return Ok(None);
    };
    for (f, share) in shelter.iter_mut().enumerate() {
        if limits[f].is_nan() || in_zone(grid, parts, f) {
            *share = 1.0;
        }
    }
    if radius.grade != Grade::Given {
        stir_corners(grid, parts, &mut shelter, radius_m);
    }
    let least_share = shelter.iter().copied().fold(1.0, f64::min);
    if least_share >= 1.0 {
        return Ok(None);
    }
    let near = |f: usize| shelter[f] < 1.0 && outcome.limit_share[f] > NEAR * shelter[f];
    let still = if (0..shelter.len()).any(near) {
        observer.begins(Stage::Field, "solving with recesses that stand still");
        Some(still(model, settings, outcome, &shelter)?)
    } else {
        None
    };
    Ok(Some(Recesses {
        radius_m,
        radius_band_m: radius.band,
        film_m,
        limit_a_per_m2: product(&outcome.limit_a_per_m2, &shelter),
        shelter,
        least_share,
        still,
    }))
}

/// The radius of stirring: as given, else what is usual for an agitation that the job names.
fn radius(bath: &Electrolyte) -> Option<Figure> {
    let said = |r: &Figure| r.grade == Grade::Given || bath.film.is_some();
    bath.stirring_radius.filter(said)
}

fn still<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    outcome: &Outcome<D>,
    shelter: &[f64],
) -> Result<Still, DepositError> {
    let begin = Begin::Warm(outcome.solution.potential_v.clone());
    let grid = outcome.grid.clone();
    let shares = match &outcome.local {
        Some(local) => product(&local.shares, shelter),
        None => shelter.to_vec(),
    };
    let settings = &Settings {
        field: ionfall_field::Settings {
            tolerance: settings.field.tolerance.max(TOLERANCE),
            ..settings.field
        },
        causes: Vec::new(),
        ..settings.clone()
    };
    match run_with_shares(model, grid, settings, begin, &mut (), &shares) {
        Ok(found) => Ok(Still {
            bodies: (found.bodies.iter())
                .filter(|b| b.role.is_cathode())
                .map(still_body)
                .collect(),
            voltage_v: Some(found.voltage_v),
            wish_s: found.wish.time_s(),
            failure: None,
        }),
        Err(
            error @ (DepositError::Field(FieldError::DemandAboveLimit { .. })
            | DepositError::AbovePeakLimit { .. }),
        ) => Ok(Still {
            failure: Some(error.to_string()),
            ..Still::default()
        }),
        Err(error) => Err(error),
    }
}

fn product(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a * b).collect()
}

fn still_body(body: &BodyOutcome) -> StillBody {
    StillBody {
        name: body.name.clone(),
        thinnest: body.thinnest,
        thickest: body.thickest,
        limit_share: body.limit_share,
    }
}

/// The limiting current density of each facet of a cathode in the open; not a number where there is none.
fn limits_in_open<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    outcome: &Outcome<D>,
) -> Vec<f64> {
    let limit = |f: usize| {
        let body = usize::from(grid.facets[f].body);
        let own = parts.electrodes.iter().find(|e| e.body == body)?;
        let counts = own.role.is_cathode() && outcome.limit_share[f].is_finite();
        own.kinetics.limit_a_per_m2().filter(|_| counts)
    };
    let facets = 0..grid.facets.len();
    facets.map(|f| limit(f).unwrap_or(f64::NAN)).collect()
}

/// The film that belongs to a limiting current, m.
fn film_m(bath: &Electrolyte, limit_a_per_m2: f64) -> Option<f64> {
    let own = bath.concentration.zip(bath.diffusion).map(|(c, d)| {
        let charge = bath.metal.electrons_per_atom.value * FARADAY_C_PER_MOL;
        charge * c.value * d.value / limit_a_per_m2
    });
    let known = own.or(bath.film.map(|f| f.value));
    known.filter(|m| m.is_finite() && *m > 0.0 && limit_a_per_m2 > 0.0)
}

/// A zone's own film wins.
fn in_zone<const D: usize>(grid: &Grid<D>, parts: &Parts<D>, facet: usize) -> bool {
    let at = &grid.facets[facet].point;
    parts.zones.iter().any(|z| z.solid.contains(at))
}
