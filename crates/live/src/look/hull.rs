//! The convex hull of points in a plane (Andrew's monotone chain): what is seen of a body from one side, filled in.

/// Corners of the hull, counter-clockwise.
pub(super) fn hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let turn = |a: &[f64; 2], b: &[f64; 2], c: &[f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let chain = |points: &mut dyn Iterator<Item = &[f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for point in points {
            while let [.., a, b] = chain.as_slice()
                && turn(a, b, point) <= 0.0
            {
                chain.pop();
            }
            chain.push(*point);
        }
        chain.pop();
        chain
    };
    let mut hull = chain(&mut points.iter());
    hull.extend(chain(&mut points.iter().rev()));
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_points_inside_and_on_its_sides() {
        let mut points = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        let corners = points.clone();
        points.extend([[0.5, 0.5], [0.5, 0.0], [1.0, 0.25], [0.0, 0.0]]);
        assert_eq!(hull(points), corners);
        assert_eq!(hull(vec![[1.0, 2.0]]), [[1.0, 2.0]]);
    }
}
