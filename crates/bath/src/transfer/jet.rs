//! A round jet that meets a face at a right angle.
//!
//! With nozzle `d`, its distance `H` from the face, `Re = U d/nu`, the mean over the disk of radius `r` about the
//! jet's axis is
//!
//! ```text
//! Sh = d/delta = (d/r) (1 - 1.1 d/r) / (1 + 0.1 (H/d - 6) d/r) F(Re) Sc^0.42
//! F(Re) = 2 Re^(1/2) (1 + Re^0.55 / 200)^(1/2)
//! ```
//! for `r/d` 2.5 to 7.5, `H/d` 2 to 12, `Re` 2e3 to 4e5 (H. Martin, Adv. Heat Transfer 13 (1977) 1, recalled). It was
//! found with gases; at the stagnation point of a bath it comes within a fifth of `Sh = 1.12 Re^0.5 Sc^(1/3)
//! (H/d)^-0.057` (D.-T. Chin, C.-H. Tsang, J. Electrochem. Soc. 125 (1978) 1461, recalled), which was found
//! electrochemically. Within 2.5 nozzles of the axis the film is taken to be even.

use super::correlation::{Film, Liquid, REYNOLDS, SCHMIDT, SHERWOOD, film};
use crate::error::{BathError, positive};
use crate::subject::Subject;
use serde::Serialize;

const RADIUS: &str = "radius over nozzle r/d";
const DISTANCE: &str = "distance over nozzle H/d";
/// Radius over nozzle within which the film is even.
const EVEN: f64 = 2.5;

/// A round jet onto a face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Jet {
    /// Mean speed in the nozzle, m/s.
    pub speed_m_per_s: f64,
    /// Diameter of the nozzle, m.
    pub nozzle_m: f64,
    /// Distance of the nozzle from the face, m.
    pub distance_m: f64,
    /// Radius of the face about the jet's axis, m.
    pub radius_m: f64,
}

/// The mean film of a jet over the disk of its radius.
///
/// # Errors
/// Unknown liquid; figures that are not greater than zero.
pub fn impinging(liquid: &Liquid, jet: &Jet) -> Result<Film, BathError> {
    positive(Subject::Flow, jet.speed_m_per_s)?;
    positive(Subject::Diameter, jet.nozzle_m)?;
    positive(Subject::Gap, jet.distance_m)?;
    positive(Subject::Length, jet.radius_m)?;
    let transport = liquid.transport()?;
    let re = jet.speed_m_per_s * jet.nozzle_m / transport.nu;
    let height = jet.distance_m / jet.nozzle_m;
    let radius = jet.radius_m / jet.nozzle_m;
    let near = 1.0 / radius.max(EVEN);
    let place = near * (1.0 - 1.1 * near) / (1.0 + 0.1 * (height - 6.0) * near);
    let flow = 2.0 * re.sqrt() * (1.0 + re.powf(0.55) / 200.0).sqrt();
    let sh = place * flow * transport.sc.powf(0.42);
    let mut film = film(jet.nozzle_m / sh, "impinging round jet, Martin 1977", 0.4);
    film.numbers = vec![
        (REYNOLDS, re),
        (SCHMIDT, transport.sc),
        (SHERWOOD, sh),
        (DISTANCE, height),
        (RADIUS, radius),
    ];
    Ok(film
        .check(REYNOLDS, 2e3, 4e5)
        .check(DISTANCE, 2.0, 12.0)
        .check(RADIUS, 0.0, 7.5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transfer::testing::liquid;
    use approx::assert_relative_eq;

    fn jet(radius_m: f64) -> Jet {
        Jet {
            speed_m_per_s: 2.2,
            nozzle_m: 5e-3,
            distance_m: 30e-3,
            radius_m,
        }
    }

    /// Two published formulae at the stagnation point, the one of gases, the other of baths: Chin and Tsang's
    /// is 1.12 * 100 * 1833.3^(1/3) * 6^-0.057 = 1237.6 at Re 1e4, Sc 1833.3, H/d 6. A fifth.
    #[test]
    fn agrees_with_what_was_found_in_baths() {
        let film = impinging(&liquid(), &jet(5e-3)).unwrap();
        assert_relative_eq!(film.number(REYNOLDS).unwrap(), 1e4, max_relative = 1e-12);
        let sh = film.number(SHERWOOD).unwrap();
        assert_relative_eq!(sh, 1237.6, max_relative = 0.2);
        assert!(film.warnings.is_empty());
    }

    /// Worked by hand: at r/d = 5, H/d = 6 the place is 0.2 (1 - 0.22) = 0.156, F(1e4) = 200 sqrt(1.79245) = 267.76,
    /// Sc^0.42 = 23.475.
    #[test]
    fn a_worked_number() {
        let film = impinging(&liquid(), &jet(25e-3)).unwrap();
        assert_relative_eq!(
            film.number(SHERWOOD).unwrap(),
            0.156 * 267.76 * 23.475,
            max_relative = 1e-3
        );
    }

    #[test]
    fn ranges_are_checked() {
        assert!(
            !impinging(&liquid(), &jet(50e-3))
                .unwrap()
                .warnings
                .is_empty()
        );
        let slow = Jet {
            speed_m_per_s: 0.1,
            ..jet(25e-3)
        };
        assert!(!impinging(&liquid(), &slow).unwrap().warnings.is_empty());
        assert!(impinging(&liquid(), &jet(0.0)).is_err());
    }
}
