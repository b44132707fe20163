//! What hangs in the tank seen along an axis, to scale, with chains of lengths at two of its sides.
//!
//! Bodies are drawn as the boxes around them, in two dimensions as their outlines. A chain goes from wall to wall through all faces of electrodes: the
//! distances that are set with a rule at the tank.

use super::colour;
use super::svg::text;
use crate::story::measure::number;
use crate::story::{Kind, Section, Story, Wire};
use ionfall_model::Role;
use std::fmt::Write;

/// Most room that the tank takes, and room at its left and right, pixels.
const MOST: [f64; 2] = [300.0, 190.0];
const LEFT: f64 = 62.0;
const RIGHT: f64 = 26.0;
/// Rows of names and lengths, and width of a letter, pixels.
const ROW: f64 = 13.0;
const LETTER: f64 = 6.2;

/// The view; `along` are the axes to the right and upwards.
pub(super) fn svg(story: &Story, along: [usize; 2], words: &str) -> String {
    let Some(tank) = story.wires.first() else {
        return String::new();
    };
    let view = View::new(tank, along);
    let bodies: Vec<(&Wire, [[f64; 2]; 2])> = (story.wires.iter().skip(1))
        .chain(&story.cathodes)
        .filter_map(|wire| Some((wire, view.box_of(wire)?)))
        .collect();
    let called: Vec<_> = (bodies.iter())
        .filter_map(|(wire, b)| Some((*wire, *b, story.called(&wire.name)?)))
        .collect();
    let names = placed_names(&called);
    let rows = names.iter().map(|n| n.2 + 1).max().unwrap_or(0);
    let top = ROW * rows as f64 + 6.0;
    let across = Chain::new(story, &view, 0);
    let height = top + view.size[1] + 16.0 + ROW * (across.rows() as f64 + 0.5);
    let mut svg = format!(
        r##"<figure><svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{words}" viewBox="0 0 {:.0} {height:.0}" font-family="sans-serif" font-size="11" fill="#1d2733"><g transform="translate({LEFT} {top:.1})"><rect width="{:.1}" height="{:.1}" fill="#f3f7fa" stroke="#7d8791"/>"##,
        LEFT + view.size[0] + RIGHT,
        view.size[0],
        view.size[1]
    );
    match &story.section {
        Some(section) if story.space != "tank" => outlines(&mut svg, section, &view),
        _ => boxes(&mut svg, &bodies),
    }
    for ((wire, [low, high], _), (at, name, row)) in called.iter().zip(&names) {
        let y = -5.0 - ROW * *row as f64;
        let foot = if wire.role == Kind::Shield {
            low[1]
        } else {
            0.5 * (low[1] + high[1])
        };
        let _ = write!(
            svg,
            r##"<path d="M{0:.1} {1:.1}V{foot:.1}" stroke="#7d8791" stroke-width=".6" fill="none"/><text x="{at:.1}" y="{y:.1}" text-anchor="middle">{2}</text>"##,
            0.5 * (low[0] + high[0]),
            y + 2.0,
            text(name)
        );
    }
    across.draw(&mut svg, view.size[1] + 12.0);
    Chain::new(story, &view, 1).draw(&mut svg, -12.0);
    let axes = along.map(|k| story.axes[k]);
    let _ = write!(
        svg,
        "</g></svg><figcaption>{words}: {} to the right, {} upwards; lengths in mm, to scale</figcaption></figure>",
        axes[0], axes[1]
    );
    svg
}

/// Bodies as boxes, the smaller before the larger.
fn boxes(svg: &mut String, bodies: &[(&Wire, [[f64; 2]; 2])]) {
    let mut largest_first: Vec<_> = bodies.iter().collect();
    let area = |b: &[[f64; 2]; 2]| (b[1][0] - b[0][0]) * (b[1][1] - b[0][1]);
    largest_first.sort_by(|a, b| area(&b.1).total_cmp(&area(&a.1)));
    for (wire, [low, high]) in largest_first {
        let _ = write!(
            svg,
            r##"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="{}" fill-opacity=".75" stroke="{}"/>"##,
            low[0],
            low[1],
            (high[0] - low[0]).max(1.5),
            (high[1] - low[1]).max(1.5),
            fill(wire.role),
            colour::hex(colour::of_role(wire.role))
        );
    }
}

/// The outlines of the bodies, as far as they lie in the tank.
fn outlines(svg: &mut String, section: &Section, view: &View) {
    let [width, height] = view.size;
    let _ = write!(
        svg,
        r##"<clipPath id="tank"><rect x="-2" y="-2" width="{:.1}" height="{:.1}"/></clipPath><g clip-path="url(#tank)" fill="none" stroke-width="2">"##,
        width + 4.0,
        height + 4.0
    );
    for body in &section.bodies {
        svg.push_str("<path d=\"");
        for ends in &body.lines {
            let [a, b] = ends.map(|p| [view.pixel(0, p[0]), view.pixel(1, p[1])]);
            let _ = write!(svg, "M{:.1} {:.1}L{:.1} {:.1}", a[0], a[1], b[0], b[1]);
        }
        let stroke = colour::hex(colour::of_role(body.role));
        let _ = write!(svg, r##"" stroke="{stroke}"/>"##);
    }
    svg.push_str("</g>");
}

fn fill(role: Kind) -> &'static str {
    match role {
        Kind::Electrode(Role::Anode) => "#d9a47a",
        Kind::Shield => "#e3e0d8",
        Kind::Contact => "#ffffff",
        _ => "#9aa0a6",
    }
}

/// The pole that a body hangs on, as a sign before its name.
fn signed(wire: &Wire, name: &str) -> String {
    let sign = match wire.role {
        Kind::Electrode(Role::Anode) => "+ ",
        Kind::Electrode(Role::Work | Role::Thief) => "\u{2212} ",
        _ => "",
    };
    format!("{sign}{name}")
}

/// Where the names stand: middle, words, and the row above the tank, so that none is over another.
fn placed_names(bodies: &[(&Wire, [[f64; 2]; 2], String)]) -> Vec<(f64, String, usize)> {
    let mut ends: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut place = |(wire, [low, high], name): &(&Wire, [[f64; 2]; 2], String)| {
        let words = signed(wire, name);
        let half = 0.5 * LETTER * words.chars().count() as f64;
        let middle = (0.5 * (low[0] + high[0])).max(half - LEFT);
        let span = [middle - half - 4.0, middle + half + 4.0];
        let free = |row: &Vec<[f64; 2]>| row.iter().all(|s| span[1] <= s[0] || span[0] >= s[1]);
        let row = ends.iter().position(free).unwrap_or(ends.len());
        if row == ends.len() {
            ends.push(Vec::new());
        }
        ends[row].push(span);
        (middle, words, row)
    };
    bodies.iter().map(&mut place).collect()
}

/// From millimetres to pixels.
struct View {
    along: [usize; 2],
    low: [f64; 2],
    high: [f64; 2],
    scale: f64,
    size: [f64; 2],
}

impl View {
    fn new(tank: &Wire, along: [usize; 2]) -> Self {
        let [low, high] = tank.bounds.map(|b| along.map(|k| b[k]));
        let span = [high[0] - low[0], high[1] - low[1]].map(|s| s.max(f64::MIN_POSITIVE));
        let scale = (MOST[0] / span[0]).min(MOST[1] / span[1]);
        Self {
            along,
            low,
            high,
            scale,
            size: span.map(|s| scale * s),
        }
    }

    /// The part of a body that is in the tank, pixels: upper left corner and lower right one.
    fn box_of(&self, wire: &Wire) -> Option<[[f64; 2]; 2]> {
        let ends = |k: usize| {
            let at = self.along[k];
            let [a, b] = [wire.bounds[0][at], wire.bounds[1][at]];
            let [a, b] = [a.max(self.low[k]), b.min(self.high[k])];
            (a <= b).then(|| [a, b].map(|x| self.pixel(k, x)))
        };
        let ([left, right], [bottom, top]) = (ends(0)?, ends(1)?);
        Some([[left, top], [right, bottom]])
    }

    fn pixel(&self, k: usize, mm: f64) -> f64 {
        match k {
            0 => self.scale * (mm - self.low[0]),
            _ => self.size[1] - self.scale * (mm - self.low[1]),
        }
    }
}

/// Faces nearer than this share of the tank are one.
const SAME: f64 = 2e-3;
/// Most stops of a chain: with more of them only the walls and the work are told.
const MOST_STOPS: usize = 14;

/// Lengths between stops along an axis of a view.
struct Chain {
    /// Is it upright?
    upright: bool,
    /// Places of the stops, pixels, and the lengths between them, mm.
    stops: Vec<f64>,
    lengths: Vec<f64>,
}

impl Chain {
    fn new(story: &Story, view: &View, k: usize) -> Self {
        let span = view.high[k] - view.low[k];
        let works = |wire: &&Wire| wire.role == Kind::Electrode(Role::Work);
        let others = |wire: &&Wire| matches!(wire.role, Kind::Electrode(_)) && !works(wire);
        let all = || story.wires.iter().chain(&story.cathodes);
        let at = view.along[k];
        let stops = |of: &mut dyn Iterator<Item = &Wire>| {
            let faces = of.flat_map(|w| [w.bounds[0][at], w.bounds[1][at]]);
            let inside = faces.filter(|x| *x > view.low[k] && *x < view.high[k]);
            let mut stops: Vec<f64> = inside.chain([view.low[k], view.high[k]]).collect();
            stops.sort_by(f64::total_cmp);
            stops.dedup_by(|b, a| *b - *a < SAME * span);
            stops
        };
        let mut found = stops(&mut all().filter(|w| works(w) || others(w)));
        if found.len() > MOST_STOPS {
            found = stops(&mut all().filter(works));
        }
        Self {
            upright: k == 1,
            lengths: found.windows(2).map(|ends| ends[1] - ends[0]).collect(),
            stops: found.into_iter().map(|x| view.pixel(k, x)).collect(),
        }
    }

    /// The row of each length under the line: those that need more room than there is stand lower.
    fn row_of(&self) -> Vec<usize> {
        let mut ends: Vec<f64> = Vec::new();
        let mut rows = Vec::new();
        for (mm, ends_px) in self.lengths.iter().zip(self.stops.windows(2)) {
            let half = 0.5 * LETTER * number(*mm).chars().count() as f64 + 2.0;
            let middle = 0.5 * (ends_px[0] + ends_px[1]);
            let row = ends.iter().position(|end| middle - half >= *end);
            let row = row.unwrap_or(ends.len());
            if row == ends.len() {
                ends.push(0.0);
            }
            ends[row] = middle + half;
            rows.push(row);
        }
        rows
    }

    fn rows(&self) -> usize {
        self.row_of().into_iter().max().map_or(0, |row| row + 1)
    }

    /// Draws it at a distance from the upper left corner of the tank.
    fn draw(&self, svg: &mut String, off: f64) {
        let (Some(first), Some(last)) = (self.stops.first(), self.stops.last()) else {
            return;
        };
        let mut line = match self.upright {
            true => format!("M{off:.1} {first:.1}V{last:.1}"),
            false => format!("M{first:.1} {off:.1}H{last:.1}"),
        };
        for stop in &self.stops {
            let [x, y] = if self.upright {
                [off, *stop]
            } else {
                [*stop, off]
            };
            let _ = write!(line, "M{:.1} {:.1}l6 -6", x - 3.0, y + 3.0);
        }
        let _ = write!(
            svg,
            r##"<path d="{line}" stroke="#1d2733" stroke-width=".8" fill="none"/>"##
        );
        let middles = self.stops.windows(2).map(|ends| 0.5 * (ends[0] + ends[1]));
        if self.upright {
            // From above to below, each as near to its length as the others leave room.
            let mut heights: Vec<f64> = middles.rev().collect();
            super::leaders::spread(&mut heights, ROW - 2.0, [f64::MIN, f64::MAX]);
            for (y, mm) in heights.iter().zip(self.lengths.iter().rev()) {
                let _ = write!(
                    svg,
                    r#"<text x="{:.1}" y="{:.1}" text-anchor="end">{}</text>"#,
                    off - 6.0,
                    y + 4.0,
                    number(*mm)
                );
            }
            return;
        }
        for ((x, mm), row) in middles.zip(&self.lengths).zip(self.row_of()) {
            let _ = write!(
                svg,
                r#"<text x="{x:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
                off + ROW * (row as f64 + 1.0) + 1.0,
                number(*mm)
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_without_room_stand_in_rows_below() {
        let chain = Chain {
            upright: false,
            stops: vec![0.0, 100.0, 104.0, 108.0, 200.0],
            lengths: vec![50.0, 2.0, 2.0, 46.0],
        };
        assert_eq!(chain.row_of(), [0, 0, 1, 0]);
        let mut svg = String::new();
        chain.draw(&mut svg, 10.0);
        assert_eq!(svg.matches("<text").count(), 4);
        assert_eq!(svg.matches("l6 -6").count(), 5);
    }
}
