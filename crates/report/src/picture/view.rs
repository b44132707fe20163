//! A small renderer: perspective camera, z-buffer, flat light.
//!
//! The camera looks at a target from a direction given by two angles, with z up. A point at depth
//! `d` before the eye lands at `f x / d`; the buffer keeps `1/d`, which is linear on the screen.
//! Pictures are made twice as large and averaged down.

use super::colour::Rgb;

/// Pictures are made so much larger and averaged down.
const FINER: usize = 2;
/// Half the angle of view, as its tangent.
pub(crate) const NEAR: f64 = 0.23;
/// The same from so far away that lengths along one direction are all but drawn alike.
pub(crate) const FAR: f64 = 0.002;

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
    /// Looks from a direction (angles about z and above the horizon, rad) at points, which fill a share of
    /// the picture and no more; the tangent of half the angle of view is [`NEAR`] or [`FAR`].
    pub fn fitted(
        angles: [f64; 2],
        points: &[[f64; 3]],
        size: [usize; 2],
        fill: f64,
        half_angle: f64,
    ) -> Self {
        let [(sin_a, cos_a), (sin_b, cos_b)] = angles.map(f64::sin_cos);
        let towards = [-cos_b * cos_a, -cos_b * sin_a, -sin_b];
        let right = [-sin_a, cos_a, 0.0];
        let up = [-sin_b * cos_a, -sin_b * sin_a, cos_b];
        let centre: [f64; 3] = std::array::from_fn(|k| {
            let ends = points.iter().map(|p| p[k]);
            0.5 * (ends.clone().fold(f64::INFINITY, f64::min)
                + ends.fold(f64::NEG_INFINITY, f64::max))
        });
        let size = size.map(|s| s as f64);
        let smaller = size[0].min(size[1]);
        let tangents = size.map(|s| fill * half_angle * s / smaller);
        let away = points.iter().map(|x| {
            let arm = std::array::from_fn(|k| x[k] - centre[k]);
            let beside =
                (dot(arm, right).abs() / tangents[0]).max(dot(arm, up).abs() / tangents[1]);
            beside - dot(arm, towards)
        });
        let away = away.fold(1e-6, f64::max);
        Self {
            eye: std::array::from_fn(|k| centre[k] - away * towards[k]),
            right,
            up,
            towards,
            scale: 0.5 * FINER as f64 * smaller / half_angle,
            middle: size.map(|s| 0.5 * FINER as f64 * s),
        }
    }

    /// Where a point lands in the finished picture, pixels.
    pub fn pixel(&self, x: [f64; 3]) -> [f64; 2] {
        let spot = self.spot(x);
        [spot.x, spot.y].map(|c| c / FINER as f64)
    }

    /// How far a point is from the eye.
    pub fn depth(&self, x: [f64; 3]) -> f64 {
        1.0 / self.spot(x).nearness
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

    /// How much a side with this normal faces the light, 0 to 1: raking light from the upper left, which
    /// shows low reliefs.
    pub fn facing(&self, normal: [f64; 3]) -> f64 {
        let from = std::array::from_fn(|k| {
            -0.5 * self.towards[k] + 0.65 * self.up[k] - 0.55 * self.right[k]
        });
        let length = dot(normal, normal).sqrt().max(f64::MIN_POSITIVE);
        let side = if dot(normal, self.towards) > 0.0 {
            -1.0
        } else {
            1.0
        };
        (side * dot(normal, from) / length).max(0.0)
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

    /// A clear picture in which only what lies before this one will show.
    pub fn before(&self) -> Self {
        Self {
            size: self.size,
            nearest: self.nearest.clone(),
            colours: vec![None; self.colours.len()],
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
        let ball = [[-1.5, -1.5, -1.5], [1.5, 1.5, 1.5]];
        let camera = Camera::fitted([0.0, 0.0], &ball, size, 0.8, NEAR);
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
    fn all_points_fit_and_the_farthest_reach_the_share() {
        let corner = |n: i32| [n & 1, (n >> 1) & 1, (n >> 2) & 1].map(f64::from);
        let points: Vec<[f64; 3]> = (0..8)
            .map(corner)
            .map(|[x, y, z]| [30.0 * x, 4.0 + y, 5.0 * z])
            .collect();
        for half_angle in [NEAR, FAR] {
            for angles in [[1.0, 0.4], [0.0, 0.0], [-2.0, 1.5]] {
                let camera = Camera::fitted(angles, &points, [100, 60], 0.8, half_angle);
                let off = points.iter().map(|p| {
                    let [x, y] = camera.pixel(*p);
                    ((x - 50.0).abs() / 50.0).max((y - 30.0).abs() / 30.0)
                });
                let farthest = off.fold(0.0, f64::max);
                assert!((farthest - 0.8).abs() < 1e-9, "{angles:?}: {farthest}");
            }
        }
        // Up is up.
        let camera = Camera::fitted([1.0, 0.4], &points, [100, 60], 0.8, NEAR);
        assert!(camera.pixel([3.0, 4.0, 6.0])[1] < camera.pixel([3.0, 4.0, 5.0])[1]);
    }
}
