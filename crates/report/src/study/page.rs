//! `study.html`.

use super::map;
use super::table::{CaseResult, Study};
use super::words;
use crate::digest::KeyFigure;
use crate::error::ReportError;
use crate::html::plain::{Section, page};
use crate::html::{charts, tables};
use crate::picture::svg::text;
use crate::story::{Chart, Table};
use crate::unit::Unit;
use crate::verdict;
use ionfall_numerics::number::significant;

/// What is drawn: figures of one chart, and its title.
const DRAWN: [(&str, &[KeyFigure]); 6] = [
    (
        "Thickness",
        &[KeyFigure::Mean, KeyFigure::Thinnest, KeyFigure::Thickest],
    ),
    ("Evenness: thinnest over mean", &[KeyFigure::Evenness]),
    (
        "Largest share of the limiting current",
        &[KeyFigure::LimitShare],
    ),
    ("Time to the wanted thickness", &[KeyFigure::WantedAfter]),
    ("Voltage", &[KeyFigure::Voltage]),
    ("Energy", &[KeyFigure::Energy]),
];

/// The page; `computed` is how it was computed.
///
/// # Errors
/// [`ReportError::Picture`] if a chart cannot be drawn.
pub fn study_html(study: &Study, computed: &str) -> Result<String, ReportError> {
    let drawing = match study.axes.as_slice() {
        [axis] if axis.numbers.is_some() => charts(&lines(study))?,
        [_] | [_, _] => maps(study),
        _ => "<p>More than two keys are varied: see the table.</p>".into(),
    };
    let title = match study.title.as_str() {
        "" => "A study".to_owned(),
        title => format!("{title}: a study"),
    };
    let sections = [
        Section {
            key: "charts",
            heading: format!("Over {}", keys(study)),
            content: format!("<div class=\"grid\">{drawing}</div>"),
        },
        Section {
            key: "tables",
            heading: "Every case".into(),
            content: format!("{}{}", tables(&[table(study)]), steady(study)),
        },
    ];
    Ok(page(
        &title,
        &words::verdict(study),
        None,
        &sections,
        computed,
    ))
}

fn keys(study: &Study) -> String {
    let keys: Vec<&str> = study.axes.iter().map(|a| a.key.as_str()).collect();
    keys.join(" and ")
}

/// Lines over the values of the only key.
fn lines(study: &Study) -> Vec<Chart> {
    let axis = &study.axes[0];
    let numbers = axis.numbers.as_deref().unwrap_or_default();
    DRAWN
        .iter()
        .filter_map(|(title, figures)| {
            let lines: Vec<(String, Vec<[f64; 2]>)> = figures
                .iter()
                .map(|&figure| {
                    let mut points: Vec<[f64; 2]> = study
                        .rows
                        .iter()
                        .filter_map(|r| Some([numbers[r.picks[0]], Study::value(r, figure)?]))
                        .collect();
                    points.sort_by(|a, b| a[0].total_cmp(&b[0]));
                    (figure.label().to_owned(), points)
                })
                .filter(|(_, points)| points.len() > 1)
                .collect();
            let unit = figures[0].unit();
            let wanted = study.wanted_um.filter(|_| unit == Unit::Um);
            (!lines.is_empty()).then(|| Chart {
                key: figures[0].key().replace('_', "-"),
                title: (*title).into(),
                across: axis.title(),
                up: match unit {
                    Unit::One => "thinnest over mean".into(),
                    unit => format!("{}, {unit}", title.to_lowercase()),
                },
                words: format!("{title} over {}", axis.key),
                lines,
                marks_across: Vec::new(),
                marks_up: wanted.map(|w| (w, "wanted".into())).into_iter().collect(),
            })
        })
        .collect()
}

/// A map for each figure that is drawn.
fn maps(study: &Study) -> String {
    DRAWN
        .iter()
        .flat_map(|(_, figures)| *figures)
        .filter_map(|&figure| {
            let title = text(&figure.title());
            Some(format!(
                r#"<figure class="chart" id="map-{}"><h3>{title}</h3><div class="drawing" role="img" aria-label="{title} over {}">{}</div></figure>"#,
                figure.key().to_lowercase().replace('_', "-"),
                text(&keys(study)),
                map::svg(study, figure)?
            ))
        })
        .collect()
}

/// Does a figure differ from case to case, as far as three digits show it?
fn changes(study: &Study, figure: KeyFigure) -> bool {
    let mut values = study
        .rows
        .iter()
        .filter_map(|r| Study::value(r, figure))
        .map(|v| significant(v, 3));
    let first = values.next();
    values.any(|v| Some(v) != first)
}

/// The figures that are the same in every case, in a sentence.
fn steady(study: &Study) -> String {
    let same: Vec<String> = KeyFigure::ALL
        .into_iter()
        .filter(|&figure| !changes(study, figure))
        .filter_map(|figure| {
            let value = study.rows.iter().find_map(|r| Study::value(r, figure))?;
            let (label, unit) = (figure.label(), figure.unit());
            let text = format!("{label} {} {unit}", significant(value, 3));
            Some(text.trim_end().to_owned())
        })
        .collect();
    if same.is_empty() {
        return String::new();
    }
    format!("<p>The same in every case: {}.</p>", text(&same.join(", ")))
}

fn table(study: &Study) -> Table {
    let shown: Vec<KeyFigure> = KeyFigure::ALL
        .into_iter()
        .filter(|&figure| changes(study, figure))
        .collect();
    let unfinished = study
        .rows
        .iter()
        .any(|r| !matches!(r.result, CaseResult::Done(..)));
    let mut head = vec!["case".to_owned()];
    head.extend(study.axes.iter().map(|a| a.title()));
    head.extend(shown.iter().map(|figure| figure.title()));
    head.push("verdict".into());
    head.extend(unfinished.then(|| "failed because".to_owned()));
    let rows = study.rows.iter().map(|row| {
        let mut fields = vec![row.case.to_string()];
        fields.extend(study.axes.iter().zip(&row.picks).map(|(a, &p)| a.field(p)));
        let figures = shown.iter().map(|&figure| Study::value(row, figure));
        fields.extend(figures.map(|v| v.map_or("-".into(), |v| significant(v, 3))));
        let judged = Study::verdict(row);
        fields.push(judged.map_or("-".into(), |v| {
            format!("{} {}", verdict::sign(v.state), verdict::head(v))
        }));
        match &row.result {
            CaseResult::Done(..) => fields.extend(unfinished.then(String::new)),
            CaseResult::Failed(why) => fields.push(why.clone()),
            CaseResult::Missing => fields.push("not run yet".into()),
        }
        fields
    });
    Table {
        key: "cases".into(),
        title: "Key figures of every case".into(),
        head,
        rows: rows.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::sample;
    use super::*;

    #[test]
    fn maps_for_two_keys_and_lines_for_one() {
        let two = sample();
        let html = study_html(&two, "in a test").unwrap();
        assert!(html.contains("id=\"map-thinnest-um\"") && html.contains("in a test"));
        // Four cases are done, one failed, one is missing.
        let map = html.split("id=\"map-thinnest-um\"").nth(1).unwrap();
        let map = map.split("</svg>").next().unwrap();
        assert_eq!(map.matches("<rect").count(), 6);
        assert_eq!(map.matches(">\u{d7}</text>").count(), 2);
        let mut one = sample();
        one.axes.remove(0);
        one.rows.truncate(3);
        for row in &mut one.rows {
            row.picks.remove(0);
        }
        let html = study_html(&one, "").unwrap();
        assert!(html.contains("id=\"mean-um\"") && !html.contains("id=\"map-"));
    }
}
