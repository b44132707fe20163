//! The path of a search, drawn and told: every case in its order, what mattered, what one gives up.
//!
//! How the goal goes with a range at the best case is the slope of a plane through the cases nearest to it,
//!
//! ```text
//! ln f = a + sum_k b_k s_k          s_k: shares of the ranges,    b_k / 10: for a tenth of a range
//! ```
//! by least squares over twice as many cases as it has figures; a search ends with cases close around its best.

use super::asked::{Asked, Item};
use super::goal::Goal;
use super::limit::Limit;
use super::search::Case;
use ionfall_numerics::dense::pivoted;
use ionfall_numerics::number::significant;
use ionfall_report::compare::{Dots, Prelude};
use ionfall_report::story::{Chart, Table};
use ionfall_report::{Digest, KeyFigure};

/// Digits of figures.
const DIGITS: i32 = 4;
/// Changes below this share are none.
const SAME: f64 = 1e-3;
/// What a proposal is told of, besides its goal.
const WEIGHED: [KeyFigure; 11] = [
    KeyFigure::Thinnest,
    KeyFigure::Evenness,
    KeyFigure::LimitShare,
    KeyFigure::StrikeShare,
    KeyFigure::AnodeDensity,
    KeyFigure::Voltage,
    KeyFigure::WantedAfter,
    KeyFigure::Time,
    KeyFigure::Energy,
    KeyFigure::Metal,
    KeyFigure::Cost,
];

/// What a search went through.
pub(super) struct Path<'a> {
    pub asked: &'a Asked,
    pub goal: Goal,
    pub limits: &'a [Limit],
    /// Those of the search, in their order, and then those with a key put back.
    pub cases: &'a [Case],
    /// The best case.
    pub best: usize,
    /// For each key the case with it put back.
    pub put_back: Vec<usize>,
}

impl Path<'_> {
    fn value(&self, case: usize) -> Option<f64> {
        let digest = self.cases[case].found.as_ref().ok()?;
        self.goal.value(digest)
    }

    fn is_kept(&self, case: usize) -> bool {
        self.cases[case].cost(self.goal, self.limits).is_some()
    }

    /// Every case in its order, those that break a limit apart, and the best so far.
    pub fn chart(&self) -> (Chart, Dots) {
        let point = |case: usize| Some([(case + 1) as f64, self.value(case)?]);
        let (kept, beyond): (Vec<usize>, Vec<usize>) =
            (0..self.cases.len()).partition(|case| self.is_kept(*case));
        let points = |of: &[usize]| {
            of.iter()
                .filter_map(|case| point(*case))
                .collect::<Vec<_>>()
        };
        let mut best: Vec<[f64; 2]> = Vec::new();
        for [case, value] in points(&kept) {
            let is_better = |last: f64| match self.goal.more_is_better() {
                true => value > last,
                false => value < last,
            };
            let last = best.last().map(|p| p[1]);
            if let Some(last) = last {
                best.push([case, last]);
            }
            if last.is_none_or(is_better) {
                best.push([case, value]);
            }
        }
        best.extend(best.last().map(|p| [self.cases.len() as f64, p[1]]));
        let figure = self.goal.figure();
        let chart = Chart {
            key: "path".into(),
            title: "The path of the search".into(),
            across: "case".into(),
            up: figure.title(),
            lines: vec![("best so far".into(), best)],
            marks_across: Vec::new(),
            marks_up: Vec::new(),
            up_to: None,
            places: Vec::new(),
            words: format!(
                "{} of {} cases in the order in which they were computed; {} go beyond a limit",
                figure.label(),
                self.cases.len(),
                beyond.len()
            ),
        };
        let dots = vec![
            ("cases".into(), points(&kept)),
            ("beyond a limit".into(), points(&beyond)),
            ("as it stands".into(), points(&[0])),
        ];
        (chart, dots)
    }

    /// How the logarithm of the goal goes with the share of each range at the best case; nothing where the cases near
    /// it do not tell.
    fn slopes(&self) -> Option<Vec<f64>> {
        let best = &self.cases[self.best].spot;
        let count = best.shares.len();
        let mut near: Vec<(f64, usize)> = (0..self.cases.len())
            .filter(|case| {
                let spot = &self.cases[*case].spot;
                (&spot.choices, spot.currents) == (&best.choices, best.currents)
            })
            .map(|case| {
                let both = self.cases[case].spot.shares.iter().zip(&best.shares);
                (both.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max), case)
            })
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        near.truncate(2 * (count + 1));
        let mut normal = vec![vec![0.0; count + 2]; count + 1];
        for (_, case) in near {
            let value = self.value(case)?.ln();
            let shares = self.cases[case].spot.shares.iter().zip(&best.shares);
            let row: Vec<f64> = std::iter::once(1.0)
                .chain(shares.map(|(a, b)| a - b))
                .collect();
            for (k, x) in row.iter().enumerate() {
                for (sum, y) in normal[k].iter_mut().zip(row.iter().chain([&value])) {
                    *sum += x * y;
                }
            }
        }
        let found = pivoted(&mut normal);
        let slopes = found[1..].to_vec();
        slopes.iter().all(|b| b.is_finite()).then_some(slopes)
    }

    /// What each key was and is, where it was tried, and what it is worth.
    pub fn mattered(&self) -> Table {
        let slopes = self.slopes();
        let mut range = 0;
        let told = |value: Option<f64>| value.map_or("-".to_owned(), |x| significant(x, DIGITS));
        let row = |(n, item): (usize, &Item)| {
            let value = |case: usize| self.cases[case].values[n].clone();
            let tenth = match item {
                Item::Range(_) => {
                    range += 1;
                    let slope = slopes.as_ref().map(|all| all[range - 1]);
                    slope.map_or("-".to_owned(), |b| {
                        let percent = 100.0 * (0.1 * b).exp_m1();
                        format!("{} %", significant(percent, 2))
                    })
                }
                _ => "-".to_owned(),
            };
            let back = self.put_back.get(n).and_then(|case| self.value(*case));
            vec![
                item.key().to_owned(),
                value(0),
                value(self.best),
                item.text().replacen(item.key(), "", 1).trim().to_owned(),
                told(back),
                tenth,
            ]
        };
        let goal = self.goal.figure().title();
        let best = told(self.value(self.best));
        let head = [
            "key".to_owned(),
            "before".into(),
            "after".into(),
            "tried".into(),
            format!("{goal} without its change, {best} with it"),
            "for a tenth of its range more, at the best".into(),
        ];
        Table {
            key: "mattered".into(),
            title: "What mattered, and what did not".into(),
            head: head.to_vec(),
            rows: self.asked.items.iter().enumerate().map(row).collect(),
        }
    }

    /// What the proposal buys, and what one gives up for it, by the full runs before and after.
    pub fn weighed(&self, [before, after]: &[Digest; 2]) -> Table {
        let goal = self.goal.figure();
        let also = WEIGHED.into_iter().filter(|f| *f != goal);
        let row = |figure: KeyFigure| {
            let (a, b) = figure.of(before).zip(figure.of(after))?;
            let change = b / a - 1.0;
            let verdict = match (change.abs() < SAME, (b > a) == figure.larger_is_better()) {
                (true, _) => "the same",
                (_, true) => "gained",
                (_, false) => "given up",
            };
            Some(vec![
                figure.title(),
                significant(a, DIGITS),
                significant(b, DIGITS),
                format!("{} %", significant(100.0 * change, 3)),
                verdict.to_owned(),
            ])
        };
        Table {
            key: "weighed".into(),
            title: "What it buys, and what one gives up".into(),
            head: ["", "before", "after", "change", ""]
                .map(str::to_owned)
                .to_vec(),
            rows: std::iter::once(goal).chain(also).filter_map(row).collect(),
        }
    }

    /// All of it, for the page.
    pub fn prelude(&self, runs: &[Digest; 2]) -> Prelude {
        Prelude {
            heading: "The search".into(),
            chart: self.chart(),
            tables: vec![self.weighed(runs), self.mattered()],
        }
    }
}
