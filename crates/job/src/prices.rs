//! Prices of metal, energy, time and acid.
//!
//! ```toml
//! [prices]
//! currency = "EUR"
//! metal = "11 per kg"
//! energy = "0.28 per kWh"
//! time = "6 per h"
//! acid = "0.6 per kg"     # of sulfuric acid that hydrogen takes
//! ```

use crate::reader::Table;
use crate::unit::Dimension;
use ionfall_model::Prices;

pub(crate) fn read(table: &Table) -> Option<Prices> {
    let price = |key, dimension| Some(table.get(key)?.positive(dimension));
    let currency = table.get("currency").map(|item| item.text());
    let metal = price("metal", Dimension::PriceOfMass);
    let energy = price("energy", Dimension::PriceOfEnergy);
    let time = price("time", Dimension::PriceOfTime);
    let acid = price("acid", Dimension::PriceOfMass);
    table.finish();
    if [&metal, &energy, &time, &acid].iter().all(|p| p.is_none()) {
        table.fault(
            "there is no price in it",
            "write for example: metal = \"11 per kg\", energy = \"0.28 per kWh\" or time = \"6 per h\"",
        );
        return None;
    }
    Some(Prices {
        currency: currency.flatten().unwrap_or_default().to_owned(),
        metal_per_kg: metal.flatten(),
        energy_per_j: energy.flatten(),
        time_per_s: time.flatten(),
        acid_per_kg: acid.flatten(),
    })
}
