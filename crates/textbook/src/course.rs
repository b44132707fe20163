#![doc = include_str!("course.md")]

use crate::error::TextbookError;
use crate::run::solve_text;
use ionfall_report::chart_svg;
use ionfall_report::story::Chart;
use std::fmt::Write as _;

/// The three jobs of the course, with the names of their distributions.
pub const JOBS: [(&str, &str); 3] = [
    (
        "primary",
        include_str!("../../../examples/textbook/course-primary.toml"),
    ),
    (
        "secondary",
        include_str!("../../../examples/textbook/course-secondary.toml"),
    ),
    (
        "mass-transfer-limited",
        include_str!("../../../examples/textbook/course-limited.toml"),
    ),
];

/// A strip with a resistive coat, for the last exercise.
const STRIP: &str = include_str!("../../../examples/textbook/coated-strip.toml");

/// A question with the answer that a computation gives.
#[derive(Clone, Debug)]
pub struct Exercise {
    /// The question.
    pub question: &'static str,
    /// The answer, as printed.
    pub answer: String,
    /// Why it is so.
    pub why: &'static str,
}

/// Current density in the middle of the floor of the fold over that in the middle of its shelf.
fn evenness(job: &str, changes: &[(&str, &str)]) -> Result<f64, TextbookError> {
    let read = || TextbookError::Reading {
        case: "course".into(),
        what: "the current density on shelf and floor".into(),
    };
    let solved = solve_text("course", &changed(job, changes)?)?;
    let [shelf, floor] = [[0.09, 0.025, 0.0], [0.13, 0.075, 0.0]].map(|x| solved.at("fold", &x));
    Ok(floor.ok_or_else(read)? / shelf.ok_or_else(read)?)
}

/// The job with other figures.
fn changed(job: &str, changes: &[(&str, &str)]) -> Result<String, TextbookError> {
    let mut text = job.to_owned();
    for (from, to) in changes {
        if !text.contains(from) {
            return Err(TextbookError::Reading {
                case: "course".into(),
                what: format!("\"{from}\", which is to be changed,"),
            });
        }
        text = text.replace(from, to);
    }
    Ok(text)
}

/// The exercises with their answers, computed now.
///
/// # Errors
/// [`TextbookError`].
pub fn exercises() -> Result<Vec<Exercise>, TextbookError> {
    let [(_, primary), (_, secondary), (_, limited)] = JOBS;
    let two = |value: f64| format!("{value:.2}");
    let ratio = |job: &str, changes: &[(&str, &str)]| evenness(job, changes).map(two);
    let strip = {
        let long = [
            ("to = \"200 x 2 mm\"", "to = \"400 x 2 mm\""),
            ("220 x", "420 x"),
        ];
        let solved = solve_text("course", &changed(STRIP, &long)?)?;
        let at = |x: f64| {
            solved
                .at("coat", &[x, 0.0, 0.0])
                .ok_or_else(|| TextbookError::Reading {
                    case: "course".into(),
                    what: "the current density of the strip".into(),
                })
        };
        two(at(0.0)? / at(0.4)?)
    };
    Ok(vec![
        Exercise {
            question: "Floor over shelf, primary",
            answer: ratio(primary, &[])?,
            why: "the shape alone: the shelf is nearer to the anode and keeps the current from the foot",
        },
        Exercise {
            question: "Floor over shelf, secondary",
            answer: ratio(secondary, &[])?,
            why: "where more flows the reaction costs more volts, and that evens it out: Wa = 0.5",
        },
        Exercise {
            question: "Floor over shelf, mass-transfer-limited",
            answer: ratio(limited, &[])?,
            why: "no place gets more than the stirring brings, and near that limit all have nearly as much",
        },
        Exercise {
            question: "Secondary, at a tenth of the current",
            answer: ratio(secondary, &[("0.5 A/dm2", "0.05 A/dm2")])?,
            why: "Wa is ten times as large: a low current is an even one",
        },
        Exercise {
            question: "Secondary, at half the conductivity",
            answer: ratio(secondary, &[("20 S/m", "10 S/m")])?,
            why: "Wa is halved: the worse bath makes it less even",
        },
        Exercise {
            question: "Primary, at half the conductivity",
            answer: ratio(primary, &[("20 S/m", "10 S/m")])?,
            why: "as before: without kinetics the conductivity changes the volts only",
        },
        Exercise {
            question: "Contact over far end of the coated strip, twice as long",
            answer: strip,
            why: "cosh(beta), beta = length x root of sheet resistance over that of the law = 2",
        },
    ])
}

/// The lesson and its exercises, as text.
const LESSON: &str = include_str!("course.md");

/// The lesson, and the answers as they come out now.
///
/// # Errors
/// [`TextbookError`].
pub fn words() -> Result<String, TextbookError> {
    let plain = LESSON.replace("**", "").replace("# Exercises", "EXERCISES");
    let mut text = format!("{}\n\nANSWERS, COMPUTED NOW\n\n", plain.trim_end());
    for exercise in exercises()? {
        // Writing into a string does not fail.
        let _ = writeln!(text, "  {:56}{:>6}", exercise.question, exercise.answer);
        let _ = writeln!(text, "      {}", exercise.why);
    }
    Ok(text)
}

/// Way along the folded cathode, mm: up the shelf, along the step, up the floor.
fn way(x: &[f64; 3]) -> f64 {
    let [x, y] = [1e3 * x[0], 1e3 * x[1]];
    if x < 90.5 && y < 50.0 {
        y
    } else if y < 50.5 {
        50.0 + (x - 90.0)
    } else {
        90.0 + (y - 50.0)
    }
}

/// The figure of the course: current density over its mean along the cathode, for the three jobs.
///
/// # Errors
/// [`TextbookError`] of a run.
pub fn figure() -> Result<String, TextbookError> {
    let mut lines = Vec::new();
    for (name, job) in JOBS {
        let solved = solve_text("course", job)?;
        let mean = solved.mean("fold").unwrap_or(1.0);
        let mut points: Vec<[f64; 2]> = (solved.points("fold").iter())
            .map(|(x, i)| [way(x), (i / mean).min(3.0)])
            // The edge of the shelf is infinite in the primary distribution: the scale ends there.
            .collect();
        points.sort_by(|a, b| a[0].total_cmp(&b[0]));
        lines.push((name.to_owned(), points));
    }
    let mark = |at: f64, label: &str| (at, label.to_owned());
    let chart = Chart {
        key: "course".into(),
        title: "Three distributions".into(),
        across: "way along the cathode, mm".into(),
        up: "current density over its mean".into(),
        lines,
        marks_across: vec![mark(50.0, "edge"), mark(90.0, "foot")],
        marks_up: Vec::new(),
        up_to: None,
        places: Vec::new(),
        words: String::new(),
    };
    Ok(chart_svg(&chart, &[]))
}
