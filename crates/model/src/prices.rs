//! What a run costs: its metal, its energy and its time, each at the price that the job gives.

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
}

/// What a run costs, in the currency of its prices; a part without a price is none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cost {
    /// Name of the currency, empty if it has none.
    pub currency: String,
    /// Of the metal.
    pub metal: Option<f64>,
    /// Of the energy.
    pub energy: Option<f64>,
    /// Of the time.
    pub time: Option<f64>,
    /// All that has a price.
    pub total: f64,
}

impl Prices {
    /// The cost of so much metal, energy and time.
    pub fn cost(&self, metal_kg: f64, energy_j: f64, time_s: f64) -> Cost {
        let [metal, energy, time] = [
            self.metal_per_kg.map(|price| price * metal_kg),
            self.energy_per_j.map(|price| price * energy_j),
            self.time_per_s.map(|price| price * time_s),
        ];
        Cost {
            currency: self.currency.clone(),
            metal,
            energy,
            time,
            total: [metal, energy, time].into_iter().flatten().sum(),
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
        };
        let cost = prices.cost(0.25, 3.6e6, 3600.0);
        assert_eq!(
            (cost.metal, cost.energy, cost.time),
            (Some(2.5), Some(0.36), None)
        );
        assert_eq!(cost.total, 2.86);
    }
}
