//! A figure over two keys as a map of fields, each with its value written in it.

use super::choice::{Choice, is_as_good};
use super::table::{Axis, Trials};
use crate::digest::KeyFigure;
use crate::picture::colour;
use crate::picture::svg::text;
use crate::story::Map;
use ionfall_numerics::number::significant;
use std::fmt::Write;

/// Widest and highest the fields together are, pixels.
const SIZE: [f64; 2] = [470.0, 300.0];
/// Least difference between the ends of the colours, as a share of the largest value.
const LEAST_SPAN: f64 = 0.02;
/// Room left of and above the fields.
const LEFT: f64 = 96.0;
const TOP: f64 = 16.0;

/// The map of a figure; across runs the last axis, up the first. Light is good. Cases that failed are
/// crossed out; the case of a choice and those that are tied with it are outlined.
pub(super) fn svg(
    trials: &Trials,
    figure: KeyFigure,
    choice: Option<&Choice<'_>>,
) -> Option<String> {
    let (up, across) = match trials.axes.as_slice() {
        [across] => (None, across),
        [up, across] => (Some(up), across),
        _ => return None,
    };
    let rows = up.map_or(1, |a| a.values.len());
    let columns = across.values.len();
    let values: Vec<Option<f64>> = trials
        .rows
        .iter()
        .map(|r| Trials::value(r, figure))
        .collect();
    let known = values.iter().flatten();
    let low = known.clone().copied().fold(f64::INFINITY, f64::min);
    let high = known.copied().fold(f64::NEG_INFINITY, f64::max);
    if !low.is_finite() {
        return None;
    }
    // What hardly changes is shown in hardly different colours.
    let span = (high - low)
        .max(LEAST_SPAN * high.abs())
        .max(f64::MIN_POSITIVE);
    let middle = 0.5 * (low + high);
    let sign = if figure.larger_is_better() { 1.0 } else { -1.0 };
    let width = (SIZE[0] / columns as f64).min(110.0);
    let height = (SIZE[1] / rows as f64).min(46.0);
    let (right, bottom) = (LEFT + width * columns as f64, TOP + height * rows as f64);
    let mut svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0} {:.0}" font-family="sans-serif" font-size="14" fill="currentColor" text-anchor="middle">"##,
        right + 16.0,
        bottom + 52.0
    );
    let size = (0.3 * width).clamp(8.0, 14.0);
    let mut outlines = String::new();
    for (row, value) in trials.rows.iter().zip(&values) {
        let column = row.picks[row.picks.len() - 1];
        let line = if up.is_some() { row.picks[0] } else { 0 };
        let (x, y) = (
            LEFT + width * column as f64,
            bottom - height * (line + 1) as f64,
        );
        let (fill, ink, word) = match value {
            Some(value) => {
                let good = sign * (value - middle) / span;
                let fill = colour::at(Map::Viridis, 0.5 + good);
                (colour::hex(fill), colour::on(fill), significant(*value, 3))
            }
            None => ("#e3e5e8".into(), "#3c4650", "\u{d7}".into()),
        };
        let _ = write!(
            svg,
            r##"<rect x="{x:.1}" y="{y:.1}" width="{:.1}" height="{:.1}" fill="{fill}"><title>{}: {word} {}</title></rect><text x="{:.1}" y="{:.1}" font-size="{size:.1}" fill="{ink}">{word}</text>"##,
            width - 1.0,
            height - 1.0,
            text(&trials.name(row)),
            text(figure.unit().plain()),
            x + 0.5 * width,
            y + 0.5 * height + 0.35 * size,
        );
        if let Some(choice) = choice.filter(|c| is_as_good(c, row)) {
            let taken = choice.row.case == row.case;
            outlines += &outline([x, y], [width, height], taken);
        }
    }
    svg += &outlines;
    for n in 0..columns {
        let x = LEFT + width * (n as f64 + 0.5);
        let _ = write!(
            svg,
            r#"<text x="{x:.1}" y="{:.1}">{}</text>"#,
            bottom + 18.0,
            text(&across.field(n))
        );
    }
    let _ = write!(
        svg,
        r#"<text x="{:.1}" y="{:.1}">{}</text>"#,
        0.5 * (LEFT + right),
        bottom + 42.0,
        text(&across.title())
    );
    if let Some(up) = up {
        svg += &upward(up, height, bottom);
    }
    Some(svg + "</svg>")
}

/// The values of an axis upwards beside their rows, and its title.
fn upward(axis: &Axis, height: f64, bottom: f64) -> String {
    let mut svg = String::new();
    for n in 0..axis.values.len() {
        let y = bottom - height * (n as f64 + 0.5) + 5.0;
        let _ = write!(
            svg,
            r#"<text x="{:.1}" y="{y:.1}" text-anchor="end">{}</text>"#,
            LEFT - 8.0,
            text(&axis.field(n))
        );
    }
    let middle = 0.5 * (TOP + bottom);
    let title = text(&axis.title());
    svg + &format!(r#"<text transform="translate(18 {middle:.1}) rotate(-90)">{title}</text>"#)
}

/// An outline inside of a field at a place, so wide and high; heavy around the case to take.
fn outline([x, y]: [f64; 2], [width, height]: [f64; 2], taken: bool) -> String {
    let (class, wide) = match taken {
        true => ("taken", 5.0),
        false => ("tied", 2.0),
    };
    format!(
        r##"<path class="{class}" d="M{:.1} {:.1}h{:.1}v{:.1}h-{:.1}z" fill="none" stroke="#d1006f" stroke-width="{wide}"/>"##,
        x + 2.0,
        y + 2.0,
        width - 5.0,
        height - 5.0,
        width - 5.0,
    )
}
