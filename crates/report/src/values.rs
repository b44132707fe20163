//! What is known at each facet.

use ionfall_deposit::{Outcome, Snapshot};

/// Names of values, with their units, as in all files.
pub(crate) mod names {
    pub const AREA: &str = "area_m2";
    pub const BODY: &str = "body";
    pub const COVERED: &str = "covered_after_s";
    pub const CURRENT_DENSITY: &str = "current_density_A_per_m2";
    pub const GROWTH: &str = "growth_m_per_s";
    pub const LIMIT: &str = "limiting_current_A_per_m2";
    pub const LIMIT_STILL: &str = "limiting_current_if_still_A_per_m2";
    pub const SHELTER: &str = "shelter";
    pub const LIMIT_SHARE: &str = "limit_share";
    pub const METAL_POTENTIAL: &str = "metal_potential_V";
    pub const OVERPOTENTIAL: &str = "overpotential_V";
    pub const POTENTIAL: &str = "solution_potential_V";
    pub const TIME: &str = "time_s";
    pub const THICKNESS: &str = "thickness_m";
}

/// One value for each facet.
#[derive(Debug)]
pub(crate) struct Column<'a> {
    /// Name with unit.
    pub name: &'static str,
    /// Values in the order of the facets.
    pub values: &'a [f64],
}

/// Everything that is known at the facets: thickness and the time of first cover only with a plan,
/// the largest share of the limiting current only if an electrode has a limit, that limit only if films vary, what is left of the limiting current if
/// recesses stand still only if there are any, the potential of
/// the metal only where a coat lets it differ from place to place.
pub(crate) fn columns<const D: usize>(outcome: &Outcome<D>) -> Vec<Column<'_>> {
    fn column<'a>(name: &'static str, values: &'a [f64]) -> Column<'a> {
        Column { name, values }
    }
    let solution = &outcome.solution;
    let mut columns = vec![
        column(names::CURRENT_DENSITY, &solution.current_density_a_per_m2),
        column(names::POTENTIAL, &solution.surface_potential_v),
        column(names::OVERPOTENTIAL, &outcome.overpotential_v),
    ];
    if !outcome.thickness_m.is_empty() {
        columns.push(column(names::THICKNESS, &outcome.thickness_m));
    }
    if outcome.limit_share.iter().any(|s| s.is_finite()) {
        columns.push(column(names::LIMIT_SHARE, &outcome.limit_share));
    }
    if outcome.local.is_some() {
        columns.push(column(names::LIMIT, &outcome.limit_a_per_m2));
    }
    if let Some(recesses) = &outcome.recesses {
        columns.push(column(names::SHELTER, &recesses.shelter));
        columns.push(column(names::LIMIT_STILL, &recesses.limit_a_per_m2));
    }
    if !outcome.covered_s.is_empty() {
        columns.push(column(names::COVERED, &outcome.covered_s));
    }
    if outcome.bodies.iter().any(|b| b.coat_drop_v.is_some()) {
        columns.push(column(names::METAL_POTENTIAL, &outcome.metal_potential_v));
    }
    columns
}

/// What is known of a moment on the way.
pub(crate) fn snapshot_columns(snapshot: &Snapshot) -> [Column<'_>; 2] {
    let column = |name, values| Column { name, values };
    [
        column(names::THICKNESS, &snapshot.thickness_m),
        column(names::GROWTH, &snapshot.growth_m_per_s),
    ]
}
