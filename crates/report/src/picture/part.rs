//! The cathodes in one quantity: steps of colour with contour lines between them, and numbered places.

use super::colour::{self, Rgb};
use super::leaders::leaders;
use super::stripes::{is_striped, stripe_words};
use super::svg::text;
use super::view::{Camera, NEAR, Screen, Spot};
use super::{pixels, scale};
use crate::error::ReportError;
use crate::story::{Quantity, Story, Surface};
use std::fmt::Write;

/// Pixels of a picture, and the share of it that the part takes.
const SIZE: [usize; 2] = [960, 640];
const FILL: f64 = 0.84;
/// What is not plated.
const BARE: Rgb = [0xc9, 0xcc, 0xcf];
/// Stripes of places to be pointed out: width in pixels and colour.
const STRIPE: usize = 4;
const STRIPE_COLOUR: Rgb = [0xff, 0xff, 0xff];
/// Contour lines: half their width, in pixels of the renderer, and their colour.
const HALF_LINE: f64 = 1.1;
const LINE_COLOUR: Rgb = [0x1d, 0x27, 0x33];

/// The picture of a quantity.
pub(crate) fn png(story: &Story, number: usize) -> Result<Vec<u8>, ReportError> {
    let camera = camera(story);
    let mut screen = Screen::new(SIZE);
    for surface in &story.surfaces {
        let quantity = &story.quantities[number];
        draw(&mut screen, &camera, surface, quantity, number);
    }
    pixels::png(SIZE[0], SIZE[1], &screen.rgba())
}

fn camera(story: &Story) -> Camera {
    Camera::fitted(story.view, &corners(story), SIZE, FILL, NEAR)
}

/// Corners of the cathodes.
fn corners(story: &Story) -> Vec<[f64; 3]> {
    let points = story
        .surfaces
        .iter()
        .flat_map(|s| s.points.0.chunks_exact(3));
    points.map(|p| [p[0], p[1], p[2]].map(f64::from)).collect()
}

fn draw(screen: &mut Screen, camera: &Camera, surface: &Surface, quantity: &Quantity, n: usize) {
    let point = |v: u32| -> [f64; 3] {
        std::array::from_fn(|k| f64::from(surface.points.0[3 * v as usize + k]))
    };
    let light = colour::light(quantity.map);
    let borders = &quantity.edges[1..quantity.shares.len()];
    for t in surface.triangles.0.chunks_exact(3) {
        let corners = [point(t[0]), point(t[1]), point(t[2])];
        let values: [f64; 3] =
            std::array::from_fn(|k| f64::from(surface.values[n].0[t[k] as usize]));
        let facing = camera.facing(normal(&corners));
        let spots: [Spot; 3] = corners.map(|x| camera.spot(x));
        let steepness = steepness(&spots, &values);
        screen.triangle(spots, |weights, at| {
            let value: f64 = (0..3).map(|k| weights[k] * values[k]).sum();
            let on_line = |e: &f64| (value - e).abs() < HALF_LINE * steepness;
            if value.is_nan() {
                colour::lit(BARE, colour::PLAIN, facing)
            } else if borders.iter().any(on_line) {
                LINE_COLOUR
            } else if is_striped(quantity, value) && ((at[0] + at[1]) / STRIPE).is_multiple_of(4) {
                STRIPE_COLOUR
            } else {
                colour::lit(colour::of(quantity, value), light, facing)
            }
        });
    }
}

/// How much a value changes over a pixel of the renderer.
fn steepness(spots: &[Spot; 3], values: &[f64; 3]) -> f64 {
    let [a, b, c] = spots;
    let (bx, by, cx, cy) = (b.x - a.x, b.y - a.y, c.x - a.x, c.y - a.y);
    let area = bx * cy - by * cx;
    let (vb, vc) = (values[1] - values[0], values[2] - values[0]);
    let slope = ((vb * cy - vc * by) / area).hypot((vc * bx - vb * cx) / area);
    if slope.is_finite() { slope } else { 0.0 }
}

/// Normal of a triangle, not of length one.
pub(crate) fn normal(corners: &[[f64; 3]; 3]) -> [f64; 3] {
    let [a, b, c] = corners;
    let u: [f64; 3] = std::array::from_fn(|k| b[k] - a[k]);
    let v: [f64; 3] = std::array::from_fn(|k| c[k] - a[k]);
    std::array::from_fn(|k| u[(k + 1) % 3] * v[(k + 2) % 3] - u[(k + 2) % 3] * v[(k + 1) % 3])
}

/// The picture with its places, as an SVG around the PNG.
pub(crate) fn marked(story: &Story, png: &[u8]) -> String {
    format!(
        r#"<image width="{}" height="{}" href="{}"/>{}"#,
        SIZE[0],
        SIZE[1],
        pixels::address(png),
        places(story)
    )
}

/// Numbers beside the part, with lines to the places.
fn places(story: &Story) -> String {
    let camera = camera(story);
    let seen: Vec<[f64; 2]> = corners(story).iter().map(|x| camera.pixel(*x)).collect();
    let bound = |pick: fn(f64, f64) -> f64, start: f64| {
        [0, 1].map(|k| seen.iter().map(|p| p[k]).fold(start, pick))
    };
    let part = [
        bound(f64::min, f64::INFINITY),
        bound(f64::max, f64::NEG_INFINITY),
    ];
    let spots: Vec<[f64; 2]> = story.markers.iter().map(|m| camera.pixel(m.at)).collect();
    let numbers = leaders(&spots, part, SIZE.map(|s| s as f64));
    let mut group = String::new();
    for (n, (spot, number)) in spots.iter().zip(&numbers).enumerate() {
        let ([x, y], [u, v]) = (spot, number);
        let _ = write!(
            group,
            r##"<g class="leader"><path d="M{u:.1} {v:.1}L{x:.1} {y:.1}" stroke="#fff" stroke-width="4"/><path d="M{u:.1} {v:.1}L{x:.1} {y:.1}" stroke="#1d2733" stroke-width="1.6"/><circle cx="{x:.1}" cy="{y:.1}" r="6" fill="none" stroke="#fff" stroke-width="5"/><circle cx="{x:.1}" cy="{y:.1}" r="6" fill="none" stroke="#1d2733" stroke-width="2"/><circle cx="{u:.1}" cy="{v:.1}" r="14" fill="#1d2733" stroke="#fff" stroke-width="1.5"/><text x="{u:.1}" y="{:.1}" font-size="17" font-weight="bold" fill="#fff" text-anchor="middle">{}</text></g>"##,
            v + 6.0,
            n + 1
        );
    }
    group
}

/// The view box of [`marked`].
pub(crate) fn view_box() -> String {
    format!("0 0 {} {}", SIZE[0], SIZE[1])
}

/// The picture with its scale and words around it, as a file of its own.
pub(crate) fn svg(story: &Story, number: usize, png: &[u8]) -> String {
    let quantity = &story.quantities[number];
    let [width, height] = SIZE.map(|s| s as f64);
    let words = stripe_words(quantity).map_or(String::new(), |w| format!(" ({w})"));
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" font-family="sans-serif" font-size="14" fill="#1d2733" color="#1d2733"><rect width="{w}" height="{h}" fill="#fff"/><g transform="translate(0 40)">{}</g><text x="20" y="28" font-size="19">{}: {}{}</text><g transform="translate({width} 60)">{}</g></svg>"##,
        marked(story, png),
        text(&story.title),
        quantity.label,
        text(&words),
        scale::group(quantity, height - 40.0),
        w = width + scale::WIDTH,
        h = height + 50.0,
    )
}
