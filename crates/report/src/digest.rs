//! The key figures of a run, read from its `summary.json`: what trials and comparisons put
//! side by side.

use crate::summary::Summary;
use crate::unit::Unit;
use ionfall_deposit::judge::Verdict;
use ionfall_deposit::{Moment, VoltsAmps};
use ionfall_model::{Cost, Role};
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
    /// The verdict; results of older versions have none.
    pub verdict: Option<Verdict>,
    /// What was wanted.
    pub wanted: Option<WantedDigest>,
    /// The main supply at the end.
    #[serde(flatten)]
    pub main: VoltsAmps<f64>,
    /// Energy of all supplies, J.
    pub energy_j: Option<f64>,
    /// What the run costs, if the job gives prices; older versions have none.
    pub cost: Option<Cost>,
    /// History of the plan.
    pub history: Vec<Moment>,
    /// The electrodes.
    pub bodies: Vec<BodyDigest>,
    /// What the copies of a body get; older versions have none.
    #[serde(default)]
    pub repeats: Vec<RepeatDigest>,
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
    /// What it is a copy of; nothing is in older versions.
    pub copy_of: Option<String>,
    /// What it is for.
    pub role: Role,
    /// Area, m2.
    pub area_m2: f64,
    /// Its current density at the end, A/m2.
    #[serde(default)]
    pub current_density_a_per_m2: Option<DensityDigest>,
    /// Metal gained (lost by anodes), kg.
    pub metal_kg: Option<f64>,
    /// Its volume, m3.
    pub volume_m3: Option<f64>,
    /// When it was covered everywhere, s.
    #[serde(default)]
    pub covered_after_s: Option<f64>,
    /// Largest drop in its coat, V, if it has one.
    #[serde(default)]
    pub coat_drop_v: Option<f64>,
    /// Its extremes.
    #[serde(flatten)]
    pub places: PlacesDigest,
}

/// What is read of a current density.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct DensityDigest {
    /// The largest, A/m2.
    pub max: f64,
}

/// What is read of the extremes of an electrode.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlacesDigest {
    /// Thinnest place, m.
    pub thinnest_m: Option<PlaceDigest>,
    /// Thickest place, m.
    pub thickest_m: Option<PlaceDigest>,
    /// Largest share of the limiting current.
    pub limit_share: Option<PlaceDigest>,
}

/// What is read of the copies of a body.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RepeatDigest {
    /// What they are for.
    pub role: Role,
    /// Their mean thicknesses.
    pub mean_thickness_m: Option<ApartDigest>,
}

/// What is read of how far apart copies are.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ApartDigest {
    /// Most less least over the mean.
    pub share: f64,
}

/// A value and where it is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlaceDigest {
    /// Coordinates, m.
    pub at_m: [f64; 3],
    /// The value.
    pub value: f64,
}

/// A key figure of a run: the one place for its names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum KeyFigure {
    /// Thickness at the thinnest place of the work that the wish names.
    Thinnest,
    /// Mean thickness of the works.
    Mean,
    /// Thickness at the thickest place of the works.
    Thickest,
    /// Thinnest over mean.
    Evenness,
    /// Largest share of the limiting current.
    LimitShare,
    /// Voltage of the main supply at the end.
    Voltage,
    /// Its current.
    Current,
    /// Energy of all supplies.
    Energy,
    /// Metal on works and thieves.
    Metal,
    /// When metal covers all works that have a coat.
    CoveredAfter,
    /// When the wanted thickness is reached everywhere.
    WantedAfter,
    /// Time of the plan.
    Time,
    /// What metal, energy and time cost at the job's prices.
    Cost,
    /// How far apart the parts of a rack are: most mean thickness less least over the mean.
    Apart,
    /// Largest current density at any place of an anode, at the end.
    AnodeDensity,
    /// Largest share of the limiting current until metal covers all works that have a coat.
    StrikeShare,
}

impl KeyFigure {
    /// All, in the order of tables.
    pub const ALL: [Self; 16] = [
        Self::Thinnest,
        Self::Mean,
        Self::Thickest,
        Self::Evenness,
        Self::LimitShare,
        Self::Voltage,
        Self::Current,
        Self::Energy,
        Self::Metal,
        Self::CoveredAfter,
        Self::WantedAfter,
        Self::Time,
        Self::Cost,
        Self::Apart,
        Self::AnodeDensity,
        Self::StrikeShare,
    ];

    const fn parts(self) -> (&'static str, &'static str, Unit) {
        match self {
            Self::Thinnest => ("thinnest_um", "thinnest", Unit::Um),
            Self::Mean => ("mean_um", "mean", Unit::Um),
            Self::Thickest => ("thickest_um", "thickest", Unit::Um),
            Self::Evenness => ("thinnest_over_mean", "thinnest over mean", Unit::One),
            Self::LimitShare => (
                "limit_share_percent",
                "largest share of the limiting current",
                Unit::Percent,
            ),
            Self::Voltage => ("voltage_V", "voltage", Unit::V),
            Self::Current => ("current_A", "current", Unit::A),
            Self::Energy => ("energy_kWh", "energy", Unit::KWh),
            Self::Metal => ("metal_g", "metal", Unit::G),
            Self::CoveredAfter => ("covered_after_h", "time of first cover", Unit::H),
            Self::WantedAfter => ("wanted_after_h", "time to the wanted thickness", Unit::H),
            Self::Time => ("time_h", "plating time", Unit::H),
            Self::Cost => ("cost", "cost", Unit::Money),
            Self::Apart => (
                "parts_apart_percent",
                "parts apart in mean thickness",
                Unit::Percent,
            ),
            Self::AnodeDensity => (
                "anode_A_per_dm2",
                "largest current density of an anode",
                Unit::APerDm2,
            ),
            Self::StrikeShare => (
                "strike_share_percent",
                "largest share of the limiting current at the strike",
                Unit::Percent,
            ),
        }
    }

    /// Key with its unit, for tables and files.
    pub const fn key(self) -> &'static str {
        self.parts().0
    }

    /// Words.
    pub const fn label(self) -> &'static str {
        self.parts().1
    }

    /// Unit of [`KeyFigure::of`].
    pub const fn unit(self) -> Unit {
        self.parts().2
    }

    /// Is more of it better? Of the others less is.
    pub const fn larger_is_better(self) -> bool {
        matches!(self, Self::Thinnest | Self::Mean | Self::Evenness)
    }

    /// Label with unit.
    pub fn title(self) -> String {
        match self.unit() {
            Unit::One | Unit::Money => self.label().into(),
            unit => format!("{}, {unit}", self.label()),
        }
    }

    /// Its value in its unit.
    pub fn of(self, digest: &Digest) -> Option<f64> {
        let value = match self {
            Self::Thinnest => 1e6 * digest.thinnest_m()?,
            Self::Mean => 1e6 * digest.mean_m()?,
            Self::Thickest => 1e6 * digest.thickest_m()?,
            Self::Evenness => digest.thinnest_m()? / digest.mean_m()?,
            Self::LimitShare => 100.0 * digest.limit_share()?,
            Self::Voltage => digest.main.voltage_v,
            Self::Current => digest.main.current_a,
            Self::Energy => digest.energy_j? / 3.6e6,
            Self::Metal => 1e3 * digest.metal_kg()?,
            Self::CoveredAfter => digest.covered_after_s()? / 3600.0,
            Self::WantedAfter => digest.wanted.as_ref()?.reached_after_s? / 3600.0,
            Self::Time => digest.time_s? / 3600.0,
            Self::Cost => digest.cost.as_ref()?.total,
            Self::Apart => 100.0 * digest.apart()?,
            Self::AnodeDensity => 0.01 * digest.anode_a_per_m2()?,
            Self::StrikeShare => 100.0 * digest.strike_share()?,
        };
        Some(value).filter(|value| value.is_finite())
    }
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

    /// Currency of its cost, if it has one.
    pub fn currency(&self) -> Option<&str> {
        self.cost.as_ref().map(|cost| cost.currency.as_str())
    }

    /// Thinnest place of the work that counts, m.
    pub fn thinnest_m(&self) -> Option<f64> {
        let on = self.wanted.as_ref().and_then(|w| w.on.as_ref());
        let copy_of = |b: &BodyDigest, on: &String| b.copy_of.as_ref() == Some(on);
        let counts = |b: &&BodyDigest| on.is_none_or(|on| *on == b.name || copy_of(b, on));
        let places = self
            .works()
            .filter(counts)
            .filter_map(|b| b.places.thinnest_m);
        places.map(|p| p.value).reduce(f64::min)
    }

    /// Mean thickness of the works, m.
    pub fn mean_m(&self) -> Option<f64> {
        let volumes: Option<Vec<f64>> = self.works().map(|b| b.volume_m3).collect();
        let area: f64 = self.works().map(|b| b.area_m2).sum();
        Some(volumes?.iter().sum::<f64>() / area)
    }

    /// When all works that have a coat were covered, s; nothing while some place is not.
    pub fn covered_after_s(&self) -> Option<f64> {
        let coated = self.works().filter(|b| b.coat_drop_v.is_some());
        let times: Option<Vec<f64>> = coated.map(|b| b.covered_after_s).collect();
        times?.into_iter().reduce(f64::max)
    }

    /// Largest current density at any place of an anode, A/m2.
    pub fn anode_a_per_m2(&self) -> Option<f64> {
        let anodes = self.bodies.iter().filter(|b| b.role == Role::Anode);
        let densities = anodes.filter_map(|b| b.current_density_a_per_m2);
        densities.map(|density| density.max).reduce(f64::max)
    }

    /// Largest share of the limiting current until metal covers all works that have a coat: of what is used up in
    /// front of a place, as for burning.
    pub fn strike_share(&self) -> Option<f64> {
        self.works().find(|b| b.coat_drop_v.is_some())?;
        let is_bare = |moment: &&Moment| moment.covered_share < 1.0;
        let shares = self.history.iter().take_while(is_bare);
        shares.filter_map(|m| m.limit_share).reduce(f64::max)
    }

    /// How far apart the mean thicknesses of the copies of a work are, over their mean; of several works that are
    /// repeated the farthest.
    pub fn apart(&self) -> Option<f64> {
        let repeats = self.repeats.iter().filter(|r| r.role == Role::Work);
        let shares = repeats.filter_map(|r| Some(r.mean_thickness_m.as_ref()?.share));
        shares.reduce(f64::max)
    }

    /// Thickest place of the works, m.
    pub fn thickest_m(&self) -> Option<f64> {
        let places = self.works().filter_map(|b| b.places.thickest_m);
        places.map(|p| p.value).reduce(f64::max)
    }

    /// Largest share of the limiting current on works and thieves.
    pub fn limit_share(&self) -> Option<f64> {
        let places = self.cathodes().filter_map(|b| b.places.limit_share);
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
        let summary = case.summary();
        let digest = Digest::of(&summary).unwrap();
        let work = summary
            .bodies
            .iter()
            .find(|b| b.role == Role::Work)
            .unwrap();
        let close = |figure: KeyFigure, expected: Option<f64>| {
            let found = figure.of(&digest).unwrap();
            assert_relative_eq!(found, expected.unwrap(), max_relative = 1e-9);
        };
        close(KeyFigure::Thinnest, work.thinnest.map(|p| 1e6 * p.value));
        close(KeyFigure::Thickest, work.thickest.map(|p| 1e6 * p.value));
        close(KeyFigure::Mean, work.thickness_m.map(|t| 1e6 * t.mean));
        close(
            KeyFigure::LimitShare,
            work.limit_share.map(|p| 100.0 * p.value),
        );
        close(KeyFigure::Voltage, Some(summary.main.voltage_v));
        close(KeyFigure::Metal, work.metal_kg.map(|kg| 1e3 * kg));
        assert_eq!(digest.verdict.as_ref(), Some(&summary.verdict));
        // Results of older versions are read, too.
        let mut older = serde_json::to_value(&summary).unwrap();
        older.as_object_mut().unwrap().remove("verdict");
        let older: Digest = serde_json::from_value(older).unwrap();
        assert_eq!(older.verdict, None);
    }

    /// Trials keep values by the place in the list.
    #[test]
    fn every_key_figure_stands_in_its_place_with_names_of_its_own() {
        for (n, figure) in KeyFigure::ALL.into_iter().enumerate() {
            assert_eq!(figure as usize, n);
            let same = |other: &&KeyFigure| other.key() == figure.key();
            assert_eq!(KeyFigure::ALL.iter().filter(same).count(), 1);
        }
    }
}
