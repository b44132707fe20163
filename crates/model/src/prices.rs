//! What a run costs: its metal, its energy, its time and its acid, each at the price that the job gives.

use serde::{Deserialize, Serialize};

/// Prices in one currency. What has none costs nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prices {
    /// Name of the currency, empty if it has none.
    pub currency: String,
    /// Of metal on works and thieves, a kilogram.
    pub metal_per_kg: Option<f64>,
    /// Of energy from the supplies, a joule.
    pub energy_per_j: Option<f64>,
    /// Of the tank's time, a second.
    pub time_per_s: Option<f64>,
    /// Of sulfuric acid that hydrogen takes from the bath, a kilogram.
    pub acid_per_kg: Option<f64>,
}

/// What a run uses up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Used {
    /// Metal on works and thieves, kg.
    pub metal_kg: f64,
    /// Energy from the supplies, J.
    pub energy_j: f64,
    /// Time, s.
    pub time_s: f64,
    /// Sulfuric acid, kg: a mole for each mole of hydrogen.
    pub acid_kg: f64,
}

/// What a run costs, in the currency of its prices; a part without a price is none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cost {
    /// Name of the currency, empty if it has none.
    pub currency: String,
    /// What is paid for; older versions do not say it.
    #[serde(default)]
    pub used: Used,
    /// Of the metal.
    pub metal: Option<f64>,
    /// Of the energy.
    pub energy: Option<f64>,
    /// Of the time.
    pub time: Option<f64>,
    /// Of the acid; older versions know of none.
    pub acid: Option<f64>,
    /// All that has a price.
    pub total: f64,
}

impl Prices {
    /// The cost of what is used up.
    pub fn cost(&self, used: Used) -> Cost {
        let [metal, energy, time, acid] = [
            (self.metal_per_kg, used.metal_kg),
            (self.energy_per_j, used.energy_j),
            (self.time_per_s, used.time_s),
            (self.acid_per_kg, used.acid_kg),
        ]
        .map(|(price, amount)| price.map(|price| price * amount));
        Cost {
            currency: self.currency.clone(),
            used,
            metal,
            energy,
            time,
            acid,
            total: [metal, energy, time, acid].into_iter().flatten().sum(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_price_costs_nothing() {
        let prices = Prices {
            currency: "EUR".into(),
            metal_per_kg: Some(10.0),
            energy_per_j: Some(0.36 / 3.6e6),
            time_per_s: None,
            acid_per_kg: Some(2.0),
        };
        let cost = prices.cost(Used {
            metal_kg: 0.25,
            energy_j: 3.6e6,
            time_s: 3600.0,
            acid_kg: 0.5,
        });
        assert_eq!(
            (cost.metal, cost.energy, cost.time),
            (Some(2.5), Some(0.36), None)
        );
        assert_eq!(cost.acid, Some(1.0));
        assert_eq!(cost.total, 3.86);
    }
}
