//! A quantity in a few steps: borders at round values, and the share of the area in each step.
//!
//! What is wanted is a border wherever it lies between the ends; the others are round shares of it, or
//! round values. Of too many borders that one goes first whose two steps hold the least area together.

use ionfall_numerics::number::round_step;

/// Steps at most.
const MOST: usize = 7;
/// Shares of what is wanted at which a step may end.
const SHARES: [f64; 18] = [
    0.1, 0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 20.0, 50.0,
];
/// Shares of the area beyond which values do not ask for finer steps.
const BEYOND: [f64; 2] = [0.01, 0.97];

/// Borders, the two ends among them, and the share of the area between each two.
#[derive(Debug)]
pub(super) struct Steps {
    pub edges: Vec<f64>,
    pub shares: Vec<f64>,
}

/// Of values with their areas between two ends. `wished` is the value that others are told as shares of,
/// `kept` are values at which a step must end.
pub(super) fn steps(
    mut pairs: Vec<(f64, f64)>,
    ends: [f64; 2],
    wished: Option<f64>,
    kept: &[f64],
) -> Steps {
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rounds = match wished {
        Some(wished) => SHARES.map(|share| share * wished).to_vec(),
        None => round_values(&pairs),
    };
    let mut edges: Vec<f64> = rounds.into_iter().chain(kept.iter().copied()).collect();
    edges.retain(|v| *v > ends[0] && *v < ends[1]);
    edges.sort_by(f64::total_cmp);
    edges.dedup_by(|a, b| (*a - *b).abs() <= 1e-9 * b.abs());
    edges.insert(0, ends[0]);
    edges.push(ends[1]);
    let is_kept = |v: f64| kept.iter().any(|k| (k - v).abs() <= 1e-9 * v.abs());
    let mut shares = areas(&pairs, &edges);
    while shares.len() > MOST {
        let inner = (1..shares.len()).filter(|&n| !is_kept(edges[n]));
        let both = |n: usize| shares[n - 1] + shares[n];
        let Some(least) = inner.min_by(|&a, &b| both(a).total_cmp(&both(b))) else {
            break;
        };
        edges.remove(least);
        let gone = shares.remove(least);
        shares[least - 1] += gone;
    }
    Steps { edges, shares }
}

/// Round values over all but the outermost area.
fn round_values(pairs: &[(f64, f64)]) -> Vec<f64> {
    let total: f64 = pairs.iter().map(|p| p.1).sum();
    let [low, high] = BEYOND.map(|share| {
        let mut below = 0.0;
        let found = pairs.iter().find(|p| {
            below += p.1;
            below >= share * total
        });
        found.or(pairs.last()).map_or(0.0, |p| p.0)
    });
    if high <= low {
        return Vec::new();
    }
    let step = round_step(high - low, 6.0);
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last).map(|n| n as f64 * step).collect()
}

/// Share of the area between each two borders; what lies beyond belongs to the outermost steps.
fn areas(sorted: &[(f64, f64)], edges: &[f64]) -> Vec<f64> {
    let total: f64 = sorted.iter().map(|p| p.1).sum();
    let inner = &edges[1..edges.len() - 1];
    let mut shares = vec![0.0; edges.len() - 1];
    for (value, area) in sorted {
        shares[inner.partition_point(|e| e <= value)] += area / total;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn even(low: f64, high: f64) -> Vec<(f64, f64)> {
        (0..1000)
            .map(|n| (low + (high - low) * f64::from(n) / 999.0, 0.5))
            .collect()
    }

    #[test]
    fn what_is_wanted_is_a_border_and_steps_hold_the_whole_area() {
        let made = steps(even(80.0, 490.0), [80.0, 490.0], Some(100.0), &[100.0]);
        assert!(made.edges.contains(&100.0), "{made:?}");
        assert!(made.shares.len() <= MOST, "{made:?}");
        assert_relative_eq!(made.shares.iter().sum::<f64>(), 1.0, max_relative = 1e-9);
        // A twentieth of the area is thinner than wanted.
        let at = made.edges.iter().position(|e| *e == 100.0).unwrap();
        let thinner: f64 = made.shares[..at].iter().sum();
        assert!((thinner - 0.0488).abs() < 2e-3, "{thinner}");
        // The true ends are there.
        assert_eq!(
            (made.edges[0], made.edges[made.edges.len() - 1]),
            (80.0, 490.0)
        );
    }

    #[test]
    fn without_a_wish_borders_are_round_and_an_even_value_is_one_step() {
        let made = steps(even(0.13, 0.61), [0.13, 0.61], None, &[]);
        assert!(
            made.edges.iter().any(|e| (e - 0.3).abs() < 1e-12),
            "{made:?}"
        );
        assert_eq!(steps(vec![(2.0, 1.0)], [1.9, 2.1], None, &[]).shares, [1.0]);
    }
}
