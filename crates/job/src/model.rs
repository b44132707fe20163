//! The job as understood: validated, in SI units, ready to be meshed and solved.

use ionfall_bath::{Electrolyte, Kinetics};
use ionfall_mesh::grid::Domain;
use std::path::PathBuf;

/// A whole job.
#[derive(Clone, Debug)]
pub struct Model {
    /// Title, empty if none was given.
    pub title: String,
    /// The bath.
    pub bath: Electrolyte,
    /// Tank and bodies.
    pub geometry: Geometry,
    /// What drives the current.
    pub supply: Supply,
    /// Plating time, s; without it nothing is said of thickness.
    pub time_s: Option<f64>,
    /// What is asked of the deposit.
    pub wanted: Option<Wanted>,
    /// What is to be written, and where.
    pub save: Save,
    /// What was mended or is worth knowing, for instance about mesh files.
    pub notes: Vec<String>,
}

/// Geometry in two or three coordinates.
#[derive(Clone, Debug)]
pub enum Geometry {
    /// Planar or axisymmetric.
    Flat(Parts<2>),
    /// A tank in three dimensions.
    Solid(Parts<3>),
}

impl From<Parts<2>> for Geometry {
    fn from(parts: Parts<2>) -> Self {
        Self::Flat(parts)
    }
}

impl From<Parts<3>> for Geometry {
    fn from(parts: Parts<3>) -> Self {
        Self::Solid(parts)
    }
}

/// Tank and bodies, with the electrodes among them.
#[derive(Clone, Debug)]
pub struct Parts<const D: usize> {
    /// What the grid is built from; lengths in metres.
    pub domain: Domain<D>,
    /// The electrodes.
    pub electrodes: Vec<Electrode>,
}

/// An electrode.
#[derive(Clone, Debug, PartialEq)]
pub struct Electrode {
    /// Its number in [`Domain::bodies`].
    pub body: usize,
    /// Name.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Its polarisation.
    pub kinetics: Kinetics,
}

/// What an electrode is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Positive side, dissolves or gasses.
    Anode,
    /// Negative side, to be plated.
    Work,
    /// Negative side, takes current away from edges of the work; at the potential of the work.
    Thief,
}

impl Role {
    /// Does it hang on the negative side?
    pub fn is_cathode(self) -> bool {
        self != Self::Anode
    }

    /// Trade word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Anode => "anode",
            Self::Work => "work",
            Self::Thief => "thief",
        }
    }
}

/// What drives the current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Supply {
    /// Constant current, A (planar jobs: through the whole depth; axisymmetric: whole turn).
    Current(f64),
    /// Constant voltage between anodes and work, V.
    Voltage(f64),
    /// Constant mean current density on the work, A/m2.
    MeanCurrentDensity(f64),
}

/// What is asked of the deposit.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Least thickness, m.
    pub thickness_m: f64,
    /// On which work; everywhere if none is named.
    pub on: Option<String>,
}

/// What a run writes besides its summary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Save {
    /// Kinds of output.
    pub what: Vec<Output>,
    /// Folder (relative ones are taken from the folder of the job file); chosen by the run if
    /// none is given.
    pub folder: Option<PathBuf>,
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
}

impl Output {
    /// All, with their words in the job file.
    pub const ALL: [(&'static str, Self); 4] = [
        ("surface", Self::Surface),
        ("parts", Self::Parts),
        ("bath", Self::Bath),
        ("facets", Self::Facets),
    ];
}
