//! The ledger: charge, metal, gas and energy, body by body.
//!
//! The same structure holds amounts (C, kg, mol, J) and their rates (A, kg/s, mol/s, W), so that a
//! time integrator treats it like the thickness and all balances close as well as those of the
//! field:
//!
//! ```text
//! charge    sum over electrodes of int A i dt = 0
//! energy    supplies = bath + electrodes + coats + contacts + leads
//!           int i phi_s dA + int i (phi_metal - phi_s) dA + sum g (dphi)^2
//! metal     deposited + what the bath loses = dissolved        (Faraday's law)
//! ```
//! The second line is Tellegen's theorem for the network (Tellegen 1952, Philips Res. Rep. 7:259;
//! citation from memory).

use serde::{Deserialize, Serialize};

/// Volume of a mole of gas at 25 degC and 101 325 Pa, m3 (ideal gas, R T / p).
pub const MOLAR_VOLUME_M3: f64 = 8.314_462_618 * 298.15 / 101_325.0;

/// Amounts, or rates of them.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ledger {
    /// Of each electrode: charge from the metal into the electrolyte (negative at cathodes), C.
    pub charge_c: Vec<f64>,
    /// Of each electrode: metal deposited, kg.
    pub deposited_kg: Vec<f64>,
    /// Of each electrode: metal dissolved, kg.
    pub dissolved_kg: Vec<f64>,
    /// Of each electrode: hydrogen evolved, mol.
    pub hydrogen_mol: Vec<f64>,
    /// Of each electrode: energy spent in its polarisation, J.
    pub polarisation_j: Vec<f64>,
    /// Of each electrode: energy spent in its lead, J.
    pub lead_j: Vec<f64>,
    /// Of each contact: charge led through it into the bath (negative at cathodes), C.
    pub contact_c: Vec<f64>,
    /// Of each contact: energy spent in its resistance, J.
    pub contact_j: Vec<f64>,
    /// Of each supply: charge, C.
    pub supply_c: Vec<f64>,
    /// Of each supply: energy, J.
    pub supply_j: Vec<f64>,
    /// Energy spent in the electrolyte, J.
    pub bath_j: f64,
    /// Energy spent in the coats and the metal grown on them, J.
    pub coat_j: f64,
}

impl Ledger {
    /// All zero.
    pub fn new(electrodes: usize, contacts: usize, supplies: usize) -> Self {
        let zeros = |n| vec![0.0; n];
        Self {
            charge_c: zeros(electrodes),
            deposited_kg: zeros(electrodes),
            dissolved_kg: zeros(electrodes),
            hydrogen_mol: zeros(electrodes),
            polarisation_j: zeros(electrodes),
            lead_j: zeros(electrodes),
            contact_c: zeros(contacts),
            contact_j: zeros(contacts),
            supply_c: zeros(supplies),
            supply_j: zeros(supplies),
            bath_j: 0.0,
            coat_j: 0.0,
        }
    }

    /// Adds `weight` times another ledger of the same make.
    pub fn add(&mut self, weight: f64, other: &Self) {
        for (mine, theirs) in self.columns().into_iter().zip(other.clone().columns()) {
            for (a, b) in mine.iter_mut().zip(theirs.iter()) {
                *a += weight * b;
            }
        }
        self.bath_j += weight * other.bath_j;
        self.coat_j += weight * other.coat_j;
    }

    /// Are all amounts numbers?
    pub(crate) fn is_finite(&self) -> bool {
        let lists = [
            &self.charge_c,
            &self.deposited_kg,
            &self.dissolved_kg,
            &self.hydrogen_mol,
            &self.contact_c,
            &self.supply_c,
        ];
        let charge_and_metal = lists.into_iter().flatten().all(|x| x.is_finite());
        charge_and_metal && self.energy_j().is_finite() && self.spent_j().is_finite()
    }

    fn columns(&mut self) -> [&mut Vec<f64>; 10] {
        [
            &mut self.charge_c,
            &mut self.deposited_kg,
            &mut self.dissolved_kg,
            &mut self.hydrogen_mol,
            &mut self.polarisation_j,
            &mut self.lead_j,
            &mut self.contact_c,
            &mut self.contact_j,
            &mut self.supply_c,
            &mut self.supply_j,
        ]
    }

    /// Energy of all supplies, J.
    pub fn energy_j(&self) -> f64 {
        self.supply_j.iter().sum()
    }

    /// Energy spent, by where, J.
    pub fn spent_j(&self) -> f64 {
        let all = [&self.polarisation_j, &self.lead_j, &self.contact_j];
        self.bath_j + self.coat_j + all.into_iter().flatten().sum::<f64>()
    }

    /// Difference of energy given and spent over the larger; zero if nothing flowed.
    pub fn energy_error(&self) -> f64 {
        relative(self.energy_j(), self.spent_j())
    }

    /// Difference of anodic and cathodic charge over the larger; zero if nothing flowed.
    pub fn charge_error(&self) -> f64 {
        let sum = |sign: f64| -> f64 { self.charge_c.iter().map(|c| (sign * c).max(0.0)).sum() };
        relative(sum(1.0), sum(-1.0))
    }

    /// Metal the bath gains, kg (negative: it loses).
    pub fn bath_gain_kg(&self) -> f64 {
        self.dissolved_kg.iter().sum::<f64>() - self.deposited_kg.iter().sum::<f64>()
    }
}

fn relative(a: f64, b: f64) -> f64 {
    let larger = a.abs().max(b.abs());
    if larger > 0.0 {
        (a - b).abs() / larger
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn ledgers_add_up() {
        let mut sum = Ledger::new(2, 1, 1);
        let mut rate = Ledger::new(2, 1, 1);
        rate.charge_c = vec![2.0, -2.0];
        rate.supply_j = vec![10.0];
        rate.polarisation_j = vec![1.0, 3.0];
        rate.contact_j = vec![0.5];
        rate.bath_j = 4.0;
        rate.coat_j = 1.5;
        sum.add(3.0, &rate);
        sum.add(1.0, &rate);
        assert_relative_eq!(sum.charge_c[1], -8.0);
        assert_relative_eq!(sum.energy_j(), 40.0);
        assert_relative_eq!(sum.energy_error(), 0.0);
        assert_relative_eq!(sum.charge_error(), 0.0);
        sum.charge_c[0] = 4.0;
        assert_relative_eq!(sum.charge_error(), 0.5);
    }
}
