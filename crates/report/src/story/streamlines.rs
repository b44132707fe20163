//! Current lines in the plane of the section.
//!
//! They are walked from the cathodes against the current, along the gradient of the potential
//! raster (Heun's method, half a pixel a step), until they leave the bath at an anode or a wall,
//! and turned round at the end. The beginnings part the cathodic current of the plane into equal
//! shares, so in two dimensions the same current flows between neighbours. In a tank they show
//! the part of the current that lies in the plane.

use super::chains::Strip;
use super::contour::Raster;

/// Pixels a step.
const STEP: f64 = 0.5;
/// Pixels from the surface to the first step.
const START: f64 = 1.5;

/// The beginnings, m, and the direction along the surface there: `count` equal shares of what
/// `weight` gives for each piece of a strip.
pub(super) fn beginnings(
    strips: &[Strip],
    count: usize,
    weight: impl Fn(&Strip, usize) -> f64,
) -> Vec<[[f64; 2]; 2]> {
    let pieces: Vec<(&Strip, usize, f64)> = strips
        .iter()
        .flat_map(|s| (0..s.places.len()).map(move |n| (s, n)))
        .map(|(s, n)| (s, n, weight(s, n).max(0.0)))
        .collect();
    let total: f64 = pieces.iter().map(|p| p.2).sum();
    let mut begun = Vec::new();
    let mut sum = 0.0;
    for (strip, n, share) in pieces {
        let before = sum;
        sum += share;
        // A piece may carry more than one share, at sharp edges for instance.
        while begun.len() < count {
            let next = (begun.len() as f64 + 0.5) / count as f64 * total;
            if sum < next {
                break;
            }
            let (a, b) = (n.saturating_sub(1), (n + 1).min(strip.places.len() - 1));
            let along: [f64; 2] = std::array::from_fn(|k| strip.places[b][k] - strip.places[a][k]);
            let from_middle_m = strip.length_m[n] * ((next - before) / share - 0.5);
            let step = from_middle_m / along[0].hypot(along[1]);
            let place = std::array::from_fn(|k| strip.places[n][k] + step * along[k]);
            begun.push([place, along]);
        }
    }
    begun
}

/// Walks one line from a beginning in pixels; nothing if the bath is not beside it.
pub(super) fn walk(
    potential: &Raster<'_>,
    place: [f64; 2],
    along: [f64; 2],
) -> Option<Vec<[f64; 2]>> {
    let length = along[0].hypot(along[1]);
    let off = [-along[1] / length, along[0] / length];
    let mut here = [1.0, -1.0]
        .iter()
        .flat_map(|side| [START, 2.0 * START].map(|far| side * far))
        .map(|far| [place[0] + far * off[0], place[1] + far * off[1]])
        .find(|p| gradient(potential, *p).is_some())?;
    let mut line = vec![place, here];
    let most = 8 * (potential.size[0] + potential.size[1]);
    for _ in 0..most {
        let Some(slope) = gradient(potential, here) else {
            break;
        };
        let ahead = moved(here, slope);
        let slope = gradient(potential, ahead)
            .map_or(slope, |next| unit([slope[0] + next[0], slope[1] + next[1]]));
        here = moved(here, slope);
        line.push(here);
    }
    line.reverse();
    Some(line)
}

fn moved(p: [f64; 2], along: [f64; 2]) -> [f64; 2] {
    [p[0] + STEP * along[0], p[1] + STEP * along[1]]
}

fn unit(v: [f64; 2]) -> [f64; 2] {
    let length = v[0].hypot(v[1]);
    if length > 0.0 {
        v.map(|x| x / length)
    } else {
        v
    }
}

/// Unit gradient of the bilinear surface through the four pixels around; nothing outside the bath
/// or where the potential is even.
fn gradient(raster: &Raster<'_>, p: [f64; 2]) -> Option<[f64; 2]> {
    let [width, height] = raster.size;
    let low = p.map(f64::floor);
    if low[0] < 0.0 || low[1] < 0.0 || low[0] + 1.0 >= width as f64 || low[1] + 1.0 >= height as f64
    {
        return None;
    }
    let (i, j) = (low[0] as usize, low[1] as usize);
    let (u, v) = (p[0] - low[0], p[1] - low[1]);
    let (a, b) = (raster.at(i, j), raster.at(i + 1, j));
    let (c, d) = (raster.at(i, j + 1), raster.at(i + 1, j + 1));
    let slope = unit([
        (b - a) * (1.0 - v) + (d - c) * v,
        (c - a) * (1.0 - u) + (d - b) * u,
    ]);
    (slope.iter().all(|s| s.is_finite()) && slope != [0.0, 0.0]).then_some(slope)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Between two concentric circles current lines are radii.
    #[test]
    fn lines_of_a_round_field_are_radii() {
        let size = [101, 101];
        let values: Vec<f32> = (0..101 * 101)
            .map(|n| {
                let r = ((n % 101) as f32 - 50.0).hypot((n / 101) as f32 - 50.0);
                if (10.0..=45.0).contains(&r) {
                    r.ln()
                } else {
                    f32::NAN
                }
            })
            .collect();
        let raster = Raster {
            values: &values,
            size,
        };
        let start = [50.0 + 6.0, 50.0 + 8.0];
        let line = walk(&raster, start, [-8.0, 6.0]).unwrap();
        assert_eq!(line.last(), Some(&start));
        let far = line[0];
        assert!((far[0] - 50.0).hypot(far[1] - 50.0) > 43.0);
        for p in line {
            assert_relative_eq!(
                (p[1] - 50.0).atan2(p[0] - 50.0),
                0.8f64.atan2(0.6),
                epsilon = 0.02
            );
        }
    }

    #[test]
    fn beginnings_part_the_current_evenly() {
        let strip = Strip {
            name: String::new(),
            is_work: true,
            places: (0..100).map(|n| [f64::from(n), 0.0]).collect(),
            way_m: vec![0.0; 100],
            length_m: vec![1.0; 100],
            values: Vec::new(),
        };
        let begun = beginnings(&[strip], 4, |_, n| if n < 50 { 3.0 } else { 1.0 });
        let at: Vec<f64> = begun.iter().map(|b| b[0][0]).collect();
        // A quarter each, from the middle of the first: 25, 75, 125 and 175 of 200 have gone by.
        for (found, gone) in at.iter().zip([25.0 / 3.0, 25.0, 125.0 / 3.0, 75.0]) {
            assert_relative_eq!(*found, gone - 0.5, max_relative = 1e-12);
        }
    }
}
