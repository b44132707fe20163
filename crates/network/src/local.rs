//! Films that vary over a face: what each facet has of the mean limiting current.
//!
//! A face stands along the flow where its normal is more than 45 degrees off the [flow](Flow), and in front of a jet
//! where it is less than 45 degrees off its axis; all else keeps the mean. The place of a facet is counted on its own
//! electrode, from the first to the last of what stands along, and spread over the length that the agitation names, so
//! that the mean stays what was said. A facet gets the mean over its own extent, in closed form
//! ([`LocalFilm::mean_between`]): on a plane face the mean of all is exactly that of the correlation. Liquid at an
//! anode grows heavier and sinks: there free convection begins at the upper edge; a rod moves the works alone.
//!
//! A zone with a film of its own wins, and so does a limiting current that the job gives.

use ionfall_bath::transfer::{Course, LocalFilm};
use ionfall_bath::{Kinetics, Origin};
use ionfall_mesh::grid::Grid;
use ionfall_mesh::grid::facet::Facet;
use ionfall_model::{Electrode, Flow, Parts, Role};
use ionfall_numerics::vector::dot;

/// Cosine of 45 degrees.
const ASLANT: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Local limiting currents.
#[derive(Clone, Debug, PartialEq)]
pub struct LocalLimits {
    /// Limiting current of each facet over the mean one; 1 where nothing varies.
    pub shares: Vec<f64>,
    /// The faces of electrodes over which it varies.
    pub faces: Vec<LocalFace>,
}

/// The faces of an electrode over which the film varies.
#[derive(Clone, Debug, PartialEq)]
pub struct LocalFace {
    /// Number of the electrode.
    pub electrode: usize,
    /// Length along the flow, or largest radius from the axis of the jet, m.
    pub length_m: f64,
    /// Share of the electrode's area over which it varies.
    pub area_share: f64,
    /// Least and largest share of the mean limiting current.
    pub shares: [f64; 2],
}

/// What each facet has of the mean limiting current; nothing if the film is the same everywhere, or the direction
/// is not known.
pub fn local_limits<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    film: Option<&LocalFilm>,
) -> Option<LocalLimits> {
    let (film, flow) = (film?, parts.flow?);
    let mut shares = vec![1.0; grid.facets.len()];
    let mut faces = Vec::new();
    for (n, electrode) in parts.electrodes.iter().enumerate() {
        if !varies(electrode, film.course) {
            continue;
        }
        let own = |f: &usize| usize::from(grid.facets[*f].body) == electrode.body;
        let own: Vec<usize> = (0..grid.facets.len()).filter(own).collect();
        let stands = |f: &usize| stands(&grid.facets[*f], &flow, film.course);
        let standing: Vec<usize> = own.iter().copied().filter(stands).collect();
        let extents: Vec<[f64; 2]> = (standing.iter())
            .map(|&f| extent_m(&grid.facets[f], &flow, film.course))
            .collect();
        let first_m = extents.iter().fold(f64::INFINITY, |a, e| a.min(e[0]));
        let last_m = extents.iter().fold(f64::NEG_INFINITY, |a, e| a.max(e[1]));
        let (first_m, length_m) = match film.course {
            Course::Radial => (0.0, film.length_m),
            _ => (first_m, last_m - first_m),
        };
        if !(length_m.is_finite() && length_m > 0.0) {
            continue;
        }
        let falls = film.course == Course::Rising && !electrode.role.is_cathode();
        let mut ends = [f64::INFINITY, 0.0_f64];
        for (&f, extent) in standing.iter().zip(&extents) {
            let zoned = |z: &ionfall_model::Zone<D>| z.solid.contains(&grid.facets[f].point);
            if parts.zones.iter().any(zoned) {
                continue;
            }
            let [from, to] = extent.map(|x| (x - first_m) / length_m);
            let [from, to] = if falls {
                [1.0 - to, 1.0 - from]
            } else {
                [from, to]
            };
            let share = film.mean_between(from, to);
            ends = [ends[0].min(share), ends[1].max(share)];
            shares[f] = share;
        }
        let area_m2 = |of: &[usize]| of.iter().map(|&f| grid.facets[f].area_m2).sum::<f64>();
        if ends[1] > 0.0 {
            faces.push(LocalFace {
                electrode: n,
                length_m: last_m - first_m,
                area_share: area_m2(&standing) / area_m2(&own),
                shares: ends,
            });
        }
    }
    (!faces.is_empty()).then_some(LocalLimits { shares, faces })
}

/// Has the electrode the film of the bath, and does it vary there?
fn varies(electrode: &Electrode, course: Course) -> bool {
    match (&electrode.kinetics, electrode.role) {
        // What anodes passivate at is the bath's, whatever their law.
        (_, Role::Anode) => course != Course::ToAndFro,
        (_, Role::Floating) | (Kinetics::Own(_), _) => false,
        (Kinetics::Law(law), _) => law.limit_from() == Origin::Bath,
        (Kinetics::Primary, _) => true,
    }
}

/// Does the facet stand along the flow, or face the jet?
fn stands<const D: usize>(facet: &Facet<D>, flow: &Flow<D>, course: Course) -> bool {
    let cosine = dot(&facet.normal, &flow.direction);
    match course {
        Course::Radial => cosine < -ASLANT,
        _ => cosine.abs() < ASLANT,
    }
}

/// From where to where a facet reaches, m.
fn extent_m<const D: usize>(facet: &Facet<D>, flow: &Flow<D>, course: Course) -> [f64; 2] {
    let place = |x: &[f64; D]| match course {
        Course::Radial => flow.off_axis_m(x),
        _ => flow.along_m(x),
    };
    let middle = place(&facet.point);
    let corners = facet.outline.points().iter().map(place);
    corners.fold([middle; 2], |[low, high], x| [low.min(x), high.max(x)])
}
