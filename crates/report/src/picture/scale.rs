//! The upright scale of a quantity: its steps with their borders, and beside each the share of the area.

use super::colour;
use super::stripes::is_striped;
use super::svg::text;
use crate::story::Quantity;
use crate::story::measure::{number, percent};
use std::fmt::Write;

/// Width of a scale, pixels.
pub(crate) const WIDTH: f64 = 190.0;
/// Left side of the colours, their width, and the longest bar of area.
const LEFT: f64 = 62.0;
const THICK: f64 = 24.0;
const LONGEST: f64 = 48.0;
/// Room for the words above.
const ABOVE: f64 = 46.0;

/// What the numbers of a scale are.
pub(crate) fn words(quantity: &Quantity) -> [String; 2] {
    match quantity.over {
        Some(_) => [quantity.label.to_owned(), "over wanted".into()],
        None => [format!("{},", quantity.label), quantity.unit.printed()],
    }
}

/// A value as the scale tells it.
pub(crate) fn told(quantity: &Quantity, value: f64) -> String {
    number(value / quantity.over.unwrap_or(1.0))
}

/// The scale in a sentence.
pub(crate) fn sentence(quantity: &Quantity) -> String {
    let steps = quantity.shares.iter().enumerate().map(|(n, share)| {
        let [from, to] = [n, n + 1].map(|n| told(quantity, quantity.edges[n]));
        format!("{from} to {to}: {} of the area", percent(*share))
    });
    format!(
        "{}; {}",
        words(quantity).join(" "),
        steps.collect::<Vec<_>>().join("; ")
    )
}

/// The drawing, so high.
pub(crate) fn group(quantity: &Quantity, height: f64) -> String {
    let count = quantity.shares.len();
    let each = (height - ABOVE - 10.0) / count as f64;
    let level = |n: usize| height - 10.0 - each * n as f64;
    let [label, unit] = words(quantity);
    let mut svg = format!(
        r#"<text x="0" y="14">{} {}</text><text x="{:.0}" y="34" class="soft">% of area</text>"#,
        text(&label),
        text(&unit),
        LEFT + THICK + 3.0
    );
    let most = quantity.shares.iter().copied().fold(1e-9, f64::max);
    for (n, (fill, share)) in colour::steps(quantity)
        .iter()
        .zip(&quantity.shares)
        .enumerate()
    {
        let (y, right) = (level(n + 1), LEFT + THICK);
        let bar = LONGEST * share / most;
        let middle = 0.5 * (quantity.edges[n] + quantity.edges[n + 1]);
        let _ = write!(
            svg,
            r##"<rect class="step" x="{LEFT}" y="{y:.1}" width="{THICK}" height="{each:.1}" fill="{fill}" stroke="#1d2733" stroke-width="1"/>"##
        );
        if is_striped(quantity, middle) {
            svg += &hatch(y, each);
        }
        let at = y + 0.5 * each;
        let _ = write!(
            svg,
            r##"<rect class="area" x="{:.1}" y="{:.1}" width="{bar:.1}" height="12" fill="#6a7480"/><text x="{:.1}" y="{:.1}">{}</text>"##,
            right + 3.0,
            at - 6.0,
            right + bar + 7.0,
            at + 4.5,
            percent(*share).trim_end_matches(" %")
        );
    }
    for (n, edge) in quantity.edges.iter().enumerate() {
        let y = level(n);
        let mark = quantity
            .marks
            .iter()
            .find(|m| (m.value - edge).abs() <= 1e-9 * edge.abs());
        let bold = if mark.is_some() {
            r#" font-weight="bold""#
        } else {
            ""
        };
        let _ = write!(
            svg,
            r#"<path d="M{} {y:.1}h-6" stroke="currentColor" stroke-width="1.5"/><text x="{}" y="{:.1}" text-anchor="end"{bold}>{}</text>"#,
            LEFT,
            LEFT - 9.0,
            y + 4.5,
            told(quantity, *edge)
        );
    }
    svg
}

/// White stripes over a step.
fn hatch(y: f64, height: f64) -> String {
    let mut d = String::new();
    let count = (height / 8.0).floor().max(1.0) as usize;
    for n in 0..count {
        let top = y + height * (n as f64 + 0.15) / count as f64;
        let rise = 0.7 * height / count as f64;
        let _ = write!(d, "M{LEFT} {:.1}L{} {top:.1}", top + rise, LEFT + THICK);
    }
    format!(r##"<path d="{d}" stroke="#fff" stroke-width="3"/>"##)
}

/// As a drawing of its own.
pub(crate) fn svg(quantity: &Quantity, height: f64) -> String {
    format!(
        r#"<svg class="scale" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" font-size="13" fill="currentColor" role="img" aria-label="{}">{}</svg>"#,
        text(&sentence(quantity)),
        group(quantity, height)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::story::{Hatch, Map, Mark};
    use crate::unit::Unit;

    /// Told as multiples of what is wanted, with the true ends; hatched below one; every step with its area.
    #[test]
    fn a_scale_tells_shares_of_what_is_wanted() {
        let quantity = Quantity {
            label: "thickness",
            unit: Unit::Um,
            map: Map::Viridis,
            edges: vec![80.0, 90.0, 100.0, 150.0, 190.0],
            shares: vec![0.1, 0.2, 0.6, 0.1],
            over: Some(100.0),
            marks: vec![Mark {
                value: 100.0,
                label: "wanted".into(),
                hatch: Hatch::Below,
            }],
        };
        let svg = svg(&quantity, 300.0);
        for edge in [
            ">0.8<",
            ">0.9<",
            "font-weight=\"bold\">1<",
            ">1.5<",
            ">1.9<",
        ] {
            assert!(svg.contains(edge), "{edge}: {svg}");
        }
        assert_eq!(svg.matches("class=\"step\"").count(), 4);
        assert_eq!(
            svg.matches("stroke=\"#fff\"").count(),
            2,
            "two steps are hatched"
        );
        assert!(svg.contains("1 to 1.5: 60 % of the area"), "{svg}");
    }
}
