//! What can be shown on the surfaces: one value a facet, its unit, colours and the values that
//! matter. A new quantity is one more entry here.

use super::data::{Hatch, Map, Mark, Quantity};
use crate::unit::Unit;
use crate::values::{columns, names};
use ionfall_bath::Quality;
use ionfall_deposit::Outcome;
use ionfall_model::{Electrode, Model};

/// Share of the area below the first and above the last colour: sharp corners would otherwise take
/// most of the colours, and leave little for the thin places.
const BEYOND: [f64; 2] = [0.005, 0.05];
/// Thickness from which millimetres are used, m.
const MILLIMETRES_FROM_M: f64 = 2e-3;

/// Time from which hours are used, s.
const HOURS_FROM_S: f64 = 2.0 * 3600.0;

/// What a quantity is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    Thickness,
    CurrentDensity,
    LimitShare,
    Cover,
}

/// A quantity with its value at each facet, in its unit.
#[derive(Debug)]
pub(super) struct Field {
    pub what: What,
    pub quantity: Quantity,
    pub values: Vec<f64>,
}

/// All that is known of this run, the most asked first.
pub(super) fn fields<const D: usize>(
    model: &Model,
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
) -> Vec<Field> {
    let known = columns(outcome);
    let values = |name: &str, factor: f64| -> Option<Vec<f64>> {
        let column = known.iter().find(|c| c.name == name)?;
        let conducting = column.values.iter().zip(&outcome.conducts);
        let value = |(v, on): (&f64, &bool)| if *on { factor * v } else { f64::NAN };
        Some(conducting.map(value).collect())
    };
    let new = |what, label, unit, map, values: Option<Vec<f64>>, marks| {
        let values = values?;
        let (low, high) = colours(electrodes, outcome, &values)?;
        let quantity = Quantity {
            label,
            unit,
            map,
            low,
            high,
            marks,
        };
        Some(Field {
            what,
            quantity,
            values,
        })
    };
    let (unit, factor) = thickness_unit(outcome);
    let (time_unit, per_s) = time_unit(outcome);
    let mut known = vec![
        new(
            What::Thickness,
            "thickness",
            unit,
            Map::Viridis,
            values(names::THICKNESS, factor),
            wanted(model, factor).into_iter().collect(),
        ),
        new(
            What::CurrentDensity,
            "current density",
            Unit::APerDm2,
            Map::Viridis,
            values(names::CURRENT_DENSITY, -0.01),
            Vec::new(),
        ),
        new(
            What::LimitShare,
            "share of the limiting current",
            Unit::Percent,
            Map::Cividis,
            values(names::LIMIT_SHARE, 100.0),
            metal_limits(),
        ),
        new(
            What::Cover,
            "time of first cover",
            time_unit,
            Map::Cividis,
            values(names::COVERED, per_s),
            Vec::new(),
        ),
    ];
    // The share means something by itself: from nothing to where it matters.
    for field in known
        .iter_mut()
        .flatten()
        .filter(|f| f.what == What::LimitShare)
    {
        let largest = field.values.iter().copied().filter(|v| v.is_finite());
        field.quantity.low = 0.0;
        field.quantity.high = largest.fold(110.0 * Quality::Rough.from_share(), f64::max);
    }
    known.into_iter().flatten().collect()
}

/// Unit of the thickness, and how many there are in a metre.
fn thickness_unit<const D: usize>(outcome: &Outcome<D>) -> (Unit, f64) {
    let thickest = outcome.thickness_m.iter().copied().fold(0.0, f64::max);
    if thickest < MILLIMETRES_FROM_M {
        (Unit::Um, 1e6)
    } else {
        (Unit::Mm, 1e3)
    }
}

/// Unit of times, and how many there are in a second.
fn time_unit<const D: usize>(outcome: &Outcome<D>) -> (Unit, f64) {
    let last = outcome.covered_s.iter().copied().fold(0.0, f64::max);
    if last < HOURS_FROM_S {
        (Unit::Min, 1.0 / 60.0)
    } else {
        (Unit::H, 1.0 / 3600.0)
    }
}

/// The thickness that is wanted, in its unit.
fn wanted(model: &Model, factor: f64) -> Option<Mark> {
    model.wanted.as_ref().map(|w| Mark {
        value: factor * w.thickness_m,
        label: "wanted".into(),
        hatch: Hatch::Below,
    })
}

/// Shares of the limiting current from which the metal is not sound.
fn metal_limits() -> Vec<Mark> {
    let begins = |quality: Quality, hatch| Mark {
        value: 100.0 * quality.from_share(),
        label: quality.metal().into(),
        hatch,
    };
    vec![
        begins(Quality::Rough, Hatch::No),
        begins(Quality::Trees, Hatch::Above),
    ]
}

/// Values of the first and the last colour: all but little of the cathodes' area lies between.
fn colours<const D: usize>(
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
    values: &[f64],
) -> Option<(f64, f64)> {
    let cathodes: Vec<usize> = electrodes
        .iter()
        .filter(|e| e.role.is_cathode())
        .map(|e| e.body)
        .collect();
    let mut pairs: Vec<(f64, f64)> = outcome
        .grid
        .facets
        .iter()
        .zip(values)
        .filter(|(f, v)| v.is_finite() && cathodes.contains(&usize::from(f.body)))
        .map(|(f, &v)| (v, f.area_m2))
        .collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = pairs.iter().map(|p| p.1).sum();
    let at = |share: f64| {
        let mut below = 0.0;
        let found = pairs.iter().find(|p| {
            below += p.1;
            below >= share * total
        });
        found.or(pairs.last()).map(|p| p.0)
    };
    let (low, high) = (at(BEYOND[0])?, at(1.0 - BEYOND[1])?);
    // An even value still needs a span to be coloured over.
    let least = 1e-3 * high.abs().max(1e-9);
    Some(if high - low < least {
        (low - least, high + least)
    } else {
        (low, high)
    })
}
