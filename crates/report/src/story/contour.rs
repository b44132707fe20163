//! Lines of equal value on a raster (marching squares): in each square of four neighbours the line
//! joins the places where the value is met on its sides; squares with a missing corner are left
//! out. The pieces are strung together into lines.

use std::collections::HashMap;

/// A raster of values, row by row from the low corner; missing ones are not numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Raster<'a> {
    pub values: &'a [f32],
    pub size: [usize; 2],
}

impl Raster<'_> {
    /// The value of a pixel.
    pub fn at(&self, i: usize, j: usize) -> f64 {
        f64::from(self.values[j * self.size[0] + i])
    }
}

/// A side of a square: pixel, and 0 for the side to the right, 1 for the one upwards.
type Side = (usize, usize, u8);

/// The lines of a level, in pixels (pixel centres are whole numbers).
pub(super) fn lines(raster: &Raster<'_>, level: f64) -> Vec<Vec<[f64; 2]>> {
    let mut joins: HashMap<Side, Vec<Side>> = HashMap::new();
    let mut order: Vec<Side> = Vec::new();
    let [width, height] = raster.size;
    for j in 0..height.saturating_sub(1) {
        for i in 0..width.saturating_sub(1) {
            for [a, b] in square(raster, i, j, level) {
                for (from, to) in [(a, b), (b, a)] {
                    let list = joins.entry(from).or_insert_with(|| {
                        order.push(from);
                        Vec::new()
                    });
                    list.push(to);
                }
            }
        }
    }
    // Open ends first, so that a line is not begun in its middle.
    let mut starts = order.clone();
    starts.sort_by_key(|s| joins[s].len() != 1);
    let mut lines = Vec::new();
    for start in starts {
        let mut line = Vec::new();
        let mut here = Some(start);
        while let Some(side) = here {
            line.push(crossing(raster, side, level));
            let next = joins.get_mut(&side).and_then(Vec::pop);
            if let Some(to) = next
                && let Some(back) = joins.get_mut(&to)
                && let Some(n) = back.iter().position(|s| *s == side)
            {
                back.swap_remove(n);
            }
            here = next;
        }
        if line.len() > 1 {
            lines.push(line);
        }
    }
    lines
}

/// Pairs of sides of one square that the line joins.
fn square(raster: &Raster<'_>, i: usize, j: usize, level: f64) -> Vec<[Side; 2]> {
    let corners = [
        raster.at(i, j),
        raster.at(i + 1, j),
        raster.at(i + 1, j + 1),
        raster.at(i, j + 1),
    ];
    if corners.iter().any(|c| c.is_nan()) {
        return Vec::new();
    }
    let sides = [(i, j, 0), (i + 1, j, 1), (i, j + 1, 0), (i, j, 1)];
    let above = corners.map(|c| c >= level);
    let crossed: Vec<Side> = (0..4)
        .filter(|&k| above[k] != above[(k + 1) % 4])
        .map(|k| sides[k])
        .collect();
    match crossed[..] {
        [a, b] => vec![[a, b]],
        [a, b, c, d] => {
            // A saddle: the middle tells which corners belong together.
            let middle = corners.iter().sum::<f64>() / 4.0 >= level;
            if middle == above[0] {
                vec![[a, b], [c, d]]
            } else {
                vec![[d, a], [b, c]]
            }
        }
        _ => Vec::new(),
    }
}

fn crossing(raster: &Raster<'_>, (i, j, up): Side, level: f64) -> [f64; 2] {
    let (di, dj) = if up == 1 { (0, 1) } else { (1, 0) };
    let (a, b) = (raster.at(i, j), raster.at(i + di, j + dj));
    let t = if a == b { 0.5 } else { (level - a) / (b - a) };
    [i as f64 + t * di as f64, j as f64 + t * dj as f64]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn drawn(values: &[f32], size: [usize; 2], level: f64) -> Vec<Vec<[f64; 2]>> {
        lines(&Raster { values, size }, level)
    }

    #[test]
    fn a_cone_has_round_lines() {
        let size = [41, 41];
        let values: Vec<f32> = (0..41 * 41)
            .map(|n| ((n % 41) as f32 - 20.0).hypot((n / 41) as f32 - 20.0))
            .collect();
        let found = drawn(&values, size, 11.5);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].first(), found[0].last());
        for p in &found[0] {
            assert_relative_eq!((p[0] - 20.0).hypot(p[1] - 20.0), 11.5, epsilon = 0.02);
        }
    }

    #[test]
    fn a_hole_opens_the_line_and_nothing_is_drawn_in_it() {
        let size = [20, 5];
        let mut values: Vec<f32> = (0..100).map(|n| (n / 20) as f32).collect();
        for row in 0..5 {
            values[row * 20 + 10] = f32::NAN;
        }
        let found = drawn(&values, size, 1.5);
        assert_eq!(found.len(), 2);
        for line in &found {
            assert!(line.iter().all(|p| p[0] <= 9.0 || p[0] >= 11.0));
        }
        assert!(drawn(&values, size, 9.0).is_empty());
    }
}
