//! Resistance of the tank between the poles of a supply.
//!
//! ```text
//! whole    R = U / I                       what a meter of volts and one of amperes say
//! ohmic    R = (U - eta_a - eta_c) / I     without the surfaces: bath, coats, contacts, leads
//! eta      sum of A i (phi_metal - phi_s) over sum of A i, over all anodes, or cathodes, on the supply
//! ```
//! With one supply that is the split of its power: `I eta` is what its electrodes spend. A film counts as
//! part of the surface. Metal that hangs on nothing counts as part of the way.

use crate::ledger::Ledger;
use ionfall_model::{Electrode, Role, Supply};

/// Resistances between the poles, ohm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Resistance {
    pub whole_ohm: Option<f64>,
    pub ohmic_ohm: Option<f64>,
}

/// Of supply `n`, which gives `current_a` at `voltage_v` while `rates` are those of the ledger.
pub(crate) fn resistance(
    supplies: &[Supply],
    electrodes: &[Electrode],
    n: usize,
    [voltage_v, current_a]: [f64; 2],
    rates: &Ledger,
) -> Resistance {
    if current_a == 0.0 {
        return Resistance {
            whole_ohm: None,
            ohmic_ohm: None,
        };
    }
    let own = &supplies[n];
    // Where no thieves hang on a supply its negative side is the common one.
    let common = |e: usize| {
        electrodes[e].role.is_cathode() && supplies.iter().all(|s| !s.thieves.contains(&e))
    };
    let cathodes: Vec<usize> = match own.thieves.is_empty() {
        true => (0..electrodes.len()).filter(|&e| common(e)).collect(),
        false => own.thieves.clone(),
    };
    let anodes: Vec<usize> = (0..electrodes.len())
        .filter(|&e| electrodes[e].role == Role::Anode && own.anodes.contains(&e))
        .collect();
    let drop_v = |side: &[usize]| {
        let sum = |of: &[f64]| -> f64 { side.iter().map(|&e| of[e]).sum() };
        let amps = sum(&rates.charge_c).abs();
        (amps > 0.0).then(|| sum(&rates.polarisation_j) / amps)
    };
    let surfaces_v = drop_v(&anodes).zip(drop_v(&cathodes)).map(|(a, c)| a + c);
    Resistance {
        whole_ohm: Some(voltage_v / current_a),
        ohmic_ohm: surfaces_v.map(|v| (voltage_v - v) / current_a),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use ionfall_bath::Kinetics;
    use ionfall_model::{Hold, Limits};

    /// Two supplies on one work; the second has an anode and a thief of its own.
    fn two() -> ([Supply; 2], [Electrode; 4]) {
        let supply = |anodes: &[usize], thieves: &[usize]| Supply {
            name: String::new(),
            hold: Hold::Current(1.0),
            limits: Limits::default(),
            ammeter_share: None,
            anodes: anodes.to_vec(),
            thieves: thieves.to_vec(),
        };
        let electrode = |role| Electrode {
            body: 0,
            name: String::new(),
            copy_of: None,
            role,
            kinetics: Kinetics::Primary,
            lead_ohm: 0.0,
            film_ohm_m2: 0.0,
        };
        (
            [supply(&[0], &[]), supply(&[2], &[3])],
            [Role::Anode, Role::Work, Role::Anode, Role::Thief].map(electrode),
        )
    }

    /// Each is charged with the surfaces of its own poles, by their mean drop, and with no other.
    #[test]
    fn several_supplies_have_their_own_surfaces() {
        let (supplies, electrodes) = two();
        let rates = Ledger {
            // 4 A through the work, 1 A of them from the second supply's anode.
            charge_c: vec![3.0, -4.0, 2.0, -1.0],
            // Drops of 0.1, 0.2, 0.3 and 0.4 V.
            polarisation_j: vec![0.3, 0.8, 0.6, 0.4],
            ..Ledger::new(4, 0, 2)
        };
        let of = |n, volts, amps| resistance(&supplies, &electrodes, n, [volts, amps], &rates);
        for (n, volts, amps, surfaces_v) in [(0, 1.5, 3.0, 0.1 + 0.2), (1, 2.0, 2.0, 0.3 + 0.4)] {
            let found = of(n, volts, amps);
            assert_relative_eq!(found.whole_ohm.unwrap(), volts / amps);
            let ohmic = (volts - surfaces_v) / amps;
            assert_relative_eq!(found.ohmic_ohm.unwrap(), ohmic, epsilon = 1e-15);
        }
        assert_eq!(of(1, 2.0, 0.0).whole_ohm, None);
    }
}
