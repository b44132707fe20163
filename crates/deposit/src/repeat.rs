//! From part to part: what the copies of one body get.
//!
//! Parts that hang in one tank do not get the same. The figure of a part is its mean; how far apart parts are is the
//! most of these means less the least, over the mean of all of them, weighted by area.

use crate::outcome::BodyOutcome;
use ionfall_model::Role;
use serde::Serialize;

/// What the copies of a body get.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepeatOutcome {
    /// Name of the body that was drawn for all.
    pub name: String,
    /// What they are for.
    pub role: Role,
    /// How many there are.
    pub copies: usize,
    /// Mean thickness of each, m (lost at anodes); needs a plan.
    pub mean_thickness_m: Option<Apart>,
    /// Mean current density on each at the end, magnitude, A/m2.
    pub mean_current_density_a_per_m2: Option<Apart>,
}

/// How far apart the copies are in something.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Apart {
    /// The least.
    pub least: f64,
    /// The copy that has it.
    pub least_on: String,
    /// The most.
    pub most: f64,
    /// The copy that has it.
    pub most_on: String,
    /// Mean of all, weighted by area.
    pub mean: f64,
    /// Most less least over the mean.
    pub share: f64,
}

/// The bodies that were drawn for several, in the order of their first copies.
pub fn repeats(bodies: &[BodyOutcome]) -> Vec<RepeatOutcome> {
    let mut names: Vec<&str> = Vec::new();
    for name in bodies.iter().filter_map(|b| b.copy_of.as_deref()) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let repeat = |name: &str| {
        let own = bodies.iter().filter(|b| b.copy_of.as_deref() == Some(name));
        let copies: Vec<&BodyOutcome> = own.collect();
        RepeatOutcome {
            name: name.into(),
            role: copies[0].role,
            copies: copies.len(),
            mean_thickness_m: apart(&copies, |b| Some(b.volume_m3? / b.area_m2)),
            mean_current_density_a_per_m2: apart(&copies, |b| Some(b.current_a.abs() / b.area_m2)),
        }
    };
    names.into_iter().map(repeat).collect()
}

/// Copies apart in a mean over their surfaces; nothing where one has none.
fn apart(copies: &[&BodyOutcome], of: impl Fn(&BodyOutcome) -> Option<f64>) -> Option<Apart> {
    let values: Option<Vec<f64>> = copies.iter().map(|b| of(b)).collect();
    let values = values.filter(|all| all.iter().all(|v| v.is_finite()))?;
    let place = |better: fn(f64, f64) -> bool| {
        (0..values.len()).reduce(|a, b| if better(values[b], values[a]) { b } else { a })
    };
    let (least, most) = (place(|b, a| b < a)?, place(|b, a| b > a)?);
    let area: f64 = copies.iter().map(|b| b.area_m2).sum();
    let sum = copies.iter().zip(&values).map(|(b, v)| b.area_m2 * v);
    let mean = sum.sum::<f64>() / area;
    Some(Apart {
        least: values[least],
        least_on: copies[least].name.clone(),
        most: values[most],
        most_on: copies[most].name.clone(),
        mean,
        share: if mean > 0.0 {
            (values[most] - values[least]) / mean
        } else {
            0.0
        },
    })
}
