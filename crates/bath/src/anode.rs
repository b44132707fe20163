//! Soluble copper anodes: their polarisation and how hard they may be driven.
//!
//! An anode passivates when the copper sulfate in front of it no longer dissolves: a salt film of
//! CuSO4 5H2O forms, then Cu2O (a summary of work on refinery electrolyte, not citable). A film model gives the
//! current density at which that begins:
//!
//! ```text
//! i_p = z F D (c_s - c)/delta        c_s = (1400 - 3 a)(1 + 0.017 (t - 25)) mol/m3
//! ```
//! with `a` g/L of acid and `t` in degC. The solubility is from memory, hence a band of a factor
//! of two. Too high a density strips the black film of phosphorised anodes and roughens the
//! deposit, too low a one thickens it (Metal Finishing Guidebook 2011-2012, p. 206, the high
//! side inferred).

use crate::figure::{Figure, Grade, Range};
use crate::kinetics::Polarisation;
use crate::solution::Solution;
use crate::transfer::limiting_current_a_per_m2;
use ionfall_numerics::number::significant;
use serde::Serialize;

/// Usual current density of phosphorised copper anodes.
pub const COPPER_ANODE: Range = Range::new(0.5, 3.0, "A/dm2", Grade::Memory, "");
/// Usual area of anodes over that of cathodes.
pub const ANODE_AREA_RATIO: Range = Range::new(1.0, 3.0, "", Grade::Practice, "");

/// An anode that dissolves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Anode {
    /// Its polarisation.
    pub polarisation: Polarisation,
    /// Usual current density, A/dm2.
    pub usual_current: Range,
    /// Current density at which a salt film passivates it, A/m2; none where the film is unknown.
    pub passivation: Option<Figure>,
}

impl Anode {
    /// A doubt about an anode driven at a current density (magnitude), if there is one.
    pub fn doubt(&self, current_a_per_m2: f64) -> Option<String> {
        let asd = 0.01 * current_a_per_m2;
        let usual = self.usual_current;
        let grade = usual.grade;
        if let Some(limit) = self.passivation.filter(|p| current_a_per_m2 >= p.value) {
            return Some(format!(
                "{} A/dm2 on the anode: a salt film may passivate it from about {} A/dm2 ({}); \
                 use more anode area",
                significant(asd, 3),
                significant(0.01 * limit.value, 2),
                limit.grade
            ));
        }
        let fault = if asd > usual.high {
            "too much strips the black film and makes rough deposits; use more anode area"
        } else if asd < usual.low {
            "too little thickens the black film and lets copper build up; use less anode area"
        } else {
            return None;
        };
        Some(format!(
            "{} A/dm2 on the anode, {usual} are usual ({grade}): {fault}",
            significant(asd, 3)
        ))
    }
}

/// Current density at which a salt film forms on copper, behind a diffusion film.
pub(crate) fn passivation(bath: &Solution, diffusion: Figure, film: Figure) -> Figure {
    let warmth = 1.0 + 0.017 * (bath.temperature_c() - 25.0);
    let soluble = (1400.0 - 3.0 * bath.acid_g_per_l()).max(0.0) * warmth;
    let room = (soluble - bath.copper_mol_per_m3()).max(0.0);
    Figure::new(
        limiting_current_a_per_m2(2.0, diffusion.value, room, film.value),
        "A/m2",
        Grade::Memory,
        "film model with a recalled solubility",
    )
    .within_factor(2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinetics::Transfer;

    fn anode(passivation: Option<f64>) -> Anode {
        let transfer = Transfer::Linear {
            resistance_ohm_m2: 1e-3,
        };
        Anode {
            polarisation: Polarisation::new(transfer, None).unwrap(),
            usual_current: COPPER_ANODE,
            passivation: passivation.map(|i| Figure::given(i, "A/m2")),
        }
    }

    #[test]
    fn doubts_name_the_cause() {
        let says = |i, p| anode(p).doubt(i).unwrap_or_default();
        assert_eq!(says(150.0, Some(400.0)), "");
        assert!(says(20.0, None).contains("lets copper build up"));
        assert!(says(350.0, Some(400.0)).contains("0.5 to 3 A/dm2 are usual"));
        assert!(says(350.0, Some(200.0)).contains("salt film may passivate it from about 2"));
    }

    /// In a still bath of 200/50 the salt film begins within the usual range of densities.
    #[test]
    fn passivation_of_a_still_bath() {
        let bath = Solution::new(200.0, 50.0, 25.0).unwrap();
        let d = Figure::given(4.12e-10, "m2/s");
        let film = Figure::given(1.7e-4, "m");
        let limit = passivation(&bath, d, film).value;
        assert!((100.0..300.0).contains(&limit), "{limit}");
        // More copper or more acid leaves less room.
        let richer = Solution::new(240.0, 50.0, 25.0).unwrap();
        let sourer = Solution::new(200.0, 150.0, 25.0).unwrap();
        assert!(passivation(&richer, d, film).value < limit);
        assert!(passivation(&sourer, d, film).value < limit);
    }
}
