//! `trials.html`.

use super::choice::{Choice, choose, is_as_good};
use super::map;
use super::table::{CaseResult, Row, Trials};
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
const DRAWN: [(&str, &[KeyFigure]); 9] = [
    (
        "Thickness",
        &[KeyFigure::Mean, KeyFigure::Thinnest, KeyFigure::Thickest],
    ),
    ("Evenness: thinnest over mean", &[KeyFigure::Evenness]),
    ("From part to part", &[KeyFigure::Apart]),
    (
        "Largest share of the limiting current",
        &[KeyFigure::LimitShare],
    ),
    ("Time of first cover", &[KeyFigure::CoveredAfter]),
    ("Time to the wanted thickness", &[KeyFigure::WantedAfter]),
    ("Voltage", &[KeyFigure::Voltage]),
    ("Energy", &[KeyFigure::Energy]),
    ("Cost", &[KeyFigure::Cost]),
];

/// The page; `computed` is how it was computed.
///
/// # Errors
/// [`ReportError::Picture`] if a chart cannot be drawn.
pub fn trials_html(trials: &Trials, computed: &str) -> Result<String, ReportError> {
    let drawing = match trials.axes.as_slice() {
        [axis] if axis.numbers.is_some() => charts(&lines(trials)),
        [_] | [_, _] => maps(trials),
        _ => "<p>More than two keys are varied: see the table.</p>".into(),
    };
    let title = match trials.title.as_str() {
        "" => "Trials".to_owned(),
        title => format!("{title}: trials"),
    };
    let sections = [
        Section {
            key: "charts",
            heading: format!("Over {}", keys(trials)),
            content: format!("<div class=\"grid\">{drawing}</div>"),
        },
        Section {
            key: "tables",
            heading: "Every case".into(),
            content: format!("{}{}", tables(&[table(trials)]), steady(trials)),
        },
    ];
    Ok(page(
        &title,
        &words::verdict(trials),
        None,
        &sections,
        computed,
    ))
}

fn keys(trials: &Trials) -> String {
    let keys: Vec<&str> = trials.axes.iter().map(|a| a.key.as_str()).collect();
    keys.join(" and ")
}

/// Lines over the values of the only key.
fn lines(trials: &Trials) -> Vec<Chart> {
    let axis = &trials.axes[0];
    let numbers = axis.numbers.as_deref().unwrap_or_default();
    DRAWN
        .iter()
        .filter_map(|(title, figures)| {
            let lines: Vec<(String, Vec<[f64; 2]>)> = figures
                .iter()
                .map(|&figure| {
                    let mut points: Vec<[f64; 2]> = trials
                        .rows
                        .iter()
                        .filter_map(|r| Some([numbers[r.picks[0]], Trials::value(r, figure)?]))
                        .collect();
                    points.sort_by(|a, b| a[0].total_cmp(&b[0]));
                    (figure.label().to_owned(), points)
                })
                .filter(|(_, points)| points.len() > 1)
                .collect();
            let unit = figures[0].unit();
            let wanted = trials.wanted_um.filter(|_| unit == Unit::Um);
            (!lines.is_empty()).then(|| Chart {
                key: figures[0].key().replace('_', "-"),
                title: (*title).into(),
                across: axis.title(),
                up: match unit {
                    Unit::One => "thinnest over mean".into(),
                    Unit::Money => "cost by the prices of the job".into(),
                    unit => format!("{}, {unit}", title.to_lowercase()),
                },
                words: format!("{title} over {}", axis.key),
                lines,
                marks_across: Vec::new(),
                marks_up: wanted.map(|w| (w, "wanted".into())).into_iter().collect(),
                up_to: None,
                places: Vec::new(),
            })
        })
        .collect()
}

/// What is mapped besides what is wanted.
const MAPPED: [KeyFigure; 9] = [
    KeyFigure::Thinnest,
    KeyFigure::WantedAfter,
    KeyFigure::CoveredAfter,
    KeyFigure::Evenness,
    KeyFigure::Apart,
    KeyFigure::LimitShare,
    KeyFigure::Voltage,
    KeyFigure::Energy,
    KeyFigure::Cost,
];

/// The map of what is wanted, its ties outlined; then one for each other figure that is not the same in
/// every case. Light is good in all of them.
fn maps(trials: &Trials) -> String {
    let choice = choose(trials);
    let goal = choice.as_ref().map_or(KeyFigure::Thinnest, |c| c.goal);
    let others = MAPPED
        .into_iter()
        .filter(|f| *f != goal && changes(trials, *f));
    let map = |figure: KeyFigure| {
        let title = text(&figure.title());
        let (before, words) = match &choice {
            Some(c) if figure == goal => ("What is wanted: ", tied_words(trials, c)),
            _ => ("", String::new()),
        };
        Some(format!(
            r#"<figure class="chart" id="map-{}"><h3>{before}{title}</h3><div class="drawing" role="img" aria-label="{title} over {}. {words}">{}</div><figcaption>{words} Light is good.</figcaption></figure>"#,
            figure.key().to_lowercase().replace('_', "-"),
            text(&keys(trials)),
            map::svg(trials, figure, choice.as_ref().filter(|_| figure == goal))?
        ))
    };
    std::iter::once(goal)
        .chain(others)
        .filter_map(map)
        .collect()
}

/// What the outlines mean.
fn tied_words(trials: &Trials, choice: &Choice<'_>) -> String {
    let rows = trials.rows.iter().filter(|r| r.case != choice.row.case);
    let tied = rows.filter(|r| is_as_good(choice, r)).count();
    let taken = format!(
        "Heavy outline: the case to take, {}.",
        trials.name(choice.row)
    );
    text(&match tied {
        0 => taken,
        1 => format!("{taken} Thin outline: one other that is as good."),
        n => format!("{taken} Thin outlines: {n} others that are as good."),
    })
}

/// Does a figure differ from case to case, as far as three digits show it?
fn changes(trials: &Trials, figure: KeyFigure) -> bool {
    let mut values = trials
        .rows
        .iter()
        .filter_map(|r| Trials::value(r, figure))
        .map(|v| significant(v, 3));
    let first = values.next();
    values.any(|v| Some(v) != first)
}

/// The verdict on a case in a few words.
fn judged(row: &Row) -> Option<String> {
    let verdict = Trials::verdict(row)?;
    let sign = verdict::sign(verdict.state);
    Some(format!("{sign} {}", verdict::head(verdict)))
}

/// The verdict that all cases share.
fn shared_verdict(trials: &Trials) -> Option<String> {
    let first = judged(trials.rows.first()?)?;
    let is_shared = (trials.rows.iter()).all(|row| judged(row).as_ref() == Some(&first));
    is_shared.then_some(first)
}

/// What is the same in every case, in a sentence.
fn steady(trials: &Trials) -> String {
    let mut same: Vec<String> = KeyFigure::ALL
        .into_iter()
        .filter(|&figure| !changes(trials, figure))
        .filter_map(|figure| {
            let value = trials.rows.iter().find_map(|r| Trials::value(r, figure))?;
            let (label, unit) = (figure.label(), figure.unit());
            let text = format!("{label} {} {unit}", significant(value, 3));
            Some(text.trim_end().to_owned())
        })
        .collect();
    if let Some(verdict) = shared_verdict(trials) {
        same.push(format!("verdict {}", verdict.trim_end_matches('.')));
    }
    if same.is_empty() {
        return String::new();
    }
    format!("<p>The same in every case: {}.</p>", text(&same.join(", ")))
}

fn table(trials: &Trials) -> Table {
    let shown: Vec<KeyFigure> = KeyFigure::ALL
        .into_iter()
        .filter(|&figure| changes(trials, figure))
        .collect();
    let unfinished = trials
        .rows
        .iter()
        .any(|r| !matches!(r.result, CaseResult::Done(..)));
    let mut head = vec!["case".to_owned()];
    head.extend(trials.axes.iter().map(|a| a.title()));
    head.extend(shown.iter().map(|figure| figure.title()));
    let differ = shared_verdict(trials).is_none();
    head.extend(differ.then(|| "verdict".to_owned()));
    head.extend(unfinished.then(|| "failed because".to_owned()));
    let rows = trials.rows.iter().map(|row| {
        let mut fields = vec![row.case.to_string()];
        fields.extend(trials.axes.iter().zip(&row.picks).map(|(a, &p)| a.field(p)));
        let figures = shown.iter().map(|&figure| Trials::value(row, figure));
        fields.extend(figures.map(|v| v.map_or("-".into(), |v| significant(v, 3))));
        fields.extend(differ.then(|| judged(row).unwrap_or("-".into())));
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
    use super::super::tests::{judged, sample};
    use super::*;

    #[test]
    fn maps_for_two_keys_and_lines_for_one() {
        let two = sample();
        let html = trials_html(&two, "in a test").unwrap();
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
        let html = trials_html(&one, "").unwrap();
        assert!(html.contains("id=\"mean-um\"") && !html.contains("id=\"map-"));
    }

    /// The case to take and those as good are outlined on the map of what is wanted and on no other; what is
    /// the same everywhere is told, not drawn; light is good whether more or less is.
    #[test]
    fn ties_are_outlined_and_constants_are_not_drawn() {
        let mut trials = sample();
        for row in &mut trials.rows {
            let n = row.case as f64;
            let mut figures = vec![None; KeyFigure::ALL.len()];
            figures[KeyFigure::Thinnest as usize] = Some(if row.case < 4 { 100.0 } else { 50.0 });
            figures[KeyFigure::Voltage as usize] = Some(n);
            figures[KeyFigure::Energy as usize] = Some(7.0);
            // Of equal ones the third is judged worse.
            let verdict = judged(row.case != 3, false);
            row.result = CaseResult::Done(figures, Some(Box::new(verdict)));
        }
        let html = trials_html(&trials, "").unwrap();
        let map = |key: &str| {
            html.split(&format!("id=\"map-{key}\""))
                .nth(1)
                .map(|m| m.split("</figure>").next().unwrap())
        };
        let goal = map("thinnest-um").unwrap();
        assert_eq!(goal.matches("class=\"taken\"").count(), 1, "{goal}");
        assert_eq!(goal.matches("class=\"tied\"").count(), 1, "{goal}");
        let volts = map("voltage-v").unwrap();
        assert_eq!(volts.matches("class=\"taken\"").count(), 0);
        assert!(map("energy-kwh").is_none() && html.contains("energy 7 kWh"));
        let light = |map: &str, case: usize| -> u32 {
            let field = map.split("<rect ").nth(case).unwrap();
            let fill = field.split("fill=\"#").nth(1).unwrap();
            (0..3)
                .map(|k| u32::from_str_radix(&fill[2 * k..2 * k + 2], 16).unwrap())
                .sum()
        };
        assert!(light(goal, 1) > light(goal, 6));
        assert!(light(volts, 1) > light(volts, 6));
    }
}
