//! Computed against reference: one row a quantity.
//!
//! With the errors `e` on three grids whose cells shrink by two, the order of convergence is
//! `log2(e_coarsest / e_finest) / 2`. It means little where the coarsest error is already that of
//! rounding or of the digits printed.

use crate::case::{Case, Exact, Quantity, Reading, Tolerance, Variant};
use crate::error::TextbookError;
use crate::solved::FACTORS;
use crate::solved::Solved;
use crate::table::{Kind, kind};
use ionfall_deposit::uncertainty::{Figure, plus_minus};
use serde::Serialize;

/// Relative error that is as good as none: tolerance of the solver, digits of the table.
const NOTHING: f64 = 1e-8;

/// The rows of a case.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// Name of the case.
    pub name: &'static str,
    /// What it shows.
    pub shows: &'static str,
    /// The formula.
    pub formula: &'static str,
    /// The source.
    pub source: &'static str,
    /// Entries of the table it stands for.
    pub ids: Vec<&'static str>,
    /// The quantities.
    pub rows: Vec<Row>,
    /// Curves for the picture.
    pub profiles: Vec<Curve>,
    /// Cells of the finest grid, of the largest variant.
    pub cells: usize,
    /// Time it took, s.
    pub seconds: f64,
}

/// A quantity compared.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// Entry of the table.
    pub id: &'static str,
    /// Where the reference value comes from.
    pub kind: Kind,
    /// Variant of the case, empty where there is but one.
    pub variant: &'static str,
    /// What it is.
    pub quantity: String,
    /// Its unit.
    pub unit: &'static str,
    /// Reference value; of curves that at the place that is farthest off.
    pub reference: f64,
    /// Computed value.
    pub computed: f64,
    /// Computed less reference, as a share of the reference value unless `plain`.
    pub difference: f64,
    /// Difference allowed, in the same way.
    pub allowed: f64,
    /// Differences are in the unit of the quantity, not shares.
    pub plain: bool,
    /// Observed order of convergence; nothing where there is no error to speak of.
    pub order: Option<f64>,
    /// Order that is asked for.
    pub least_order: Option<f64>,
    /// Plus-minus of the computed value, in the way of the difference.
    pub plus_minus: f64,
    /// Is the reference value within the plus-minus?
    pub inside: bool,
    /// Is the difference allowed?
    pub within: bool,
}

/// A profile of one variant.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Curve {
    /// The variant.
    pub variant: &'static str,
    /// Computed: place and value, in the order of the place.
    pub computed: Vec<[f64; 2]>,
    /// The exact curve at the same places, where it is known.
    pub exact: Vec<[f64; 2]>,
    /// Published values.
    pub reference: Vec<[f64; 2]>,
}

impl Report {
    pub(crate) fn new(case: &Case) -> Self {
        let [shows, formula, source] = case.told();
        Self {
            name: case.name,
            shows,
            formula,
            source,
            ids: case.ids(),
            rows: Vec::new(),
            profiles: Vec::new(),
            cells: 0,
            seconds: 0.0,
        }
    }

    pub(crate) fn add(&mut self, (rows, curve, cells): (Vec<Row>, Option<Curve>, usize)) {
        self.rows.extend(rows);
        self.profiles.extend(curve);
        self.cells = self.cells.max(cells);
    }

    /// Is every quantity within its tolerance?
    pub fn passed(&self) -> bool {
        self.rows.iter().all(|r| r.within)
    }
}

/// Order of convergence from errors on grids whose cells shrink by two.
pub fn order(errors: &[f64]) -> f64 {
    (errors[0] / errors[errors.len() - 1]).abs().log2() / (errors.len() - 1) as f64
}

/// Compares a variant, solved on grids from coarse to fine.
pub(crate) fn compare(
    case: &Case,
    variant: &Variant,
    grids: &[Solved],
) -> Result<(Vec<Row>, Option<Curve>, usize), TextbookError> {
    let missing = |q: &Quantity| TextbookError::Reading {
        case: case.name.into(),
        what: q.name.clone(),
    };
    let rows = variant
        .quantities
        .iter()
        .map(|q| row(variant, q, grids).ok_or_else(|| missing(q)))
        .collect::<Result<_, _>>()?;
    let fine = &grids[grids.len() - 1];
    Ok((rows, profile(case, variant, fine), fine.cells()))
}

/// What is read on the grids (coarse to fine), the exact values there, and the values on the coarser
/// grids where the finest was read: cell size over that of the finest, and value, finest first.
struct Read {
    found: Vec<f64>,
    exact: Vec<f64>,
    coarser: Vec<(f64, f64)>,
}

/// The values on the coarser grids, as far as they are known one after the other.
fn on_coarser(grids: &[Solved], read: impl Fn(&Solved) -> Option<f64>) -> Vec<(f64, f64)> {
    let coarser = FACTORS.into_iter().zip(grids).rev().skip(1);
    coarser
        .map_while(|(factor, solved)| Some((factor, read(solved)?)))
        .collect()
}

fn read(quantity: &Quantity, grids: &[Solved]) -> Option<Read> {
    let plain = |read: &dyn Fn(&Solved) -> Option<f64>| {
        let found: Vec<f64> = grids.iter().map(read).collect::<Option<_>>()?;
        Some(Read {
            coarser: on_coarser(grids, read),
            exact: vec![quantity.reference; found.len()],
            found,
        })
    };
    match &quantity.reading {
        Reading::At(body, x) => plain(&|s| s.at(body, x)),
        Reading::OverMean(body, x) => plain(&|s| Some(s.at(body, x)? / s.mean(body)?)),
        Reading::Other(read) => plain(&|s| read(s)),
        Reading::Curve(body, exact) => worst(grids, body, exact, |_| Some(1.0)),
        Reading::CurveOverMean(body, exact) => worst(grids, body, exact, |s| s.mean(body)),
    }
}

/// The places that are farthest off a curve, on each grid; values are divided by `unit`.
fn worst(
    grids: &[Solved],
    body: &str,
    exact: &Exact,
    unit: impl Fn(&Solved) -> Option<f64>,
) -> Option<Read> {
    let mut places = Vec::new();
    for solved in grids {
        let unit = unit(solved)?;
        let local = solved.worst(body, &|x| exact(x).map(|i| i * unit))?;
        places.push((local.found / unit, local.exact / unit, local.at));
    }
    let at = &places.last()?.2;
    Some(Read {
        coarser: on_coarser(grids, |s| Some(s.at(body, at)? / unit(s)?)),
        exact: places.iter().map(|p| p.1).collect(),
        found: places.iter().map(|p| p.0).collect(),
    })
}

fn row(variant: &Variant, quantity: &Quantity, grids: &[Solved]) -> Option<Row> {
    let read = read(quantity, grids)?;
    let last = grids.len() - 1;
    let (computed, reference) = (read.found[last], read.exact[last]);
    let (allowed, plain) = match quantity.tolerance {
        Tolerance::Share(share) => (share, false),
        Tolerance::Plain(value) => (value, true),
    };
    let unit = if plain { 1.0 } else { reference };
    let errors: Vec<f64> = (read.found.iter().zip(&read.exact))
        .map(|(found, exact)| (found - exact) / if plain { 1.0 } else { *exact })
        .collect();
    let spread = plus_minus(Figure::Whole, computed, &read.coarser)?;
    let difference = errors[last];
    let much = errors[0].abs() > NOTHING && difference.abs() > 0.1 * NOTHING;
    Some(Row {
        id: variant.id,
        kind: kind(variant.id),
        variant: variant.label,
        quantity: quantity.name.clone(),
        unit: quantity.unit,
        reference,
        computed,
        difference,
        allowed,
        plain,
        order: much.then(|| order(&errors)),
        least_order: quantity.least_order,
        plus_minus: spread / unit.abs(),
        inside: (computed - reference).abs() <= spread,
        within: difference.abs() <= allowed,
    })
}

fn profile(case: &Case, variant: &Variant, fine: &Solved) -> Option<Curve> {
    let profile = case.profile.as_ref()?;
    let unit = if profile.over_mean {
        fine.mean(profile.body)?
    } else {
        1.0
    };
    let mut curve = Curve {
        variant: variant.label,
        ..Curve::default()
    };
    let mut points = fine.points(profile.body);
    let along = profile.along;
    points.retain(|p| along(&p.0).is_some());
    points.sort_by(|a, b| {
        along(&a.0)
            .partial_cmp(&along(&b.0))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let put = |x: &[f64; 3], value: f64| along(x).map(|s| [s, value]);
    curve.computed = points
        .iter()
        .filter_map(|(x, i)| put(x, i / unit))
        .collect();
    for quantity in &variant.quantities {
        match &quantity.reading {
            Reading::Curve(body, exact) | Reading::CurveOverMean(body, exact)
                if *body == profile.body =>
            {
                let known = points.iter().filter_map(|(x, _)| put(x, exact(x)?));
                curve.exact = known.collect();
            }
            Reading::At(body, x) | Reading::OverMean(body, x) if *body == profile.body => {
                curve.reference.extend(put(x, quantity.reference));
            }
            _ => {}
        }
    }
    Some(curve)
}
