//! The cathodes in one quantity, with the wires of the tank around them.

use super::colour::{self, Rgb};
use super::svg::{Bar, text};
use super::view::{Camera, Screen, Spot};
use super::{pixels, svg};
use crate::error::ReportError;
use crate::story::{Hatch, Quantity, Story, Surface};
use crate::unit::printed;

/// Pixels of a picture.
const SIZE: [usize; 2] = [960, 640];
/// What is not plated.
const BARE: Rgb = [0xc9, 0xcc, 0xcf];
/// Stripes of places to be pointed out: width in pixels and colour.
const STRIPE: usize = 4;
const STRIPE_COLOUR: Rgb = [0xff, 0xff, 0xff];
/// Steps of a colour bar.
const STEPS: usize = 64;

/// The picture of a quantity.
pub(crate) fn png(story: &Story, number: usize) -> Result<Vec<u8>, ReportError> {
    let (centre, radius) = ball(story);
    let camera = Camera::new(story.view, centre, radius, SIZE);
    let mut screen = Screen::new(SIZE);
    for surface in &story.surfaces {
        draw(
            &mut screen,
            &camera,
            surface,
            &story.quantities[number],
            number,
        );
    }
    for wire in &story.wires {
        let colour = colour::of_role(wire.role);
        for line in wire.points.0.chunks_exact(6) {
            let end = |k: usize| camera.spot([line[k], line[k + 1], line[k + 2]].map(f64::from));
            screen.line([end(0), end(3)], colour);
        }
    }
    pixels::png(SIZE[0], SIZE[1], &screen.rgba())
}

/// Middle and radius of the cathodes.
pub(crate) fn ball(story: &Story) -> ([f64; 3], f64) {
    let points = || {
        story
            .surfaces
            .iter()
            .flat_map(|s| s.points.0.chunks_exact(3))
    };
    let side = |k: usize| {
        points().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
            (low.min(f64::from(p[k])), high.max(f64::from(p[k])))
        })
    };
    let sides: [(f64, f64); 3] = std::array::from_fn(side);
    let centre = sides.map(|(low, high)| 0.5 * (low + high));
    let square: f64 = sides.iter().map(|(low, high)| (high - low).powi(2)).sum();
    (centre, 0.5 * square.sqrt())
}

fn draw(screen: &mut Screen, camera: &Camera, surface: &Surface, quantity: &Quantity, n: usize) {
    let point = |v: u32| -> [f64; 3] {
        std::array::from_fn(|k| f64::from(surface.points.0[3 * v as usize + k]))
    };
    for t in surface.triangles.0.chunks_exact(3) {
        let corners = [point(t[0]), point(t[1]), point(t[2])];
        let values: [f64; 3] =
            std::array::from_fn(|k| f64::from(surface.values[n].0[t[k] as usize]));
        let light = camera.light(normal(&corners));
        let spots: [Spot; 3] = corners.map(|x| camera.spot(x));
        screen.triangle(spots, |weights, at| {
            let value: f64 = (0..3).map(|k| weights[k] * values[k]).sum();
            let colour = if value.is_nan() {
                BARE
            } else if is_striped(quantity, value) && ((at[0] + at[1]) / STRIPE).is_multiple_of(4) {
                STRIPE_COLOUR
            } else {
                colour::of(quantity, value)
            };
            colour.map(|c| (light * f64::from(c)).min(255.0) as u8)
        });
    }
}

fn normal([a, b, c]: &[[f64; 3]; 3]) -> [f64; 3] {
    let u: [f64; 3] = std::array::from_fn(|k| b[k] - a[k]);
    let v: [f64; 3] = std::array::from_fn(|k| c[k] - a[k]);
    std::array::from_fn(|k| u[(k + 1) % 3] * v[(k + 2) % 3] - u[(k + 2) % 3] * v[(k + 1) % 3])
}

fn is_striped(quantity: &Quantity, value: f64) -> bool {
    quantity.marks.iter().any(|mark| match mark.hatch {
        Hatch::Below => value < mark.value,
        Hatch::Above => value > mark.value,
        Hatch::No => false,
    })
}

/// What the stripes mean, if anything is striped.
pub(crate) fn stripe_words(quantity: &Quantity) -> Option<String> {
    let mark = quantity.marks.iter().find(|m| m.hatch != Hatch::No)?;
    let side = if mark.hatch == Hatch::Below {
        "less than"
    } else {
        "more than"
    };
    Some(format!(
        "striped: {side} {} {} ({})",
        crate::story::measure::number(mark.value),
        quantity.unit,
        mark.label
    ))
}

/// The picture with its colour bar and words around it.
pub(crate) fn svg(story: &Story, number: usize, png: &[u8]) -> String {
    let quantity = &story.quantities[number];
    let [width, height] = SIZE.map(|s| s as f64);
    let bar = Bar {
        at: [width + 30.0, 90.0],
        height: height - 140.0,
        colours: colour::stops(quantity.map, STEPS),
        low: quantity.low,
        high: quantity.high,
        label: quantity.unit.plain(),
    };
    let words = stripe_words(quantity).map_or(String::new(), |w| format!(" ({w})"));
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" font-family="sans-serif" font-size="15" fill="#1d2733"><rect width="{w}" height="{h}" fill="#fff"/><image y="40" width="{width}" height="{height}" href="{}"/><text x="20" y="28" font-size="19">{}: {}{}</text>{}</svg>"##,
        pixels::address(png),
        svg::text(&story.title),
        printed(quantity.label),
        text(&words),
        bar.svg(),
        w = width + 130.0,
        h = height + 50.0,
    )
}
