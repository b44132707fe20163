//! The textbook in the page: cases with figures to play with (`play`), and all cases of the shelf as they stand,
//! each with its computed profile and the exact curve.

mod play;
mod shown;

use crate::refusal::Refusal;
use crate::reply::Told;
use ionfall_textbook::{Case, Report, Row, run_variant, shelf};
use play::PLAYED;
use serde::Serialize;
use shown::{Axis, Chart, Series, Shown, Slider, number, percent, thinned, title};
use std::collections::BTreeMap;

/// The slider that chooses one of several variants.
const VARIANT: &str = "variant";

/// A case to choose.
#[derive(Debug, Serialize)]
pub(crate) struct Choice {
    id: String,
    title: String,
    told: Vec<String>,
    sliders: Vec<Slider>,
}

/// All cases: those to play with first.
pub(crate) fn cases() -> Vec<Choice> {
    let shelf = shelf::all();
    let played = PLAYED.iter().filter_map(|played| {
        let case = shelf::find(&shelf, played.job).ok()?;
        Some(Choice {
            id: played.id.into(),
            title: format!("{}, to play with", title(case)),
            told: case.told().map(String::from).to_vec(),
            sliders: played.sliders.to_vec(),
        })
    });
    let standing = shelf.iter().map(|case| Choice {
        id: case.name.into(),
        title: title(case),
        told: case
            .told()
            .map(String::from)
            .into_iter()
            .chain(variants(case))
            .collect(),
        sliders: (case.variants.len() > 1)
            .then(|| variant_slider(case))
            .into_iter()
            .collect(),
    });
    played.chain(standing).collect()
}

/// What its variants are, if it has several.
fn variants(case: &Case) -> Option<String> {
    let named = case
        .variants
        .iter()
        .enumerate()
        .map(|(n, v)| format!("{}: {}", n + 1, v.label));
    (case.variants.len() > 1).then(|| named.collect::<Vec<_>>().join("; "))
}

fn variant_slider(case: &Case) -> Slider {
    let to = case.variants.len() as f64;
    Slider {
        name: VARIANT,
        label: "which of them",
        unit: "",
        from: 1.0,
        to,
        value: 1.0,
        step: Some(1.0),
    }
}

/// Computes a case with these values of its sliders.
///
/// # Errors
/// An unknown case; what the case cannot be solved for.
pub(crate) fn case(id: &str, values: &BTreeMap<String, f64>, told: Told) -> Result<Shown, Refusal> {
    told(0.1, "computing the case");
    if let Some(played) = PLAYED.iter().find(|played| played.id == id) {
        let values: Vec<f64> = played
            .sliders
            .iter()
            .map(|slider| slider.of(values))
            .collect();
        return played.shown(&values);
    }
    let shelf = shelf::all();
    let case = shelf::find(&shelf, id).map_err(|error| Refusal::of(&error))?;
    let number = variant_slider(case).of(values).round() as usize;
    let variant = &case.variants[number.clamp(1, case.variants.len()) - 1];
    let report = run_variant(case, variant).map_err(|error| Refusal::of(&error))?;
    let [_, formula, source] = case.told();
    Ok(Shown {
        chart: chart(case, variant.label, &report),
        rows: report.rows.iter().map(row).collect(),
        source: format!("{formula} {source}"),
    })
}

fn chart(case: &Case, label: &str, report: &Report) -> Option<Chart> {
    let (profile, curve) = (case.profile.as_ref()?, report.profiles.first()?);
    let (across, unit) = profile
        .across
        .rsplit_once(", ")
        .unwrap_or((profile.across, ""));
    let exact = if curve.exact.is_empty() {
        &curve.reference
    } else {
        &curve.exact
    };
    let up = if profile.over_mean {
        ("current density over its mean", "")
    } else {
        ("current density", "A/m2")
    };
    let axis = |(label, unit): (&str, &str)| Axis {
        label: label.into(),
        unit: unit.into(),
    };
    Some(Chart {
        title: [title(case), label.to_owned()]
            .into_iter()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join(", "),
        x: axis((across, unit)),
        y: axis(up),
        series: vec![
            Series {
                label: "exact",
                points: thinned(exact),
            },
            Series {
                label: "computed",
                points: thinned(&curve.computed),
            },
        ],
    })
}

fn row(row: &Row) -> [String; 4] {
    let difference = match row.plain {
        true => number(row.computed - row.reference, row.unit),
        false => percent(row.difference),
    };
    [
        row.quantity.clone(),
        number(row.computed, row.unit),
        number(row.reference, row.unit),
        difference,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(id: &str, values: &[(&str, f64)]) -> Shown {
        let values = values
            .iter()
            .map(|(name, value)| ((*name).to_owned(), *value))
            .collect();
        case(id, &values, &mut |_, _| ()).unwrap_or_else(|error| panic!("{id}: {error:?}"))
    }

    /// Largest difference of the rows, as a share.
    fn worst(shown: &Shown) -> f64 {
        let share =
            |row: &[String; 4]| row[3].trim_end_matches(" %").parse::<f64>().unwrap().abs() / 100.0;
        assert!(!shown.rows.is_empty());
        shown.rows.iter().map(share).fold(0.0, f64::max)
    }

    /// At both ends of every slider, the others as they begin, computed and exact agree within two percent.
    #[test]
    fn played_cases_agree_at_the_ends_of_their_sliders() {
        for played in &PLAYED {
            for slider in played.sliders {
                for value in [slider.from, slider.to] {
                    let shown = asked(played.id, &[(slider.name, value)]);
                    let off = worst(&shown);
                    assert!(
                        off < 0.02,
                        "{} at {} {value}: {off}",
                        played.id,
                        slider.name
                    );
                    let chart = shown.chart.unwrap();
                    assert!(
                        chart.series.iter().all(|s| !s.points.is_empty()),
                        "{}",
                        played.id
                    );
                }
            }
        }
    }

    #[test]
    fn sliders_move_the_answer() {
        for played in &PLAYED {
            let first = played.sliders[0];
            let [a, b] =
                [first.from, first.to].map(|value| asked(played.id, &[(first.name, value)]).rows);
            assert_ne!(a[0][2], b[0][2], "{}", played.id);
        }
    }

    #[test]
    fn the_shelf_is_there_as_it_stands() {
        let cases = cases();
        assert_eq!(cases.len(), PLAYED.len() + shelf::all().len());
        let two = asked("eccentric-cylinders", &[(VARIANT, 2.0)]);
        assert!(two.chart.unwrap().title.contains("Wagner number 0.2"));
        assert!(case("nothing", &BTreeMap::new(), &mut |_, _| ()).is_err());
    }
}
