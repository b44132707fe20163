//! Charts as SVG, drawn by `plotters`.

use crate::error::ReportError;
use crate::story::Chart;
use crate::unit::printed;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Size, pixels.
const SIZE: (u32, u32) = (560, 360);
/// Colours that are told apart with any colour vision (the palette of M. Okabe and K. Ito, 2008,
/// recalled); lines are also dashed differently.
const COLOURS: [RGBColor; 4] = [
    RGBColor(0x00, 0x5f, 0x99),
    RGBColor(0xd5, 0x5e, 0x00),
    RGBColor(0x00, 0x8a, 0x65),
    RGBColor(0x8f, 0x4b, 0x7a),
];
/// Size of a corner that the names of the lines take, as shares of the chart.
const CORNER: [f64; 2] = [0.36, 0.36];
const INK: RGBColor = RGBColor(0x1d, 0x27, 0x33);
const FAINT: RGBColor = RGBColor(0xe3, 0xe5, 0xe8);
const FONT: &str = "sans-serif";

/// Named points.
type Dots = (String, Vec<[f64; 2]>);

/// The chart.
pub(crate) fn svg(chart: &Chart) -> Result<String, ReportError> {
    with_dots(chart, &[])
}

/// A chart as SVG, with single points (measured or published values) beside its lines; lists
/// without points are left out.
///
/// # Errors
/// [`ReportError::Picture`].
pub fn with_dots(chart: &Chart, dots: &[Dots]) -> Result<String, ReportError> {
    let mut svg = String::new();
    draw(chart, dots, &mut svg).map_err(|e| ReportError::Picture(e.to_string()))?;
    Ok(svg)
}

/// Smallest and largest of numbers, a little apart.
fn span(values: impl Iterator<Item = f64>) -> std::ops::Range<f64> {
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
    if !low.is_finite() {
        return 0.0..1.0;
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
    start..high + room
}

/// A tick without needless places.
fn plain(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}

/// The corner with the fewest points of lines in it, for the names of the lines.
fn emptiest(
    chart: &Chart,
    across: &std::ops::Range<f64>,
    up: &std::ops::Range<f64>,
) -> SeriesLabelPosition {
    use SeriesLabelPosition::{LowerLeft, LowerRight, UpperLeft, UpperRight};
    let count = |right: bool, upper: bool| {
        let points = chart.lines.iter().flat_map(|l| {
            // Along the pieces too: two points may lie far apart.
            l.1.windows(2).flat_map(|w| {
                (0..=8).map(move |k| {
                    let t = f64::from(k) / 8.0;
                    [0, 1].map(|c| w[0][c] + t * (w[1][c] - w[0][c]))
                })
            })
        });
        let inside = |p: &[f64; 2]| {
            let x = (p[0] - across.start) / (across.end - across.start);
            let y = (p[1] - up.start) / (up.end - up.start);
            let (x, y) = (
                if right { 1.0 - x } else { x },
                if upper { 1.0 - y } else { y },
            );
            x < CORNER[0] && y < CORNER[1]
        };
        points.filter(inside).count()
    };
    let corners = [
        (count(true, true), UpperRight),
        (count(true, false), LowerRight),
        (count(false, true), UpperLeft),
        (count(false, false), LowerLeft),
    ];
    let least = corners.into_iter().min_by_key(|c| c.0);
    least.map_or(UpperRight, |c| c.1)
}

fn draw(chart: &Chart, dots: &[Dots], svg: &mut String) -> Result<(), Box<dyn std::error::Error>> {
    let area = SVGBackend::with_string(svg, SIZE).into_drawing_area();
    area.fill(&WHITE)?;
    let points = || chart.lines.iter().chain(dots).flat_map(|l| &l.1);
    let across = span(
        points()
            .map(|p| p[0])
            .chain(chart.marks_across.iter().map(|m| m.0)),
    );
    let up = span(
        points()
            .map(|p| p[1])
            .chain(chart.marks_up.iter().map(|m| m.0)),
    );
    let text = |size: i32| (FONT, size).into_font().color(&INK);
    let mut plot = ChartBuilder::on(&area)
        .margin(14)
        .margin_top(24)
        .x_label_area_size(52)
        .y_label_area_size(72)
        .build_cartesian_2d(across.clone(), up.clone())?;
    plot.configure_mesh()
        .x_desc(printed(&chart.across))
        .y_desc(printed(&chart.up))
        .axis_desc_style(text(18))
        .label_style(text(17))
        .axis_style(INK)
        .bold_line_style(FAINT)
        .light_line_style(TRANSPARENT)
        .x_labels(6)
        .y_labels(6)
        .x_label_formatter(&|x| plain(*x))
        .y_label_formatter(&|y| plain(*y))
        .draw()?;
    for (at, label) in &chart.marks_across {
        let line = [(*at, up.start), (*at, up.end)];
        plot.draw_series(DashedLineSeries::new(line, 3, 4, INK.into()))?;
        let style = text(16).pos(Pos::new(HPos::Center, VPos::Bottom));
        plot.draw_series([Text::new(label.clone(), (*at, up.end), style)])?;
    }
    for (at, label) in &chart.marks_up {
        let line = [(across.start, *at), (across.end, *at)];
        plot.draw_series(DashedLineSeries::new(line, 3, 4, INK.into()))?;
        let style = text(16).pos(Pos::new(HPos::Right, VPos::Bottom));
        plot.draw_series([Text::new(label.clone(), (across.end, *at), style)])?;
    }
    let dots = || dots.iter().filter(|d| !d.1.is_empty());
    let named = chart.lines.len() + dots().count() > 1;
    for (n, (name, points)) in chart.lines.iter().enumerate() {
        let style = COLOURS[n % COLOURS.len()].stroke_width(2);
        let points = points.iter().map(|p| (p[0], p[1]));
        let series = if n == 0 {
            plot.draw_series(LineSeries::new(points, style))?
        } else {
            plot.draw_series(DashedLineSeries::new(points, 3 + 4 * n as u32, 3, style))?
        };
        if named {
            series
                .label(name.clone())
                .legend(move |(x, y)| PathElement::new([(x, y), (x + 22, y)], style));
        }
    }
    for (n, (name, points)) in dots().enumerate() {
        let style = COLOURS[(chart.lines.len() + n) % COLOURS.len()].stroke_width(2);
        let dot = move |at: (f64, f64)| Circle::new(at, 5, style);
        plot.draw_series(points.iter().map(|p| dot((p[0], p[1]))))?
            .label(name.clone())
            .legend(move |(x, y)| Circle::new((x + 11, y), 5, style));
    }
    if named {
        plot.configure_series_labels()
            .position(emptiest(chart, &across, &up))
            .label_font(text(16))
            .background_style(WHITE.mix(0.85))
            .border_style(FAINT)
            .draw()?;
    }
    area.present()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chart_names_its_axes_and_marks() {
        let chart = Chart {
            key: "c".into(),
            title: "t".into(),
            across: "thickness, um".into(),
            up: "share, %".into(),
            lines: vec![
                ("one & two".into(), vec![[0.0, 100.0], [10.0, 0.0]]),
                ("three".into(), vec![[1.0, 90.0], [9.0, 10.0]]),
            ],
            marks_across: vec![(5.0, "wanted".into())],
            marks_up: vec![(50.0, "half".into())],
            words: String::new(),
        };
        let svg = svg(&chart).unwrap();
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
        let dots = [("measured".into(), vec![[2.0, 20.0], [3.0, 30.0]])];
        let dotted = with_dots(&chart, &dots).unwrap();
        assert!(dotted.contains("measured"));
        // Two points and one in the legend.
        assert_eq!(dotted.matches("<circle").count(), 3);
    }

    #[test]
    fn spans_hold_everything() {
        assert_eq!(span([0.0, 10.0].into_iter()), 0.0..10.4);
        assert_eq!(span([5.0, f64::NAN].into_iter()), 2.5..7.5);
        assert_eq!(span(std::iter::empty()), 0.0..1.0);
    }
}
