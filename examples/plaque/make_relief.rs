//! Draws the shapes of the two example jobs: the relief picture of the plaque and the triangle
//! mesh of the medal. Both are invented, and come out the same every time.
//!
//! From the root of the project: `cargo run --example make_relief`

use std::error::Error;
use std::f64::consts::TAU;
use std::fs::{self, File};
use std::io::BufWriter;

fn main() -> Result<(), Box<dyn Error>> {
    let heights = soften(&draw_plaque(), 3);
    write_png("examples/plaque/harbour.png", &heights)?;
    fs::write("examples/medal/medal.stl", binary_stl(&medal()))?;
    Ok(())
}

// The plaque: 240 x 180 pixels, half a millimetre each on a plaque of 120 x 90 mm.

const WIDTH: usize = 240;
const HEIGHT: usize = 180;

type Picture = Vec<f64>;

/// A tactile picture of a harbour: frame, breakwater with a lighthouse, a moored boat, waves, and
/// a line of letters. 0 is the lowest, 1 the highest place; y runs downwards.
fn draw_plaque() -> Picture {
    (0..WIDTH * HEIGHT)
        .map(|n| height((n % WIDTH) as f64, (n / WIDTH) as f64))
        .collect()
}

fn height(x: f64, y: f64) -> f64 {
    let to_edge = x
        .min(y)
        .min(WIDTH as f64 - 1.0 - x)
        .min(HEIGHT as f64 - 1.0 - y);
    if to_edge < 5.0 {
        return 0.0;
    }
    let frame = if (7.0..15.0).contains(&to_edge) {
        0.85
    } else {
        0.0
    };
    [
        frame,
        ground(x, y),
        breakwater(x, y),
        lighthouse(x, y),
        boat(x, y),
        letters(x, y),
    ]
    .into_iter()
    .fold(0.0, f64::max)
}

/// Flat sky and letter panel, rolling sea between.
fn ground(x: f64, y: f64) -> f64 {
    if (100.0..131.0).contains(&y) {
        0.34 + 0.09 * (TAU * (y + 2.5 * (x / 13.0).sin()) / 10.0).sin()
    } else {
        0.30
    }
}

/// Two courses of blocks with joints between, from the frame to the lighthouse and beyond.
fn breakwater(x: f64, y: f64) -> f64 {
    if !(15.0..128.0).contains(&x) || !(92.0..110.0).contains(&y) {
        return 0.0;
    }
    let upper = y < 101.0;
    let along = (x + if upper { 0.0 } else { 8.0 }) % 16.0;
    let joint = along < 2.0 || (100.0..102.0).contains(&y);
    if joint { 0.46 } else { 0.60 }
}

fn lighthouse(x: f64, y: f64) -> f64 {
    let from_axis = (x - 100.0).abs();
    let dome = (from_axis.powi(2) + (y - 30.0).powi(2)).sqrt() < 7.0;
    if dome {
        return 0.95;
    }
    match y {
        30.0..40.0 if from_axis < 5.0 => 0.80,
        40.0..44.0 if from_axis < 11.0 => 0.90,
        44.0..92.0 if from_axis < 6.0 + (y - 44.0) / 12.0 => {
            let band = ((y - 44.0) / 12.0) as usize % 2 == 1;
            if band { 0.68 } else { 0.80 }
        }
        _ if y < 88.0 => beam(x - 100.0, y - 34.0),
        _ => 0.0,
    }
}

/// Three rays of light towards the open sea.
fn beam(dx: f64, dy: f64) -> f64 {
    let distance = (dx * dx + dy * dy).sqrt();
    let ray = [-0.12, 0.10, 0.32]
        .into_iter()
        .any(|a| (dy.atan2(dx) - a).abs() * distance < 1.6);
    if ray && (14.0..54.0).contains(&distance) {
        0.46
    } else {
        0.0
    }
}

/// Hull, mast, two sails, and the rope that moors it to the breakwater.
fn boat(x: f64, y: f64) -> f64 {
    let dx = x - 176.0;
    if (104.0..117.0).contains(&y) && dx.abs() < 30.0 - 0.9 * (y - 104.0) {
        return 0.78;
    }
    if dx.abs() < 1.6 && (48.0..104.0).contains(&y) {
        return 0.72;
    }
    let sail = |foot: f64| (56.0..99.0).contains(&y) && dx.abs() < foot * (y - 56.0) / 43.0;
    if (dx > 4.0 && sail(26.0)) || (dx < -4.0 && sail(18.0)) {
        return 0.58;
    }
    let sag = 104.0 - 4.0 * ((x - 118.0) / 28.0) * (1.0 - (x - 118.0) / 28.0);
    if (118.0..147.0).contains(&x) && (y - sag + 4.0).abs() < 1.6 {
        0.66
    } else {
        0.0
    }
}

/// Letters of 5 x 7 blocks, row by row.
#[rustfmt::skip]
const LETTERS: [(char, [&str; 7]); 6] = [
    ('H', ["#...#", "#...#", "#...#", "#####", "#...#", "#...#", "#...#"]),
    ('A', [".###.", "#...#", "#...#", "#####", "#...#", "#...#", "#...#"]),
    ('R', ["####.", "#...#", "#...#", "####.", "#.#..", "#..#.", "#...#"]),
    ('B', ["####.", "#...#", "#...#", "####.", "#...#", "#...#", "####."]),
    ('O', [".###.", "#...#", "#...#", "#...#", "#...#", "#...#", ".###."]),
    ('U', ["#...#", "#...#", "#...#", "#...#", "#...#", "#...#", ".###."]),
];
const WORD: &str = "HARBOUR";
const BLOCK: f64 = 4.0;

fn letters(x: f64, y: f64) -> f64 {
    let width = (6 * WORD.len() - 1) as f64 * BLOCK;
    let (column, row) = (
        (x - 0.5 * (WIDTH as f64 - width)) / BLOCK,
        (y - 134.0) / BLOCK,
    );
    if column < 0.0 || !(0.0..7.0).contains(&row) {
        return 0.0;
    }
    let (column, row) = (column as usize, row as usize);
    let rows = WORD
        .chars()
        .nth(column / 6)
        .and_then(|letter| LETTERS.iter().find(|(c, _)| *c == letter));
    match rows {
        Some((_, rows)) if column % 6 < 5 && &rows[row][column % 6..][..1] == "#" => 0.80,
        _ => 0.0,
    }
}

/// Means over three by three pixels, several times: edges a tool and a mould can have.
fn soften(picture: &Picture, times: usize) -> Picture {
    let mut soft = picture.clone();
    for _ in 0..times {
        soft = (0..WIDTH * HEIGHT)
            .map(|n| {
                let (x, y) = (n % WIDTH, n / WIDTH);
                let columns = x.saturating_sub(1)..=(x + 1).min(WIDTH - 1);
                let rows = y.saturating_sub(1)..=(y + 1).min(HEIGHT - 1);
                let count = columns.clone().count() * rows.clone().count();
                let sum: f64 = rows
                    .flat_map(|r| columns.clone().map(move |c| r * WIDTH + c))
                    .map(|m| soft[m])
                    .sum();
                sum / count as f64
            })
            .collect();
    }
    soft
}

fn write_png(path: &str, heights: &Picture) -> Result<(), Box<dyn Error>> {
    let file = BufWriter::new(File::create(path)?);
    let mut encoder = png::Encoder::new(file, WIDTH as u32, HEIGHT as u32);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let grey: Vec<u8> = heights.iter().map(|h| (255.0 * h).round() as u8).collect();
    encoder.write_header()?.write_image_data(&grey)?;
    Ok(())
}

// The medal: a lens of 60 mm with a raised ring on both faces, about the z axis, in millimetres.

type Triangle = [[f64; 3]; 3];

const AROUND: usize = 56;
const RADII_MM: [f64; 12] = [
    5.0, 10.0, 15.0, 19.0, 22.0, 23.4, 24.2, 25.0, 25.8, 26.6, 28.0, 30.0,
];

fn face_mm(r: f64) -> f64 {
    1.0 + 1.5 * (1.0 - (r / 30.0).powi(2)) + 0.8 * (-((r - 25.0) / 1.2).powi(2)).exp()
}

fn medal() -> Vec<Triangle> {
    let at = |r: f64, z: f64, k: usize| {
        let angle = TAU * (k % AROUND) as f64 / AROUND as f64;
        [r * angle.cos(), r * angle.sin(), z]
    };
    let mut triangles = Vec::new();
    // A front triangle and its mirror image on the back, turned so that both face outwards.
    let mut both = |[a, b, c]: Triangle| {
        let back = |p: [f64; 3]| [p[0], p[1], -p[2]];
        triangles.push([a, b, c]);
        triangles.push([back(a), back(c), back(b)]);
    };
    for k in 0..AROUND {
        let first = RADII_MM[0];
        let z = face_mm(first);
        both([
            [0.0, 0.0, face_mm(0.0)],
            at(first, z, k),
            at(first, z, k + 1),
        ]);
        for pair in RADII_MM.windows(2) {
            let [inner, outer] =
                [pair[0], pair[1]].map(|r| [k, k + 1].map(|k| at(r, face_mm(r), k)));
            both([inner[0], outer[0], outer[1]]);
            both([inner[0], outer[1], inner[1]]);
        }
    }
    let rim = RADII_MM[RADII_MM.len() - 1];
    let z = face_mm(rim);
    for k in 0..AROUND {
        let [low, high] = [-z, z].map(|z| [k, k + 1].map(|k| at(rim, z, k)));
        triangles.push([low[0], low[1], high[1]]);
        triangles.push([low[0], high[1], high[0]]);
    }
    triangles
}

/// Header, number of triangles, then for each a normal (left to the reader: zero), its corners and
/// two idle bytes.
fn binary_stl(triangles: &[Triangle]) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        bytes.extend(
            triangle
                .iter()
                .flatten()
                .flat_map(|&c| (c as f32).to_le_bytes()),
        );
        bytes.extend([0; 2]);
    }
    bytes
}
