//! Where the part is looked at from at first: straight on, from the side of the anodes nearest to the
//! place worth seeing. What is drawn out of a plane or turned about an axis is seen a little from beside
//! and above, so that it has depth.

use super::data::Wire;
use super::kind::Kind;
use super::lift::Lift;
use ionfall_model::Role;
use std::f64::consts::PI;

/// What is drawn out is seen from beside by this, rad.
const BESIDE: f64 = 0.45;
/// Above the horizon, rad.
const ABOVE: f64 = 0.35;
/// Steepest look, rad.
const STEEPEST: f64 = 1.55;
/// Looks that are nearer to an axis than this go along it, rad.
const ASKEW: f64 = 0.35;

/// The angle about z from which the plated face is seen straight on, and the view at first (angles
/// about z and above the horizon), rad. `place` is one worth seeing, mm.
pub(super) fn view(
    wires: &[Wire],
    cathodes: &[Wire],
    place: Option<[f64; 3]>,
    lift: Lift,
) -> (f64, [f64; 2]) {
    let front = -0.5 * PI;
    match lift {
        // Before the front, and into the open quarter.
        Lift::DrawnOut(_) => return (front, [front + BESIDE, ABOVE]),
        Lift::Turned => return (-0.25 * PI, [-0.25 * PI, ABOVE]),
        Lift::Solid => {}
    }
    let work = mean(&cathodes.iter().map(middle).collect::<Vec<_>>());
    let anodes: Vec<[f64; 3]> = wires
        .iter()
        .filter(|w| w.role == Kind::Electrode(Role::Anode))
        .map(|w| arm(work, middle(w)))
        .collect();
    let from_place = |a: &[f64; 3]| dot(arm(arm(work, place.unwrap_or(work)), *a));
    let Some(nearest) = anodes
        .iter()
        .min_by(|a, b| from_place(a).total_cmp(&from_place(b)))
    else {
        return (front, [front, 0.0]);
    };
    // The anodes on the same side.
    let beside: Vec<[f64; 3]> = anodes
        .iter()
        .copied()
        .filter(|a| inner(*a, *nearest) > 0.5 * (dot(*a) * dot(*nearest)).sqrt())
        .collect();
    let to = if beside.is_empty() {
        *nearest
    } else {
        mean(&beside)
    };
    let flat = to[0].hypot(to[1]);
    let front = if flat > 0.2 * to[2].abs() && flat > 0.0 {
        to[1].atan2(to[0])
    } else {
        front
    };
    let front = along_axis(front);
    let above = along_axis(to[2].atan2(flat)).clamp(-STEEPEST, STEEPEST);
    (front, [front, above])
}

/// An angle, or that of an axis close by.
fn along_axis(angle: f64) -> f64 {
    let axis = (angle / (0.5 * PI)).round() * 0.5 * PI;
    if (angle - axis).abs() < ASKEW {
        axis
    } else {
        angle
    }
}

fn middle(wire: &Wire) -> [f64; 3] {
    std::array::from_fn(|k| 0.5 * (wire.bounds[0][k] + wire.bounds[1][k]))
}

fn mean(of: &[[f64; 3]]) -> [f64; 3] {
    std::array::from_fn(|k| of.iter().map(|x| x[k]).sum::<f64>() / of.len().max(1) as f64)
}

fn arm(from: [f64; 3], to: [f64; 3]) -> [f64; 3] {
    std::array::from_fn(|k| to[k] - from[k])
}

fn inner(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}

fn dot(a: [f64; 3]) -> f64 {
    inner(a, a)
}

#[cfg(test)]
mod tests {
    use super::super::Packed;
    use super::*;

    const WORK: Kind = Kind::Electrode(Role::Work);
    const ANODE: Kind = Kind::Electrode(Role::Anode);

    fn at(role: Kind, centre: [f64; 3]) -> Wire {
        Wire {
            name: String::new(),
            role,
            points: Packed(Vec::new()),
            faces: Vec::new(),
            bounds: [centre.map(|c| c - 1.0), centre.map(|c| c + 1.0)],
        }
    }

    #[test]
    fn the_side_of_the_anodes_is_seen() {
        let work = [at(WORK, [0.0; 3])];
        let wires = [at(Kind::Tank, [50.0; 3]), at(ANODE, [0.0, -100.0, 0.0])];
        let (_, [about, above]) = view(&wires, &work, None, Lift::Solid);
        let towards = [above.cos() * about.cos(), above.cos() * about.sin()];
        assert!(towards[1] < -0.7, "{towards:?}");
        let above_it = [at(ANODE, [0.0, 0.0, 100.0])];
        assert!(view(&above_it, &work, None, Lift::Solid).1[1] > 1.5);
        // Straight on, though the anode hangs a little lower than the work.
        let lower = [at(ANODE, [0.0, -100.0, -15.0])];
        let (front, [about, above]) = view(&lower, &work, None, Lift::Solid);
        assert!((front + 0.5 * PI).abs() < 1e-9 && about == front && above == 0.0);
        // Between two anodes the side of the place counts.
        let both = [at(ANODE, [100.0, 0.0, 0.0]), at(ANODE, [-100.0, 0.0, 0.0])];
        let (front, _) = view(&both, &work, Some([-1.0, 0.0, 0.0]), Lift::Solid);
        assert!((front.abs() - PI).abs() < 1e-9, "{front}");
    }
}
