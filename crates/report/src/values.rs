//! What is known at each facet.

use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_job::Electrode;

/// Names of values, with their units, as in all files.
pub(crate) mod names {
    pub const AREA: &str = "area_m2";
    pub const BODY: &str = "body";
    pub const CURRENT_DENSITY: &str = "current_density_A_per_m2";
    pub const LIMIT_SHARE: &str = "limit_share";
    pub const OVERPOTENTIAL: &str = "overpotential_V";
    pub const POTENTIAL: &str = "solution_potential_V";
    pub const THICKNESS: &str = "thickness_m";
}

/// One value for each facet.
#[derive(Debug)]
pub(crate) struct Column<'a> {
    /// Name with unit.
    pub name: &'static str,
    /// Values in the order of the facets.
    pub values: std::borrow::Cow<'a, [f64]>,
}

/// Everything that is known at the facets; thickness only with a plating time, the share of the
/// limiting current only if an electrode has a limit.
pub(crate) fn columns<'a, const D: usize>(
    electrodes: &[Electrode],
    outcome: &'a Outcome<D>,
) -> Vec<Column<'a>> {
    let column = |name, values: &'a [f64]| Column {
        name,
        values: values.into(),
    };
    let solution = &outcome.solution;
    let mut columns = vec![
        column(names::CURRENT_DENSITY, &solution.current_density_a_per_m2),
        column(names::POTENTIAL, &solution.surface_potential_v),
        column(names::OVERPOTENTIAL, &outcome.overpotential_v),
    ];
    if !outcome.thickness_m.is_empty() {
        columns.push(column(names::THICKNESS, &outcome.thickness_m));
    }
    if let Some(shares) = limit_shares(electrodes, outcome) {
        columns.push(Column {
            name: names::LIMIT_SHARE,
            values: shares.into(),
        });
    }
    columns
}

/// Cathodic current density over its limit; not a number on electrodes without one.
fn limit_shares<const D: usize>(
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
) -> Option<Vec<f64>> {
    let limit = |electrode: &Electrode| match &electrode.kinetics {
        Kinetics::Law(law) if electrode.role.is_cathode() => law.limit(),
        _ => None,
    };
    if !electrodes.iter().any(|e| limit(e).is_some()) {
        return None;
    }
    let of_body = |body: u16| {
        let electrode = electrodes.iter().find(|e| e.body == usize::from(body));
        electrode
            .and_then(limit)
            .map_or(f64::NAN, |l| l.current_a_per_m2)
    };
    let facets = outcome.grid.facets.iter();
    let currents = &outcome.solution.current_density_a_per_m2;
    Some(
        facets
            .zip(currents)
            .map(|(f, i)| -i / of_body(f.body))
            .collect(),
    )
}
