//! Where the numbers of places stand: beside the part, at the height of their places, never over each
//! other.

/// From the part to the middle of a number, between two numbers, and to the border of the picture.
const GAP: f64 = 26.0;
const APART: f64 = 34.0;
const MARGIN: f64 = 16.0;

/// Middles of the numbers of places; `part` is the box around the part.
pub(crate) fn leaders(places: &[[f64; 2]], part: [[f64; 2]; 2], size: [f64; 2]) -> Vec<[f64; 2]> {
    let middle = 0.5 * (part[0][0] + part[1][0]);
    let mut numbers = vec![[0.0; 2]; places.len()];
    for is_left in [true, false] {
        let x = match is_left {
            true => (part[0][0] - GAP).max(MARGIN),
            false => (part[1][0] + GAP).min(size[0] - MARGIN),
        };
        let mut own: Vec<usize> = (0..places.len())
            .filter(|&n| (places[n][0] < middle) == is_left)
            .collect();
        own.sort_by(|&a, &b| places[a][1].total_cmp(&places[b][1]));
        let mut heights: Vec<f64> = own.iter().map(|&n| places[n][1]).collect();
        spread(&mut heights, APART, [MARGIN, size[1] - MARGIN]);
        for (n, y) in own.into_iter().zip(heights) {
            numbers[n] = [x, y];
        }
    }
    numbers
}

/// Moves ascending values so far apart, as near to where they were as one pass down and one up allow.
pub(crate) fn spread(values: &mut [f64], apart: f64, [low, high]: [f64; 2]) {
    let mut least = low;
    for value in values.iter_mut() {
        *value = value.max(least);
        least = *value + apart;
    }
    let mut most = high;
    for value in values.iter_mut().rev() {
        *value = value.min(most);
        most = *value - apart;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_beside_the_part_and_apart() {
        let part = [[100.0, 50.0], [400.0, 250.0]];
        let places = [[120.0, 60.0], [125.0, 60.0], [121.0, 61.0], [390.0, 250.0]];
        let numbers = leaders(&places, part, [500.0, 300.0]);
        for (n, a) in numbers.iter().enumerate() {
            assert!(a[0] < 100.0 || a[0] > 400.0, "{a:?} is over the part");
            assert!((MARGIN..=300.0 - MARGIN).contains(&a[1]), "{a:?}");
            for b in &numbers[..n] {
                let apart = (a[0] - b[0]).hypot(a[1] - b[1]);
                assert!(apart >= APART - 1e-9, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn at_a_border_all_move_back() {
        let mut heights = [95.0, 96.0, 97.0];
        spread(&mut heights, 10.0, [0.0, 100.0]);
        assert_eq!(heights, [80.0, 90.0, 100.0]);
    }
}
