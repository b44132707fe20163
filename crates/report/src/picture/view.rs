//! A small renderer: perspective camera, z-buffer, flat light, lines.
//!
//! The camera looks at a target from a direction given by two angles, with z up. A point at depth
//! `d` before the eye lands at `f x / d`; the buffer keeps `1/d`, which is linear on the screen.
//! Pictures are made twice as large and averaged down.

use super::colour::Rgb;

/// Pictures are made so much larger and averaged down.
const FINER: usize = 2;
/// Half the angle of view, as its tangent.
const HALF_ANGLE: f64 = 0.23;
/// The ball around what is shown reaches a little over the border: few things are balls.
const FILL: f64 = 0.88;
/// Lines are this much nearer than they are, so that they show on the surface they lie in.
const LINE_LEAD: f64 = 1.002;

/// A point of the screen: across, down, and one over depth.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    pub x: f64,
    pub y: f64,
    pub nearness: f64,
}

/// Where is looked from, and at what.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Camera {
    eye: [f64; 3],
    right: [f64; 3],
    up: [f64; 3],
    towards: [f64; 3],
    scale: f64,
    middle: [f64; 2],
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}

impl Camera {
    /// Looks at a ball from a direction (angles about z and above the horizon, rad) so that it
    /// fills the smaller side of a picture.
    pub fn new(angles: [f64; 2], centre: [f64; 3], radius: f64, size: [usize; 2]) -> Self {
        let [(sin_a, cos_a), (sin_b, cos_b)] = angles.map(f64::sin_cos);
        let towards = [-cos_b * cos_a, -cos_b * sin_a, -sin_b];
        let distance = FILL * radius / HALF_ANGLE * (1.0 + HALF_ANGLE * HALF_ANGLE).sqrt();
        let size = size.map(|s| (FINER * s) as f64);
        Self {
            eye: std::array::from_fn(|k| centre[k] - distance * towards[k]),
            right: [-sin_a, cos_a, 0.0],
            up: [-sin_b * cos_a, -sin_b * sin_a, cos_b],
            towards,
            scale: 0.5 * size[0].min(size[1]) / HALF_ANGLE,
            middle: size.map(|s| 0.5 * s),
        }
    }

    /// Where a point lands.
    pub fn spot(&self, x: [f64; 3]) -> Spot {
        let arm = std::array::from_fn(|k| x[k] - self.eye[k]);
        let nearness = 1.0 / dot(arm, self.towards);
        Spot {
            x: self.middle[0] + self.scale * nearness * dot(arm, self.right),
            y: self.middle[1] - self.scale * nearness * dot(arm, self.up),
            nearness,
        }
    }

    /// How light a side with this normal is, 0.7 to 1.2: raking light from the upper left shows
    /// low reliefs.
    pub fn light(&self, normal: [f64; 3]) -> f64 {
        let from = std::array::from_fn(|k| {
            -0.5 * self.towards[k] + 0.65 * self.up[k] - 0.55 * self.right[k]
        });
        let length = dot(normal, normal).sqrt().max(f64::MIN_POSITIVE);
        let facing = if dot(normal, self.towards) > 0.0 {
            -1.0
        } else {
            1.0
        };
        0.7 + 0.5 * (facing * dot(normal, from) / length).max(0.0)
    }
}

/// A picture in the making, on clear ground.
#[derive(Debug)]
pub(crate) struct Screen {
    size: [usize; 2],
    nearest: Vec<f64>,
    colours: Vec<Option<Rgb>>,
}

impl Screen {
    /// Nothing yet.
    pub fn new(size: [usize; 2]) -> Self {
        let size = size.map(|s| FINER * s);
        let count = size[0] * size[1];
        Self {
            size,
            nearest: vec![0.0; count],
            colours: vec![None; count],
        }
    }

    fn put(&mut self, x: usize, y: usize, nearness: f64, colour: impl FnOnce() -> Rgb) {
        let n = y * self.size[0] + x;
        if nearness > self.nearest[n] {
            self.nearest[n] = nearness;
            self.colours[n] = Some(colour());
        }
    }

    /// Fills a triangle; `colour` is told the weights of the corners and the place on the screen.
    pub fn triangle(&mut self, corners: [Spot; 3], colour: impl Fn([f64; 3], [usize; 2]) -> Rgb) {
        let [a, b, c] = corners;
        let area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        if area == 0.0 || corners.iter().any(|s| s.nearness <= 0.0) {
            return;
        }
        let span = |of: fn(&Spot) -> f64, size: usize| {
            let low = corners.iter().map(of).fold(f64::INFINITY, f64::min);
            let high = corners.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
            (low.floor().max(0.0) as usize)..(high.ceil().max(0.0) as usize).min(size)
        };
        for y in span(|s| s.y, self.size[1]) {
            for x in span(|s| s.x, self.size[0]) {
                let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
                let wb = ((px - a.x) * (c.y - a.y) - (py - a.y) * (c.x - a.x)) / area;
                let wc = ((b.x - a.x) * (py - a.y) - (b.y - a.y) * (px - a.x)) / area;
                let weights = [1.0 - wb - wc, wb, wc];
                if weights.iter().any(|w| *w < 0.0) {
                    continue;
                }
                let nearness = (0..3).map(|k| weights[k] * corners[k].nearness).sum();
                self.put(x, y, nearness, || colour(weights, [x / FINER, y / FINER]));
            }
        }
    }

    /// Draws a line.
    pub fn line(&mut self, ends: [Spot; 2], colour: Rgb) {
        let [a, b] = ends;
        if a.nearness <= 0.0 || b.nearness <= 0.0 {
            return;
        }
        let steps = (b.x - a.x).abs().max((b.y - a.y).abs()).ceil().max(1.0);
        if steps > 1e5 {
            return;
        }
        for n in 0..=steps as usize {
            let t = n as f64 / steps;
            let (x, y) = (a.x + t * (b.x - a.x), a.y + t * (b.y - a.y));
            let nearness = LINE_LEAD * (a.nearness + t * (b.nearness - a.nearness));
            // Two by two of the larger pixels are one line width.
            for (dx, dy) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
                let (x, y) = (x + dx - 0.5, y + dy - 0.5);
                if x >= 0.0 && y >= 0.0 && x < self.size[0] as f64 && y < self.size[1] as f64 {
                    self.put(x as usize, y as usize, nearness, || colour);
                }
            }
        }
    }

    /// Red, green, blue, opacity of the picture.
    pub fn rgba(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(self.colours.len());
        for y in 0..self.size[1] / FINER {
            for x in 0..self.size[0] / FINER {
                let mut sum = [0u32; 3];
                let mut full = 0u32;
                for n in 0..FINER * FINER {
                    let (i, j) = (FINER * x + n % FINER, FINER * y + n / FINER);
                    if let Some(colour) = self.colours[j * self.size[0] + i] {
                        full += 1;
                        for k in 0..3 {
                            sum[k] += u32::from(colour[k]);
                        }
                    }
                }
                bytes.extend(sum.map(|s| (s / full.max(1)) as u8));
                bytes.push((255 * full / (FINER * FINER) as u32) as u8);
            }
        }
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RED: Rgb = [200, 0, 0];
    const BLUE: Rgb = [0, 0, 200];

    fn square(x: f64) -> [[[f64; 3]; 3]; 2] {
        let corner = |y: f64, z: f64| [x, y, z];
        let (a, b) = (corner(-1.0, -1.0), corner(1.0, -1.0));
        let (c, d) = (corner(1.0, 1.0), corner(-1.0, 1.0));
        [[a, b, c], [a, c, d]]
    }

    #[test]
    fn the_nearer_hides_the_farther_in_any_order() {
        let size = [40, 40];
        let camera = Camera::new([0.0, 0.0], [0.0; 3], 2.0, size);
        for order in [[(1.0, RED), (-1.0, BLUE)], [(-1.0, BLUE), (1.0, RED)]] {
            let mut screen = Screen::new(size);
            for (x, colour) in order {
                for triangle in square(x) {
                    screen.triangle(triangle.map(|p| camera.spot(p)), |_, _| colour);
                }
            }
            let rgba = screen.rgba();
            let pixel = |x: usize, y: usize| &rgba[4 * (y * 40 + x)..4 * (y * 40 + x) + 4];
            assert_eq!(pixel(20, 20), [200, 0, 0, 255]);
            assert_eq!(pixel(1, 1)[3], 0, "the ground is clear");
        }
    }

    #[test]
    fn the_ball_fits() {
        let camera = Camera::new([1.0, 0.4], [3.0, 4.0, 5.0], 2.0, [100, 60]);
        for k in 0..3 {
            for sign in [-1.7, 1.7] {
                let mut x = [3.0, 4.0, 5.0];
                x[k] += sign;
                let spot = camera.spot(x);
                assert!((0.0..=200.0).contains(&spot.x) && (0.0..=120.0).contains(&spot.y));
            }
        }
        // Up is up.
        assert!(camera.spot([3.0, 4.0, 6.0]).y < camera.spot([3.0, 4.0, 5.0]).y);
    }
}
