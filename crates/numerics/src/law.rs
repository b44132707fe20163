//! What the solver asks of an electrode law, and the element of a law and a resistance in series.

use std::fmt::Debug;

/// Answer of an electrode element to its driving voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Response {
    /// Current density from metal into electrolyte (anodic positive), A/m2.
    pub current_a_per_m2: f64,
    /// Its slope against the driving voltage, S/m2; never negative.
    pub slope_s_per_m2: f64,
}

/// A monotone law: current density against the drop `metal potential - solution potential`.
pub trait Law: Send + Sync + Debug {
    /// Current density and slope at a drop in volts, no series resistance.
    ///
    /// Must not decrease with the drop; may overflow to an infinity far from the working point.
    fn at_drop(&self, drop_v: f64) -> Response;

    /// Open interval of the current densities the law can carry, A/m2 (anodic positive).
    fn range_a_per_m2(&self) -> (f64, f64) {
        (f64::NEG_INFINITY, f64::INFINITY)
    }

    /// The drop at a given current density inside the range, volts.
    fn drop_at(&self, current_a_per_m2: f64) -> f64;

    /// Solves `i = law(drive - series * i)`: the element of law and series resistance
    /// (ohm m2, electrolyte between probe and surface). The default is a safeguarded Newton
    /// iteration on [`Law::at_drop`]; an equipotential law overrides it.
    fn respond(&self, drive_v: f64, series_ohm_m2: f64) -> Response {
        in_series(|drop| self.at_drop(drop), drive_v, series_ohm_m2)
    }
}

/// Most evaluations of a law for one response. Bisection alone would end after some 60, Newton
/// usually after 3 to 8.
const MOST_EVALUATIONS: usize = 200;

/// The root `u` of `g(u) = u + R i(u) - drive` and the element's response there.
///
/// `g` rises with slope at least one, so the root lies between `drive` and `drive - R i(drive)`.
/// Inside that bracket steps are Newton's on `g`, or, where the law carries far more current than
/// the resistance lets through (the exponential branch), Newton's on the logarithm
/// `ln(R i) - ln(drive - u)`, which is almost straight there. A step that leaves the bracket, or is
/// more than half as long as the one before the last, is replaced by bisection.
fn in_series(law: impl Fn(f64) -> Response, drive_v: f64, series_ohm_m2: f64) -> Response {
    let r = series_ohm_m2;
    let at_drive = law(drive_v);
    if r == 0.0 || at_drive.current_a_per_m2 == 0.0 || at_drive.current_a_per_m2.is_nan() {
        return combined(at_drive, drive_v, drive_v, r);
    }
    let side = -at_drive.current_a_per_m2.signum();
    let mut near = drive_v;
    let mut far = bracket(&law, drive_v, side, r * at_drive.current_a_per_m2.abs(), r);
    let (mut u, mut answer) = (drive_v, at_drive);
    let (mut last_move, mut move_before) = (f64::INFINITY, f64::INFINITY);
    for step in 0..MOST_EVALUATIONS {
        if step > 0 {
            answer = law(u);
            let g = u - drive_v + r * answer.current_a_per_m2;
            if g * side < 0.0 {
                near = u;
            } else if g == 0.0 {
                break;
            } else {
                far = u;
            }
        }
        let gap = (far - near).abs();
        let middle = 0.5 * (near + far);
        let proposal = newton(answer, u, drive_v, r);
        let scale = 2.0 * f64::EPSILON * drive_v.abs().max(u.abs());
        if (proposal - u).abs() <= scale || gap <= scale {
            break;
        }
        let inside = (proposal - near) * (far - proposal) >= 0.0;
        let shrinks = (proposal - u).abs() <= 0.5 * move_before;
        let next = if inside && shrinks { proposal } else { middle };
        (move_before, last_move) = (last_move, (next - u).abs());
        u = next;
    }
    combined(answer, u, drive_v, r)
}

/// A point beyond the root: `longest` away, unless that is far more than voltages are; then by
/// walking in doubling steps, because the law may be astronomic at the drive.
fn bracket(law: &impl Fn(f64) -> Response, drive_v: f64, side: f64, longest: f64, r: f64) -> f64 {
    let mut step = 2.0 * drive_v.abs().max(1.0);
    while step < longest {
        let u = drive_v + side * step;
        if (u - drive_v + r * law(u).current_a_per_m2) * side >= 0.0 {
            return u;
        }
        step *= 2.0;
    }
    drive_v + side * longest
}

/// Newton's next drop (not a number where the law has overflowed).
fn newton(at: Response, u: f64, drive_v: f64, r: f64) -> f64 {
    let (i, slope) = (at.current_a_per_m2, at.slope_s_per_m2);
    let left = drive_v - u;
    let ratio = r * i / left;
    if left != 0.0 && ratio > 2.0 && slope > 0.0 {
        u - ratio.ln() / (slope / i + 1.0 / left)
    } else {
        u + (left - r * i) / (1.0 + r * slope)
    }
}

/// Response of the element from that of the law at the drop `u`. Of the two expressions for the
/// current, law and resistance, the flatter one is less sensitive to the rounding of `u`.
fn combined(law: Response, u: f64, drive_v: f64, r: f64) -> Response {
    let stiffness = r * law.slope_s_per_m2;
    if stiffness.is_infinite() {
        return Response {
            current_a_per_m2: (drive_v - u) / r,
            slope_s_per_m2: 1.0 / r,
        };
    }
    let current_a_per_m2 = if stiffness > 1.0 {
        (drive_v - u) / r
    } else {
        law.current_a_per_m2
    };
    Response {
        current_a_per_m2,
        slope_s_per_m2: law.slope_s_per_m2 / (1.0 + stiffness),
    }
}
