//! Anodes of the metal of the bath: their polarisation and how hard they may be driven.
//!
//! Too high a density strips the black film of phosphorised copper and roughens the
//! deposit, too low a one thickens it (Metal Finishing Guidebook 2011-2012, p. 206, the high
//! side inferred). What is said of the anodes of other metals is from memory.

use crate::figure::{Figure, Grade, Range};
use crate::kinetics::Polarisation;
use crate::parameter::Parameter;
use ionfall_numerics::number::significant;
use serde::Serialize;

/// Usual current density of phosphorised copper anodes.
pub const COPPER_ANODE: Range = Range::new(0.5, 3.0, "A/dm2", Grade::Memory, "");
/// Usual area of anodes over that of cathodes.
pub const ANODE_AREA_RATIO: Range = Range::new(1.0, 3.0, "", Grade::Practice, "");

/// What becomes of an anode that is driven too hard, or not hard enough.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Habits {
    /// What it is made of.
    pub material: &'static str,
    /// What passivates it.
    pub passive: &'static str,
    /// Driven harder than usual.
    pub too_much: &'static str,
    /// Driven less than usual.
    pub too_little: &'static str,
}

/// Phosphorised copper.
pub const COPPER_HABITS: Habits = Habits {
    material: "phosphorised copper",
    passive: "a salt film may passivate it",
    too_much: "too much strips the black film and makes rough deposits; use more anode area",
    too_little: "too little thickens the black film and lets copper build up; use less anode area",
};

/// An anode that dissolves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Anode {
    /// What it is made of, and what becomes of it.
    pub habits: Habits,
    /// Its polarisation.
    pub polarisation: Polarisation,
    /// Usual current density, A/dm2.
    pub usual_current: Range,
    /// Current density at which it passivates, A/m2; none where the film is unknown.
    pub passivation: Option<Figure>,
    /// Does the film decide about that, so that it goes with the inverse of the local one?
    pub passivates_by_film: bool,
    /// Figures behind its polarisation, where they are not those of the work.
    pub figures: &'static [(Parameter, Figure)],
}

impl Anode {
    /// A doubt about an anode driven at a mean current density (magnitude), the worst place of which comes to a share
    /// of that at which it passivates there, if there is one.
    pub fn doubt(&self, mean_a_per_m2: f64, worst_share: Option<f64>) -> Option<String> {
        let asd = 0.01 * mean_a_per_m2;
        let usual = self.usual_current;
        let grade = usual.grade;
        let reached = worst_share.is_some_and(|share| share >= 1.0);
        let passive = |p: &Figure| reached || mean_a_per_m2 >= p.value;
        if let Some(limit) = self.passivation.filter(passive) {
            let place = match worst_share.filter(|_| mean_a_per_m2 < limit.value) {
                Some(share) => format!(
                    " on average, and {} % of what its film stands for at the worst place",
                    significant(100.0 * share, 2)
                ),
                None => String::new(),
            };
            return Some(format!(
                "{} A/dm2 on the anode{place}: {} from about {} A/dm2 ({}); use more anode area",
                significant(asd, 3),
                self.habits.passive,
                significant(0.01 * limit.value, 2),
                limit.grade
            ));
        }
        let fault = if asd > usual.high {
            self.habits.too_much
        } else if asd < usual.low {
            self.habits.too_little
        } else {
            return None;
        };
        Some(format!(
            "{} A/dm2 on the anode, {usual} are usual ({grade}): {fault}",
            significant(asd, 3)
        ))
    }
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
            habits: COPPER_HABITS,
            polarisation: Polarisation::new(transfer, None).unwrap(),
            figures: &[],
            usual_current: COPPER_ANODE,
            passivation: passivation.map(|i| Figure::given(i, "A/m2")),
            passivates_by_film: true,
        }
    }

    #[test]
    fn doubts_name_the_cause() {
        let share = |i: f64, p: Option<f64>| Some(1.2 * i / p?);
        let says = |i: f64, p| anode(p).doubt(i, share(i, p)).unwrap_or_default();
        assert_eq!(says(150.0, Some(400.0)), "");
        assert!(says(20.0, None).contains("lets copper build up"));
        assert!(says(350.0, Some(500.0)).contains("0.5 to 3 A/dm2 are usual"));
        assert!(says(350.0, Some(200.0)).contains("salt film may passivate it from about 2"));
        // The worst place alone.
        let text = says(190.0, Some(200.0));
        assert!(
            text.contains("110 % of what its film stands for at the worst place: a salt"),
            "{text}"
        );
    }
}
