//! Earlier right-hand sides of one operator and their answers: where the next solve begins.
//!
//! Several causes move an operating point by few ways: what warms a bath moves its conductivity and its laws, which
//! other causes move too. So the start of a solve is the sum of earlier answers whose right-hand sides come nearest
//! (Fischer 1998, Comput. Methods Appl. Mech. Engrg. 163:193-204), and only the rest is solved for:
//!
//! ```text
//! q_i orthonormal, A x_i = q_i      b:  x = sum (q_i . b) x_i + A^-1 (b - A sum (q_i . b) x_i)
//! ```
//! The rest is formed with the operator, so what earlier answers are off by is made good.

use crate::vector::{add_scaled, dot, norm};

/// Share of a right-hand side that must be new for it to be kept: less is rounding.
const NEW: f64 = 1e-3;

/// Right-hand sides that have been solved for, and their answers. They belong to one operator.
#[derive(Clone, Debug, Default)]
pub struct Recycled {
    pairs: Vec<Pair>,
}

/// A unit vector and its answer.
#[derive(Clone, Debug)]
struct Pair {
    unit: Vec<f32>,
    answer: Vec<f64>,
}

impl Recycled {
    /// Nothing solved yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// How many are kept.
    pub fn len(&self) -> usize {
        self.pairs.len()
    }

    /// Is none kept?
    pub fn is_empty(&self) -> bool {
        self.pairs.is_empty()
    }

    /// Where a solve for `b` begins.
    pub(crate) fn start(&self, b: &[f64]) -> Vec<f64> {
        let mut x = vec![0.0; b.len()];
        for pair in &self.pairs {
            add_scaled(&mut x, dot(b, &pair.unit), &pair.answer);
        }
        x
    }

    /// Keeps the answer `x` to `b`.
    pub(crate) fn keep(&mut self, b: &[f64], x: &[f64]) {
        let (mut unit, mut answer) = (b.to_vec(), x.to_vec());
        for pair in &self.pairs {
            let share = dot(&unit, &pair.unit);
            add_scaled(&mut unit, -share, &pair.unit);
            add_scaled(&mut answer, -share, &pair.answer);
        }
        let left = norm(&unit);
        if left > NEW * norm(b) {
            self.pairs.push(Pair {
                unit: unit.into_iter().map(|v| (v / left) as f32).collect(),
                answer: answer.into_iter().map(|v| v / left).collect(),
            });
        }
    }
}
