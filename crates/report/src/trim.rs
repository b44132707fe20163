//! Cutting elements where a surface dives into another body or leaves the space of the job.
//!
//! An element with some corners on the body's boundary and some not is cut: along each edge the
//! place of the change is found by halving, and the part that counts is kept. Corners are judged a
//! little inside of their element, so that edges of the same shape do not blur the answer.

use ionfall_mesh::solid::{Point, Soup};
use std::collections::HashMap;

/// How far inside of the element corners are judged, share of the way to its middle.
const INSIDE: f64 = 1e-3;
/// Halvings of an edge.
const HALVINGS: usize = 24;

/// Cuts the elements of a soup; `counts` is asked for an element and a point of it.
pub(crate) fn trim<const D: usize>(
    soup: &mut Soup<D>,
    counts: impl Fn(&Soup<D>, usize, &Point<D>) -> bool,
) {
    let mut cuts: HashMap<[u32; 2], u32> = HashMap::new();
    for e in 0..soup.elements.len() {
        let element = soup.elements[e];
        let corners = soup.corners(e);
        let middle: Point<D> =
            std::array::from_fn(|k| corners.iter().map(|c| c[k]).sum::<f64>() / D as f64);
        let judged = |x: &Point<D>| {
            let inside = std::array::from_fn(|k| x[k] + INSIDE * (middle[k] - x[k]));
            counts(soup, e, &inside)
        };
        let kept = corners.map(|c| judged(&c));
        if kept.iter().all(|k| *k == kept[0]) {
            continue;
        }
        let mut found = Vec::new();
        for k in 0..D {
            let next = (k + 1) % D;
            if kept[k] == kept[next] {
                continue;
            }
            let (a, b) = (element[k], element[next]);
            let edge = [a.min(b), a.max(b)];
            if !cuts.contains_key(&edge) && !found.iter().any(|(known, _)| *known == edge) {
                let (from, to) = if kept[k] { (k, next) } else { (next, k) };
                found.push((edge, halved(corners[from], corners[to], &judged)));
            }
        }
        for (edge, place) in found {
            cuts.insert(edge, soup.vertices.len() as u32);
            soup.vertices.push(place);
        }
        replace(soup, e, kept, &cuts);
    }
}

/// The last place that counts on the way from one that does to one that does not.
fn halved<const D: usize>(
    mut counts: Point<D>,
    mut not: Point<D>,
    judged: &impl Fn(&Point<D>) -> bool,
) -> Point<D> {
    for _ in 0..HALVINGS {
        let middle = std::array::from_fn(|k| 0.5 * (counts[k] + not[k]));
        if judged(&middle) {
            counts = middle;
        } else {
            not = middle;
        }
    }
    counts
}

/// Puts the parts that remain in place of an element.
fn replace<const D: usize>(
    soup: &mut Soup<D>,
    e: usize,
    kept: [bool; D],
    cuts: &HashMap<[u32; 2], u32>,
) {
    let element = soup.elements[e];
    let mut outline = Vec::new();
    // A segment has one edge, a triangle three.
    let edges = if D == 2 { 1 } else { D };
    for k in 0..D {
        if kept[k] {
            outline.push(element[k]);
        }
        let (a, b) = (element[k], element[(k + 1) % D]);
        if k < edges && kept[k] != kept[(k + 1) % D] {
            outline.extend(cuts.get(&[a.min(b), a.max(b)]));
        }
    }
    let parts = (2..=outline.len().saturating_sub(D - 2)).map(|n| {
        std::array::from_fn(|k| {
            if k == 0 {
                outline[0]
            } else {
                outline[n + k - 2]
            }
        })
    });
    for (n, part) in parts.collect::<Vec<[u32; D]>>().into_iter().enumerate() {
        if n == 0 {
            soup.elements[e] = part;
        } else {
            soup.elements.push(part);
            soup.patch.push(soup.patch[e]);
            soup.area_factor.push(soup.area_factor[e]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn soup<const D: usize>(vertices: Vec<Point<D>>, elements: Vec<[u32; D]>) -> Soup<D> {
        Soup {
            patch: vec![0; elements.len()],
            area_factor: vec![1.0; elements.len()],
            vertices,
            elements,
        }
    }

    fn area<const D: usize>(soup: &Soup<D>) -> f64 {
        (0..soup.elements.len()).map(|e| soup.area(e)).sum()
    }

    #[test]
    fn a_square_is_cut_along_a_line() {
        let corners = vec![
            [0.0, 0.0, 0.0],
            [1.0, 0.0, 0.0],
            [1.0, 1.0, 0.0],
            [0.0, 1.0, 0.0],
        ];
        for (limit, left) in [(0.3, 0.3), (0.5, 0.5), (0.9, 0.9)] {
            let mut square = soup(corners.clone(), vec![[0, 1, 2], [0, 2, 3]]);
            trim(&mut square, |_, _, x| x[1] < limit);
            // What is left of the limit is outside or cut away.
            let inside = |e: usize| square.corners(e).iter().all(|c| c[1] <= limit + 2e-3);
            let kept: f64 = (0..square.elements.len())
                .filter(|&e| inside(e))
                .map(|e| square.area(e))
                .sum();
            assert_relative_eq!(kept, left, epsilon = 2e-3);
            assert_relative_eq!(area(&square), kept, epsilon = 1e-9);
        }
    }

    #[test]
    fn a_line_is_cut_too_and_whole_ones_stay() {
        let mut lines = soup(
            vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]],
            vec![[0, 1], [1, 2]],
        );
        trim(&mut lines, |_, _, x| x[1] < 0.25);
        assert_eq!(lines.elements.len(), 2);
        assert_eq!(lines.elements[0], [0, 1]);
        assert_relative_eq!(area(&lines), 1.25, epsilon = 1e-3);
    }
}
