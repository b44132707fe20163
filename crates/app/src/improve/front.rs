//! What one goal costs of another: the cases that no other case is better than in both.
//!
//! `front.svg` draws them as a line among all cases that keep to the limits; the words tell them one by one.

use super::goal::Goal;
use super::search::Search;
use ionfall_numerics::number::significant;
use ionfall_report::{chart_svg, story::Chart};
use serde_json::{Value, json};

/// Digits of figures.
const DIGITS: i32 = 4;

/// A case on the front: its number, counted from zero, its values, and its figures of both goals.
#[derive(Clone, Debug)]
struct Point {
    case: usize,
    values: Vec<String>,
    figures: [f64; 2],
}

/// The front of a search.
#[derive(Clone, Debug)]
pub(super) struct Front {
    goals: [Goal; 2],
    points: Vec<Point>,
    /// Figures of all cases that keep to the limits.
    all: Vec<[f64; 2]>,
}

impl Front {
    pub fn new(search: &Search<'_>, second: Goal) -> Self {
        let goals = [search.goal, second];
        let figures = |case: usize| {
            let case = &search.cases[case];
            case.cost(search.goal, search.limits)?;
            let digest = case.found.as_ref().ok()?;
            Some([goals[0].value(digest)?, goals[1].value(digest)?])
        };
        let point = |case: usize| {
            Some(Point {
                case,
                values: search.cases[case].values.clone(),
                figures: figures(case)?,
            })
        };
        Self {
            goals,
            points: search.front(second).into_iter().filter_map(point).collect(),
            all: (0..search.cases.len()).filter_map(figures).collect(),
        }
    }

    /// A goal's name with the unit of its figure.
    fn axis(goal: Goal) -> String {
        let figure = goal.figure();
        let unit = figure.unit().to_string();
        match unit.is_empty() {
            true => figure.label().to_owned(),
            false => format!("{}, {unit}", figure.label()),
        }
    }

    /// One sentence a point, the best for the first goal first.
    pub fn text(&self) -> String {
        let [first, second] = self.goals.map(|goal| goal.figure().label());
        let told = self.points.iter().map(|point| {
            let figure = |n: usize| {
                let unit = self.goals[n].figure().unit();
                format!("{} {unit}", significant(point.figures[n], DIGITS))
                    .trim()
                    .to_owned()
            };
            format!(
                "{} at {} ({})",
                figure(0),
                figure(1),
                point.values.join(", ")
            )
        });
        let told: Vec<String> = told.collect();
        match told.len() {
            0 => String::new(),
            1 => format!(
                "One case is the best for {first} and for {second}: {}.",
                told[0]
            ),
            _ => format!("What {first} costs of {second}: {}.", told.join("; ")),
        }
    }

    pub fn json(&self) -> Value {
        let points = self.points.iter().map(|point| {
            json!({ "case": point.case + 1,
                "figures": point.figures.map(|x| significant(x, DIGITS).parse().unwrap_or(x)) })
        });
        json!({ "goals": self.goals.map(|goal| goal.figure().key()),
            "points": points.collect::<Vec<_>>() })
    }

    pub fn svg(&self) -> String {
        let turned = |figures: &[f64; 2]| [figures[1], figures[0]];
        let mut line: Vec<[f64; 2]> = self.points.iter().map(|p| turned(&p.figures)).collect();
        line.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let [up, across] = self.goals.map(Self::axis);
        let chart = Chart {
            key: "front".into(),
            title: format!("{up} against {across}"),
            across,
            up,
            lines: vec![("no better".into(), line)],
            marks_across: Vec::new(),
            marks_up: Vec::new(),
            up_to: None,
            places: Vec::new(),
            words: self.text(),
        };
        let all = self.all.iter().map(turned).collect();
        chart_svg(&chart, &[("all cases".into(), all)])
    }
}
