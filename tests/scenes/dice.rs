//! Random numbers from a seed, the same everywhere (splitmix64: Steele, Lea and Flood 2014, from
//! memory).

use ionfall_mesh::solid::{Placement, Point};
use std::f64::consts::TAU;

/// A stream of random numbers.
pub struct Dice(u64);

impl Dice {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0xD134_2543_DE82_EF95).wrapping_add(1))
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Evenly spread from 0 to 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly spread between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Between two positive numbers, as often in each octave.
    pub fn octaves(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// One of `0..n`.
    pub fn pick(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n - 1)
    }

    /// True so often.
    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// A point of a cube of half width `half` about the origin.
    pub fn within(&mut self, half: f64) -> Point<3> {
        std::array::from_fn(|_| self.between(-half, half))
    }

    /// A direction, all alike.
    pub fn direction(&mut self) -> Point<3> {
        let z = self.between(-1.0, 1.0);
        let (sin, cos) = self.between(0.0, TAU).sin_cos();
        let r = (1.0 - z * z).sqrt();
        [r * cos, r * sin, z]
    }

    /// A turn about any axis by any angle.
    pub fn turn(&mut self) -> Placement<3> {
        let axis = self.direction();
        Placement::<3>::rotation(axis, self.between(0.0, TAU)).expect("an axis")
    }

    /// A turn by at most an angle (radians), about a level axis.
    pub fn tilt(&mut self, most: f64) -> Placement<3> {
        let (sin, cos) = self.between(0.0, TAU).sin_cos();
        Placement::<3>::rotation([cos, sin, 0.0], self.between(-most, most)).expect("an axis")
    }
}
