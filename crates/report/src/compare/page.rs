//! `compare.html`.

use super::map;
use super::read::Run;
use super::table::Comparison;
use crate::error::ReportError;
use crate::html::plain::{Section, page};
use crate::html::{charts, tables};
use crate::picture::svg::text;
use crate::story::{Chart, Table, Verdict, at_least};
use crate::verdict::{head, sign};
use ionfall_deposit::judge::Standing;

/// The page; `computed` is how it was computed.
///
/// # Errors
/// [`ReportError::Picture`] if a chart or picture cannot be drawn.
pub fn compare_html(comparison: &Comparison, computed: &str) -> Result<String, ReportError> {
    let names: Vec<&str> = comparison.runs.iter().map(|r| r.name.as_str()).collect();
    let verdict = Verdict {
        // What is compared are several verdicts; each stands in its own line.
        tone: Standing::Unknown,
        head: match names.split_first() {
            Some((first, others)) => format!("{} instead of {first}", others.join(" or ")),
            None => String::new(),
        },
        parts: (comparison.runs.iter())
            .filter_map(|r| {
                let judged = r.digest.verdict.as_ref()?;
                Some(format!(
                    "{} {}: {}",
                    sign(judged.state),
                    r.name,
                    head(judged)
                ))
            })
            .collect(),
        lines: comparison
            .missing()
            .into_iter()
            .chain(comparison.sentences())
            .collect(),
    };
    let table = Table {
        key: "figures".into(),
        title: format!("Changes are from {}", names.first().unwrap_or(&"")),
        head: comparison.head(),
        rows: comparison.rows(),
    };
    let mut sections = vec![Section {
        key: "tables",
        heading: "Key figures".into(),
        content: tables(&[table]),
    }];
    let drawn = overlays(&comparison.runs);
    if !drawn.is_empty() {
        sections.push(Section {
            key: "charts",
            heading: "Over each other".into(),
            content: format!("<div class=\"grid\">{}</div>", charts(&drawn)?),
        });
    }
    let maps = maps(&comparison.runs)?;
    if !maps.is_empty() {
        sections.push(Section {
            key: "maps",
            heading: "Where the metal moved".into(),
            content: maps,
        });
    }
    let title = format!("{} compared", names.join(", "));
    Ok(page(
        &title,
        &verdict,
        Some('\u{21c4}'),
        &sections,
        computed,
    ))
}

fn overlays(runs: &[Run]) -> Vec<Chart> {
    let mut charts = Vec::new();
    let plated = runs.iter().filter(|r| r.digest.time_s.is_some());
    let spread = plated.filter(|r| !r.facets.is_empty()).map(|r| {
        let pairs = r.facets.iter().map(|f| (1e6 * f.value, f.area_m2));
        (r.name.clone(), at_least(pairs.collect()))
    });
    let wanted = runs[0].digest.wanted.as_ref();
    let mark = wanted.map(|w| (1e6 * w.thickness_m, "wanted".to_owned()));
    add(
        &mut charts,
        Chart {
            key: "distribution".into(),
            title: "How the thickness is spread".into(),
            across: "thickness, um".into(),
            up: "share of the area at least so much, %".into(),
            lines: spread.collect(),
            marks_across: mark.clone().into_iter().collect(),
            marks_up: Vec::new(),
            words: "The steeper a line falls, the more even the metal lies".into(),
        },
    );
    for (n, line) in runs[0].lines.iter().enumerate() {
        let same = runs.iter().filter_map(|r| {
            let found = r.lines.iter().find(|l| l.name == line.name)?;
            Some((r.name.clone(), found.points.clone()))
        });
        add(
            &mut charts,
            Chart {
                key: format!("line-{}", n + 1),
                title: format!("The thickness along the line {}", line.name),
                across: "way along the line, mm".into(),
                up: "thickness, um".into(),
                lines: same.collect(),
                marks_across: Vec::new(),
                marks_up: mark.clone().into_iter().collect(),
                words: format!("Facets nearest to the line {}", line.name),
            },
        );
    }
    let history = runs.iter().filter(|r| r.digest.history.len() > 1).map(|r| {
        let moments = r.digest.history.iter();
        let points = moments.map(|m| [m.time_s / 3600.0, 1e6 * m.least_m]);
        (r.name.clone(), points.collect())
    });
    add(
        &mut charts,
        Chart {
            key: "time-thickness".into(),
            title: "The thinnest place over time".into(),
            across: "time, h".into(),
            up: "thickness, um".into(),
            lines: history.collect(),
            marks_across: Vec::new(),
            marks_up: mark.into_iter().collect(),
            words: "The thinnest place of the works".into(),
        },
    );
    charts
}

fn add(charts: &mut Vec<Chart>, chart: Chart) {
    if !chart.lines.is_empty() {
        charts.push(chart);
    }
}

/// A map for each run on the same facets as the first.
fn maps(runs: &[Run]) -> Result<String, ReportError> {
    let first = &runs[0];
    let mut html = String::new();
    for run in &runs[1..] {
        let Some(differences) = map::differences(first, run) else {
            continue;
        };
        let title = text(&format!("Thickness: {} minus {}", run.name, first.name));
        html += &format!(
            r#"<figure><h3>{title}, &micro;m</h3><div class="drawing" role="img" aria-label="{title}">{}</div><figcaption>Orange: more metal with {}; purple: less. The ends of the colours hold what lies beyond.</figcaption></figure>"#,
            map::svg(run, &differences)?,
            text(&run.name),
        );
    }
    Ok(html)
}

#[cfg(test)]
mod tests {
    use super::super::tests::run;
    use super::*;
    use crate::testing::assert_says;

    #[test]
    fn the_page_has_table_charts_and_map() {
        let comparison = Comparison {
            failed: Vec::new(),
            runs: vec![run("still"), run("air")],
        };
        let html = compare_html(&comparison, "now").unwrap();
        let pieces = [
            "air instead of still",
            "id=\"distribution\"",
            "data:image/png",
            "change to air",
        ];
        assert_says(&html, &pieces);
        assert!(!html.contains("http-equiv=\"refresh\"") && !html.contains("src=\"http"));
    }
}
