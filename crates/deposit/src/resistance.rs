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
