//! Values that are pointed out by stripes: too little, or too much.

use crate::story::measure::number;
use crate::story::{Hatch, Quantity};

/// Is a value pointed out by stripes?
pub(crate) fn is_striped(quantity: &Quantity, value: f64) -> bool {
    quantity.marks.iter().any(|mark| match mark.hatch {
        Hatch::Below => value < mark.value,
        Hatch::Above => value > mark.value,
        Hatch::No => false,
    })
}

/// What the stripes mean, if anything is striped.
pub(crate) fn stripe_words(quantity: &Quantity) -> Option<String> {
    let mark = quantity.marks.iter().find(|m| m.hatch != Hatch::No)?;
    let [least, most] = [quantity.edges[0], quantity.edges[quantity.shares.len()]];
    let (side, any) = match mark.hatch {
        Hatch::Below => ("less than", least < mark.value),
        _ => ("more than", most > mark.value),
    };
    let what = match quantity.over {
        Some(_) => mark.label.clone(),
        None => format!("{} {} ({})", number(mark.value), quantity.unit, mark.label),
    };
    any.then(|| format!("striped: {side} {what}"))
}
