//! What hangs where in the tank, small and from beside: solid anodes and shields that are seen through,
//! lacquered faces hatched, contacts, the waterline, lengths and a bar to measure by.
//!
//! The bodies are pixels, so that any shape is drawn as it is; what is written and what can be clicked lies
//! over them as SVG. The eye is so far away that equal lengths along an axis are equal in the drawing.

use super::colour::{self, Rgb};
use super::leaders::spread;
use super::part::normal;
use super::pixels;
use super::svg::text;
use super::view::{Camera, FAR, Screen};
use crate::error::ReportError;
use crate::story::measure::number;
use crate::story::{Kind, Story, Surface};
use ionfall_model::Role;
use ionfall_numerics::number::round_step;
use std::fmt::Write;

/// Pixels, and the share of them that the tank takes.
const SIZE: [usize; 2] = [720, 480];
const FILL: f64 = 0.74;
/// From where it is seen: beside the way from the anodes to the work, and above the horizon, rad.
const BESIDE: f64 = 0.75;
const ABOVE: f64 = 0.42;
/// Plated metal, and what is lacquered or dry.
const PLATED: Rgb = [0xe4, 0xe0, 0xd6];
const LACQUER: [Rgb; 2] = [[0x8d, 0x3b, 0x2e], [0xc9, 0x8a, 0x7d]];
/// Width of the stripes of lacquer, pixels.
const STRIPE: usize = 3;
/// How much of what lies behind a body that is seen through is covered.
const COVER: f64 = 0.62;
/// Rows of labels, pixels apart.
const ROW: f64 = 19.0;

/// A box: lowest and highest corner, mm.
type Box3 = [[f64; 3]; 2];

/// The drawing.
pub(crate) fn svg(story: &Story) -> Result<String, ReportError> {
    let Some(tank) = story.wires.first() else {
        return Ok(String::new());
    };
    let within = around(&tank.points.0);
    let angles = [story.front - BESIDE, ABOVE];
    let boxes = bodies(story).into_iter().map(|b| around(b.points));
    let seen: Vec<[f64; 3]> = boxes.chain([within]).flat_map(corners).collect();
    let seen: Vec<[f64; 3]> = seen
        .into_iter()
        .filter(|x| x.iter().all(|c| c.is_finite()))
        .collect();
    let camera = Camera::fitted(angles, &seen, SIZE, FILL, FAR);
    let [width, height] = SIZE;
    let mut svg = format!(
        r#"<svg class="tank" viewBox="0 0 {width} {height}" font-size="15" fill="currentColor"><image width="{width}" height="{height}" href="{}"/>"#,
        pixels::address(&png(story, &camera)?)
    );
    walls(&mut svg, story, &camera);
    if story.space == "tank" {
        waterline(&mut svg, within, &camera);
    }
    lengths(&mut svg, within, &camera);
    if let Some(gap) = gap(story) {
        arrow(&mut svg, gap, [0.0, -9.0], &camera);
    }
    bar(&mut svg, within, &camera);
    names(&mut svg, story, &camera);
    Ok(svg + "</svg>")
}

/// The box around points, x, y, z after each other.
fn around(points: &[f32]) -> Box3 {
    let mut found = [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]];
    for point in points.chunks_exact(3) {
        for (k, x) in point.iter().enumerate() {
            found[0][k] = found[0][k].min(f64::from(*x));
            found[1][k] = found[1][k].max(f64::from(*x));
        }
    }
    found
}

fn corners(of: Box3) -> [[f64; 3]; 8] {
    std::array::from_fn(|n| std::array::from_fn(|k| of[(n >> k) & 1][k]))
}

/// The bodies: cathodes and contacts, then what is seen through, the farthest first.
fn png(story: &Story, camera: &Camera) -> Result<Vec<u8>, ReportError> {
    let mut solid = Screen::new(SIZE);
    for surface in &story.surfaces {
        cathode(&mut solid, camera, surface);
    }
    let through = |role: Kind| !matches!(role, Kind::Tank | Kind::Contact);
    for wire in story.wires.iter().filter(|w| w.role == Kind::Contact) {
        fill(&mut solid, camera, &wire.faces, colour::of_role(wire.role));
    }
    let mut rgba = solid.rgba();
    let mut layers: Vec<_> = story.wires.iter().filter(|w| through(w.role)).collect();
    let depth = |faces: &[f32]| {
        let [low, high] = around(faces);
        camera.depth(std::array::from_fn(|k| 0.5 * (low[k] + high[k])))
    };
    layers.sort_by(|a, b| depth(&b.faces).total_cmp(&depth(&a.faces)));
    for wire in layers {
        let mut layer = solid.before();
        fill(&mut layer, camera, &wire.faces, colour::of_role(wire.role));
        cover(&mut rgba, &layer.rgba());
    }
    pixels::png(SIZE[0], SIZE[1], &rgba)
}

fn fill(screen: &mut Screen, camera: &Camera, faces: &[f32], paint: Rgb) {
    for t in faces.chunks_exact(9) {
        let corner = |n: usize| [t[3 * n], t[3 * n + 1], t[3 * n + 2]].map(f64::from);
        let corners = [corner(0), corner(1), corner(2)];
        let shade = colour::lit(paint, colour::PLAIN, camera.facing(normal(&corners)));
        screen.triangle(corners.map(|x| camera.spot(x)), |_, _| shade);
    }
}

fn cathode(screen: &mut Screen, camera: &Camera, surface: &Surface) {
    let known = |v: u32| {
        surface
            .values
            .first()
            .is_some_and(|q| !q.0[v as usize].is_nan())
    };
    for t in surface.triangles.0.chunks_exact(3) {
        let corner = |v: u32| -> [f64; 3] {
            std::array::from_fn(|k| f64::from(surface.points.0[3 * v as usize + k]))
        };
        let corners = [corner(t[0]), corner(t[1]), corner(t[2])];
        let plated = t.iter().any(|v| known(*v));
        let facing = camera.facing(normal(&corners));
        screen.triangle(corners.map(|x| camera.spot(x)), |_, at| {
            let paint = match plated {
                true => PLATED,
                false => LACQUER[(at[0] + at[1]) / STRIPE % 2],
            };
            colour::lit(paint, colour::PLAIN, facing)
        });
    }
}

/// Lays a picture that is seen through over another one.
fn cover(under: &mut [u8], over: &[u8]) {
    for (below, above) in under.chunks_exact_mut(4).zip(over.chunks_exact(4)) {
        let own = COVER * f64::from(above[3]) / 255.0;
        let rest = f64::from(below[3]) / 255.0 * (1.0 - own);
        let whole = own + rest;
        if own <= 0.0 {
            continue;
        }
        for k in 0..3 {
            let mixed = own * f64::from(above[k]) + rest * f64::from(below[k]);
            below[k] = (mixed / whole) as u8;
        }
        below[3] = (255.0 * whole) as u8;
    }
}

/// Edges of the tank.
fn walls(svg: &mut String, story: &Story, camera: &Camera) {
    let mut d = String::new();
    for line in story.wires[0].points.0.chunks_exact(6) {
        let [a, b] =
            [0, 3].map(|n| camera.pixel([line[n], line[n + 1], line[n + 2]].map(f64::from)));
        let _ = write!(d, "M{:.1} {:.1}L{:.1} {:.1}", a[0], a[1], b[0], b[1]);
    }
    let _ = write!(svg, r#"<path class="wall" d="{d}" fill="none"/>"#);
}

/// The surface of the liquid, with the sign for it.
fn waterline(svg: &mut String, [low, high]: Box3, camera: &Camera) {
    let ring = [
        [low[0], low[1]],
        [high[0], low[1]],
        [high[0], high[1]],
        [low[0], high[1]],
    ];
    let ring = ring.map(|[x, y]| camera.pixel([x, y, high[2]]));
    let points: Vec<String> = ring
        .iter()
        .map(|p| format!("{:.1},{:.1}", p[0], p[1]))
        .collect();
    let left = ring
        .iter()
        .copied()
        .reduce(|a, b| if b[0] < a[0] { b } else { a });
    let [x, y] = left.unwrap_or([0.0; 2]);
    let _ = write!(
        svg,
        r#"<polygon class="water" points="{}"/><path class="level" d="M{:.1} {:.1}h14l-7 10z"/><text x="{:.1}" y="{:.1}" text-anchor="middle">waterline</text>"#,
        points.join(" "),
        x - 7.0,
        y - 12.0,
        x.max(40.0),
        y - 18.0
    );
}

/// A length between two places, with arrows at its ends, moved by some pixels.
fn arrow(svg: &mut String, [a, b]: Box3, by: [f64; 2], camera: &Camera) {
    let mm = (0..3).map(|k| (b[k] - a[k]).powi(2)).sum::<f64>().sqrt();
    let [p, q] = [a, b].map(|x| {
        let at = camera.pixel(x);
        [at[0] + by[0], at[1] + by[1]]
    });
    let _ = write!(
        svg,
        r#"<path class="length" d="M{:.1} {:.1}L{:.1} {:.1}" marker-start="url(#end)" marker-end="url(#end)"/><text class="halo" x="{:.1}" y="{:.1}" text-anchor="middle">{} mm</text>"#,
        p[0],
        p[1],
        q[0],
        q[1],
        0.5 * (p[0] + q[0]),
        0.5 * (p[1] + q[1]) + 5.0,
        number(mm)
    );
}

/// Length, width and depth of the tank, along the edges of its outline.
fn lengths(svg: &mut String, within: Box3, camera: &Camera) {
    *svg += r#"<defs><marker id="end" viewBox="-8 -5 16 10" markerWidth="12" markerHeight="9" orient="auto-start-reverse"><path d="M-8 -4L0 0L-8 4M0 -5V5" fill="none" stroke="currentColor"/></marker></defs>"#;
    let all = corners(within);
    // The lowest corner of the drawing is the one before all others.
    let lowest =
        (0..8).max_by(|&a, &b| camera.pixel(all[a])[1].total_cmp(&camera.pixel(all[b])[1]));
    let front = lowest.unwrap_or(0);
    for k in [0, 1] {
        arrow(
            svg,
            [all[front], all[front ^ (1 << k)]],
            [0.0, 24.0],
            camera,
        );
    }
    let bottom = front & 3;
    let rightmost = [bottom ^ 1, bottom ^ 2]
        .into_iter()
        .max_by(|&a, &b| camera.pixel(all[a])[0].total_cmp(&camera.pixel(all[b])[0]));
    let side = rightmost.unwrap_or(bottom);
    arrow(svg, [all[side], all[side ^ 4]], [26.0, 0.0], camera);
}

/// From the work to the nearest anode, along the axis along which they are apart.
fn gap(story: &Story) -> Option<Box3> {
    if story.space == "axisymmetric" {
        return None;
    }
    let work = story.surfaces.iter().find(|s| s.role == Role::Work)?;
    let work = around(&work.points.0);
    let anodes = story
        .wires
        .iter()
        .filter(|w| w.role == Kind::Electrode(Role::Anode));
    let gaps = anodes.filter_map(|anode| {
        let anode = around(&anode.faces);
        (0..3).find_map(|k| {
            let beyond = anode[0][k] >= work[1][k];
            let before = anode[1][k] <= work[0][k];
            let (from, to) = match (beyond, before) {
                (true, _) => (work[1][k], anode[0][k]),
                (_, true) => (work[0][k], anode[1][k]),
                _ => return None,
            };
            // At the middle of what both span across, and at the top.
            let at = |k: usize| {
                let ends = [work[0][k].max(anode[0][k]), work[1][k].min(anode[1][k])];
                if k == 2 {
                    ends[1]
                } else {
                    0.5 * (ends[0] + ends[1])
                }
            };
            let place = |along: f64| std::array::from_fn(|i| if i == k { along } else { at(i) });
            Some([place(from), place(to)])
        })
    });
    let length = |[a, b]: &Box3| (0..3).map(|k| (b[k] - a[k]).abs()).sum::<f64>();
    gaps.min_by(|a, b| length(a).total_cmp(&length(b)))
}

/// A bar of a round length along the first axis.
fn bar(svg: &mut String, [low, high]: Box3, camera: &Camera) {
    let long = round_step(high[0] - low[0], 4.0);
    let [a, b] = [low, [low[0] + long, low[1], low[2]]].map(|x| camera.pixel(x));
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let (x, y) = (24.0 - dx.min(0.0), SIZE[1] as f64 - 20.0 - dy.max(0.0));
    let _ = write!(
        svg,
        r#"<path class="bar" d="M{x:.1} {y:.1}l{dx:.1} {dy:.1}"/><text x="24" y="{:.1}">{} mm</text>"#,
        y + dy.min(0.0) - 10.0,
        number(long)
    );
}

/// Names of the bodies, each a link to its row, over what of the body can be clicked.
fn names(svg: &mut String, story: &Story, camera: &Camera) {
    let mut labels: Vec<(usize, [f64; 2], String)> = Vec::new();
    for (n, body) in bodies(story).into_iter().enumerate() {
        let seen: Vec<[f64; 2]> = body
            .points
            .chunks_exact(3)
            .map(|p| camera.pixel([p[0], p[1], p[2]].map(f64::from)))
            .collect();
        let Some(top) = seen
            .iter()
            .copied()
            .reduce(|a, b| if b[1] < a[1] { b } else { a })
        else {
            continue;
        };
        let ring: Vec<String> = hull(seen)
            .iter()
            .map(|p| format!("{:.1},{:.1}", p[0], p[1]))
            .collect();
        let _ = write!(
            svg,
            r##"<a href="#body-{n}" aria-label="{0}"><polygon class="body" points="{1}"><title>{0}</title></polygon></a>"##,
            text(body.name),
            ring.join(" ")
        );
        labels.extend(story.called(body.name).map(|name| (n, top, name)));
    }
    labels.sort_by(|a, b| a.1[1].total_cmp(&b.1[1]));
    let mut heights: Vec<f64> = labels.iter().map(|l| l.1[1] - 8.0).collect();
    spread(&mut heights, ROW, [ROW, SIZE[1] as f64]);
    for ((_, at, name), y) in labels.iter().zip(heights) {
        let half = 4.2 * name.chars().count() as f64;
        let x = at[0].clamp(half, SIZE[0] as f64 - half);
        let _ = write!(
            svg,
            r#"<text class="halo" x="{x:.1}" y="{y:.1}" text-anchor="middle">{}</text>"#,
            text(name)
        );
    }
}

/// A body with a row of its own: its name, and points on it, x, y, z after each other.
pub(crate) struct Body<'a> {
    pub name: &'a str,
    pub points: &'a [f32],
}

/// All but the tank, in the order of their rows: cathodes, then the others.
pub(crate) fn bodies(story: &Story) -> Vec<Body<'_>> {
    let cathodes = story.surfaces.iter().map(|s| Body {
        name: &s.name,
        points: &s.points.0,
    });
    let others = story.wires.iter().skip(1).map(|w| Body {
        name: &w.name,
        points: &w.faces,
    });
    cathodes.chain(others).collect()
}

/// The convex outline of points (A. M. Andrew 1979, from memory: lower and upper chain of sorted points).
fn hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let turns = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) > 0.0
    };
    let chain = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while chain.len() > 1 && !turns(chain[chain.len() - 2], chain[chain.len() - 1], p) {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut ring = chain(&mut points.iter().copied());
    ring.extend(chain(&mut points.iter().rev().copied()));
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outline_holds_its_corners_only() {
        let mut points = vec![[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]];
        points.extend([[1.0, 1.0], [2.0, 0.0], [3.0, 2.0]]);
        let ring = hull(points);
        assert_eq!(ring, [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]);
    }

    #[test]
    fn what_is_seen_through_leaves_what_lies_behind() {
        let mut under = [0, 0, 200, 255, 0, 0, 0, 0];
        cover(&mut under, &[200, 0, 0, 255, 200, 0, 0, 255]);
        assert!(
            under[0] > 100 && under[2] > 50 && under[3] == 255,
            "{under:?}"
        );
        assert_eq!(under[4..7], [200, 0, 0]);
        assert!((under[7] as f64 / 255.0 - COVER).abs() < 0.01);
    }
}
