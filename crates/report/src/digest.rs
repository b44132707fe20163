//! The key figures of a run, read from its `summary.json`: what studies and comparisons put
//! side by side.

use crate::summary::Summary;
use ionfall_deposit::Moment;
use ionfall_job::Role;
use serde::{Deserialize, Serialize};

/// What is read of a summary; its other keys do not matter here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Digest {
    /// Title of the job.
    pub title: String,
    /// The bath.
    pub bath: BathDigest,
    /// Time the plan took, s.
    pub time_s: Option<f64>,
    /// What was wanted.
    pub wanted: Option<WantedDigest>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: f64,
    /// Its current, A.
    pub current_a: f64,
    /// Energy of all supplies, J.
    pub energy_j: Option<f64>,
    /// History of the plan.
    pub history: Vec<Moment>,
    /// The electrodes.
    pub bodies: Vec<BodyDigest>,
}

/// What is read of a bath.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BathDigest {
    /// The metal.
    pub metal: MetalDigest,
    /// Conductivity, S/m.
    pub conductivity: FigureDigest,
    /// Limiting current density, A/m2, where there is one.
    pub limiting_current: Option<FigureDigest>,
}

/// What is read of a metal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MetalDigest {
    /// Its name.
    pub name: String,
}

/// What is read of a figure of the bath.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FigureDigest {
    /// Its value, in the unit of its key.
    pub value: f64,
}

/// What was wanted, and how it went.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WantedDigest {
    /// Least thickness, m.
    pub thickness_m: f64,
    /// On which work.
    pub on: Option<String>,
    /// Was it met?
    pub met: Option<bool>,
    /// When it was (or would be) reached everywhere, s.
    pub reached_after_s: Option<f64>,
}

/// What is read of an electrode.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BodyDigest {
    /// Name.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Area, m2.
    pub area_m2: f64,
    /// Metal gained (lost by anodes), kg.
    pub metal_kg: Option<f64>,
    /// Its volume, m3.
    pub volume_m3: Option<f64>,
    /// Thinnest place, m.
    pub thinnest_m: Option<PlaceDigest>,
    /// Thickest place, m.
    pub thickest_m: Option<PlaceDigest>,
    /// Largest share of the limiting current.
    pub limit_share: Option<PlaceDigest>,
}

/// A value and where it is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlaceDigest {
    /// Coordinates, m.
    pub at_m: [f64; 3],
    /// The value.
    pub value: f64,
}

/// A key figure of a run.
#[derive(Clone, Copy, Debug)]
pub struct KeyFigure {
    /// Key with its unit, for tables.
    pub key: &'static str,
    /// Words.
    pub label: &'static str,
    /// Unit of [`KeyFigure::of`], empty for a plain number.
    pub unit: &'static str,
    of: fn(&Digest) -> Option<f64>,
}

impl KeyFigure {
    /// Its value in its unit.
    pub fn of(&self, digest: &Digest) -> Option<f64> {
        (self.of)(digest).filter(|value| value.is_finite())
    }

    /// Label with unit.
    pub fn title(&self) -> String {
        match self.unit {
            "" => self.label.into(),
            unit => format!("{}, {unit}", self.label),
        }
    }
}

const fn key_figure(
    key: &'static str,
    label: &'static str,
    unit: &'static str,
    of: fn(&Digest) -> Option<f64>,
) -> KeyFigure {
    KeyFigure {
        key,
        label,
        unit,
        of,
    }
}

/// All key figures. Thicknesses are those of the works, the thinnest place that of the work
/// the wish names.
pub const KEY_FIGURES: [KeyFigure; 11] = [
    key_figure("thinnest_um", "thinnest", "um", |d| {
        Some(1e6 * d.thinnest_m()?)
    }),
    key_figure("mean_um", "mean", "um", |d| Some(1e6 * d.mean_m()?)),
    key_figure("thickest_um", "thickest", "um", |d| {
        Some(1e6 * d.thickest_m()?)
    }),
    key_figure("thinnest_over_mean", "thinnest over mean", "", |d| {
        Some(d.thinnest_m()? / d.mean_m()?)
    }),
    key_figure(
        "limit_share_percent",
        "largest share of the limiting current",
        "%",
        |d| Some(100.0 * d.limit_share()?),
    ),
    key_figure("voltage_V", "voltage", "V", |d| Some(d.voltage_v)),
    key_figure("current_A", "current", "A", |d| Some(d.current_a)),
    key_figure("energy_kWh", "energy", "kWh", |d| Some(d.energy_j? / 3.6e6)),
    key_figure("metal_g", "metal", "g", |d| Some(1e3 * d.metal_kg()?)),
    key_figure("wanted_after_h", "time to the wanted thickness", "h", |d| {
        Some(d.wanted.as_ref()?.reached_after_s? / 3600.0)
    }),
    key_figure("time_h", "plating time", "h", |d| Some(d.time_s? / 3600.0)),
];

/// The key figure of a key.
pub(crate) fn by_key(key: &str) -> &'static KeyFigure {
    KEY_FIGURES
        .iter()
        .find(|h| h.key == key)
        .unwrap_or(&KEY_FIGURES[0])
}

impl Digest {
    /// Of a summary.
    ///
    /// # Errors
    /// None for summaries of this program.
    pub fn of(summary: &Summary) -> Result<Self, serde_json::Error> {
        serde_json::from_value(serde_json::to_value(summary)?)
    }

    fn works(&self) -> impl Iterator<Item = &BodyDigest> {
        self.bodies.iter().filter(|b| b.role == Role::Work)
    }

    fn cathodes(&self) -> impl Iterator<Item = &BodyDigest> {
        self.bodies.iter().filter(|b| b.role.is_cathode())
    }

    /// Thinnest place of the work that counts, m.
    pub fn thinnest_m(&self) -> Option<f64> {
        let on = self.wanted.as_ref().and_then(|w| w.on.as_ref());
        let counts = |b: &&BodyDigest| on.is_none_or(|on| *on == b.name);
        let places = self.works().filter(counts).filter_map(|b| b.thinnest_m);
        places.map(|p| p.value).reduce(f64::min)
    }

    /// Mean thickness of the works, m.
    pub fn mean_m(&self) -> Option<f64> {
        let volumes: Option<Vec<f64>> = self.works().map(|b| b.volume_m3).collect();
        let area: f64 = self.works().map(|b| b.area_m2).sum();
        Some(volumes?.iter().sum::<f64>() / area)
    }

    /// Thickest place of the works, m.
    pub fn thickest_m(&self) -> Option<f64> {
        let places = self.works().filter_map(|b| b.thickest_m);
        places.map(|p| p.value).reduce(f64::max)
    }

    /// Largest share of the limiting current on works and thieves.
    pub fn limit_share(&self) -> Option<f64> {
        let places = self.cathodes().filter_map(|b| b.limit_share);
        places.map(|p| p.value).reduce(f64::max)
    }

    /// Metal on works and thieves, kg.
    pub fn metal_kg(&self) -> Option<f64> {
        let metal: Option<Vec<f64>> = self.cathodes().map(|b| b.metal_kg).collect();
        Some(metal?.iter().sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::tank;
    use approx::assert_relative_eq;

    #[test]
    fn figures_are_those_of_the_summary() {
        let case = tank();
        let summary = Summary::new(&case.model, &case.outcome, "0", None);
        let digest = Digest::of(&summary).unwrap();
        let work = summary
            .bodies
            .iter()
            .find(|b| b.role == Role::Work)
            .unwrap();
        let figure = |key: &str| by_key(key).of(&digest);
        let close = |key: &str, expected: Option<f64>| {
            assert_relative_eq!(figure(key).unwrap(), expected.unwrap(), max_relative = 1e-9);
        };
        close("thinnest_um", work.thinnest.map(|p| 1e6 * p.value));
        close("thickest_um", work.thickest.map(|p| 1e6 * p.value));
        close("mean_um", work.thickness_m.map(|t| 1e6 * t.mean));
        close(
            "limit_share_percent",
            work.limit_share.map(|p| 100.0 * p.value),
        );
        close("voltage_V", Some(summary.voltage_v));
        close("metal_g", work.metal_kg.map(|kg| 1e3 * kg));
        let keys: Vec<_> = KEY_FIGURES.iter().map(|h| h.key).collect();
        assert!(keys.iter().all(|k| by_key(k).key == *k), "{keys:?}");
    }
}
