//! What a run answers: arrays by facet for each electrode, the same for two and three coordinates.
//!
//! A facet is the piece of an electrode's surface in one cell. Signs are the solver's: current is
//! positive where it leaves the metal (anodes), negative where metal grows; thickness is positive
//! where metal grows.

use ionfall_deposit::{BodyOutcome, Place};
use ionfall_model::{Model, Role};
use ndarray::{Array1, Array2, ArrayView1, ArrayView2};
use thiserror::Error;

/// Why there is no answer to a question.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum AnswerError {
    /// A name that nothing has.
    #[error("no electrode is named `{name}`; there are: {known}")]
    Unknown {
        /// The name.
        name: String,
        /// All there are.
        known: String,
    },
    /// Nothing was said of time.
    #[error("without a plan nothing grows: give the tank a time (`time_s`, or `[plan]` in a job)")]
    NoPlan,
    /// An electrode without surface in the bath.
    #[error("nothing of `{0}` touches the bath, so it has no thinnest or thickest place")]
    Dry(String),
}

/// All there is to know of a run, by its number of coordinates: grid, field, ledger, history.
#[derive(Debug)]
pub enum Answer {
    /// Planar or axisymmetric.
    Flat(Box<ionfall_deposit::Outcome<2>>),
    /// In space.
    Solid(Box<ionfall_deposit::Outcome<3>>),
}

/// A finished run.
///
/// ```
/// use ionfall::{Tank, run, solids::cuboid};
///
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let model = Tank::planar(cuboid([0.0, 0.0], [0.1, 0.05])?, 0.1)
///     .conductivity_s_per_m(20.0)
///     .anode("anode", cuboid([-0.01, 0.0], [0.0, 0.05])?)
///     .work("work", cuboid([0.1, 0.0], [0.11, 0.05])?)
///     .voltage_v(1.0)
///     .model()?;
/// let outcome = run(&model)?;
/// let work = outcome.surface("work")?;
/// assert_eq!(work.points_m().ncols(), 2);
/// let current_a = work.current_density_a_per_m2().dot(&work.area_m2());
/// assert!((current_a + outcome.current_a()).abs() < 1e-6 * outcome.current_a());
/// // Nothing was said of time, and so of thickness.
/// assert_eq!(work.thickness_m(), Err(ionfall::AnswerError::NoPlan));
/// assert!(outcome.surface("wrok").unwrap_err().to_string().contains("anode, work"));
/// # Ok(())
/// # }
/// ```
#[derive(Debug)]
pub struct Outcome {
    answer: Answer,
    surfaces: Vec<Surface>,
}

/// The surface of an electrode, facet by facet.
#[derive(Debug)]
pub struct Surface {
    body: BodyOutcome,
    points_m: Array2<f64>,
    normals: Array2<f64>,
    area_m2: Array1<f64>,
    current_density_a_per_m2: Array1<f64>,
    overpotential_v: Array1<f64>,
    thickness_m: Option<Array1<f64>>,
}

impl Outcome {
    pub(crate) fn new(answer: Answer, model: &Model) -> Self {
        let electrodes = model.geometry.electrodes();
        let bodies = electrodes.iter().map(|e| e.body);
        let surfaces = match &answer {
            Answer::Flat(outcome) => surfaces(outcome, bodies),
            Answer::Solid(outcome) => surfaces(outcome, bodies),
        };
        Self { answer, surfaces }
    }

    /// The electrode of a name.
    ///
    /// # Errors
    /// No electrode has it.
    pub fn surface(&self, name: &str) -> Result<&Surface, AnswerError> {
        let found = self.surfaces.iter().find(|s| s.body.name == name);
        found.ok_or_else(|| {
            let names: Vec<_> = self.surfaces.iter().map(Surface::name).collect();
            AnswerError::Unknown {
                name: name.into(),
                known: names.join(", "),
            }
        })
    }

    /// All electrodes, in the order in which the model has them.
    pub fn surfaces(&self) -> &[Surface] {
        &self.surfaces
    }

    /// Voltage of the main supply at the end.
    pub fn voltage_v(&self) -> f64 {
        match &self.answer {
            Answer::Flat(outcome) => outcome.voltage_v,
            Answer::Solid(outcome) => outcome.voltage_v,
        }
    }

    /// Current of the main supply at the end.
    pub fn current_a(&self) -> f64 {
        match &self.answer {
            Answer::Flat(outcome) => outcome.current_a,
            Answer::Solid(outcome) => outcome.current_a,
        }
    }

    /// Time the plan took; nothing without a plan.
    pub fn time_s(&self) -> Option<f64> {
        match &self.answer {
            Answer::Flat(outcome) => outcome.time_s,
            Answer::Solid(outcome) => outcome.time_s,
        }
    }

    /// Everything else.
    pub fn answer(&self) -> &Answer {
        &self.answer
    }
}

impl Surface {
    /// Name of the electrode.
    pub fn name(&self) -> &str {
        &self.body.name
    }

    /// What it is for.
    pub fn role(&self) -> Role {
        self.body.role
    }

    /// Middle of each facet: a row a facet, (x, y), (r, z) or (x, y, z).
    pub fn points_m(&self) -> ArrayView2<'_, f64> {
        self.points_m.view()
    }

    /// Unit normal of each facet into the bath, a row a facet.
    pub fn normals(&self) -> ArrayView2<'_, f64> {
        self.normals.view()
    }

    /// Area of each facet (planar: through the whole depth; axisymmetric: the whole turn).
    pub fn area_m2(&self) -> ArrayView1<'_, f64> {
        self.area_m2.view()
    }

    /// Current density of each facet at the end, negative where metal grows.
    pub fn current_density_a_per_m2(&self) -> ArrayView1<'_, f64> {
        self.current_density_a_per_m2.view()
    }

    /// Overpotential of each facet at the end: metal (or coat) less electrolyte at the surface.
    pub fn overpotential_v(&self) -> ArrayView1<'_, f64> {
        self.overpotential_v.view()
    }

    /// Thickness of the deposit on each facet, negative where metal dissolves.
    ///
    /// # Errors
    /// The model has no plan.
    pub fn thickness_m(&self) -> Result<ArrayView1<'_, f64>, AnswerError> {
        self.thickness_m
            .as_ref()
            .map(|thickness| thickness.view())
            .ok_or(AnswerError::NoPlan)
    }

    /// Thickness at the thinnest place, read in patches of about a cell.
    ///
    /// # Errors
    /// The model has no plan, or nothing of the electrode is in the bath.
    pub fn thinnest_m(&self) -> Result<f64, AnswerError> {
        self.place(self.body.thinnest)
    }

    /// Thickness at the thickest place.
    ///
    /// # Errors
    /// As [`Surface::thinnest_m`].
    pub fn thickest_m(&self) -> Result<f64, AnswerError> {
        self.place(self.body.thickest)
    }

    fn place(&self, place: Option<Place>) -> Result<f64, AnswerError> {
        self.thickness_m()?;
        place
            .map(|p| p.value)
            .ok_or_else(|| AnswerError::Dry(self.body.name.clone()))
    }

    /// Sums, distributions and places of the electrode as verdict and report give them.
    pub fn figures(&self) -> &BodyOutcome {
        &self.body
    }
}

/// A surface for each electrode, whose bodies have these numbers.
fn surfaces<const D: usize>(
    outcome: &ionfall_deposit::Outcome<D>,
    bodies: impl Iterator<Item = usize>,
) -> Vec<Surface> {
    let facets = &outcome.grid.facets;
    let surface = |(body, figures): (usize, &BodyOutcome)| {
        let own: Vec<usize> = (0..facets.len())
            .filter(|&f| usize::from(facets[f].body) == body)
            .collect();
        let column = |values: &[f64]| own.iter().map(|&f| values[f]).collect::<Array1<f64>>();
        let rows = |of: &dyn Fn(usize) -> [f64; D]| {
            Array2::from_shape_fn((own.len(), D), |(row, axis)| of(own[row])[axis])
        };
        Surface {
            body: figures.clone(),
            points_m: rows(&|f| facets[f].point),
            normals: rows(&|f| facets[f].normal),
            area_m2: own.iter().map(|&f| facets[f].area_m2).collect(),
            current_density_a_per_m2: column(&outcome.solution.current_density_a_per_m2),
            overpotential_v: column(&outcome.overpotential_v),
            thickness_m: outcome.time_s.map(|_| column(&outcome.thickness_m)),
        }
    };
    bodies.zip(&outcome.bodies).map(surface).collect()
}
