//! Which case to hang up in the shop, and which of the varied keys do not matter.
//!
//! Cases rank by their verdict, the worst part first, then by that on the metal. Among the best ones the
//! goal decides: where all are thick enough the time to the wanted thickness, else the thickness of the
//! thinnest place. Two cases whose goals differ by less than their plus-minus, or, where none was computed,
//! by less than [`TIE_SHARE`], are a tie; of tied ones that is taken which needs the least energy.
//!
//! A key does not matter if along it, the others as chosen, all cases are tied and judged alike.

use super::table::{CaseResult, Row, Trials};
use crate::digest::KeyFigure;
use ionfall_deposit::judge::{Standing, Verdict};

/// Share of a figure below which two cases count as equal where no plus-minus was computed: cases of one
/// job share most of what their grids leave open.
pub(super) const TIE_SHARE: f64 = 0.02;

/// The case to take.
pub(super) struct Choice<'a> {
    /// The case.
    pub row: &'a Row,
    /// What decided.
    pub goal: KeyFigure,
    /// Of each varied key.
    pub keys: Vec<Matter>,
}

/// Does a key matter?
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Matter {
    /// It does.
    Yes,
    /// It does not; the figure in which its values differ all the same, of which the case has least.
    No(Option<KeyFigure>),
}

/// The choice, if a finished case has a thickness.
pub(super) fn choose(trials: &Trials) -> Option<Choice<'_>> {
    let plated = |row: &&Row| Trials::value(row, KeyFigure::Thinnest).is_some();
    let rows: Vec<&Row> = trials.rows.iter().filter(plated).collect();
    let best = rows.iter().map(|row| rank(row)).min()?;
    let pool: Vec<&Row> = (rows.into_iter()).filter(|row| rank(row) == best).collect();
    let has = |figure: KeyFigure| pool.iter().all(|row| Trials::value(row, figure).is_some());
    let goal = match best.1 {
        Standing::Good if has(KeyFigure::WantedAfter) => KeyFigure::WantedAfter,
        _ => KeyFigure::Thinnest,
    };
    let cost = [KeyFigure::Cost, KeyFigure::Energy]
        .into_iter()
        .find(|figure| has(*figure))
        .unwrap_or(KeyFigure::Voltage);
    let leader = first(&pool, goal)?;
    let tied: Vec<&Row> = (pool.iter().copied())
        .filter(|row| is_tie(leader, row, goal))
        .collect();
    let cheapest = first(&tied, cost)?;
    let cheap: Vec<&Row> = (tied.into_iter())
        .filter(|row| is_tie(cheapest, row, cost))
        .collect();
    let row = first(&cheap, goal)?;
    let keys = (0..trials.axes.len())
        .map(|axis| matter(trials, row, axis, goal))
        .collect();
    Some(Choice { row, goal, keys })
}

/// Is a case judged like the one to take, and tied with it?
#[cfg(feature = "pages")]
pub(super) fn is_as_good(choice: &Choice<'_>, row: &Row) -> bool {
    rank(row) == rank(choice.row) && is_tie(choice.row, row, choice.goal)
}

/// How a case stands: as a whole, and its metal.
fn rank(row: &Row) -> (Standing, Standing) {
    let judged = Trials::verdict(row);
    judged.map_or_else(Default::default, |v: &Verdict| (v.state, v.metal.state))
}

/// The case with the best value of a figure; of equal ones the first.
fn first<'a>(rows: &[&'a Row], figure: KeyFigure) -> Option<&'a Row> {
    let sign = if figure == KeyFigure::Thinnest {
        -1.0
    } else {
        1.0
    };
    let valued = rows
        .iter()
        .filter_map(|row| Some((*row, sign * Trials::value(row, figure)?)));
    let best = valued.reduce(|best, next| if next.1 < best.1 { next } else { best });
    best.map(|(row, _)| row)
}

/// Do two cases differ in a figure by less than what is left open of it?
pub(super) fn is_tie(a: &Row, b: &Row, figure: KeyFigure) -> bool {
    let Some((x, y)) = Trials::value(a, figure).zip(Trials::value(b, figure)) else {
        return false;
    };
    let off = |row: &Row| {
        let metal = &Trials::verdict(row)?.metal;
        match figure {
            KeyFigure::Thinnest => metal.plus_minus_m.map(|m| 1e6 * m),
            KeyFigure::WantedAfter => metal.plus_minus_s.map(|s| s / 3600.0),
            _ => None,
        }
    };
    let open = off(a).zip(off(b)).map(|(a, b)| a.max(b));
    (x - y).abs() <= open.unwrap_or(TIE_SHARE * x.abs().max(y.abs()))
}

/// Does a key matter, the others as in a case?
fn matter(trials: &Trials, chosen: &Row, axis: usize, goal: KeyFigure) -> Matter {
    let same = |row: &&Row| {
        let picks = row.picks.iter().zip(&chosen.picks).enumerate();
        picks.fold(true, |same, (n, (a, b))| same && (n == axis || a == b))
    };
    let along: Vec<&Row> = trials.rows.iter().filter(same).collect();
    let alike = |row: &&Row| match row.result {
        CaseResult::Done(..) => rank(row) == rank(chosen) && is_tie(chosen, row, goal),
        // Of what is not known nothing is said.
        CaseResult::Failed(_) | CaseResult::Missing => false,
    };
    if !along.iter().all(alike) {
        return Matter::Yes;
    }
    let differs = |figure: &KeyFigure| {
        let done = along
            .iter()
            .filter(|row| Trials::value(row, *figure).is_some());
        let mut others = done.filter(|row| !is_tie(chosen, row, *figure));
        others.next().is_some()
    };
    let figures = [KeyFigure::Voltage, KeyFigure::Time, KeyFigure::Energy];
    Matter::No(figures.into_iter().find(differs))
}

#[cfg(test)]
mod tests {
    use super::super::tests::{judged, sample};
    use super::*;

    /// Cases on the two axes of the sample, each with thickness, volts and energy, all judged alike.
    fn cases(of: impl Fn(usize) -> [f64; 3], off_m: Option<f64>) -> Trials {
        let mut trials = sample();
        for (n, row) in trials.rows.iter_mut().enumerate() {
            let [thinnest, volts, energy] = of(n);
            let mut figures = vec![None; KeyFigure::ALL.len()];
            figures[KeyFigure::Thinnest as usize] = Some(thinnest);
            figures[KeyFigure::Voltage as usize] = Some(volts);
            figures[KeyFigure::Energy as usize] = Some(energy);
            let mut verdict = judged(true, false);
            verdict.metal.plus_minus_m = off_m;
            row.result = CaseResult::Done(figures, Some(Box::new(verdict)));
        }
        trials
    }

    /// The distance (cases 4 to 6 against 1 to 3) changes the thinnest place by 0.5 % and costs 0.1 V; the
    /// opening changes it by 20 %.
    #[test]
    fn of_tied_cases_the_cheapest_is_taken() {
        let of = |n: usize| {
            let (far, wide) = ((n / 3) as f64, (n % 3) as f64);
            [
                100.0 + 20.0 * wide + 0.5 * far,
                0.82 + 0.1 * far,
                1.0 + 0.1 * far,
            ]
        };
        let trials = cases(of, None);
        let choice = choose(&trials).unwrap();
        assert_eq!(choice.row.case, 3);
        assert_eq!(
            choice.keys,
            [Matter::No(Some(KeyFigure::Voltage)), Matter::Yes]
        );
        // With a plus-minus of 0.1 um the far one is thicker for certain; with one of 50 um nothing is.
        let trials = cases(of, Some(0.1e-6));
        let choice = choose(&trials).unwrap();
        assert_eq!(choice.row.case, 6);
        assert_eq!(choice.keys, [Matter::Yes, Matter::Yes]);
        let trials = cases(of, Some(50e-6));
        assert_eq!(choose(&trials).unwrap().keys[1], Matter::No(None));
    }

    /// A thicker case that grows trees is not taken before a sound one.
    #[test]
    fn a_better_verdict_comes_first() {
        let mut trials = cases(|n| [100.0 + 20.0 * n as f64, 1.0, 1.0], None);
        for row in trials.rows.iter_mut().skip(2) {
            if let CaseResult::Done(_, verdict) = &mut row.result {
                *verdict = Some(Box::new(judged(true, true)));
            }
        }
        assert_eq!(choose(&trials).unwrap().row.case, 2);
        for row in &mut trials.rows {
            row.result = CaseResult::Failed("no".into());
        }
        assert!(choose(&trials).is_none());
    }
}
