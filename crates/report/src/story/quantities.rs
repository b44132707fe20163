//! What can be shown on the surfaces: one value a facet, its unit, colours and the values that
//! matter. A new quantity is one more entry here.

use super::data::{Hatch, Map, Mark, Quantity};
use super::steps::{Steps, steps};
use crate::unit::Unit;
use crate::values::{columns, names};
use ionfall_bath::Quality;
use ionfall_deposit::Outcome;
use ionfall_model::{Electrode, Model, Parts};

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
    Limit,
    LimitStill,
}

/// A quantity with its value at each facet, in its unit.
#[derive(Debug)]
pub(super) struct Field {
    pub what: What,
    pub quantity: Quantity,
    pub values: Vec<f64>,
}

/// All that is known of this run, the most asked first.
pub(super) fn fields<const D: usize>(model: &Model<Parts<D>>, outcome: &Outcome<D>) -> Vec<Field> {
    let electrodes = &model.geometry.electrodes;
    let known = columns(outcome);
    let values = |name: &str, factor: f64| -> Option<Vec<f64>> {
        let column = known.iter().find(|c| c.name == name)?;
        let conducting = column.values.iter().zip(&outcome.conducts);
        let value = |(v, on): (&f64, &bool)| if *on { factor * v } else { f64::NAN };
        Some(conducting.map(value).collect())
    };
    let new = |what, label, unit, map, values: Option<Vec<f64>>, marks: Vec<Mark>| {
        let values = values?;
        let pairs = with_areas(electrodes, outcome, &values);
        let over = (what == What::Thickness)
            .then(|| marks.first().map(|m| m.value))
            .flatten();
        let kept: Vec<f64> = marks.iter().map(|m| m.value).collect();
        let ends = match what {
            What::Thickness => thickness_ends(outcome, electrodes, unit),
            // From nothing on it means something by itself.
            What::LimitShare => ends(&pairs).map(|[_, high]| [0.0, high]),
            _ => ends(&pairs),
        };
        let Steps { edges, shares } = steps(pairs, apart(ends?), over, &kept);
        let quantity = Quantity {
            label,
            unit,
            map,
            edges,
            shares,
            over,
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
    let known = [
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
        new(
            What::Limit,
            "limiting current",
            Unit::APerDm2,
            Map::Cividis,
            values(names::LIMIT, 0.01),
            Vec::new(),
        ),
        new(
            What::LimitStill,
            "limiting current if recesses stand still",
            Unit::APerDm2,
            Map::Cividis,
            values(names::LIMIT_STILL, 0.01),
            Vec::new(),
        ),
    ];
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
fn wanted<G>(model: &Model<G>, factor: f64) -> Option<Mark> {
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

/// Values of the cathodes' facets with their areas.
fn with_areas<const D: usize>(
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
    values: &[f64],
) -> Vec<(f64, f64)> {
    let is_cathode = |body: u16| {
        let own = electrodes.iter().find(|e| e.body == usize::from(body));
        own.is_some_and(|e| e.role.is_cathode())
    };
    let facets = outcome.grid.facets.iter().zip(values);
    facets
        .filter(|(f, v)| v.is_finite() && is_cathode(f.body))
        .map(|(f, &v)| (v, f.area_m2))
        .collect()
}

/// The least and the largest value.
fn ends(pairs: &[(f64, f64)]) -> Option<[f64; 2]> {
    let all = pairs.iter().map(|p| [p.0, p.0]);
    all.reduce(|[a, b], [c, d]| [a.min(c), b.max(d)])
}

/// The least and the largest thickness of the cathodes, as they are told elsewhere.
fn thickness_ends<const D: usize>(
    outcome: &Outcome<D>,
    electrodes: &[Electrode],
    unit: Unit,
) -> Option<[f64; 2]> {
    let cathodes = electrodes.iter().filter(|e| e.role.is_cathode());
    let spreads = cathodes.filter_map(|e| outcome.body(&e.name)?.thickness_m);
    let ends = spreads.map(|t| [t.min, t.max]);
    let ends = ends.reduce(|[a, b], [c, d]| [a.min(c), b.max(d)])?;
    let factor = if unit == Unit::Um { 1e6 } else { 1e3 };
    Some(ends.map(|m| factor * m))
}

/// An even value still needs a span.
fn apart([low, high]: [f64; 2]) -> [f64; 2] {
    let least = 1e-3 * high.abs().max(1e-9);
    if high - low < least {
        [low - least, high + least]
    } else {
        [low, high]
    }
}
