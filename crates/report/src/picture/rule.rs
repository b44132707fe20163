//! A part of the verdict on its rule: what is wanted as a tick, the figure as a dot, its plus-minus as a
//! thick bar, what the bath's figures leave open as a thin one.

use super::leaders::spread;
use super::svg::text;
use crate::story::Scale;
use std::fmt::Write;

/// Size of a drawing, and where its ends and its line are.
const SIZE: [f64; 2] = [520.0, 44.0];
const ENDS: [f64; 2] = [6.0, 514.0];
const LINE: f64 = 31.0;
/// Room beyond the largest figure.
const BEYOND: f64 = 1.06;
/// Width of a letter, about.
const LETTER: f64 = 7.2;

/// The rule of a scale that ends at a figure; the figures stand beside it.
pub(crate) fn svg(scale: &Scale, end: f64) -> String {
    let at = |value: f64| ENDS[0] + (ENDS[1] - ENDS[0]) * (value / end).clamp(0.0, 1.0);
    let [width, height] = SIZE;
    let mut svg = format!(
        r#"<svg class="rule" viewBox="0 0 {width} {height}" aria-hidden="true"><path class="line" d="M{} {LINE}H{}M{} {}v12"/>"#,
        ENDS[0],
        ENDS[1],
        ENDS[0],
        LINE - 6.0
    );
    let bar = |class: &str, [low, high]: [f64; 2], thick: f64| {
        let (from, to) = (at(low), at(high));
        format!(
            r#"<rect class="{class}" x="{from:.1}" y="{:.1}" width="{:.1}" height="{thick}"/>"#,
            LINE - 0.5 * thick,
            (to - from).max(1.0)
        )
    };
    svg += &scale
        .band
        .map_or(String::new(), |band| bar("band", band, 5.0));
    if let Some(off) = scale.off {
        svg += &bar("off", [scale.dot - off, scale.dot + off], 14.0);
    }
    let widest = scale.ticks.iter().map(|t| t.1.chars().count()).max();
    let half = 0.5 * LETTER * widest.unwrap_or(0) as f64;
    let mut places: Vec<f64> = scale.ticks.iter().map(|t| at(t.0)).collect();
    spread(&mut places, 2.0 * half + 8.0, [half, width - half]);
    for ((value, label), x) in scale.ticks.iter().zip(places) {
        let _ = write!(
            svg,
            r#"<path class="tick" d="M{0:.1} 16V42"/><text x="{x:.1}" y="12" text-anchor="middle">{1}</text>"#,
            at(*value),
            text(label)
        );
    }
    let _ = write!(
        svg,
        r#"<circle class="dot" cx="{:.1}" cy="{LINE}" r="6.5"/></svg>"#,
        at(scale.dot)
    );
    svg
}

/// The largest figure of a scale, and a little more.
pub(crate) fn end(scale: &Scale) -> f64 {
    let ticks = scale.ticks.iter().map(|t| t.0);
    let open = [
        scale.dot + scale.off.unwrap_or(0.0),
        scale.band.map_or(0.0, |b| b[1]),
    ];
    BEYOND * ticks.chain(open).fold(f64::MIN_POSITIVE, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(svg: &str, before: &str, key: &str) -> f64 {
        let rest = svg.split(before).nth(1).unwrap();
        let rest = rest.split(&format!("{key}=\"")).nth(1).unwrap();
        rest.split('"').next().unwrap().parse().unwrap()
    }

    /// All on one scale from nothing on: the thick bar around the dot, the thin one beyond it.
    #[test]
    fn figures_stand_where_they_belong() {
        let scale = Scale {
            ticks: vec![(40.0, "rough".into()), (70.0, "trees".into())],
            dot: 49.0,
            off: Some(4.0),
            band: Some([26.0, 95.0]),
        };
        let svg = svg(&scale, end(&scale));
        let share = |x: f64| (x - ENDS[0]) / (ENDS[1] - ENDS[0]) * 95.0 * BEYOND;
        assert!((share(number(&svg, "\"dot\"", "cx")) - 49.0).abs() < 0.1);
        assert!((share(number(&svg, "\"off\"", "x")) - 45.0).abs() < 0.1);
        let (from, wide) = (
            number(&svg, "\"band\"", "x"),
            number(&svg, "\"band\"", "width"),
        );
        assert!((share(from) - 26.0).abs() < 0.1 && (share(from + wide) - 95.0).abs() < 0.1);
        assert_eq!(svg.matches("class=\"tick\"").count(), 2);
    }
}
