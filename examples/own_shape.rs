//! Lesson 3: a shape of one's own. The grid asks of a shape whether a point is inside, how far away
//! its surface is, the surface in small flat elements, and the true point beside such an element.
//! Here an upright rod with round ends; the same rod put together of known shapes must carry the
//! same current.
//!
//! `cargo run --example own_shape`

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::solids::{Bounds, Fineness, Point, Primitive, Solid, Soup, SurfacePoint};
use ionfall::solids::{ball, cuboid};
use ionfall::{Tank, run};
use std::error::Error;
use std::f64::consts::PI;

/// Everything nearer than a radius to the upright line through `foot` and `head` heights.
#[derive(Debug)]
struct Rod {
    x: f64,
    foot: f64,
    head: f64,
    radius: f64,
}

impl Rod {
    /// From the nearest point of the line to `x`: direction and distance.
    fn away(&self, x: &Point<2>) -> (Point<2>, f64) {
        let from = [self.x, x[1].clamp(self.foot, self.head)];
        let way = [x[0] - from[0], x[1] - from[1]];
        let far = way[0].hypot(way[1]);
        if far == 0.0 {
            return ([1.0, 0.0], 0.0);
        }
        (way.map(|w| w / far), far)
    }
}

impl Primitive<2> for Rod {
    fn bounds(&self) -> Bounds<2> {
        Bounds {
            low: [self.x - self.radius, self.foot - self.radius],
            high: [self.x + self.radius, self.head + self.radius],
        }
    }

    fn contains(&self, x: &Point<2>) -> bool {
        self.signed_distance(x) < 0.0
    }

    fn signed_distance(&self, x: &Point<2>) -> f64 {
        self.away(x).1 - self.radius
    }

    fn is_convex(&self) -> bool {
        true
    }

    /// Counter-clockwise: over the head, down the left side, round the foot, up the right side. A
    /// chord over the angle `2 a` is shorter than its arc by `sin(a) / a`.
    fn tessellate(&self, fineness: &Fineness<2>) -> Soup<2> {
        let widest = 2.0
            * (1.0 - fineness.sagitta_m / self.radius)
                .clamp(0.0, 1.0)
                .acos();
        let chords = (PI / widest).ceil().clamp(4.0, 1e4) as u32;
        let half = 0.5 * PI / f64::from(chords);
        let mut soup = Soup::default();
        for (height, start) in [(self.head, 0.0), (self.foot, PI)] {
            for n in 0..=chords {
                let (sin, cos) = (start + 2.0 * half * f64::from(n)).sin_cos();
                let corner = [self.x + self.radius * cos, height + self.radius * sin];
                soup.vertices.push(corner);
            }
        }
        let count = soup.vertices.len() as u32;
        for n in 0..count {
            let straight = (n + 1) % (chords + 1) == 0;
            soup.elements.push([n, (n + 1) % count]);
            soup.patch.push(0);
            let factor = if straight { 1.0 } else { half / half.sin() };
            soup.area_factor.push(factor as f32);
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<2>, _element_normal: &Point<2>) -> SurfacePoint<2> {
        let (normal, far) = self.away(x);
        let off = self.radius - far;
        SurfacePoint {
            point: [x[0] + off * normal[0], x[1] + off * normal[1]],
            normal,
        }
    }
}

/// Current on a rod in a channel at a volt.
fn current_a(rod: Solid<2>) -> Result<f64, Box<dyn Error>> {
    let model = Tank::planar(cuboid([0.0, 0.0], [0.2, 0.1])?, 0.1)
        .conductivity_s_per_m(20.0)
        .anode("anode", cuboid([0.0, 0.0], [0.01, 0.1])?)
        .work("rod", rod)
        .voltage_v(1.0)
        .model()?;
    Ok(run(&model)?.current_a())
}

fn main() -> Result<(), Box<dyn Error>> {
    let rod = Rod {
        x: 0.15,
        foot: 0.04,
        head: 0.07,
        radius: 0.01,
    };
    let known = Solid::Union(vec![
        cuboid([0.14, 0.04], [0.16, 0.07])?,
        ball([0.15, 0.04], 0.01)?,
        ball([0.15, 0.07], 0.01)?,
    ]);
    let (own, known) = (current_a(Solid::new(rod))?, current_a(known)?);
    println!("own shape {own:.5} A, of known shapes {known:.5} A");
    assert!((own / known - 1.0).abs() < 1e-3);
    Ok(())
}

#[test]
fn the_lesson_holds() {
    main().unwrap();
}
