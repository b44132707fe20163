//! The job as understood: validated, in SI units, ready to be meshed and solved.

use crate::line::Line;
use crate::role::Role;
use crate::zone::Zone;
use ionfall_bath::{Electrolyte, Kinetics};
use ionfall_mesh::grid::Domain;
use ionfall_mesh::solid::Solid;
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
    /// What drives the current; the first one is the main supply, which the plan sets.
    pub supplies: Vec<Supply>,
    /// What is done one after another; empty if nothing is said of time, and so of thickness.
    pub plan: Vec<Step>,
    /// What is asked of the deposit.
    pub wanted: Option<Wanted>,
    /// Thickness from which on a place counts as covered, m.
    pub covered_m: f64,
    /// What is to be written, and where.
    pub save: Save,
    /// What was mended or is worth knowing, for instance about mesh files.
    pub notes: Vec<String>,
    /// Differs, all but surely, between jobs whose text or files differ in a single byte.
    pub fingerprint: u64,
}

/// Geometry in two or three coordinates.
#[derive(Clone, Debug)]
pub enum Geometry {
    /// Planar or axisymmetric.
    Flat(Parts<2>),
    /// A tank in three dimensions.
    Solid(Parts<3>),
}

impl Geometry {
    /// The electrodes.
    pub fn electrodes(&self) -> &[Electrode] {
        match self {
            Self::Flat(parts) => &parts.electrodes,
            Self::Solid(parts) => &parts.electrodes,
        }
    }

    /// The sheet resistance of each coat, ohm, with the number of the electrode it lies on.
    pub fn sheet_resistances_ohm(&self) -> Vec<(usize, f64)> {
        fn of<const D: usize>(parts: &Parts<D>) -> Vec<(usize, f64)> {
            let coats = parts.coats.iter();
            coats
                .map(|c| (c.electrode, c.sheet_resistance_ohm))
                .collect()
        }
        match self {
            Self::Flat(parts) => of(parts),
            Self::Solid(parts) => of(parts),
        }
    }
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
    /// Conducting skins of electrodes; where several cover a place, the last one counts.
    pub coats: Vec<Coat<D>>,
    /// Where current is led into coats.
    pub contacts: Vec<Contact<D>>,
    /// Places that are stirred otherwise; where several cover one, the last counts.
    pub zones: Vec<Zone<D>>,
    /// Lines along which the deposit is to be told.
    pub lines: Vec<Line<D>>,
}

/// A conducting skin, brushed or sprayed on something that does not conduct. An electrode that has
/// one conducts only where a coat covers it.
#[derive(Clone, Debug)]
pub struct Coat<const D: usize> {
    /// Number in [`Parts::electrodes`].
    pub electrode: usize,
    /// Where it covers; everywhere if nothing is said.
    pub region: Option<Solid<D>>,
    /// Resistance of a square, ohm.
    pub sheet_resistance_ohm: f64,
    /// The first deposit, up to this thickness in m, is islands that do not touch and conducts
    /// nothing along the surface.
    pub islands_m: f64,
}

/// Where the current is led into a coat: clamp, wire or point.
#[derive(Clone, Debug)]
pub struct Contact<const D: usize> {
    /// Number in [`Parts::electrodes`].
    pub electrode: usize,
    /// Name.
    pub name: String,
    /// The coat inside this solid touches the contact.
    pub region: Solid<D>,
    /// Resistance between lead and coat, ohm; spread evenly over the touched area.
    pub resistance_ohm: f64,
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
    /// Resistance of its lead (or series resistor), ohm.
    pub lead_ohm: f64,
}

/// A rectifier.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Name.
    pub name: String,
    /// What it holds constant.
    pub hold: Hold,
    /// Most volts it can give; it falls to that voltage where more would be needed.
    pub voltage_limit_v: Option<f64>,
    /// Anodes on its positive side: numbers in [`Parts::electrodes`].
    pub anodes: Vec<usize>,
    /// Thieves on its negative side, numbers in [`Parts::electrodes`]; without any, the works and
    /// the other thieves hang there.
    pub thieves: Vec<usize>,
}

/// What a supply holds constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// Constant current, A (planar jobs: through the whole depth; axisymmetric: whole turn).
    Current(f64),
    /// Constant voltage between its poles, V.
    Voltage(f64),
    /// Constant mean current density on the work, A/m2.
    MeanCurrentDensity(f64),
}

/// A step of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Name.
    pub name: String,
    /// What the main supply does.
    pub setting: Setting,
    /// Shape of the current in time; the setting is its average.
    pub pulse: Option<Pulse>,
    /// When the step ends.
    pub until: Until,
    /// Longest time, s; the step ends then in any case.
    pub at_most_s: f64,
}

/// What the main supply does in a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Setting {
    /// Holds this.
    Hold(Hold),
    /// Rises or falls evenly over the time of the step, from the one to the other value (both of
    /// one kind).
    Ramp(Hold, Hold),
    /// All supplies are off.
    Rest,
}

/// Pulses, or forward and reverse current in turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// Forward time of a cycle, s.
    pub on_s: f64,
    /// Time without current in a cycle, s.
    pub off_s: f64,
    /// Reverse time of a cycle, s.
    pub reverse_s: f64,
    /// Reverse current as a share of the forward current.
    pub reverse_share: f64,
}

impl Pulse {
    /// Forward current over average current.
    pub fn peak_factor(&self) -> f64 {
        let cycle = self.on_s + self.off_s + self.reverse_s;
        cycle / (self.on_s - self.reverse_share * self.reverse_s)
    }
}

/// When a step ends.
#[derive(Clone, Debug, PartialEq)]
pub enum Until {
    /// After a time, s.
    Time(f64),
    /// After the main supply has given a charge in this step, C.
    Charge(f64),
    /// When the thinnest place of a work (all works, if none is named) has a thickness, m.
    LeastThickness(f64, Option<String>),
    /// When the mean thickness of a work (all works, if none is named) has a value, m.
    MeanThickness(f64, Option<String>),
}

/// What is asked of the deposit.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Least thickness, m.
    pub thickness_m: f64,
    /// On which work; everywhere if none is named.
    pub on: Option<String>,
}

/// A place counts as covered from this thickness on unless the job says otherwise, m: a micrometre
/// of copper conducts better than any brushed coat (computed from its resistivity).
pub const COVERED_M: f64 = 1e-6;

/// What a run writes besides its summary.
#[derive(Clone, Debug, PartialEq)]
pub struct Save {
    /// Kinds of output.
    pub what: Vec<Output>,
    /// Folder (relative ones are taken from the folder of the job file); chosen by the run if
    /// none is given.
    pub folder: Option<PathBuf>,
    /// Times at which the surfaces are saved too, s.
    pub at_s: Vec<f64>,
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
