//! Points that are one point: welded when nearer than a share of the cell size.

use super::conductor::Place;
use ionfall_numerics::vector::{norm, sub};
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Shares of the cell size within which points are one. What exact clipping makes differs by
/// rounding only; where curved surfaces of different shapes meet, their flat elements miss each
/// other by the sagitta. So first the exact ones are matched, and what is left less exactly.
pub const SHARES: [f64; 3] = [1e-6, 1e-4, 1e-2];

/// No entry.
const NONE: u32 = u32::MAX;

/// Mixes the numbers of a box: no enemy chooses them, so a multiplication will do.
#[derive(Default)]
struct Mix(u64);

impl Hasher for Mix {
    fn write(&mut self, bytes: &[u8]) {
        for part in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..part.len()].copy_from_slice(part);
            let word = u64::from_le_bytes(word);
            self.0 = (self.0.rotate_left(5) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        }
    }

    fn finish(&self) -> u64 {
        self.0 ^ self.0 >> 32
    }
}

/// Points in the boxes of a lattice.
pub struct Lattice {
    step_m: f64,
    first: HashMap<[i64; 3], u32, BuildHasherDefault<Mix>>,
    /// Point, and the next entry of its box.
    entries: Vec<(u32, u32)>,
}

impl Lattice {
    /// An empty one with room for some points.
    pub fn new(step_m: f64, room: usize) -> Self {
        Self {
            step_m: step_m.max(f64::MIN_POSITIVE),
            first: HashMap::with_capacity_and_hasher(room, BuildHasherDefault::default()),
            entries: Vec::with_capacity(room),
        }
    }

    fn box_of(&self, x: &Place) -> [i64; 3] {
        x.map(|c| (c / self.step_m).floor() as i64)
    }

    /// Adds a point.
    pub fn add(&mut self, id: u32, x: &Place) {
        let entry = self.entries.len() as u32;
        let next = self.first.insert(self.box_of(x), entry);
        self.entries.push((id, next.unwrap_or(NONE)));
    }

    /// Calls `see` with every point in the boxes around `x` up to `reach_m`.
    pub fn around(&self, x: &Place, reach_m: f64, mut see: impl FnMut(u32)) {
        let low = self.box_of(&x.map(|c| c - reach_m));
        let high = self.box_of(&x.map(|c| c + reach_m));
        for i in low[0]..=high[0] {
            for j in low[1]..=high[1] {
                for k in low[2]..=high[2] {
                    let mut at = self.first.get(&[i, j, k]).copied().unwrap_or(NONE);
                    while at != NONE {
                        let (id, next) = self.entries[at as usize];
                        see(id);
                        at = next;
                    }
                }
            }
        }
    }
}

/// For each of `ids`, the first of them that lies within its reach.
pub fn weld(points: &[Place], reach_m: impl Fn(u32) -> f64, ids: &[u32]) -> Vec<u32> {
    let widest = ids.iter().map(|&id| reach_m(id)).fold(0.0, f64::max);
    let mut lattice = Lattice::new(8.0 * widest, ids.len() / 2);
    ids.iter()
        .map(|&id| {
            let x = points[id as usize];
            let mut found: Option<(f64, u32)> = None;
            lattice.around(&x, reach_m(id), |other| {
                let apart = norm(&sub(&x, &points[other as usize]));
                if apart <= reach_m(id).min(reach_m(other)) && found.is_none_or(|f| apart < f.0) {
                    found = Some((apart, other));
                }
            });
            if let Some((_, other)) = found {
                return other;
            }
            lattice.add(id, &x);
            id
        })
        .collect()
}
