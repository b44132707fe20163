//! Where Newton's method begins: the network with every law replaced by a chord.
//!
//! From a cold start at zero potential Newton's method overshoots wildly, because the laws are
//! exponential. The chord of a law from zero to its mean current density (at most 0.9 of its
//! limit) has the right size everywhere, and the linear network of chords costs a few cycles. Where
//! only currents are prescribed the means may be known beforehand. They are not when a voltage is
//! prescribed, nor are the signs when several bodies share a current: then chords and currents are
//! found in turn, beginning with no polarisation at all.

use crate::krylov::conjugate_gradients;
use crate::law::{Law, Response};
use crate::preconditioner::Preconditioner;
use crate::system::{Operator, System};
use crate::vector::{add_scaled, each_piece, norm};

/// Largest share of the limiting current at which a chord is drawn.
const SHARE_OF_LIMIT: f64 = 0.9;

/// Imbalance of each linear network, relative to its currents.
const REDUCTION: f64 = 0.3;

/// Most rounds, and most cycles of each.
const ROUNDS: usize = 8;
const CYCLES: usize = 12;

/// Relative change of the mean current densities that ends the search.
const SETTLED: f64 = 0.2;

/// A straight line in place of a law: `drop = offset + resistance * i`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Chord {
    offset_v: f64,
    resistance_ohm_m2: f64,
}

impl Chord {
    /// The line from the law's point at zero current, or at zero drop if it cannot carry zero, to
    /// that at the current density found with the last chord. Where that is beyond the limit, the
    /// line goes to the limit's share at the drop found: the rest of a prescribed voltage has to
    /// drop somewhere.
    fn new(law: &dyn Law, found: f64, last: Chord) -> Self {
        let (lo, hi) = law.range_a_per_m2();
        let wrong_way = (found < 0.0 && lo >= 0.0) || (found > 0.0 && hi <= 0.0);
        let wish = if wrong_way { -found } else { found };
        let current = wish.clamp(
            if lo < 0.0 { SHARE_OF_LIMIT * lo } else { lo },
            if hi > 0.0 { SHARE_OF_LIMIT * hi } else { hi },
        );
        let within = law.drop_at(current);
        let drop = if current == wish {
            within
        } else {
            let beyond = last.offset_v + last.resistance_ohm_m2 * found;
            if current < 0.0 {
                within.min(beyond)
            } else {
                within.max(beyond)
            }
        };
        let (base_current, base_drop) = match law.drop_at(0.0) {
            rest if lo < 0.0 && hi > 0.0 && rest.is_finite() => (0.0, rest),
            _ => (law.at_drop(0.0).current_a_per_m2, 0.0),
        };
        let secant = (drop - base_drop) / (current - base_current);
        let resistance_ohm_m2 = if secant.is_finite() && secant >= 0.0 {
            secant
        } else {
            let tangent = 1.0 / law.at_drop(drop).slope_s_per_m2;
            if tangent.is_finite() { tangent } else { 0.0 }
        };
        let offset_v = if drop.is_finite() {
            drop - resistance_ohm_m2 * current
        } else {
            base_drop - resistance_ohm_m2 * base_current
        };
        Chord {
            offset_v: if offset_v.is_finite() { offset_v } else { 0.0 },
            resistance_ohm_m2,
        }
    }

    /// No polarisation beyond that at zero current.
    fn at_rest(law: &dyn Law) -> Self {
        let (lo, hi) = law.range_a_per_m2();
        let rest = if lo < 0.0 && hi > 0.0 {
            law.drop_at(0.0)
        } else {
            0.0
        };
        Chord {
            offset_v: if rest.is_finite() { rest } else { 0.0 },
            resistance_ohm_m2: 0.0,
        }
    }
}

/// Mean magnitudes of the anodic and the cathodic current densities of a law, A/m2.
pub(crate) type Means = [f64; 2];

/// Currents and areas of the anodic and the cathodic facets of a law.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sums([(f64, f64); 2]);

impl Sums {
    /// Counts a facet in.
    pub fn add(&mut self, current_a_per_m2: f64, area_m2: f64) {
        let (current, area) = &mut self.0[usize::from(current_a_per_m2 < 0.0)];
        *current += current_a_per_m2.abs() * area_m2;
        *area += area_m2;
    }

    pub fn means(&self) -> Means {
        (self.0).map(|(current, area)| if area > 0.0 { current / area } else { 0.0 })
    }
}

/// Of every law.
fn means(system: &System, responses: &[Response]) -> Vec<Means> {
    let mut sums = vec![Sums::default(); system.network.laws.len()];
    for (facet, response) in system.network.facets.iter().zip(responses) {
        sums[facet.law as usize].add(response.current_a_per_m2, facet.area_m2);
    }
    sums.iter().map(Sums::means).collect()
}

/// Chords of every law for the mean current densities, the last ones being given.
fn chords(laws: &[Box<dyn Law>], means: &[Means], last: &[[Chord; 2]]) -> Vec<[Chord; 2]> {
    let both = |((law, &[up, down]), last): ((&dyn Law, &Means), &[Chord; 2])| {
        [
            Chord::new(law, up, last[0]),
            Chord::new(law, -down, last[1]),
        ]
    };
    let laws = laws.iter().map(AsRef::as_ref);
    laws.zip(means).zip(last).map(both).collect()
}

/// Norm of the facet currents, A.
fn size(system: &System, current_a_per_m2: impl Fn(usize) -> f64) -> f64 {
    let facets = system.network.facets.iter().enumerate();
    let currents = facets.map(|(f, facet)| facet.area_m2 * current_a_per_m2(f));
    currents.map(|i| i * i).sum::<f64>().sqrt()
}

/// Improves the potentials `x` to those of the network of chords; returns the cycles spent. The
/// mean current densities may be foreseen.
pub(crate) fn chord_start(
    system: &System,
    preconditioner: &mut dyn Preconditioner,
    x: &mut [f64],
    foreseen: Option<&[Means]>,
) -> usize {
    let laws = &system.network.laws;
    let facets = &system.network.facets;
    let rest = laws.iter().map(|law| [Chord::at_rest(law.as_ref()); 2]);
    let mut lines: Vec<[Chord; 2]> = rest.collect();
    let mut known: Vec<Means> = Vec::new();
    if let Some(foreseen) = foreseen {
        lines = chords(laws, foreseen, &lines);
        known = foreseen.to_vec();
    }
    // Which of its law's two chords a facet takes is known from its last current.
    let first = |law: u32| match known.get(law as usize) {
        Some([up, down]) if down > up => -1.0,
        _ => 0.0,
    };
    let mut responses: Vec<Response> = (facets.iter())
        .map(|f| Response {
            current_a_per_m2: first(f.law),
            slope_s_per_m2: 0.0,
        })
        .collect();
    let mut cycles = 0;
    let mut r = vec![0.0; x.len()];
    let mut step = vec![0.0; x.len()];
    for _ in 0..ROUNDS {
        let linearise = |x: &[f64], responses: &mut [Response]| {
            each_piece(responses, |lo, responses| {
                for (f, response) in (lo..).zip(responses) {
                    let facet = &facets[f];
                    let side = usize::from(response.current_a_per_m2 < 0.0);
                    let chord = lines[facet.law as usize][side];
                    // A law may be unpolarisable and its facet without resistance: a stand-in then.
                    let series = system.network.series_ohm_m2(facet);
                    let resistance = series + chord.resistance_ohm_m2;
                    let slope = 1.0 / resistance.max(f64::MIN_POSITIVE.sqrt());
                    let drive = system.drive(Operator::Plain, f, x) - chord.offset_v;
                    *response = Response {
                        current_a_per_m2: slope * drive,
                        slope_s_per_m2: slope,
                    };
                }
            });
        };
        linearise(x, &mut responses);
        system.load(&responses, preconditioner);
        let most = cycles + CYCLES;
        loop {
            system.balance(Operator::Plain, x, &responses, &mut r);
            let imbalance = norm(&r);
            let currents = size(system, |f| responses[f].current_a_per_m2);
            if imbalance <= REDUCTION * currents || cycles >= most {
                break;
            }
            step.fill(0.0);
            let outcome = conjugate_gradients(
                |x, y| system.derivative(Operator::Plain, &responses, x, y),
                preconditioner,
                &mut step,
                &mut r,
                REDUCTION * imbalance.max(0.5 * currents),
                CYCLES,
            );
            cycles += outcome.iterations.max(1);
            add_scaled(x, -1.0, &step);
            linearise(x, &mut responses);
        }
        let found = means(system, &responses);
        let settled = known.len() == found.len()
            && known
                .iter()
                .flatten()
                .zip(found.iter().flatten())
                .all(|(known, found)| (known - found).abs() <= SETTLED * known.max(*found));
        if settled {
            break;
        }
        lines = chords(laws, &found, &lines);
        known = found;
    }
    cycles
}
