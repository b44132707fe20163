//! The window of a shield: what is open in the middle of a frame.
//!
//! Along the shortest side of the box around a shield its surface is projected. Corners that lie inside of the
//! outline are those of the window, if no triangle lies over its middle. Corners inside that lie on one line are the
//! sill of a window that is open to one side of the outline.

use super::data::Wire;
use super::kind::Kind;

/// Inside means so far from the outline, over the side.
const INSIDE: f64 = 1e-3;

/// A window: the axes it spans, and from where to where along them, mm.
pub(super) type Window = [(usize, [f64; 2]); 2];

/// The window of a shield in space, if it has one that closes all around or at three sides.
pub(super) fn window(wire: &Wire) -> Option<Window> {
    if wire.role != Kind::Shield {
        return None;
    }
    let corners: Vec<[f64; 3]> = (wire.faces.chunks_exact(3))
        .map(|p| [p[0], p[1], p[2]].map(f64::from))
        .collect();
    let span = |k: usize| {
        let along = corners.iter().map(|p| p[k]);
        [
            along.clone().fold(f64::INFINITY, f64::min),
            along.fold(f64::NEG_INFINITY, f64::max),
        ]
    };
    let outline = [0, 1, 2].map(span);
    let side = |k: usize| outline[k][1] - outline[k][0];
    let thin = (0..3).min_by(|&a, &b| side(a).total_cmp(&side(b)))?;
    let [a, b] = [(thin + 1) % 3, (thin + 2) % 3];
    let (a, b) = (a.min(b), a.max(b));
    let inside = |p: &&[f64; 3]| {
        [a, b].into_iter().all(|k| {
            let off = INSIDE * side(k);
            p[k] > outline[k][0] + off && p[k] < outline[k][1] - off
        })
    };
    let inner: Vec<&[f64; 3]> = corners.iter().filter(inside).collect();
    let edge = |k: usize| {
        let along = inner.iter().map(|p| p[k]);
        Some([along.clone().reduce(f64::min)?, along.reduce(f64::max)?])
    };
    let found = [(a, edge(a)?), (b, edge(b)?)];
    let open = |[low, high]: [f64; 2], k: usize| high - low < INSIDE * side(k);
    let to_a_side = |n: usize| {
        let (k, [sill, _]) = found[n];
        [[sill, outline[k][1]], [outline[k][0], sill]].map(|reach| {
            let mut window = found;
            window[n].1 = reach;
            window
        })
    };
    let candidates = match found.map(|(k, reach)| open(reach, k)) {
        [false, false] => vec![found],
        [true, false] => to_a_side(0).to_vec(),
        [false, true] => to_a_side(1).to_vec(),
        [true, true] => Vec::new(),
    };
    candidates.into_iter().find(|window| {
        let middle = window.map(|(_, [low, high])| 0.5 * (low + high));
        let mut triangles = corners.chunks_exact(3);
        !triangles.any(|t| holds([t[0], t[1], t[2]].map(|p| [p[a], p[b]]), middle))
    })
}

/// Does a triangle hold a point?
fn holds(t: [[f64; 2]; 3], p: [f64; 2]) -> bool {
    let turn = |n: usize| {
        let (u, v) = (t[n], t[(n + 1) % 3]);
        (v[0] - u[0]) * (p[1] - u[1]) - (v[1] - u[1]) * (p[0] - u[0])
    };
    let turns = [turn(0), turn(1), turn(2)];
    turns.iter().any(|t| *t != 0.0)
        && (turns.iter().all(|t| *t >= 0.0) || turns.iter().all(|t| *t <= 0.0))
}

#[cfg(test)]
mod tests {
    use super::super::data::Packed;
    use super::*;

    /// A plate at x = 5 from (0, 0) to (40, 60), with a window or without.
    fn plate(open: bool) -> Wire {
        let ring =
            |low: [f32; 2], high: [f32; 2]| [low, [high[0], low[1]], high, [low[0], high[1]]];
        let (outer, inner) = (
            ring([0.0, 0.0], [40.0, 60.0]),
            ring([10.0, 15.0], [30.0, 50.0]),
        );
        let mut faces = Vec::new();
        let mut add = |corners: [[f32; 2]; 3]| {
            faces.extend(corners.iter().flat_map(|p| [5.0, p[0], p[1]]));
        };
        for n in 0..4 {
            let m = (n + 1) % 4;
            add([outer[n], outer[m], inner[m]]);
            add([outer[n], inner[m], inner[n]]);
        }
        if !open {
            add([inner[0], inner[1], inner[2]]);
            add([inner[0], inner[2], inner[3]]);
        }
        shield(faces)
    }

    fn shield(faces: Vec<f32>) -> Wire {
        Wire {
            name: "frame".into(),
            role: Kind::Shield,
            points: Packed(Vec::new()),
            faces,
            bounds: [[5.0, 0.0, 0.0], [5.0, 40.0, 60.0]],
        }
    }

    /// The same plate cut out from y = 10 to 30 down to z = 15.
    #[test]
    fn a_window_may_be_open_at_the_top() {
        let bar = |y: [f32; 2], z: [f32; 2]| {
            let [a, b, c, d] = [[y[0], z[0]], [y[1], z[0]], [y[1], z[1]], [y[0], z[1]]];
            [a, b, c, a, c, d]
        };
        let bars = [
            bar([0.0, 10.0], [0.0, 60.0]),
            bar([10.0, 30.0], [0.0, 15.0]),
            bar([30.0, 40.0], [0.0, 60.0]),
        ];
        let corners = bars.iter().flatten();
        let frame = shield(corners.flat_map(|p| [5.0, p[0], p[1]]).collect());
        let found = window(&frame).unwrap();
        assert_eq!(found, [(1, [10.0, 30.0]), (2, [15.0, 60.0])]);
    }

    #[test]
    fn a_frame_has_a_window_and_a_plate_none() {
        let found = window(&plate(true)).unwrap();
        assert_eq!(found, [(1, [10.0, 30.0]), (2, [15.0, 50.0])]);
        assert_eq!(window(&plate(false)), None);
        let anode = Wire {
            role: Kind::Contact,
            ..plate(true)
        };
        assert_eq!(window(&anode), None);
    }
}
