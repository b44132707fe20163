//! Facets with a share of the limiting current, sheltered ones or such under a film that varies, in classes: those of
//! one law whose shares differ by less than 2 % have one law in common, so that the solver sees a few laws more and nothing else is new.
//!
//! ```text
//! class k of a share s:  the nearest whole number to ln s / ln 0.98;   its share  0.98^k
//! ```

use ionfall_bath::Kinetics;
use std::collections::BTreeMap;

/// Width of a class.
const WIDTH: f64 = 0.98;

/// The laws of the network, with those of facets with a share after the others.
pub(crate) struct Classes {
    open: Vec<Kinetics>,
    /// Number of the law of each class of each law in the open.
    number: BTreeMap<(usize, i32), usize>,
}

impl Classes {
    /// Of the laws in the open, and the shares of facets with the law that each would have there.
    pub fn new(open: Vec<Kinetics>, shares: &[f64], law: impl Fn(usize) -> usize) -> Self {
        let facets = shares.iter().enumerate();
        let mut number: BTreeMap<(usize, i32), usize> = facets
            .filter_map(|(f, share)| Some(((law(f), class(*share)?), 0)))
            .filter(|((law, _), _)| open[*law].limit_a_per_m2().is_some())
            .collect();
        for (n, number) in number.values_mut().enumerate() {
            *number = open.len() + n;
        }
        Self { open, number }
    }

    /// Number of the law of a facet with such a share.
    pub fn law(&self, in_open: usize, share: Option<&f64>) -> usize {
        let class = share.and_then(|share| class(*share));
        let own = class.and_then(|class| self.number.get(&(in_open, class)));
        own.copied().unwrap_or(in_open)
    }

    /// The law in the open that a law comes from.
    pub fn in_open(&self, law: usize) -> usize {
        match law.checked_sub(self.open.len()) {
            None => law,
            Some(n) => self.number.keys().nth(n).map_or(law, |key| key.0),
        }
    }

    /// All laws.
    pub fn laws(&self) -> Vec<Kinetics> {
        let shared = self
            .number
            .keys()
            .map(|&(law, class)| self.open[law].with_limit_times(WIDTH.powi(class)));
        self.open.iter().cloned().chain(shared).collect()
    }
}

/// The class of a share; none where it is all, no more and no less.
fn class(share: f64) -> Option<i32> {
    let class = (share.ln() / WIDTH.ln()).round() as i32;
    (share > 0.0 && class != 0).then_some(class)
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_bath::Polarisation;
    use ionfall_bath::kinetics::{Branch, Limit, Transfer};

    /// Each share has its limit within 1 %, and facets without a limit keep their law.
    #[test]
    fn shares_have_their_limits() {
        let tafel = Transfer::Tafel {
            branch: Branch::Cathodic,
            exchange_a_per_m2: 0.5,
            slope_v: 0.05,
        };
        let limit = Limit {
            current_a_per_m2: 500.0,
            film_voltage_v: None,
        };
        let law = |limit| Kinetics::Law(Polarisation::new(tafel, limit).unwrap());
        let shelter = [1.0, 0.5, 0.501, 0.02, 0.3, 0.97, 2.5, 1.004];
        let own = |f: usize| usize::from(f == 4);
        let classes = Classes::new(vec![law(Some(limit)), law(None)], &shelter, own);
        let laws = classes.laws();
        assert_eq!(laws.len(), 2 + 4);
        for (f, share) in shelter.iter().enumerate() {
            let n = classes.law(own(f), Some(share));
            assert_eq!(classes.in_open(n), own(f));
            match laws[n].limit_a_per_m2() {
                Some(found) => assert!((found / (500.0 * share) - 1.0).abs() < 0.0102, "{f}"),
                None => assert_eq!((f, n), (4, 1)),
            }
        }
        assert_eq!(classes.law(0, None), 0);
    }
}
