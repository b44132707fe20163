//! Area-weighted statistics of a quantity on facets.

use serde::Serialize;

/// Area-weighted distribution.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Distribution {
    /// Smallest value.
    pub min: f64,
    /// 1 % of the area lies below.
    pub p01: f64,
    /// 5 % of the area lies below.
    pub p05: f64,
    /// Half of the area lies below.
    pub median: f64,
    /// Mean.
    pub mean: f64,
    /// 95 % of the area lies below.
    pub p95: f64,
    /// 99 % of the area lies below.
    pub p99: f64,
    /// Largest value.
    pub max: f64,
}

/// Distribution of `(value, area)` pairs; `None` without area.
pub fn distribution(pairs: impl IntoIterator<Item = (f64, f64)>) -> Option<Distribution> {
    let mut sorted: Vec<(f64, f64)> = pairs.into_iter().filter(|p| p.1 > 0.0).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = sorted.iter().map(|p| p.1).sum();
    let (first, last) = (sorted.first()?, sorted.last()?);
    let at_share = |share: f64| {
        let mut below = 0.0;
        for &(value, area) in &sorted {
            below += area;
            if below >= share * total {
                return value;
            }
        }
        last.0
    };
    Some(Distribution {
        min: first.0,
        p01: at_share(0.01),
        p05: at_share(0.05),
        median: at_share(0.5),
        mean: sorted.iter().map(|p| p.0 * p.1).sum::<f64>() / total,
        p95: at_share(0.95),
        p99: at_share(0.99),
        max: last.0,
    })
}

/// Share of the area where the value is below a threshold.
pub fn share_below(pairs: impl IntoIterator<Item = (f64, f64)>, threshold: f64) -> f64 {
    let (mut below, mut total) = (0.0, 0.0);
    for (value, area) in pairs {
        total += area;
        if value < threshold {
            below += area;
        }
    }
    if total > 0.0 { below / total } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn areas_weigh() {
        let pairs = [(3.0, 1.0), (1.0, 8.0), (2.0, 1.0)];
        let d = distribution(pairs).unwrap();
        assert_eq!((d.min, d.median, d.max), (1.0, 1.0, 3.0));
        assert_relative_eq!(d.mean, 1.3);
        assert_relative_eq!(share_below(pairs, 1.5), 0.8);
        assert_eq!((d.p01, d.p99), (1.0, 3.0));
        let hundred = distribution((1..=200).map(|n| (f64::from(n), 0.5))).unwrap();
        assert_eq!((hundred.p01, hundred.p99), (2.0, 198.0));
        assert!(distribution([]).is_none());
    }
}
