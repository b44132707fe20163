//! What a refusal is about: the one place for the names of figures that can be refused.

use std::fmt;

/// A figure of a bath or of a law that can be missing or make no sense.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Subject {
    /// Conductivity.
    Conductivity,
    /// Current efficiency.
    Efficiency,
    /// Temperature of the bath.
    Temperature,
    /// Temperature of a law.
    AbsoluteTemperature,
    /// Amount of copper sulfate.
    CopperSulfate,
    /// Amount of copper sulfate by mass.
    CopperSulfateByMass,
    /// Amount of sulfuric acid.
    SulfuricAcid,
    /// Concentration of the metal.
    Concentration,
    /// Diffusion coefficient of the metal ion.
    Diffusion,
    /// Density of the bath.
    Density,
    /// By how much the bath is heavier than without its metal.
    DensityDifference,
    /// Viscosity.
    Viscosity,
    /// Limiting current density.
    Limit,
    /// How the bath is stirred.
    Agitation,
    /// Diffusion film.
    Film,
    /// Radius of stirring.
    StirringRadius,
    /// Share of gas in the bath.
    GasShare,
    /// Speed of rotation.
    Rotation,
    /// Diameter of what turns.
    Diameter,
    /// Height of the face.
    Height,
    /// Length of the face.
    Length,
    /// Speed of the movement.
    Movement,
    /// Speed of the flow.
    Flow,
    /// Gap of the channel.
    Gap,
    /// Width of the channel.
    Width,
    /// Hydrogen beside the metal.
    Hydrogen,
    /// Equilibrium of hydrogen.
    HydrogenEquilibrium,
    /// Exchange current density.
    Exchange,
    /// Tafel slope.
    TafelSlope,
    /// Polarisation resistance.
    Resistance,
    /// Anodic transfer coefficient.
    AnodicTransfer,
    /// Cathodic transfer coefficient.
    CathodicTransfer,
    /// `RT/nF` of a diffusion film.
    FilmVoltage,
    /// Equilibrium of oxygen above that of the metal.
    BackVoltage,
}

impl Subject {
    /// Its name.
    pub fn name(self) -> &'static str {
        self.words().0
    }

    /// Its unit, empty for a plain number.
    pub fn unit(self) -> &'static str {
        self.words().1
    }

    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Conductivity => ("conductivity", "S/m"),
            Self::Efficiency => ("current efficiency", ""),
            Self::Temperature => ("temperature", "degC"),
            Self::AbsoluteTemperature => ("temperature", "K"),
            Self::CopperSulfate => ("copper sulfate", "g/L"),
            Self::CopperSulfateByMass => ("copper sulfate", "mass per cent"),
            Self::SulfuricAcid => ("sulfuric acid", "g/L"),
            Self::Concentration => ("metal concentration", "mol/m3"),
            Self::Diffusion => ("diffusion coefficient", "m2/s"),
            Self::Density => ("density", "kg/m3"),
            Self::DensityDifference => ("density difference", ""),
            Self::Viscosity => ("viscosity", "Pa s"),
            Self::Limit => ("limiting current density", "A/m2"),
            Self::Agitation => ("agitation of the bath itself", ""),
            Self::Film => ("diffusion film", "m"),
            Self::StirringRadius => ("radius of stirring", "m"),
            Self::GasShare => ("share of gas in the bath", ""),
            Self::Rotation => ("speed of rotation", "rad/s"),
            Self::Diameter => ("diameter", "m"),
            Self::Height => ("height of the face", "m"),
            Self::Length => ("length of the face", "m"),
            Self::Movement => ("speed of the movement", "m/s"),
            Self::Flow => ("speed of the flow", "m/s"),
            Self::Gap => ("gap of the channel", "m"),
            Self::Width => ("width of the channel", "m"),
            Self::Hydrogen => ("hydrogen evolution", ""),
            Self::HydrogenEquilibrium => ("equilibrium of hydrogen", "V"),
            Self::Exchange => ("exchange current density", "A/m2"),
            Self::TafelSlope => ("Tafel slope", "V"),
            Self::Resistance => ("polarisation resistance", "ohm m2"),
            Self::AnodicTransfer => ("anodic transfer coefficient", ""),
            Self::CathodicTransfer => ("cathodic transfer coefficient", ""),
            Self::FilmVoltage => ("RT/nF", "V"),
            Self::BackVoltage => ("back voltage of insoluble anodes", "V"),
        }
    }
}

/// Name and unit: `conductivity in S/m`.
impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.words() {
            (name, "") => f.write_str(name),
            (name, unit) => write!(f, "{name} in {unit}"),
        }
    }
}
