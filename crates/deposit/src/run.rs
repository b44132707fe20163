//! A run from end to end.

use crate::conclude::conclude;
use crate::error::DepositError;
use crate::march::March;
use crate::nearby::Nearby;
use crate::observer::{Observer, Stage};
use crate::operate::{Asked, Operator, Solved};
use crate::outcome::Outcome;
use crate::positions::Positions;
use crate::sensitivity::sensitivities;
use crate::settings::Settings;
use crate::state::State;
use crate::surface::Surface;
use crate::turn::Rings;
use ionfall_mesh::grid::{Grid, GridNote, NoteKind, build};
use ionfall_model::{Model, Parts};
use ionfall_network::{Circuit, local_limits};
use ionfall_numerics::clock::Stopwatch;
use std::sync::Arc;

/// Where a run begins.
#[derive(Clone, Debug, Default)]
pub enum Begin {
    /// At the start of the plan.
    #[default]
    Cold,
    /// There too, but the solver begins from the node potentials of a similar run on the same
    /// grid, V.
    Warm(Vec<f64>),
    /// There too, but from the potentials of a similar run on another grid. Has no effect where
    /// coats lie on the work, which change while metal grows.
    Nearby(Arc<Nearby>),
    /// Where an earlier run of the same job was stopped.
    Resumed(Box<State>),
}

/// Builds the grid of a model and runs on it.
///
/// # Errors
/// [`DepositError`].
pub fn run<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    observer: &mut dyn Observer,
) -> Result<Outcome<D>, DepositError> {
    run_from(model, settings, Begin::Cold, observer)
}

/// As [`run`], from anywhere.
///
/// # Errors
/// [`DepositError`].
pub fn run_from<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    begin: Begin,
    observer: &mut dyn Observer,
) -> Result<Outcome<D>, DepositError> {
    observer.begins(Stage::Grid, "building the grid");
    let clock = Stopwatch::start();
    let grid = build(&model.geometry.domain, settings.memory_bytes)?;
    let grid_s = clock.seconds();
    observer.begins(Stage::Field, &format!("solving {} cells", grid.len()));
    let mut outcome = run_on_grid(model, grid, settings, begin, observer)?;
    outcome.grid_s = grid_s;
    Ok(outcome)
}

/// Runs on a grid that exists.
///
/// # Errors
/// [`DepositError`].
pub fn run_on_grid<const D: usize>(
    model: &Model<Parts<D>>,
    grid: Grid<D>,
    settings: &Settings,
    begin: Begin,
    observer: &mut dyn Observer,
) -> Result<Outcome<D>, DepositError> {
    let parts = &model.geometry;
    let local = local_limits(&grid, parts, model.bath.local_film.as_ref());
    let shares = local.as_ref().map_or(&[][..], |local| &local.shares);
    let mut outcome = run_with_shares(model, grid, settings, begin, observer, shares)?;
    outcome.local = local;
    Ok(outcome)
}

/// The same where facets have a share of their limiting currents; without shares all of it.
pub(crate) fn run_with_shares<const D: usize>(
    model: &Model<Parts<D>>,
    mut grid: Grid<D>,
    settings: &Settings,
    begin: Begin,
    observer: &mut dyn Observer,
    shares: &[f64],
) -> Result<Outcome<D>, DepositError> {
    let clock = Stopwatch::start();
    let parts = &model.geometry;
    let kappa = model.bath.conductivity.value;
    let mut circuit = Circuit::with_shares(&grid, parts, &model.supplies, kappa, shares)?;
    let rings = Rings::new(&grid, parts, |f| {
        circuit.live.binary_search(&(f as u32)).is_ok()
    });
    let positions = Positions::new(model, &grid, settings)?;
    let surface = Surface::new(&grid, &circuit, model, shares);
    let nodes = circuit.solver.nodes();
    let mut state = {
        let limits: Vec<bool> = surface
            .limit_m_per_s
            .iter()
            .map(|l| l.is_finite())
            .collect();
        State::new(
            &limits,
            parts.contacts.len(),
            parts.electrodes.len(),
            model.supplies.len(),
        )
    };
    match begin {
        Begin::Cold => {}
        Begin::Warm(potential_v) if potential_v.len() == nodes => state.potential_v = potential_v,
        Begin::Nearby(nearby) => {
            if circuit.coats.is_empty() {
                let guess = nearby.potentials(&grid, nodes - grid.len());
                state.potential_v = guess.unwrap_or_default();
            }
        }
        Begin::Resumed(earlier) if earlier.fits(&state, nodes) => {
            circuit.solver.make_plain(&earlier.plain)?;
            state = *earlier;
        }
        Begin::Warm(_) | Begin::Resumed(_) => return Err(DepositError::ForeignState),
    }
    let mut march = March {
        operator: Operator {
            model,
            circuit,
            settings,
            observer,
            rings,
            positions,
            last: None,
        },
        surface,
    };
    march.run(&mut state)?;
    // The field at the end: of the last step that is no rest.
    let asked = model
        .last_current()
        .and_then(|step| Asked::in_step(model, step, step.at_most_s))
        .unwrap_or_else(|| Asked::standing(model));
    march.operator.coarsen_anew();
    let thickness_m = state.thickness_m.clone();
    let Solved { point, rates, .. } = march.operator.evaluate(&mut state, &thickness_m, &asked)?;
    grid.notes
        .extend(plain_note(&grid, march.operator.circuit.solver.plain()));
    if model.plan.is_empty() {
        march.at_rest(&mut state, &rates);
    }
    let operator = &mut march.operator;
    let sensitivities =
        match asked.is_pulsed() || settings.causes.is_empty() || !parts.travels.is_empty() {
            true => None,
            false => sensitivities(operator, &asked.forward(), &point, &settings.causes)?,
        };
    let mut outcome = conclude(march, grid, state, point, rates);
    outcome.sensitivities = sensitivities.unwrap_or_default();
    outcome.field_s = clock.seconds();
    Ok(outcome)
}

/// The facets of plain nodes.
fn plain_note<const D: usize>(grid: &Grid<D>, plain: &[u32]) -> Option<GridNote<D>> {
    let facets = grid.facet_node.iter().zip(&grid.facets);
    let mut facets = facets.filter(|(node, _)| plain.binary_search(node).is_ok());
    let (_, first) = facets.next()?;
    let (count, area_m2) = facets.fold((1, first.area_m2), |(n, sum), (_, f)| {
        (n + 1, sum + f.area_m2)
    });
    Some(GridNote {
        kind: NoteKind::Plain { area_m2 },
        count,
        place: first.point,
    })
}
