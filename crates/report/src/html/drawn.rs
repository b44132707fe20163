//! What the scripts of the report read. Coordinates and values are sent as 16 bits between their ends,
//! which is finer than a pixel and than three digits, and a fifth of the bytes of text.

use crate::picture::{chart, colour};
use crate::story::{Chart, Hatch, Marker, Quantity, Story, Surface};
use crate::unit::printed;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;

/// Steps between the ends; the one beyond stands for what is no number.
const MOST: f64 = 65534.0;

/// All of it.
#[derive(Serialize)]
pub(super) struct Drawn<'a> {
    space: &'a str,
    axes: &'a [&'a str],
    front: f64,
    view: [f64; 2],
    quantities: Vec<PrintedQuantity<'a>>,
    surfaces: Vec<PackedSurface<'a>>,
    wires: &'a [crate::story::Wire],
    markers: Vec<PrintedMarker<'a>>,
    charts: Vec<DrawnChart<'a>>,
    section: Option<[[f64; 3]; 4]>,
}

/// A quantity with its colours and its unit as it is printed; striped is what lies below the first and
/// above the second of `stripes`.
#[derive(Serialize)]
struct PrintedQuantity<'a> {
    label: &'a str,
    unit: String,
    edges: &'a [f64],
    colours: Vec<String>,
    light: colour::Light,
    stripes: [Option<f64>; 2],
}

/// Numbers between two ends.
#[derive(Serialize)]
struct PackedNumbers {
    low: f64,
    high: f64,
    numbers: String,
}

#[derive(Serialize)]
struct PackedSurface<'a> {
    name: &'a str,
    /// Coordinates, one list an axis.
    points: [PackedNumbers; 3],
    /// Corners in 32 bits, or in 16.
    wide: bool,
    triangles: String,
    values: Vec<PackedNumbers>,
}

/// A place with the units of its words as they are printed.
#[derive(Serialize)]
struct PrintedMarker<'a> {
    label: &'a str,
    at: [f64; 3],
}

/// A chart for the pointer: its scales, where they lie in the drawing, its points.
#[derive(Serialize)]
struct DrawnChart<'a> {
    key: &'a str,
    across: [f64; 2],
    up: [f64; 2],
    frame: [f64; 4],
    units: [String; 2],
    lines: Vec<(&'a str, Vec<[f64; 2]>)>,
    places: Vec<[f64; 3]>,
}

impl<'a> Drawn<'a> {
    pub fn of(story: &'a Story) -> Self {
        Self {
            space: story.space,
            axes: story.axes,
            front: story.front,
            view: story.view,
            quantities: story.quantities.iter().map(quantity).collect(),
            surfaces: story.surfaces.iter().map(surface).collect(),
            wires: &story.wires,
            markers: story.markers.iter().map(marker).collect(),
            charts: story.charts.iter().map(drawn_chart).collect(),
            section: story.section.as_ref().map(|s| s.corners),
        }
    }
}

fn quantity(quantity: &Quantity) -> PrintedQuantity<'_> {
    let side = |side: Hatch| {
        quantity
            .marks
            .iter()
            .find(|m| m.hatch == side)
            .map(|m| m.value)
    };
    PrintedQuantity {
        label: quantity.label,
        unit: quantity.unit.printed(),
        edges: &quantity.edges,
        colours: colour::steps(quantity),
        light: colour::light(quantity.map),
        stripes: [side(Hatch::Below), side(Hatch::Above)],
    }
}

fn surface(surface: &Surface) -> PackedSurface<'_> {
    let axis = |k: usize| surface.points.0.iter().skip(k).step_by(3).copied();
    let wide = surface.points.0.len() / 3 > usize::from(u16::MAX);
    let corners = surface.triangles.0.iter();
    PackedSurface {
        name: &surface.name,
        points: std::array::from_fn(|k| packed(axis(k))),
        wide,
        triangles: match wide {
            true => base64(corners.flat_map(|v| v.to_le_bytes())),
            false => base64(corners.flat_map(|v| (*v as u16).to_le_bytes())),
        },
        values: surface
            .values
            .iter()
            .map(|v| packed(v.0.iter().copied()))
            .collect(),
    }
}

fn packed(values: impl Iterator<Item = f32> + Clone) -> PackedNumbers {
    let known = values.clone().filter(|v| v.is_finite()).map(f64::from);
    let low = known.clone().fold(f64::INFINITY, f64::min);
    let high = known.fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = if low <= high { (low, high) } else { (0.0, 0.0) };
    let span = (high - low).max(f64::MIN_POSITIVE);
    let short = |v: f32| match v.is_finite() {
        true => (MOST * (f64::from(v) - low) / span).round() as u16,
        false => u16::MAX,
    };
    PackedNumbers {
        low,
        high,
        numbers: base64(values.flat_map(|v| short(v).to_le_bytes())),
    }
}

fn base64(bytes: impl Iterator<Item = u8>) -> String {
    STANDARD.encode(bytes.collect::<Vec<u8>>())
}

fn marker(marker: &Marker) -> PrintedMarker<'_> {
    PrintedMarker {
        label: &marker.label,
        at: marker.at,
    }
}

/// Five digits: far more than a pixel.
fn drawn_chart(chart: &Chart) -> DrawnChart<'_> {
    let short = |x: f64| -> f64 { format!("{x:.4e}").parse().unwrap_or(x) };
    let ([across, up], frame) = chart::frame(chart);
    let unit = |title: &str| printed(title.rsplit_once(", ").map_or("", |(_, unit)| unit));
    let points = |points: &[[f64; 2]]| {
        let known = points.iter().filter(|p| p[1].is_finite());
        known.map(|p| p.map(short)).collect()
    };
    DrawnChart {
        key: &chart.key,
        across,
        up,
        frame,
        units: [unit(&chart.across), unit(&chart.up)],
        lines: chart
            .lines
            .iter()
            .map(|(name, p)| (name.as_str(), points(p)))
            .collect(),
        places: chart.places.iter().map(|p| p.map(short)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the page unpacks is what was packed, to a share of 1e-5 of the span.
    #[test]
    fn numbers_come_back() {
        let values = [1.0f32, 2.5, f32::NAN, 4.0];
        let made = packed(values.into_iter());
        let bytes = STANDARD.decode(&made.numbers).unwrap();
        let back: Vec<f64> = bytes
            .chunks(2)
            .map(|b| u16::from_le_bytes([b[0], b[1]]))
            .map(|n| match n {
                u16::MAX => f64::NAN,
                n => made.low + (made.high - made.low) * f64::from(n) / MOST,
            })
            .collect();
        assert!(back[2].is_nan());
        for n in [0, 1, 3] {
            assert!((back[n] - f64::from(values[n])).abs() < 3e-5, "{back:?}");
        }
    }
}
