//! `compare.html`.

use super::map;
use super::read::Run;
use super::table::Comparison;
use crate::error::ReportError;
use crate::html::plain::{Section, page};
use crate::html::{charts, figure, tables};
use crate::picture::{rule, svg::text};
use crate::story::{Chart, Rule, Table, Verdict, at_least, on_one_ordinate, rules};
use crate::verdict::{class, head, sign};
use ionfall_deposit::judge::{Standing, Verdict as Judged};

/// Named points in a chart.
pub type Dots = Vec<(String, Vec<[f64; 2]>)>;

/// What the page tells before the runs: a chart, with named points in it, and tables.
#[derive(Clone, Debug)]
pub struct Prelude {
    /// Its heading.
    pub heading: String,
    /// The chart, and points beside its lines.
    pub chart: (Chart, Dots),
    /// The tables.
    pub tables: Vec<Table>,
}

/// The page; `computed` is how it was computed.
///
/// # Errors
/// [`ReportError::Picture`] if a chart or picture cannot be drawn.
pub fn compare_html(
    comparison: &Comparison,
    prelude: Option<&Prelude>,
    computed: &str,
) -> Result<String, ReportError> {
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
    let mut sections = Vec::new();
    if let Some(Prelude {
        heading,
        chart: (chart, dots),
        tables: told,
    }) = prelude
    {
        sections.push(Section {
            key: "search",
            heading: heading.clone(),
            content: format!(
                "<div class=\"grid\">{}</div>{}",
                figure(chart, dots),
                tables(told)
            ),
        });
    }
    let rules = shared(&comparison.runs);
    if !rules.is_empty() {
        sections.push(Section {
            key: "rules",
            heading: "On shared rules".into(),
            content: rules,
        });
    }
    sections.push(Section {
        key: "tables",
        heading: "Key figures".into(),
        content: tables(&[table]),
    });
    let drawn = overlays(&comparison.runs);
    if !drawn.is_empty() {
        sections.push(Section {
            key: "charts",
            heading: "Over each other".into(),
            content: format!("<div class=\"grid\">{}</div>", charts(&drawn)),
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

/// One row a run, each part of the verdict on a rule that all runs share.
fn shared(runs: &[Run]) -> String {
    let judged = runs
        .iter()
        .filter_map(|r| Some((r, r.digest.verdict.as_ref()?)));
    let judged: Vec<(&Run, &Judged, [Rule; 3])> =
        judged.map(|(run, v)| (run, v, rules::of(v, ""))).collect();
    let end = |part: usize| {
        let scales = judged.iter().filter_map(|j| j.2[part].scale.as_ref());
        scales.map(rule::end).fold(f64::MIN_POSITIVE, f64::max)
    };
    let ends: [f64; 3] = std::array::from_fn(end);
    let row = |(run, verdict, rules): &(&Run, &Judged, [Rule; 3])| {
        let cells: String = rules
            .iter()
            .zip(ends)
            .map(|(r, end)| cell(r, end))
            .collect();
        format!(
            r#"<tr><th scope="row"><b>{}</b><br>{} {}</th>{cells}</tr>"#,
            text(&run.name),
            sign(verdict.state),
            verdict.state.word()
        )
    };
    let rows: String = judged.iter().map(row).collect();
    if rows.is_empty() {
        return rows;
    }
    format!(
        r#"<div class="table" tabindex="0" role="region" aria-label="The parts of the verdict on shared rules"><table id="shared"><thead><tr><th scope="col">run</th><th scope="col">metal</th><th scope="col">sound</th><th scope="col">supply</th></tr></thead><tbody>{rows}</tbody></table></div>"#
    )
}

/// A part of a verdict with its figure, on a rule that ends at a figure.
fn cell(part: &Rule, end: f64) -> String {
    let drawn = part
        .scale
        .as_ref()
        .map_or(String::new(), |s| rule::svg(s, end));
    format!(
        r#"<td class="{0}"><span class="sign" aria-hidden="true">{1}</span> <span class="word">{0}</span> <b>{2}</b>{drawn}</td>"#,
        class(part.state),
        sign(part.state),
        text(&part.answer)
    )
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
            up_to: None,
            places: Vec::new(),
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
                up_to: None,
                places: Vec::new(),
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
            up_to: None,
            places: Vec::new(),
            words: "The thinnest place of the works".into(),
        },
    );
    on_one_ordinate(&mut charts);
    charts
}

fn add(charts: &mut Vec<Chart>, chart: Chart) {
    if !chart.lines.is_empty() {
        charts.push(chart);
    }
}

/// A map for each run on the same facets as the first, all on one scale: shares of the wanted thickness, or
/// micrometres where nothing is wanted.
fn maps(runs: &[Run]) -> Result<String, ReportError> {
    let first = &runs[0];
    let wanted = first.digest.wanted.as_ref().map(|w| 1e6 * w.thickness_m);
    let (unit, factor) = wanted.map_or(("um", 1.0), |um| ("% of wanted", 100.0 / um));
    let moved: Vec<(&Run, Vec<f64>)> = runs[1..]
        .iter()
        .filter_map(|run| Some((run, map::differences(first, run)?)))
        .map(|(run, found)| (run, found.iter().map(|d| factor * d).collect()))
        .collect();
    let span = moved
        .iter()
        .map(|(_, d)| map::span(d))
        .fold(f64::MIN_POSITIVE, f64::max);
    let mut html = String::new();
    for (run, differences) in &moved {
        let title = text(&format!("Thickness: {} minus {}", run.name, first.name));
        html += &format!(
            r#"<figure><h3>{title}, {}</h3><div class="drawing" role="img" aria-label="{title}">{}</div><figcaption>Orange: more metal with {}; purple: less. The ends of the colours hold what lies beyond.</figcaption></figure>"#,
            text(unit),
            map::svg(run, differences, span, unit)?,
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
    use crate::trials::tests::judged;

    #[test]
    fn the_page_has_table_charts_and_map() {
        let comparison = Comparison {
            failed: Vec::new(),
            runs: vec![run("still"), run("air")],
        };
        let html = compare_html(&comparison, None, "now").unwrap();
        let pieces = [
            "air instead of still",
            "id=\"distribution\"",
            "data:image/png",
            "change to air",
        ];
        assert_says(&html, &pieces);
        // The difference on one scale, told as a share of what is wanted.
        assert!(html.contains("% of wanted"));
        assert!(!html.contains("http-equiv=\"refresh\"") && !html.contains("src=\"http"));
    }

    /// Each run has a row, and the same figure the same place on the rule of every run.
    #[test]
    fn runs_share_their_rules() {
        let (mut still, mut air) = (run("still"), run("air"));
        for (run, least_m) in [(&mut still, 50e-6), (&mut air, 400e-6)] {
            let mut verdict = judged(true, false);
            verdict.metal.wanted_m = Some(100e-6);
            verdict.metal.least_m = Some(least_m);
            run.digest.verdict = Some(verdict);
        }
        let html = shared(&[still, air]);
        assert_eq!(html.matches("<th scope=\"row\">").count(), 2, "{html}");
        let wanted: Vec<&str> = html
            .split("class=\"tick\" d=\"")
            .skip(1)
            .map(|rest| rest.split('"').next().unwrap())
            .collect();
        assert_eq!(wanted.len(), 2, "{html}");
        assert_eq!(wanted[0], wanted[1]);
    }
}
