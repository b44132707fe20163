//! What a finished run has to say.

use crate::islands::Covering;
use crate::ledger::Ledger;
use crate::place::Place;
use crate::positions::Travelled;
use crate::recess::Recesses;
use crate::sensitivity::Sensitivity;
use crate::state::History;
use crate::statistics::Distribution;
use crate::surface::Surface;
use crate::turn::Turned;
use ionfall_field::Solution;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Pulse, Role};
use ionfall_network::LocalLimits;
use serde::{Deserialize, Serialize};

/// What happened at one electrode. Thickness and metal need a plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BodyOutcome {
    /// Name.
    pub name: String,
    /// What it is a copy of.
    pub copy_of: Option<String>,
    /// What it is for.
    pub role: Role,
    /// Wetted conducting area, m2.
    pub area_m2: f64,
    /// Current from the metal into the electrolyte at the end, A (negative at cathodes).
    pub current_a: f64,
    /// Where it dissolves.
    #[serde(flatten)]
    pub anodic: Anodic,
    /// Current density at the end, magnitude, A/m2.
    pub current_density_a_per_m2: Distribution,
    /// Overpotential at the end, magnitude, V.
    pub overpotential_v: Distribution,
    /// Metal deposited (dissolved at anodes), kg.
    pub metal_kg: Option<f64>,
    /// Volume deposited (dissolved at anodes), m3.
    pub volume_m3: Option<f64>,
    /// Thickness, m.
    pub thickness_m: Option<Distribution>,
    /// Thinnest place, m; of the face that the wish names, where it names one.
    #[serde(rename = "thinnest_m")]
    pub thinnest: Option<Place>,
    /// Thickest place, m.
    #[serde(rename = "thickest_m")]
    pub thickest: Option<Place>,
    /// Share of the area below the wanted thickness; of that face, where the wish names one.
    pub share_below_wanted: Option<f64>,
    /// How far it is covered.
    #[serde(flatten)]
    pub cover: Cover,
    /// Largest share of the limiting current density over the whole plan, where there is a limit.
    pub limit_share: Option<Place>,
    /// Largest share of the current density at which the anode passivates in its local film, at the end; of anodes of
    /// the bath's metal of which that is known.
    pub passivation_share: Option<Place>,
    /// Where the deposit is thick for the room in front of it.
    pub crowding: Option<Crowding>,
    /// Largest drop of potential in the coat, from the metal behind to the farthest place, V.
    pub coat_drop_v: Option<f64>,
}

impl BodyOutcome {
    /// Is it meant by a name: its own, or that of all copies?
    pub fn answers_to(&self, name: &str) -> bool {
        self.name == name || self.copy_of.as_deref() == Some(name)
    }
}

/// The part of a surface where current leaves the metal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Anodic {
    /// Its area, m2.
    #[serde(rename = "anodic_area_m2")]
    pub area_m2: f64,
    /// Current that leaves the metal there, A.
    #[serde(rename = "anodic_current_a")]
    pub current_a: f64,
}

/// How far a surface is covered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Cover {
    /// Share of the area.
    #[serde(rename = "covered_share")]
    pub share: Option<f64>,
    /// When the last place was covered, s; nothing while some is not.
    #[serde(rename = "covered_after_s")]
    pub after_s: Option<f64>,
}

/// Volts between the poles of a supply, V, and its amperes, A: as values, or their plus-minus.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct VoltsAmps<T> {
    /// Voltage, V.
    pub voltage_v: T,
    /// Current, A.
    pub current_a: T,
}

/// The least, the mean and the largest thickness of an electrode, m: how far each may be off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Thicknesses<T> {
    /// At the thinnest place, m.
    pub thinnest_m: T,
    /// Mean, m.
    pub mean_m: T,
    /// At the thickest place, m.
    pub thickest_m: T,
}

/// When the wanted thickness is reached everywhere.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wish {
    /// When it was, s.
    pub reached_s: Option<f64>,
    /// When it would be at the rates of the end, s, if it was not.
    pub expected_s: Option<f64>,
}

impl Wish {
    pub(crate) const fn new(reached_s: Option<f64>, expected_s: Option<f64>) -> Self {
        Self {
            reached_s,
            expected_s,
        }
    }

    /// When it was, or would be, s.
    pub fn time_s(self) -> Option<f64> {
        self.reached_s.or(self.expected_s)
    }
}

/// Deposit that fills much of the room in front of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Crowding {
    /// Share of the area where it does.
    pub area_share: f64,
    /// The worst place; its value is the share of the gap that deposit from both sides fills.
    pub worst: Place,
    /// Gap there, m.
    pub gap_m: f64,
    /// When the two fronts meet there, s, if they do within the plan.
    pub met_after_s: Option<f64>,
}

/// A contact.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ContactOutcome {
    /// Name.
    pub name: String,
    /// Electrode it feeds.
    pub on: String,
    /// Current through it at the end, A.
    pub current_a: f64,
    /// Largest current through it, A.
    pub peak_a: f64,
    /// Charge through it, C.
    pub charge_c: f64,
}

/// A supply.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyOutcome {
    /// Name.
    pub name: String,
    /// Voltage between its poles at the end, V.
    pub voltage_v: f64,
    /// Current at the end, A.
    pub current_a: f64,
    /// Is it at its limit at the end?
    pub limited: bool,
    /// The current of that limit, A, where it is one of current.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_limit_a: Option<f64>,
    /// Volts over amperes at the end, ohm: the resistance of the tank as its meters show it; nothing without
    /// current.
    pub resistance_ohm: Option<f64>,
    /// The part of it that does not stand at the surfaces of the electrodes, ohm: bath, coats, contacts, leads.
    pub ohmic_resistance_ohm: Option<f64>,
    /// Charge, C.
    pub charge_c: f64,
    /// Energy, J.
    pub energy_j: f64,
}

/// A part of the surface of an electrode.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaceOutcome {
    /// Name.
    pub name: String,
    /// The electrode.
    pub on: String,
    /// Wetted conducting area, m2; nought if nothing of the electrode is there.
    pub area_m2: f64,
    /// Current from the metal into the electrolyte at the end, A (negative at cathodes).
    pub current_a: f64,
    /// The same over that of the electrode.
    pub current_share: Option<f64>,
    /// Means over it.
    #[serde(flatten)]
    pub mean: FaceMeans,
}

/// Means over a part of a surface.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FaceMeans {
    /// Current over area, magnitude, A/m2.
    #[serde(rename = "mean_current_density_a_per_m2")]
    pub current_density_a_per_m2: Option<f64>,
    /// Thickness, m (lost at anodes); needs a plan.
    #[serde(rename = "mean_thickness_m")]
    pub thickness_m: Option<f64>,
}

/// What a model names beside bodies.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Named {
    /// Area, current and metal of the faces.
    pub faces: Vec<FaceOutcome>,
    /// What is at the points that are read.
    pub readings: Vec<ReadingOutcome>,
}

/// What is at a point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingOutcome {
    /// Name.
    pub name: String,
    /// The point, m ((x, y), (r, z) or (x, y, z); unused ones zero).
    pub at_m: [f64; 3],
    /// Potential of the electrolyte there at the end, against the common negative pole, V; nothing inside a
    /// body that is no electrode or whose surface is farther away than a cell.
    pub potential_v: Option<f64>,
    /// The body it lies inside of.
    pub inside: Option<String>,
    /// What is on the surface, if an electrode's is within a cell.
    pub surface: Option<SurfaceReading>,
}

/// What is on the surface of an electrode near a point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SurfaceReading {
    /// The electrode.
    pub on: String,
    /// Distance from the point to the facet that is read, m.
    pub distance_m: f64,
    /// Current density at the end, magnitude, A/m2.
    pub current_density_a_per_m2: f64,
    /// The same over the mean of the electrode.
    pub over_mean: f64,
    /// Thickness, m (negative where metal dissolves); needs a plan.
    pub thickness_m: Option<f64>,
    /// Overpotential at the end, magnitude, V.
    pub overpotential_v: f64,
    /// Largest share of the limiting current density over the plan, where there is a limit.
    pub limit_share: Option<f64>,
}

/// A finished run.
#[derive(Debug)]
pub struct Outcome<const D: usize> {
    /// The grid.
    pub grid: Grid<D>,
    /// Potentials of the nodes, and current densities and surface potentials of the grid's facets,
    /// at the end (at the last moment with current).
    pub solution: Solution,
    /// Time the plan took, s; nothing without a plan.
    pub time_s: Option<f64>,
    /// Thickness of each facet, m (negative where metal dissolves); empty without a plan.
    pub thickness_m: Vec<f64>,
    /// When each facet was covered, s; not a number where it was not; empty without a plan.
    pub covered_s: Vec<f64>,
    /// Largest share of the limiting current density at each facet over the plan; not a number
    /// without a limit.
    pub limit_share: Vec<f64>,
    /// Limiting current density at each facet, A/m2; not a number without a limit.
    pub limit_a_per_m2: Vec<f64>,
    /// How the film varies over faces, where it does.
    pub local: Option<LocalLimits>,
    /// Overpotential of each facet, V: metal (or coat) minus electrolyte at the surface.
    pub overpotential_v: Vec<f64>,
    /// Potential of the metal or coat behind each facet, V.
    pub metal_potential_v: Vec<f64>,
    /// Does each facet conduct? Bare gaps in a coat do not.
    pub conducts: Vec<bool>,
    /// The electrodes.
    pub bodies: Vec<BodyOutcome>,
    /// The contacts.
    pub contacts: Vec<ContactOutcome>,
    /// Faces and points that the model names.
    pub named: Named,
    /// The supplies; the first is the main one.
    pub supplies: Vec<SupplyOutcome>,
    /// The pulses at the end, if it is a pulsed current; all currents and voltages of the end are then
    /// those of the forward time.
    pub pulse: Option<Pulse>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: f64,
    /// Current of the main supply at the end, A.
    pub current_a: f64,
    /// Difference of anodic and cathodic current at the end over the larger.
    pub balance_error: f64,
    /// Amounts over the plan, or rates (per second) without a plan.
    pub ledger: Ledger,
    /// Energy taken from all supplies, J; needs a plan.
    pub energy_j: Option<f64>,
    /// History of the plan.
    pub history: History,
    /// Sheltered places, if they were [looked for](crate::still::recesses) and there are any.
    pub recesses: Option<Recesses>,
    /// When powder coats are covered with [islands](crate::cover::covering), if that was worked out.
    pub covering: Vec<Covering>,
    /// Growth of each facet at the end, m/s (negative where metal dissolves).
    pub growth_m_per_s: Vec<f64>,
    /// How the field of the end follows the [causes](crate::Settings::causes) that were asked for; empty where that
    /// is not known: pulsed currents, the supply of a thief at its voltage limit, several means.
    pub sensitivities: Vec<Sensitivity>,
    /// How its facets are read.
    pub(crate) surface: Surface,
    /// Bodies that travelled: metal and amounts are means over their positions.
    pub travelled: Option<Travelled>,
    /// Bodies that turned: their metal is the mean over the turn.
    pub turned: Vec<Turned>,
    /// When the wanted thickness is reached everywhere.
    pub wish: Wish,
    /// Time steps taken and refused.
    pub time_steps: [usize; 2],
    /// Solves, Newton steps and multigrid cycles.
    pub work: [usize; 3],
    /// Seconds spent on the grid.
    pub grid_s: f64,
    /// Seconds spent on the field and the time steps.
    pub field_s: f64,
}

impl<const D: usize> Outcome<D> {
    /// The electrode of a name.
    pub fn body(&self, name: &str) -> Option<&BodyOutcome> {
        self.bodies.iter().find(|b| b.name == name)
    }
}
