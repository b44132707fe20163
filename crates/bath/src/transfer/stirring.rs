//! How far into a hollow stirring reaches: the radius of the largest ball of liquid that moves as the film of
//! open flow asks for. Where such a ball does not enter, liquid may stand still.
//!
//! A flow past the mouth of a groove drives one eddy about as deep as the groove is wide; those below it are over
//! 300 times weaker (H. K. Moffatt, J. Fluid Mech. 18 (1964) 1, recalled). What drives it is as large as what
//! stirs: bubbles, wakes, jets. The radii are from memory, with wide bands.

use super::agitation::Agitation;
use crate::figure::{Figure, Grade, Range};

const RISING: Range = radius_mm(1.5, 8.0, "as large as rising bubbles and their wakes");
const PASSING: Range = radius_mm(2.0, 10.0, "as large as the wake of a moved rod or rack");
const PUMPED: Range = radius_mm(1.0, 6.0, "eddies of a pumped flow");
const FAST: Range = radius_mm(0.5, 3.0, "eddies of a fast flow or a jet");
const SOUND: Range = radius_mm(0.2, 2.0, "streaming in ultrasound");
const ANY: Range = radius_mm(
    1.0,
    10.0,
    "eddies of an agitation that is known by its film alone",
);

const fn radius_mm(low: f64, high: f64, source: &'static str) -> Range {
    Range::new(low, high, "mm", Grade::Memory, source)
}

/// The radius of stirring, m, where only a film or a limiting current is known.
pub fn usual_stirring_radius() -> Figure {
    ANY.geometric_middle().scaled(1e-3, "m")
}

impl Agitation {
    /// The radius of stirring, m: the geometric middle of its range. None in a still bath, where no eddy
    /// enters anywhere.
    pub fn stirring_radius(&self) -> Option<Figure> {
        let range = match self {
            Self::Still | Self::StillFace { .. } => return None,
            Self::Rod | Self::MovedFace { .. } => PASSING,
            Self::Air | Self::Sparged { .. } => RISING,
            Self::Pumped
            | Self::Channel(_)
            | Self::RotatingCylinder { .. }
            | Self::RotatingDisk { .. } => PUMPED,
            Self::Jet | Self::Impinging(_) => FAST,
            Self::Ultrasonic => SOUND,
            Self::Film(_) => ANY,
        };
        Some(range.geometric_middle().scaled(1e-3, "m"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_but_still_baths_stir() {
        for (word, setting, ..) in Agitation::NAMED {
            let radius = setting.stirring_radius();
            assert_eq!(radius.is_none(), word == "still");
            if let Some(radius) = radius {
                let [low, high] = radius.band.unwrap();
                assert!(
                    1e-4 < low
                        && low < radius.value
                        && radius.value < high
                        && high <= 1e-2 * (1.0 + 1e-12)
                );
                assert_eq!((radius.grade, radius.unit), (Grade::Memory, "m"));
            }
        }
        assert!(usual_stirring_radius().band.is_some());
    }
}
