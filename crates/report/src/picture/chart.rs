//! Charts as SVG: lines over numbers, each named at its end.
//!
//! Words and lines take the colour of the text around them, so that a page can be dark; the classes `s0`,
//! `s1` ... are those of the lines. Of a chart's lines no colour says anything alone: their names stand at
//! their ends, and they are dashed differently.

use super::leaders::spread;
use super::svg::{path, text, tick_text, ticks};
use crate::story::Chart;
use ionfall_numerics::number::round_step;
use std::fmt::Write;

/// Size, pixels, and the room around the lines: left, above, right, below.
const SIZE: [f64; 2] = [460.0, 300.0];
const ROOM: [f64; 4] = [54.0, 30.0, 108.0, 50.0];
/// Colours that are told apart with any colour vision (after the palette of M. Okabe and K. Ito, 2008,
/// from memory), and dashes.
const COLOURS: [&str; 4] = ["#005f99", "#b84e00", "#007a5a", "#8f4b7a"];
const DASHES: [&str; 4] = ["", "8 4", "3 3", "10 3 2 3"];
/// Letters of a name at the end of a line, and pixels between two names.
const LETTERS: usize = 15;
const ROW: f64 = 16.0;

/// Named points.
type Dots = (String, Vec<[f64; 2]>);

/// Ends of a scale.
type Span = [f64; 2];

/// The chart.
pub(crate) fn svg(chart: &Chart) -> String {
    with_dots(chart, &[])
}

/// A chart as SVG, with single points (measured or published values) beside its lines; lists
/// without points are left out.
pub fn with_dots(chart: &Chart, dots: &[Dots]) -> String {
    let [across, up] = spans(chart, dots);
    let place = |p: [f64; 2]| place([across, up], p);
    let [width, height] = SIZE;
    let mut svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" class="lines" viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="14" fill="currentColor">"#
    );
    axes(&mut svg, chart, [across, up]);
    marks(&mut svg, chart, [across, up]);
    let mut ends = Vec::new();
    for (n, (name, points)) in chart.lines.iter().enumerate() {
        let places = points
            .iter()
            .filter(|p| p[1].is_finite())
            .map(|p| place(*p));
        let (colour, dash) = (COLOURS[n % 4], DASHES[n % 4]);
        let _ = write!(
            svg,
            r#"<path class="s{}" d="{}" fill="none" stroke="{colour}" stroke-width="2.2" stroke-dasharray="{dash}"/>"#,
            n % 4,
            path(places)
        );
        ends.extend(points.last().map(|p| (n, place(*p), name.clone(), "")));
    }
    for (k, (name, points)) in dots.iter().filter(|d| !d.1.is_empty()).enumerate() {
        let n = chart.lines.len() + k;
        for [x, y] in points.iter().map(|p| place(*p)) {
            svg += &dot(n, [x, y]);
        }
        ends.extend(points.last().map(|p| (n, place(*p), name.clone(), "dot")));
    }
    names(&mut svg, ends);
    svg + "</svg>"
}

/// Where a point of a chart is drawn.
fn place([across, up]: [Span; 2], p: [f64; 2]) -> [f64; 2] {
    let share = |x: f64, [low, high]: Span| (x - low) / (high - low);
    let [left, above, right, below] = ROOM;
    [
        left + (SIZE[0] - left - right) * share(p[0], across),
        SIZE[1] - below - (SIZE[1] - above - below) * share(p[1], up),
    ]
}

/// Ends of both scales of a chart, and where they lie in the drawing: left, right, below, above.
pub(crate) fn frame(chart: &Chart) -> ([Span; 2], [f64; 4]) {
    let [left, above, right, below] = ROOM;
    let drawn = [left, SIZE[0] - right, SIZE[1] - below, above];
    (spans(chart, &[]), drawn)
}

fn spans(chart: &Chart, dots: &[Dots]) -> [Span; 2] {
    let points = || chart.lines.iter().chain(dots).flat_map(|l| &l.1);
    let marked = chart.marks_across.iter().map(|m| m.0);
    let across = span(points().map(|p| p[0]).chain(marked));
    let marked = chart.marks_up.iter().map(|m| m.0);
    let up = match chart.up_to {
        Some(top) => [0.0, 1.04 * top],
        None => span(points().map(|p| p[1]).chain(marked)),
    };
    [across, up]
}

/// Smallest and largest of numbers, a little apart.
fn span(values: impl Iterator<Item = f64>) -> Span {
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
    if !low.is_finite() {
        return [0.0, 1.0];
    }
    let room = if high > low {
        0.04 * (high - low)
    } else {
        0.5 * high.abs().max(1.0)
    };
    // A scale that begins near zero begins at zero.
    let start = if low >= 0.0 && low < 0.3 * high {
        0.0
    } else {
        low - room
    };
    [start, high + room]
}

/// Grid, ticks and titles.
fn axes(svg: &mut String, chart: &Chart, [across, up]: [Span; 2]) {
    let [left, above, right, below] = ROOM;
    let (end, bottom) = (SIZE[0] - right, SIZE[1] - below);
    let step = round_step(up[1] - up[0], 5.0);
    for tick in ticks(up[0], up[1], 5.0) {
        let y = place([across, up], [across[0], tick])[1];
        let _ = write!(
            svg,
            r#"<path class="grid" d="M{left} {y:.1}H{end}" stroke="currentColor" stroke-opacity="0.16"/><text x="{:.1}" y="{:.1}" text-anchor="end">{}</text>"#,
            left - 7.0,
            y + 5.0,
            tick_text(tick, step)
        );
    }
    let step = round_step(across[1] - across[0], 5.0);
    for tick in ticks(across[0], across[1], 5.0) {
        let x = place([across, up], [tick, up[0]])[0];
        let _ = write!(
            svg,
            r#"<path d="M{x:.1} {bottom}v5" stroke="currentColor"/><text x="{x:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
            bottom + 19.0,
            tick_text(tick, step)
        );
    }
    let _ = write!(
        svg,
        r#"<path d="M{left} {above}V{bottom}H{end}" fill="none" stroke="currentColor"/><text x="4" y="16">{}</text><text x="{:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
        text(&chart.up),
        0.5 * (left + end),
        bottom + 40.0,
        text(&chart.across)
    );
}

/// Values to be marked, as lines through the chart.
fn marks(svg: &mut String, chart: &Chart, [across, up]: [Span; 2]) {
    let [left, above, right, below] = ROOM;
    let (end, bottom) = (SIZE[0] - right, SIZE[1] - below);
    let style = r#"class="wanted" fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="6 3""#;
    for (at, label) in &chart.marks_up {
        let y = place([across, up], [across[0], *at])[1];
        let _ = write!(
            svg,
            r#"<path {style} d="M{left} {y:.1}H{end}"/><text x="{:.1}" y="{:.1}">{}</text>"#,
            left + 5.0,
            y - 5.0,
            text(label)
        );
    }
    for (at, label) in &chart.marks_across {
        let x = place([across, up], [*at, up[0]])[0];
        let _ = write!(
            svg,
            r#"<path {style} d="M{x:.1} {above}V{bottom}"/><text x="{:.1}" y="{:.1}">{}</text>"#,
            x + 5.0,
            above + 8.0,
            text(label)
        );
    }
}

fn dot(n: usize, [x, y]: [f64; 2]) -> String {
    format!(
        r#"<circle class="s{0}" cx="{x:.1}" cy="{y:.1}" r="4.5" fill="none" stroke="{1}" stroke-width="2"/>"#,
        n % 4,
        COLOURS[n % 4]
    )
}

/// Names at the ends of the lines, never over each other: number of the line, its end, its name, and
/// whether it is of dots.
fn names(svg: &mut String, mut ends: Vec<(usize, [f64; 2], String, &str)>) {
    ends.sort_by(|a, b| a.1[1].total_cmp(&b.1[1]));
    let mut heights: Vec<f64> = ends.iter().map(|e| e.1[1]).collect();
    spread(&mut heights, ROW, [ROOM[1], SIZE[1] - ROOM[3]]);
    let x = SIZE[0] - ROOM[2];
    for ((n, from, name, kind), y) in ends.iter().zip(heights) {
        let mut short: String = name.chars().take(LETTERS).collect();
        if short.len() < name.len() {
            short.pop();
            short.push('\u{2026}');
        }
        let colour = COLOURS[n % 4];
        let sign = match *kind {
            "" => format!(
                r#"<path class="s{}" d="M{:.1} {:.1}L{:.1} {y:.1}" stroke="{colour}" stroke-width="0.8"/>"#,
                n % 4,
                from[0],
                from[1],
                x + 8.0
            ),
            _ => dot(*n, [x + 9.0, y]),
        };
        let _ = write!(
            svg,
            r#"{sign}<text class="t{}" x="{:.1}" y="{:.1}" fill="{colour}">{}<title>{}</title></text>"#,
            n % 4,
            x + if kind.is_empty() { 10.0 } else { 17.0 },
            y + 5.0,
            text(&short),
            text(name)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart() -> Chart {
        Chart {
            key: "c".into(),
            title: "t".into(),
            across: "thickness, um".into(),
            up: "share, %".into(),
            lines: vec![
                ("one & two".into(), vec![[0.0, 100.0], [10.0, 50.0]]),
                ("three".into(), vec![[1.0, 90.0], [9.0, 51.0]]),
            ],
            marks_across: vec![(5.0, "wanted".into())],
            marks_up: vec![(50.0, "half".into())],
            up_to: None,
            places: Vec::new(),
            words: String::new(),
        }
    }

    #[test]
    fn a_chart_names_its_axes_and_marks() {
        let svg = svg(&chart());
        for piece in [
            "thickness, \u{b5}m",
            "share, %",
            "one &amp; two",
            "wanted",
            "half",
        ] {
            assert!(svg.contains(piece), "no {piece}");
        }
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
        let dots = [("measured".into(), vec![[2.0, 60.0], [3.0, 70.0]])];
        let dotted = with_dots(&chart(), &dots);
        assert!(dotted.contains("measured"));
        // Two points and one beside their name.
        assert_eq!(dotted.matches("<circle").count(), 3);
    }

    /// Two lines that end at one height have their names one above the other.
    #[test]
    fn names_stand_at_the_ends_of_lines_and_apart() {
        let svg = svg(&chart());
        let height = |class: &str| -> f64 {
            let name = svg
                .split(&format!("<text class=\"{class}\""))
                .nth(1)
                .unwrap();
            let y = name.split(" y=\"").nth(1).unwrap();
            y.split('"').next().unwrap().parse().unwrap()
        };
        assert!((height("t0") - height("t1")).abs() >= ROW - 0.1);
    }

    #[test]
    fn one_ordinate_begins_at_zero() {
        let mut chart = chart();
        assert!(spans(&chart, &[])[1][0] > 40.0);
        chart.up_to = Some(200.0);
        assert_eq!(spans(&chart, &[])[1], [0.0, 208.0]);
    }

    #[test]
    fn spans_hold_everything() {
        assert_eq!(span([0.0, 10.0].into_iter()), [0.0, 10.4]);
        assert_eq!(span([5.0, f64::NAN].into_iter()), [2.5, 7.5]);
        assert_eq!(span(std::iter::empty()), [0.0, 1.0]);
    }
}
