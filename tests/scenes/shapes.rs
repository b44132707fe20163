//! Bodies like those of the trade, about the origin. Lengths here are millimetres; `size` is about
//! the longest side and `cell` that of the cells, so that walls and notches can be told in cells.

use crate::dice::Dice;
use ionfall_mesh::solid::mesh_file::{RawMesh, mend};
use ionfall_mesh::solid::{
    Ball, Cuboid, Extruded, Placement, Point, Polygon, Revolved, Solid, Torus, wire,
};
use std::f64::consts::TAU;

const MM: f64 = 1e-3;

/// A body and what it is.
pub type Shape = (Solid<3>, String);

pub fn block(low: Point<3>, high: Point<3>) -> Solid<3> {
    Solid::new(Cuboid::new(low.map(|x| MM * x), high.map(|x| MM * x)).expect("a block"))
}

pub fn ball(centre: Point<3>, radius: f64) -> Solid<3> {
    Solid::new(Ball::new(centre.map(|x| MM * x), MM * radius).expect("a ball"))
}

/// Stands on `foot` above the origin.
fn cylinder(radius: f64, foot: f64, height: f64) -> Solid<3> {
    moved(
        &Solid::new(Revolved::cylinder(MM * radius, MM * height).expect("a cylinder")),
        [0.0, 0.0, foot],
    )
}

/// An outline drawn out from `foot` along z.
fn prism(outline: &[Point<2>], foot: f64, height: f64) -> Solid<3> {
    let points = outline.iter().map(|p| p.map(|x| MM * x)).collect();
    let polygon = Polygon::new(points, Vec::new()).expect("an outline");
    let drawn = Solid::new(Extruded::new(polygon, MM * height).expect("a prism"));
    moved(&drawn, [0.0, 0.0, foot])
}

pub fn moved(solid: &Solid<3>, by: Point<3>) -> Solid<3> {
    solid.placed(&Placement::translation(by.map(|x| MM * x)).expect("a shift"))
}

fn about_z(solid: &Solid<3>, angle: f64) -> Solid<3> {
    solid.placed(&Placement::<3>::rotation([0.0, 0.0, 1.0], angle).expect("a turn"))
}

fn without(from: Solid<3>, cut: Vec<Solid<3>>) -> Solid<3> {
    Solid::Difference(Box::new(from), cut)
}

/// Hollow bodies: current has to find its way in.
pub fn concave(dice: &mut Dice, s: f64, cell: f64) -> Shape {
    let half = 0.5 * s;
    match dice.pick(5) {
        0 => {
            let (high, r) = (dice.between(0.2, 0.4) * s, dice.between(0.25, 0.42) * s);
            let at = [
                dice.between(-0.08, 0.08) * s,
                dice.between(-0.08, 0.08) * s,
                high + dice.between(-0.1, 0.15) * s,
            ];
            let body = block([-half, -half, -high], [half, half, high]);
            (without(body, vec![ball(at, r)]), "dish in a block".into())
        }
        1 => {
            let (a, b) = (dice.between(0.15, 0.5) * s, dice.between(0.15, 0.5) * s);
            let outline = [[0.0, 0.0], [s, 0.0], [s, a], [b, a], [b, s], [0.0, s]];
            let l = prism(&outline, -half, dice.between(0.3, 1.0) * s);
            (moved(&l, [-0.4 * s, -0.4 * s, 0.0]), "L".into())
        }
        2 => {
            let (w, deep) = (dice.between(0.1, 0.35) * s, dice.between(0.3, 0.8) * s);
            let body = block([-half, -half, -half], [half, half, half]);
            let channel = block([-w, -s, half - deep], [w, s, s]);
            (without(body, vec![channel]), "U".into())
        }
        3 => {
            let wall = dice.between(1.0, 4.0) * cell;
            (bowl(dice, s, wall), "bowl".into())
        }
        _ => {
            let (points, deep) = (4 + dice.pick(4), dice.between(0.35, 0.7));
            let outline: Vec<Point<2>> = (0..2 * points)
                .map(|k| {
                    let r = if k % 2 == 0 { half } else { deep * half };
                    let (sin, cos) = (TAU * k as f64 / (2 * points) as f64).sin_cos();
                    [r * cos, r * sin]
                })
                .collect();
            let high = dice.between(0.2, 0.8) * s;
            (
                prism(&outline, -0.5 * high, high),
                format!("star of {points}"),
            )
        }
    }
}

fn bowl(dice: &mut Dice, s: f64, wall: f64) -> Solid<3> {
    let r = 0.5 * s;
    let lip = dice.between(-0.1, 0.5) * r;
    let above = block([-s, -s, lip], [s, s, s]);
    without(
        ball([0.0; 3], r),
        vec![ball([0.0; 3], (r - wall).max(0.3 * r)), above],
    )
}

/// Walls of half a cell to two cells.
pub fn thin(dice: &mut Dice, s: f64, cell: f64) -> Shape {
    let cells = dice.between(0.5, 2.0);
    let wall = cells * cell;
    let (a, b, c) = (
        dice.between(0.3, 0.5) * s,
        dice.between(0.2, 0.5) * s,
        dice.between(0.3, 0.5) * s,
    );
    let closed = dice.chance(0.5);
    let floor = if closed { -c + wall } else { -s };
    let end = if closed { "closed" } else { "open" };
    let (body, what) = match dice.pick(6) {
        0 | 1 => {
            let tube = without(
                cylinder(b, -c, 2.0 * c),
                vec![cylinder(b - wall.min(0.6 * b), floor, 3.0 * s)],
            );
            (tube, format!("tube, {end} below"))
        }
        2 => {
            let inner = |x: f64| x - wall.min(0.6 * x);
            let hollow = block([-inner(a), -inner(b), floor], [inner(a), inner(b), 2.0 * s]);
            (
                without(block([-a, -b, -c], [a, b, c]), vec![hollow]),
                format!("box, {end} below"),
            )
        }
        3 => {
            let w = 0.5 * wall;
            (block([-a, -c, -w], [a, c, w]), "plate".into())
        }
        4 => {
            let w = 0.5 * wall;
            let across = block([-w, -c, -b], [w, c, b]);
            let shift = [dice.between(-a, a), 0.0, dice.between(-b, b)];
            let parts = vec![block([-a, -c, -w], [a, c, w]), moved(&across, shift)];
            (Solid::Union(parts), "two plates across".into())
        }
        _ => (bowl(dice, s, wall), "bowl".into()),
    };
    (body, format!("{what}, wall of {cells:.2} cells"))
}

/// Grooves and slots narrower than cells, at odd angles across each other.
pub fn notched(dice: &mut Dice, s: f64, cell: f64) -> Shape {
    let (a, b, c) = (0.5 * s, dice.between(0.3, 0.5) * s, 0.18 * s + cell);
    let deepest = 1.6 * c;
    let count = 1 + dice.pick(4);
    let mut widths = String::new();
    let cut = (0..count)
        .map(|_| {
            let wide = dice.octaves(0.3, 1.6) * cell;
            let deep = (dice.between(0.8, 3.0) * cell).min(deepest);
            let through = dice.chance(0.5);
            let half = if through {
                s
            } else {
                dice.between(0.12, 0.4) * s
            };
            let w = 0.5 * wide;
            let groove = if dice.chance(0.5) {
                widths += &format!(" V {:.2}", wide / cell);
                // Drawn in (x, z) with its mouth above the face, then laid along y.
                let more = 1.5;
                let outline = [
                    [0.0, -deep],
                    [more * w, (more - 1.0) * deep],
                    [-more * w, (more - 1.0) * deep],
                ];
                let upright = Placement::<3>::rotation([1.0, 0.0, 0.0], 0.25 * TAU).expect("turn");
                prism(&outline, -half, 2.0 * half).placed(&upright)
            } else {
                widths += &format!(" slot {:.2}", wide / cell);
                block([-w, -half, -deep], [w, half, deep])
            };
            let at = [dice.between(-0.6, 0.6) * a, dice.between(-0.6, 0.6) * b, c];
            moved(&about_z(&groove, dice.between(0.0, TAU)), at)
        })
        .collect();
    let body = block([-a, -b, -c], [a, b, c]);
    (
        without(body, cut),
        format!("block with notches (cells wide):{widths}"),
    )
}

/// Strokes of letters in a field one wide and one high.
const LETTERS: [(char, &[[f64; 4]]); 8] = [
    (
        'A',
        &[
            [0.0, 0.0, 0.5, 1.0],
            [0.5, 1.0, 1.0, 0.0],
            [0.2, 0.4, 0.8, 0.4],
        ],
    ),
    (
        'K',
        &[
            [0.1, 0.0, 0.1, 1.0],
            [0.1, 0.4, 0.9, 1.0],
            [0.3, 0.55, 0.9, 0.0],
        ],
    ),
    (
        'M',
        &[
            [0.0, 0.0, 0.1, 1.0],
            [0.1, 1.0, 0.5, 0.2],
            [0.5, 0.2, 0.9, 1.0],
            [0.9, 1.0, 1.0, 0.0],
        ],
    ),
    (
        'N',
        &[
            [0.1, 0.0, 0.1, 1.0],
            [0.1, 1.0, 0.9, 0.0],
            [0.9, 0.0, 0.9, 1.0],
        ],
    ),
    ('V', &[[0.0, 1.0, 0.5, 0.0], [0.5, 0.0, 1.0, 1.0]]),
    (
        'W',
        &[
            [0.0, 1.0, 0.25, 0.0],
            [0.25, 0.0, 0.5, 0.7],
            [0.5, 0.7, 0.75, 0.0],
            [0.75, 0.0, 1.0, 1.0],
        ],
    ),
    ('X', &[[0.0, 0.0, 1.0, 1.0], [0.0, 1.0, 1.0, 0.0]]),
    (
        'Z',
        &[
            [0.0, 1.0, 1.0, 1.0],
            [1.0, 1.0, 0.0, 0.0],
            [0.0, 0.0, 1.0, 0.0],
        ],
    ),
];

/// A line of the lettering, from and to.
type Stroke = [f64; 4];

/// A row of letters that fills a plate of this width and height.
fn letters(dice: &mut Dice, wide: f64, high: f64) -> (Vec<Stroke>, String) {
    let count = 1 + dice.pick(4);
    let pitch = 0.85 * wide / count as f64;
    let tall = dice.between(0.4, 0.7) * high;
    let mut word = String::new();
    let mut strokes = Vec::new();
    for n in 0..count {
        let (letter, lines) = LETTERS[dice.pick(LETTERS.len())];
        word.push(letter);
        let left = -0.425 * wide + (n as f64 + 0.1) * pitch;
        let x = |u: f64| left + 0.8 * pitch * u;
        let y = |v: f64| tall * (v - 0.5);
        strokes.extend(lines.iter().map(|l| [x(l[0]), y(l[1]), x(l[2]), y(l[3])]));
    }
    (strokes, word)
}

/// A plate with letters standing on it or sunk into it.
pub fn lettered(dice: &mut Dice, s: f64, cell: f64) -> Shape {
    let (wide, high) = (s, dice.between(0.5, 0.75) * s);
    let (strokes, word) = letters(dice, wide, high);
    let cells = dice.octaves(0.4, 1.5);
    let stroke = cells * cell;
    let relief = dice.between(0.8, 2.5) * cell;
    let sunk = dice.chance(0.6);
    let base = if sunk { relief + cell } else { 1.5 * cell };
    let how = if sunk { "sunk" } else { "standing" };
    let says = |made: &str| format!("{word} {how}, {made}, strokes of {cells:.2} cells");
    if dice.chance(0.6) {
        let steep = dice.between(0.2, 0.5);
        let field = |x: f64, y: f64| {
            let far = strokes.iter().map(|l| distance(l, x, y));
            let far = far.fold(f64::INFINITY, f64::min);
            let mark = relief * (1.0 - ((far - 0.5 * stroke) / steep).clamp(0.0, 1.0));
            base + if sunk { -mark } else { mark }
        };
        (height_field(wide, high, 0.3, field), says("mesh"))
    } else {
        let plate = block(
            [-0.5 * wide, -0.5 * high, 0.0],
            [0.5 * wide, 0.5 * high, base],
        );
        let (foot, tall) = if sunk {
            (base - relief, 2.0 * relief)
        } else {
            (0.5 * base, 0.5 * base + relief)
        };
        let marks: Vec<Solid<3>> = strokes.iter().map(|l| bar(l, stroke, foot, tall)).collect();
        let body = if sunk {
            without(plate, marks)
        } else {
            Solid::Union(std::iter::once(plate).chain(marks).collect())
        };
        (body, says("bars"))
    }
}

fn bar(l: &Stroke, wide: f64, foot: f64, tall: f64) -> Solid<3> {
    let (dx, dy) = (l[2] - l[0], l[3] - l[1]);
    let w = 0.5 * wide;
    let straight = block([-w, -w, foot], [dx.hypot(dy) + w, w, foot + tall]);
    moved(&about_z(&straight, dy.atan2(dx)), [l[0], l[1], 0.0])
}

fn distance(l: &Stroke, x: f64, y: f64) -> f64 {
    let (dx, dy) = (l[2] - l[0], l[3] - l[1]);
    let t = ((x - l[0]) * dx + (y - l[1]) * dy) / (dx * dx + dy * dy);
    let t = t.clamp(0.0, 1.0);
    (x - l[0] - t * dx).hypot(y - l[1] - t * dy)
}

/// A closed mesh between z = 0 and a height over a rectangle about the origin.
fn height_field(wide: f64, high: f64, step: f64, field: impl Fn(f64, f64) -> f64) -> Solid<3> {
    let (nx, ny) = ((wide / step) as usize + 2, (high / step) as usize + 2);
    let at = |n: usize, of: usize, length: f64| length * (n as f64 / (of - 1) as f64 - 0.5);
    let mut raw = RawMesh::default();
    for top in [true, false] {
        for i in 0..nx {
            for j in 0..ny {
                let (x, y) = (at(i, nx, wide), at(j, ny, high));
                raw.vertices
                    .push([x, y, if top { field(x, y) } else { 0.0 }]);
            }
        }
    }
    let (number, below) = (|i: usize, j: usize| (i * ny + j) as u32, (nx * ny) as u32);
    let mut quad = |a: u32, b: u32, c: u32, d: u32| raw.triangles.extend([[a, b, c], [a, c, d]]);
    for i in 0..nx - 1 {
        for j in 0..ny - 1 {
            let [a, b, c, d] =
                [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| number(i, j));
            quad(a, b, c, d);
            quad(a + below, d + below, c + below, b + below);
        }
    }
    let rim: Vec<u32> = (0..nx - 1)
        .map(|i| number(i, 0))
        .chain((0..ny - 1).map(|j| number(nx - 1, j)))
        .chain((1..nx).rev().map(|i| number(i, ny - 1)))
        .chain((1..ny).rev().map(|j| number(0, j)))
        .collect();
    for (k, &a) in rim.iter().enumerate() {
        let b = rim[(k + 1) % rim.len()];
        quad(a, a + below, b + below, b);
    }
    Solid::new(mend(raw, MM).expect("a closed mesh").0)
}

/// Bodies without hollows, to be cut by something.
pub fn convex(dice: &mut Dice, s: f64) -> Shape {
    let (a, b) = (dice.between(0.2, 0.5) * s, dice.between(0.2, 0.5) * s);
    let half = 0.5 * s;
    match dice.pick(3) {
        0 => (block([-a, -b, -half], [a, b, half]), "block".into()),
        1 => (cylinder(0.7 * a, -half, s), "rod".into()),
        _ => (ball([0.0; 3], 0.7 * half), "ball".into()),
    }
}

/// A tube along z for hanging through the liquid level.
pub fn tube(dice: &mut Dice, s: f64, cell: f64) -> Shape {
    let cells = dice.between(0.5, 2.0);
    let r = dice.between(0.15, 0.25) * s;
    let inner = r - (cells * cell).min(0.6 * r);
    let body = without(cylinder(r, -0.5 * s, s), vec![cylinder(inner, -s, 2.0 * s)]);
    (body, format!("tube, wall of {cells:.2} cells"))
}

/// Bent wires of half a cell to two cells.
pub fn wires(dice: &mut Dice, s: f64, cell: f64) -> Shape {
    let cells = dice.between(0.5, 2.0);
    let count = 2 + dice.pick(5);
    let points: Vec<Point<3>> = (0..count)
        .map(|_| dice.within(0.45 * s).map(|x| MM * x))
        .collect();
    (
        wire(&points, 0.5 * MM * cells * cell).expect("a wire"),
        format!("wire through {count} points, {cells:.2} cells thick"),
    )
}

/// Rings, and balls that run into each other.
pub fn round(dice: &mut Dice, s: f64) -> Shape {
    if dice.chance(0.4) {
        let (ring, tube) = (dice.between(0.2, 0.38) * s, dice.between(0.05, 0.15) * s);
        let torus = Torus::new(MM * ring, MM * tube).expect("a torus");
        return (Solid::new(torus), format!("torus, tube {tube:.2} mm"));
    }
    let count = 2 + dice.pick(4);
    let balls = (0..count)
        .map(|_| ball(dice.within(0.28 * s), dice.between(0.12, 0.25) * s))
        .collect();
    (Solid::Union(balls), format!("{count} balls"))
}
