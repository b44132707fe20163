//! The section as SVG: the potential in bands whose borders are the equipotentials, current lines
//! with arrows, and what is cut, with axes in millimetres.

use super::svg::{Bar, path, text, tick_text, ticks};
use super::{colour, pixels};
use crate::error::ReportError;
use crate::story::{Cut, Kind, Map, Section};
use ionfall_model::Role;
use ionfall_numerics::number::round_step;
use std::fmt::Write;

/// Longest sides of the drawing, and the room around it: left, above, right, below.
const LONGEST: [f64; 2] = [500.0, 440.0];
const ROOM: [f64; 4] = [58.0, 34.0, 106.0, 50.0];
/// Names of bodies narrower than this (pixels) stand beside them.
const NARROW: f64 = 60.0;
/// Width of a letter, about.
const LETTER: f64 = 8.0;

/// Colours of the potential as a PNG, the top row first.
pub(crate) fn png(section: &Section) -> Result<Vec<u8>, ReportError> {
    let bands = Bands::of(section);
    let [width, height] = section.size;
    let mut rgba = Vec::with_capacity(4 * width * height);
    for j in (0..height).rev() {
        for n in j * width..(j + 1) * width {
            match section.matter[n] {
                0 => {
                    rgba.extend(bands.colour(f64::from(section.potential_mv[n])));
                    rgba.push(255);
                }
                1 => rgba.extend([255, 255, 255, 0]),
                body => {
                    let cut = section.bodies.get(usize::from(body - crate::story::BODY));
                    rgba.extend(fill(cut.map(|c| c.role)));
                    rgba.push(255);
                }
            }
        }
    }
    pixels::png(width, height, &rgba)
}

/// What the inside of a body is filled with.
fn fill(role: Option<Kind>) -> [u8; 3] {
    match role {
        Some(Kind::Electrode(Role::Anode)) => [0xd9, 0xa4, 0x7a],
        Some(Kind::Shield) => [0xc3, 0xdb, 0xe6],
        _ => [0xb9, 0xbd, 0xc2],
    }
}

/// The potential in steps.
struct Bands {
    low: f64,
    high: f64,
    levels: Vec<f64>,
}

impl Bands {
    fn of(section: &Section) -> Self {
        let known = section.potential_mv.iter().filter(|v| v.is_finite());
        let (low, high) = known.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| {
            (l.min(f64::from(v)), h.max(f64::from(v)))
        });
        Self {
            low,
            high: if high > low { high } else { low + 1.0 },
            levels: section.levels.iter().map(|l| l.0).collect(),
        }
    }

    fn colour(&self, value: f64) -> colour::Rgb {
        let band = self.levels.partition_point(|l| *l <= value);
        let edge = |n: usize| match n {
            0 => self.low,
            n => self.levels.get(n - 1).copied().unwrap_or(self.high),
        };
        let middle = 0.5 * (edge(band) + edge(band + 1));
        colour::at(Map::Cividis, (middle - self.low) / (self.high - self.low))
    }
}

/// The whole drawing.
pub(crate) fn svg(section: &Section) -> Result<String, ReportError> {
    let span = [0, 1].map(|k| section.size[k] as f64 * section.pixel);
    let scale = (LONGEST[0] / span[0]).min(LONGEST[1] / span[1]);
    let size = span.map(|s| s * scale);
    let place = |p: [f64; 2]| {
        [
            ROOM[0] + scale * (p[0] - section.low[0]),
            ROOM[1] + size[1] - scale * (p[1] - section.low[1]),
        ]
    };
    let (width, height) = (ROOM[0] + size[0] + ROOM[2], ROOM[1] + size[1] + ROOM[3]);
    let mut svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0} {height:.0}" width="{width:.0}" height="{height:.0}" font-family="sans-serif" font-size="15" fill="#1d2733" color="#1d2733"><defs><marker id="arrow" viewBox="0 0 8 8" refX="5" refY="4" markerWidth="7" markerHeight="7" orient="auto"><path d="M0 0L8 4L0 8z" fill="#fff" stroke="#1d2733" stroke-width="0.7"/></marker></defs><rect width="{width:.0}" height="{height:.0}" fill="#fff"/>"##
    );
    let _ = write!(
        svg,
        r#"<image class="cut" x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" preserveAspectRatio="none" href="{}"/>"#,
        ROOM[0],
        ROOM[1],
        size[0],
        size[1],
        pixels::address(&png(section)?)
    );
    let levels = section.levels.iter().flat_map(|l| &l.1);
    lines(
        &mut svg,
        levels,
        &place,
        r##"stroke="#1d2733" stroke-opacity="0.55" stroke-width="0.8""##,
    );
    lines(
        &mut svg,
        section.currents.iter(),
        &place,
        r##"stroke="#fff" stroke-width="1.5""##,
    );
    arrows(&mut svg, section, &place);
    for cut in &section.bodies {
        outline(&mut svg, cut, &place);
    }
    names(&mut svg, section, &place);
    frame(&mut svg, section, size, &place);
    let bands = Bands::of(section);
    let bar = Bar {
        at: [ROOM[0] + size[0] + 28.0, ROOM[1] + 24.0],
        height: size[1] - 24.0,
        colours: (0..64)
            .map(|n| bands.low + (f64::from(n) + 0.5) / 64.0 * (bands.high - bands.low))
            .map(|v| colour::hex(bands.colour(v)))
            .collect(),
        low: bands.low,
        high: bands.high,
        label: "mV",
    };
    svg += &bar.svg();
    svg += "</svg>";
    Ok(svg)
}

fn lines<'a>(
    svg: &mut String,
    lines: impl Iterator<Item = &'a Vec<[f64; 2]>>,
    place: &impl Fn([f64; 2]) -> [f64; 2],
    style: &str,
) {
    let d: Vec<String> = lines.map(|l| path(l.iter().map(|p| place(*p)))).collect();
    let _ = write!(svg, r#"<path d="{}" fill="none" {style}/>"#, d.join(""));
}

/// An arrow in the middle of each current line that is long enough.
fn arrows(svg: &mut String, section: &Section, place: &impl Fn([f64; 2]) -> [f64; 2]) {
    for line in &section.currents {
        let n = line.len() / 2;
        if n < 8 {
            continue;
        }
        let d = path([line[n - 2], line[n + 1]].map(place));
        let _ = write!(
            svg,
            r#"<path d="{d}" fill="none" marker-end="url(#arrow)"/>"#
        );
    }
}

fn outline(svg: &mut String, cut: &Cut, place: &impl Fn([f64; 2]) -> [f64; 2]) {
    let d: Vec<String> = cut.lines.iter().map(|l| path(l.map(place))).collect();
    let width = match cut.role {
        Kind::Tank => 1.0,
        _ => 2.2,
    };
    let _ = write!(
        svg,
        r#"<path d="{}" fill="none" stroke="{}" stroke-width="{width}" stroke-linecap="round"/>"#,
        d.join(""),
        colour::hex(colour::of_role(cut.role))
    );
}

/// A name that takes no more letters than there is room for; at least one.
fn shortened(name: &str, letters: usize) -> String {
    if name.chars().count() <= letters.max(1) {
        return name.into();
    }
    let kept: String = name
        .chars()
        .take(letters.saturating_sub(1).max(1))
        .collect();
    kept + "\u{2026}"
}

/// Names of the bodies, and letters at the ends of the ways along the surface.
fn names(svg: &mut String, section: &Section, place: &impl Fn([f64; 2]) -> [f64; 2]) {
    let halo = r##"paint-order="stroke" stroke="#fff" stroke-width="3.5" stroke-linejoin="round""##;
    let right = place([section.low[0] + section.size[0] as f64 * section.pixel, 0.0])[0];
    for cut in section
        .bodies
        .iter()
        .filter(|c| c.role != Kind::Tank && !c.lines.is_empty())
    {
        let points: Vec<[f64; 2]> = cut.lines.iter().flatten().map(|p| place(*p)).collect();
        let span = |k: usize| {
            points
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
                    (l.min(p[k]), h.max(p[k]))
                })
        };
        let ((left, end), (top, bottom)) = (span(0), span(1));
        // Below the body, and inside the drawing.
        let name = shortened(&cut.name, ((right - ROOM[0]) / LETTER) as usize);
        let label = text(&name);
        let half = 0.5 * LETTER * name.chars().count() as f64;
        let x = (0.5 * (left + end)).min(right - half).max(ROOM[0] + half);
        let y = if end - left > NARROW && bottom - top > 24.0 {
            0.5 * (top + bottom) + 5.0
        } else {
            top - 7.0
        };
        let _ = write!(
            svg,
            r#"<text x="{x:.1}" y="{:.1}" text-anchor="middle" {halo}>{label}</text>"#,
            y.max(ROOM[1] + 14.0)
        );
    }
    for (at, letter) in &section.ends {
        let [x, y] = place(*at);
        let _ = write!(
            svg,
            r##"<circle cx="{x:.1}" cy="{y:.1}" r="3.4" fill="#d55e00" stroke="#fff"/><text x="{:.1}" y="{:.1}" font-weight="bold" fill="#7a3400" {halo}>{letter}</text>"##,
            x + 6.0,
            y + 5.0
        );
    }
}

/// Axes with ticks.
fn frame(
    svg: &mut String,
    section: &Section,
    size: [f64; 2],
    place: &impl Fn([f64; 2]) -> [f64; 2],
) {
    let _ = write!(
        svg,
        r##"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="none" stroke="#1d2733" stroke-width="0.8"/>"##,
        ROOM[0], ROOM[1], size[0], size[1]
    );
    let high = |k: usize| section.low[k] + section.size[k] as f64 * section.pixel;
    for k in [0, 1] {
        let count = (size[k] / 80.0).max(2.0);
        let step = round_step(high(k) - section.low[k], count);
        for tick in ticks(section.low[k], high(k), count) {
            let mut p = section.low;
            p[k] = tick;
            let [x, y] = place(p);
            let label = tick_text(tick, step);
            let _ = if k == 0 {
                write!(
                    svg,
                    r##"<path d="M{x:.1} {y:.1}v5" stroke="#1d2733"/><text x="{x:.1}" y="{:.1}" text-anchor="middle">{label}</text>"##,
                    y + 19.0
                )
            } else {
                write!(
                    svg,
                    r##"<path d="M{x:.1} {y:.1}h-5" stroke="#1d2733"/><text x="{:.1}" y="{:.1}" text-anchor="end">{label}</text>"##,
                    x - 8.0,
                    y + 4.5
                )
            };
        }
    }
    let _ = write!(
        svg,
        r#"<text x="{:.1}" y="{:.1}" text-anchor="middle">{}, mm</text><text transform="translate(14 {:.1}) rotate(-90)" text-anchor="middle">{}, mm</text>"#,
        ROOM[0] + 0.5 * size[0],
        ROOM[1] + size[1] + 42.0,
        section.axes[0],
        ROOM[1] + 0.5 * size[1],
        section.axes[1]
    );
}
