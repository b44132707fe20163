//! Trials: one job with other values of some of its keys, and what came of each case.
//!
//! ```text
//! axes, rows --> trials.csv    one line a case
//!            --> trials.json   the same for programs
//!            --> trials.html   the best cases, maps or lines, the table
//! ```
//! Figures are written with five digits: far fewer than the solver's tolerance leaves sure, so
//! that the files do not show how a case was come by.

mod choice;
#[cfg(feature = "pages")]
mod map;
#[cfg(feature = "pages")]
mod page;
mod table;
mod words;

#[cfg(feature = "pages")]
pub use page::trials_html;
pub use table::{Axis, CaseResult, Row, Trials};

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::digest::KeyFigure;
    use ionfall_bath::Quality;
    use ionfall_deposit::judge::Verdict;
    use ionfall_deposit::judge::{Able, Enough, Sound, Standing};

    /// A verdict: is there enough metal, and do trees grow?
    pub(crate) fn judged(enough: bool, trees: bool) -> Verdict {
        let (good, bad) = (Standing::Good, Standing::Bad);
        Verdict {
            state: if enough && !trees { good } else { bad },
            metal: Enough {
                state: if enough { good } else { bad },
                ..Enough::default()
            },
            sound: Sound {
                state: if trees { bad } else { good },
                quality: Some(if trees {
                    Quality::Trees
                } else {
                    Quality::Sound
                }),
                ..Sound::default()
            },
            supply: Able::default(),
            change: None,
        }
    }

    /// Two axes, six cases, one of them failed and one missing.
    pub(crate) fn sample() -> Trials {
        let axis = |key: &str, numbers: &[f64]| Axis {
            key: key.into(),
            unit: "mm".into(),
            values: numbers.iter().map(|x| format!("{x} mm")).collect(),
            numbers: Some(numbers.to_vec()),
        };
        let axes = vec![
            axis("distance", &[100.0, 150.0]),
            axis("opening", &[40.0, 60.0, 80.0]),
        ];
        let rows = (0..6).map(|n| {
            let figure = |k: usize| Some(100.0 + 10.0 * n as f64 + k as f64 + 1e-9 / 3.0);
            Row {
                case: n + 1,
                picks: vec![n / 3, n % 3],
                result: match n {
                    4 => CaseResult::Failed("too much, \"far\" too much".into()),
                    5 => CaseResult::Missing,
                    _ => CaseResult::Done(
                        (0..KeyFigure::ALL.len()).map(figure).collect(),
                        Some(Box::new(judged(figure(0) >= Some(115.0), n == 3))),
                    ),
                },
            }
        });
        Trials {
            title: "plaque".into(),
            axes,
            rows: rows.collect(),
            wanted_um: Some(115.0),
        }
    }

    #[test]
    fn a_line_for_each_case_and_no_more_digits_than_are_sure() {
        let csv = sample().csv();
        let lines: Vec<&str> = csv.lines().collect();
        assert_eq!(lines.len(), 7);
        assert!(lines[0].starts_with("case,distance [mm],opening [mm],thinnest_um,mean_um"));
        assert!(
            lines[2].starts_with("2,100,60,110,111,112") && lines[2].ends_with(",124,125,bad,"),
            "{}",
            lines[2]
        );
        assert!(
            lines[5].ends_with(",\"too much, \"\"far\"\" too much\""),
            "{}",
            lines[5]
        );
        assert!(lines[6].ends_with(",not run yet"));
        let json = sample().json();
        assert_eq!(json["cases"][1]["values"]["opening"], "60 mm");
        assert_eq!(json["cases"][1]["figures"]["thinnest_um"], 110.0);
        assert!(json["cases"][4]["figures"]["thinnest_um"].is_null());
        assert_eq!(json["cases"][3]["verdict"]["sound"], "bad");
        assert_eq!(json["cases"][2]["verdict"]["state"], "good");
        assert!(json["cases"][4]["verdict"].is_null());
    }
}
