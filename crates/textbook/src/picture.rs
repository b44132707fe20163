//! The computed profile against the exact curve or the reference values.

use crate::case::Case;
use crate::compare::Report;
use ionfall_report::chart_svg;
use ionfall_report::story::Chart;

/// Draws the profiles of a case: for each variant one picture (SVG), with the label of the variant.
/// Nothing for cases without a profile.
pub fn draw(case: &Case, report: &Report) -> Vec<(&'static str, String)> {
    let Some(profile) = &case.profile else {
        return Vec::new();
    };
    let up = if profile.over_mean {
        "current density over its mean"
    } else {
        "current density, A/m2"
    };
    let one = |curve: &crate::compare::Curve| {
        let mut lines = vec![("computed".to_owned(), curve.computed.clone())];
        if !curve.exact.is_empty() {
            lines.push(("exact".into(), curve.exact.clone()));
        }
        let chart = Chart {
            key: case.name.into(),
            title: case.name.into(),
            across: profile.across.into(),
            up: up.into(),
            lines,
            marks_across: Vec::new(),
            marks_up: Vec::new(),
            up_to: None,
            places: Vec::new(),
            words: String::new(),
        };
        let dots = [("reference".to_owned(), curve.reference.clone())];
        (curve.variant, chart_svg(&chart, &dots))
    };
    report.profiles.iter().map(one).collect()
}
