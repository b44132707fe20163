//! Agitation as the trade says it.
//!
//! Either a word, which stands for a range of diffusion films from memory, or the figures of the
//! set-up, from which a correlation gives the film, and how it varies over a face ([`local`](super::local)). One film
//! for a whole tank, as of a word, is an approximation: even in a stirred bath the depletion differs strongly from bottom to top of a cathode ("Electrolyte
//! films in acid copper plating baths", abstract; Trans. Electrochem. Soc. 1940 from memory), and a blind recess keeps the film of a still
//! bath whatever is done outside it.

use super::correlation::{self, Channel, Film, Liquid};
use super::jet::{self, Jet};
use crate::error::{BathError, positive};
use crate::figure::{Figure, Grade, Range};
use crate::subject::Subject;
use serde::Serialize;

/// How the solution is moved past the work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Agitation {
    /// Not at all: free convection.
    Still,
    /// Cathode rod movement of 2 to 5 m/min.
    Rod,
    /// Air sparging from below.
    Air,
    /// Pumped or eductor flow past the face.
    Pumped,
    /// A fast channel or jet, 1 to 3 m/s.
    Jet,
    /// Ultrasonic.
    Ultrasonic,
    /// Free convection on a vertical face of known height.
    StillFace {
        /// Height, m.
        height_m: f64,
    },
    /// Rod movement of known speed.
    MovedFace {
        /// Mean speed, m/s.
        speed_m_per_s: f64,
        /// Length of the face along the movement, m.
        length_m: f64,
    },
    /// Air sparging with a known share of gas.
    Sparged {
        /// Volume of gas in a volume of bath.
        gas_share: f64,
    },
    /// Pumped flow in a channel past the face.
    Channel(Channel),
    /// A round jet that meets the face at a right angle.
    Impinging(Jet),
    /// The work is a rotating cylinder.
    RotatingCylinder {
        /// Speed of rotation, rad/s.
        speed_rad_per_s: f64,
        /// Diameter, m.
        diameter_m: f64,
    },
    /// The work is a rotating disk.
    RotatingDisk {
        /// Speed of rotation, rad/s.
        speed_rad_per_s: f64,
        /// Diameter, m, for the check of the range.
        diameter_m: Option<f64>,
    },
    /// A diffusion film of known thickness, m.
    Film(f64),
}

impl Agitation {
    /// The words, each with the range of its film in millimetres (all from memory) and what it
    /// means.
    pub const NAMED: [(&'static str, Agitation, Range, &'static str); 6] = [
        ("still", Agitation::Still, film_mm(0.15, 0.5), "not stirred"),
        (
            "rod",
            Agitation::Rod,
            film_mm(0.06, 0.15),
            "cathode rod movement, 2 to 5 m/min",
        ),
        (
            "air",
            Agitation::Air,
            film_mm(0.03, 0.1),
            "air sparging from below",
        ),
        (
            "pumped",
            Agitation::Pumped,
            film_mm(0.02, 0.08),
            "pumped or eductor flow past the face",
        ),
        (
            "jet",
            Agitation::Jet,
            film_mm(0.005, 0.03),
            "fast channel or jet, 1 to 3 m/s",
        ),
        (
            "ultrasonic",
            Agitation::Ultrasonic,
            film_mm(0.005, 0.03),
            "ultrasonic",
        ),
    ];

    /// The word's setting.
    pub fn find(word: &str) -> Option<Agitation> {
        Self::NAMED
            .iter()
            .find(|(name, ..)| *name == word)
            .map(|(_, setting, ..)| *setting)
    }

    /// The diffusion film: of a word, the geometric middle of its range; else by the correlation.
    ///
    /// # Errors
    /// Figures that make no sense; a liquid of which the correlation needs to know more.
    pub fn film(&self, liquid: &Liquid) -> Result<Film, BathError> {
        match *self {
            Self::Still | Self::Rod | Self::Air | Self::Pumped | Self::Jet | Self::Ultrasonic => {
                self.named_film().ok_or(BathError::Missing {
                    what: Subject::Film,
                })
            }
            Self::StillFace { height_m } => correlation::still(liquid, height_m),
            Self::MovedFace {
                speed_m_per_s,
                length_m,
            } => correlation::moved_face(liquid, speed_m_per_s, length_m),
            // The height cancels.
            Self::Sparged { gas_share } => correlation::sparged(liquid, gas_share, 1.0),
            Self::Channel(channel) => correlation::channel(liquid, &channel),
            Self::Impinging(jet) => jet::impinging(liquid, &jet),
            Self::RotatingCylinder {
                speed_rad_per_s,
                diameter_m,
            } => correlation::rotating_cylinder(liquid, speed_rad_per_s, diameter_m),
            Self::RotatingDisk {
                speed_rad_per_s,
                diameter_m,
            } => correlation::rotating_disk(liquid, speed_rad_per_s, diameter_m),
            Self::Film(thickness_m) => {
                positive(Subject::Film, thickness_m)?;
                Ok(Film::of(Figure::given(thickness_m, "m")))
            }
        }
    }

    fn named_film(&self) -> Option<Film> {
        let (_, _, range, meaning) = Self::NAMED
            .iter()
            .find(|(_, setting, ..)| setting == self)?;
        let middle = range.geometric_middle().scaled(1e-3, "m");
        Some(Film::of(Figure {
            source: meaning,
            ..middle
        }))
    }
}

const fn film_mm(low: f64, high: f64) -> Range {
    Range::new(low, high, "mm", Grade::Memory, "")
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn words_need_to_know_nothing_of_the_liquid() {
        let liquid = Liquid::default();
        for (word, setting, range, _) in Agitation::NAMED {
            assert_eq!(Agitation::find(word), Some(setting));
            let film = setting.film(&liquid).unwrap().thickness;
            let [low, high] = film.band.unwrap();
            assert_relative_eq!(1e3 * low, range.low, max_relative = 1e-12);
            assert_relative_eq!(1e3 * high, range.high, max_relative = 1e-12);
            assert_eq!(film.grade, Grade::Memory);
        }
        assert_eq!(Agitation::find("quiet"), None);
        let given = Agitation::Film(1e-4).film(&liquid).unwrap();
        assert_eq!(given.thickness.grade, Grade::Given);
        assert!(Agitation::Film(0.0).film(&liquid).is_err());
        let disk = Agitation::RotatingDisk {
            speed_rad_per_s: 50.0,
            diameter_m: None,
        };
        assert!(disk.film(&liquid).is_err());
    }
}
