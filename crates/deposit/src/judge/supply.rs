//! Can the supply do it? The volts it has to give against its limit; where it holds a voltage, the amperes.

use super::answers::{Answers, Bounds, Standing};
use ionfall_model::Model;
use serde::{Deserialize, Serialize};

/// Can the supply do what it is set to? Of several the one that fares worst.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Able {
    /// How it stands.
    pub state: Standing,
    /// Which supply.
    pub name: String,
    /// Largest voltage between its poles, V.
    pub voltage_v: f64,
    /// Largest current, A.
    pub current_a: f64,
    /// Its voltage limit, V, if the job says one.
    pub limit_v: Option<f64>,
    /// Its current limit, A, if the job says one: it holds its voltage until that flows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_a: Option<f64>,
    /// Voltage left to its voltage limit, V.
    pub margin_v: Option<f64>,
    /// Plus-minus of that voltage, V; known where it is the one at the end.
    pub plus_minus_v: Option<f64>,
    /// What the bath's figures leave open of it, V; known where it is the one at the end.
    pub band_v: Option<[f64; 2]>,
    /// When it was at its limit first, and last, s: it gives less there than it is set to.
    pub limited_s: Option<[f64; 2]>,
    /// Is it at its limit at the end?
    pub limited_at_end: bool,
}

impl Able {
    fn judged(&self) -> Standing {
        if self.limit_v.is_none() && self.limit_a.is_none() {
            return Standing::Unknown;
        }
        let limit_v = self.limit_v.unwrap_or(f64::INFINITY);
        let off_v = self.voltage_v + self.plus_minus_v.unwrap_or(0.0);
        let largest_v = off_v.max(self.band_v.map_or(off_v, |[_, high]| high));
        if self.limited_at_end {
            Standing::Bad
        } else if self.limited_s.is_some() || largest_v > limit_v {
            Standing::Caution
        } else {
            Standing::Good
        }
    }
}

pub(super) fn judge<G>(model: &Model<G>, answers: Answers<'_>, bounds: Bounds<'_>) -> Able {
    let all = model.supplies.iter().zip(answers.supplies).enumerate();
    let judged = all.map(|(n, (supply, end))| {
        // The history is that of the main supply; the bounds are of its voltage at the end.
        let main = n == 0;
        let moments = if main { answers.moments } else { &[] };
        let peak =
            |end: f64, of: fn(&crate::Moment) -> f64| moments.iter().map(of).fold(end, f64::max);
        let mut limited = moments.iter().filter(|m| m.limited).map(|m| m.time_s);
        let voltage_v = peak(end.voltage_v, |m| m.voltage_v);
        let at_end = main && voltage_v <= end.voltage_v;
        let limit_v = supply.voltage_limit_v;
        let mut able = Able {
            name: end.name.clone(),
            voltage_v,
            current_a: peak(end.current_a, |m| m.current_a),
            limit_v,
            limit_a: supply.current_limit_a,
            margin_v: limit_v.map(|limit| limit - voltage_v),
            plus_minus_v: bounds.uncertainty.and_then(|u| match main {
                true => u.voltage_v.filter(|_| at_end),
                false => u.supplies.get(n)?.voltage_v,
            }),
            // A voltage that is held has no band.
            band_v: (bounds.spread.filter(|_| at_end))
                .map(|s| s.voltage_v)
                .filter(|[low, high]| low < high),
            limited_s: limited
                .next()
                .map(|first| [first, limited.next_back().unwrap_or(first)]),
            limited_at_end: end.limited,
            ..Able::default()
        };
        able.state = able.judged();
        able
    });
    // Of equal ones the first, which is the main supply.
    let worse = |a: Able, b: Able| {
        let rank = |x: &Able| (x.state != Standing::Unknown, x.state);
        if rank(&b) > rank(&a) { b } else { a }
    };
    judged.reduce(worse).unwrap_or_default()
}
