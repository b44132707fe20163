//! The whole: bath, geometry, supplies, plan, what is asked and what is to be written.

use crate::geometry::{Electrode, Geometry, Parts};
use crate::prices::Prices;
use crate::resolution::Resolution;
use crate::role::Role;
use crate::supply::{Setting, Step, Supply};
use ionfall_bath::Electrolyte;
use ionfall_mesh::solid::Point;
use std::path::PathBuf;

/// A whole job. Its geometry is of two or three coordinates ([`Geometry`]) until it is asked which: from there on it
/// is the [`Parts`] of so many, within the same model.
#[derive(Clone, Debug)]
pub struct Model<G = Geometry> {
    /// Title, empty if none was given.
    pub title: String,
    /// The bath.
    pub bath: Electrolyte,
    /// Tank and bodies.
    pub geometry: G,
    /// What drives the current; the first one is the main supply, which the plan sets.
    pub supplies: Vec<Supply>,
    /// What is done one after another; empty if nothing is said of time, and so of thickness.
    pub plan: Vec<Step>,
    /// What is asked of the deposit.
    pub wanted: Option<Wanted>,
    /// Thickness from which on a place counts as covered, m.
    pub covered_m: f64,
    /// What metal, energy and time cost.
    pub prices: Option<Prices>,
    /// How sharp the answers shall be, beyond the sizes of cells.
    pub resolution: Resolution,
    /// What is to be written, and where.
    pub save: Save,
    /// Figures that the job names, each a number that may move several things.
    pub figures: Vec<NamedFigure>,
    /// What was mended or is worth knowing, for instance about mesh files.
    pub notes: Vec<String>,
    /// Differs, all but surely, between jobs whose text or files differ in a single byte.
    pub fingerprint: u64,
}

/// A model of which it is known how many coordinates it has.
#[derive(Clone, Debug)]
pub enum Known {
    /// Planar or axisymmetric.
    Flat(Model<Parts<2>>),
    /// A tank in three dimensions.
    Solid(Model<Parts<3>>),
}

impl Model {
    /// The same by the number of its coordinates. Shapes are shared, so that a copy of a model costs next to nothing.
    pub fn known(self) -> Known {
        let (rest, geometry) = self.exchanged(());
        match geometry {
            Geometry::Flat(parts) => Known::Flat(rest.exchanged(parts).0),
            Geometry::Solid(parts) => Known::Solid(rest.exchanged(parts).0),
        }
    }
}

/// Gives a geometry of other coordinates back.
impl<const D: usize> TryFrom<Model> for Model<Parts<D>>
where
    Parts<D>: TryFrom<Geometry, Error = Geometry>,
{
    type Error = Geometry;

    fn try_from(model: Model) -> Result<Self, Geometry> {
        let (rest, geometry) = model.exchanged(());
        Ok(rest.exchanged(Parts::try_from(geometry)?).0)
    }
}

impl<G> Model<G> {
    /// The last step of the plan that is no rest.
    pub fn last_current(&self) -> Option<&Step> {
        let mut steps = self.plan.iter().rev();
        steps.find(|step| step.setting != Setting::Rest)
    }

    /// The same with another geometry, and the one it had.
    fn exchanged<H>(self, geometry: H) -> (Model<H>, G) {
        let model = Model {
            title: self.title,
            bath: self.bath,
            geometry,
            supplies: self.supplies,
            plan: self.plan,
            wanted: self.wanted,
            covered_m: self.covered_m,
            prices: self.prices,
            resolution: self.resolution,
            save: self.save,
            figures: self.figures,
            notes: self.notes,
            fingerprint: self.fingerprint,
        };
        (model, self.geometry)
    }
}

/// What is asked of the deposit.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Least thickness, m.
    pub thickness_m: f64,
    /// Largest thickness anywhere on these works, m.
    pub at_most_m: Option<f64>,
    /// On which work, or on all copies of which; everywhere if none is named.
    pub on: Option<String>,
    /// Only this part of their surface needs the least thickness.
    pub face: Option<Significant>,
}

/// The part of a surface that a wish is about: elsewhere it does not matter how thick the metal is.
#[derive(Clone, Debug, PartialEq)]
pub struct Significant {
    /// Name of the face.
    pub name: String,
    /// Its numbers in [`Parts::faces`]: one on each copy.
    pub faces: Vec<usize>,
}

impl Wanted {
    /// Is the wish about this electrode?
    pub fn names(&self, electrode: &Electrode) -> bool {
        let meant = |on: &String| electrode.answers_to(on);
        electrode.role == Role::Work && self.on.as_ref().is_none_or(meant)
    }

    /// Does a place of electrode number `e` decide about its thinnest place? Only what lies outside of the face that
    /// the wish names does not.
    pub fn decides<const D: usize>(
        &self,
        parts: &Parts<D>,
        e: usize,
        at: &Point<D>,
        normal: &Point<D>,
    ) -> bool {
        let Some(significant) = self
            .face
            .as_ref()
            .filter(|_| self.names(&parts.electrodes[e]))
        else {
            return true;
        };
        let mut faces = significant.faces.iter().map(|n| &parts.faces[*n]);
        faces.any(|face| face.on == e && face.has(at, normal))
    }
}

/// A figure of the job with a name, as it is written there.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedFigure {
    /// Name.
    pub name: String,
    /// Its number.
    pub value: f64,
    /// Its unit, empty if it has none.
    pub unit: String,
}

/// A place counts as covered from this thickness on unless the job says otherwise, m: a micrometre
/// of copper conducts better than any brushed coat (computed from its resistivity).
pub const COVERED_M: f64 = 1e-6;

/// What a run writes besides its summary.
#[derive(Clone, Debug, PartialEq)]
pub struct Save {
    /// Kinds of output.
    pub what: Outputs,
    /// Folder (relative ones are taken from the folder of the job file); chosen by the run if
    /// none is given.
    pub folder: Option<PathBuf>,
    /// Times at which the surfaces are saved too, s.
    pub at_s: Vec<f64>,
}

/// Cells up to which the bath is among the usual output: one thread compresses it, 1.9 s for 7.7e5 cells, which no other
/// thread shortens.
pub const USUAL_BATH_CELLS: usize = 500_000;

/// Which kinds of output.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outputs {
    /// All, but the bath where it has more than [`USUAL_BATH_CELLS`].
    Usual,
    /// These, however large.
    These(Vec<Output>),
}

impl Outputs {
    /// All, however large.
    pub fn all() -> Self {
        Self::These(Output::ALL.map(|(_, output)| output).to_vec())
    }

    /// Is one of them written of a grid of so many cells?
    pub fn hold(&self, output: Output, cells: usize) -> bool {
        match self {
            Self::Usual => output != Output::Bath || cells <= USUAL_BATH_CELLS,
            Self::These(outputs) => outputs.contains(&output),
        }
    }
}

/// A kind of output.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Output {
    /// All surfaces with their fields.
    Surface,
    /// One surface file a body.
    Parts,
    /// The electrolyte with potential and current density.
    Bath,
    /// A table of the electrode facets.
    Facets,
    /// The report.
    Report,
}

impl Output {
    /// All, with their words in the job file.
    pub const ALL: [(&'static str, Self); 5] = [
        ("surface", Self::Surface),
        ("parts", Self::Parts),
        ("bath", Self::Bath),
        ("facets", Self::Facets),
        ("report", Self::Report),
    ];
}
