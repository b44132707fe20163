//! Where one run has more metal than another: the facets of the works, coloured by the difference.
//!
//! Each facet is drawn as a flat pyramid of its size whose tip is its middle. With the z-buffer
//! that gives every place to the facet whose middle is nearest, without knowing its outline. In two
//! dimensions facets are dots.

use super::read::{Facet, Run};
use crate::error::ReportError;
use crate::picture::colour::{PLAIN, Rgb, hex, lit};
use crate::picture::pixels;
use crate::picture::svg::{Bar, text};
use crate::picture::view::{Camera, NEAR, Screen};
use std::fmt::Write;

const SIZE: [usize; 2] = [820, 560];
/// Half the side of a pyramid over the root of the facet's area, and its height.
const REACH: f64 = 1.0;
const HEIGHT: f64 = 0.35;
const STEPS: usize = 64;
/// Least height of a drawing: its colour bar needs it.
const LOWEST: f64 = 160.0;
/// Colour of the rim of a line of facets.
const RIM: &str = "#7d8794";
/// How far above the horizon the camera stands, rad.
const ELEVATION: f64 = 0.0;
/// Share of the picture that the works take.
const FILL: f64 = 0.9;

/// Differences of the facets of two runs, um; nothing if the facets are not the same.
pub(super) fn differences(from: &Run, to: &Run) -> Option<Vec<f64>> {
    let same = |a: &Facet, b: &Facet| {
        let size = a.area_m2.sqrt().max(1e-9);
        let apart = a.point.iter().zip(&b.point).map(|(x, y)| (x - y).abs());
        apart.fold(0.0, f64::max) < 1e-3 * size && (a.area_m2 / b.area_m2 - 1.0).abs() < 1e-3
    };
    let both = || from.facets.iter().zip(&to.facets);
    let is_same = from.facets.len() == to.facets.len()
        && from.dimension == to.dimension
        && from.digest.time_s.is_some()
        && to.digest.time_s.is_some()
        && both().all(|(a, b)| same(a, b));
    (is_same && !from.facets.is_empty())
        .then(|| both().map(|(a, b)| 1e6 * (b.value - a.value)).collect())
}

/// Purple: less; orange: more. Told apart with any colour vision.
fn colour(share: f64) -> Rgb {
    let colour = colorous::PURPLE_ORANGE.eval_continuous(0.5 + 0.5 * share.clamp(-1.0, 1.0));
    [colour.r, colour.g, colour.b]
}

/// The largest difference but for the outermost hundredth of the facets.
pub(super) fn span(differences: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = differences.iter().map(|d| d.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let at = (sizes.len().saturating_sub(1)) * 99 / 100;
    sizes.get(at).copied().filter(|s| *s > 0.0).unwrap_or(1.0)
}

/// The map as a picture with its colour bar, whose ends are `span` apart from nothing.
pub(super) fn svg(
    run: &Run,
    differences: &[f64],
    span: f64,
    unit: &str,
) -> Result<String, ReportError> {
    let [width, mut height] = SIZE.map(|s| s as f64);
    let drawing = if run.dimension == 3 {
        let png = solid(&run.facets, differences, span)?;
        format!(
            r#"<image width="{width}" height="{height}" href="{}"/>"#,
            pixels::address(&png)
        )
    } else {
        let (drawing, high) = flat(&run.facets, differences, span);
        height = high.max(LOWEST);
        drawing
    };
    let bar = Bar {
        at: [width + 30.0, 50.0],
        height: height - 80.0,
        colours: (0..STEPS)
            .map(|n| hex(colour(2.0 * n as f64 / (STEPS - 1) as f64 - 1.0)))
            .collect(),
        low: -span,
        high: span,
        label: unit,
    };
    Ok(format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {height}" font-family="sans-serif" font-size="15" fill="currentColor">{drawing}{}</svg>"##,
        width + 130.0,
        bar.svg(),
    ))
}

/// The camera stands where most of the area faces.
fn solid(facets: &[Facet], differences: &[f64], span: f64) -> Result<Vec<u8>, ReportError> {
    let mut facing = [0.0; 3];
    let mut low = [f64::INFINITY; 3];
    let mut high = [f64::NEG_INFINITY; 3];
    for facet in facets {
        for k in 0..3 {
            facing[k] += facet.area_m2 * facet.normal[k];
            low[k] = low[k].min(1e3 * facet.point[k]);
            high[k] = high[k].max(1e3 * facet.point[k]);
        }
    }
    let about = facing[1].atan2(facing[0]);
    let corners = [
        low,
        high,
        [low[0], high[1], high[2]],
        [high[0], low[1], low[2]],
    ];
    let camera = Camera::fitted([about, ELEVATION], &corners, SIZE, FILL, NEAR);
    let mut screen = Screen::new(SIZE);
    for (facet, difference) in facets.iter().zip(differences) {
        let size = 1e3 * facet.area_m2.sqrt();
        let shade = lit(
            colour(difference / span),
            PLAIN,
            camera.facing(facet.normal),
        );
        let [along, across] = tangents(facet.normal);
        let tip: [f64; 3] = std::array::from_fn(|k| 1e3 * facet.point[k]);
        let corner = |u: f64, v: f64| {
            camera.spot(std::array::from_fn(|k| {
                tip[k] + size * (REACH * (u * along[k] + v * across[k]) - HEIGHT * facet.normal[k])
            }))
        };
        let ring = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(u, v)| corner(u, v));
        for n in 0..4 {
            let corners = [camera.spot(tip), ring[n], ring[(n + 1) % 4]];
            screen.triangle(corners, |_, _| shade);
        }
    }
    pixels::png(SIZE[0], SIZE[1], &screen.rgba())
}

/// Two directions across a normal.
fn tangents(n: [f64; 3]) -> [[f64; 3]; 2] {
    let least = (0..3)
        .min_by(|a, b| n[*a].abs().total_cmp(&n[*b].abs()))
        .unwrap_or(0);
    let mut axis = [0.0; 3];
    axis[least] = 1.0;
    let cross = |a: [f64; 3], b: [f64; 3]| -> [f64; 3] {
        std::array::from_fn(|k| a[(k + 1) % 3] * b[(k + 2) % 3] - a[(k + 2) % 3] * b[(k + 1) % 3])
    };
    let u = cross(n, axis);
    let length = u
        .iter()
        .map(|c| c * c)
        .sum::<f64>()
        .sqrt()
        .max(f64::MIN_POSITIVE);
    let u = u.map(|c| c / length);
    [u, cross(n, u)]
}

/// The drawing of facets of two dimensions, and its height.
fn flat(facets: &[Facet], differences: &[f64], span: f64) -> (String, f64) {
    let bound = |k: usize| {
        facets
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), f| {
                (low.min(f.point[k]), high.max(f.point[k]))
            })
    };
    let (x, y) = (bound(0), bound(1));
    let [width, height] = SIZE.map(|s| s as f64 - 60.0);
    let scale = (width / (x.1 - x.0).max(1e-9)).min(height / (y.1 - y.0).max(1e-9));
    let at = |f: &Facet| {
        let [u, v] = [f.point[0] - x.0, y.1 - f.point[1]].map(|c| 30.0 + scale * c);
        format!(r#"cx="{u:.1}" cy="{v:.1}""#)
    };
    // A rim, so that what does not differ is seen on any ground.
    let mut svg = format!(r#"<g fill="{RIM}">"#);
    for facet in facets {
        let _ = write!(svg, r#"<circle {} r="6"/>"#, at(facet));
    }
    svg.push_str("</g>");
    for (facet, difference) in facets.iter().zip(differences) {
        let _ = write!(
            svg,
            r#"<circle {} r="5" fill="{}"><title>{}</title></circle>"#,
            at(facet),
            hex(colour(difference / span)),
            text(&format!("{difference:.1}")),
        );
    }
    (svg, 60.0 + scale * (y.1 - y.0))
}

#[cfg(test)]
mod tests {
    use super::super::tests::run;
    use super::*;

    #[test]
    fn only_the_same_facets_have_a_difference() {
        let (a, mut b) = (run("a"), run("b"));
        b.facets[0].value += 5e-6;
        let found = differences(&a, &b).unwrap();
        assert!((found[0] - 5.0).abs() < 1e-9 && found[1] == 0.0);
        assert!(
            svg(&a, &found, 5.0, "um")
                .unwrap()
                .contains("data:image/png")
        );
        b.facets[0].point[0] += 1e-3;
        assert!(differences(&a, &b).is_none());
        b.facets.pop();
        assert!(differences(&a, &b).is_none());
    }

    #[test]
    fn no_difference_is_light_and_signs_are_apart() {
        let light =
            |[r, g, b]: Rgb| 0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b);
        assert!(light(colour(0.0)) > 200.0);
        assert!(light(colour(1.0)) < 150.0 && light(colour(-1.0)) < 150.0);
        let ([more, _, _], [_, _, less]) = (colour(0.8), colour(-0.8));
        assert!(more > colour(-0.8)[0] && less > colour(0.8)[2]);
    }
}
