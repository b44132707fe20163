//! What electrodes follow as laws of the network.

use ionfall_bath::Kinetics;
use ionfall_field::law::{Law, Response};

/// The network's law for an electrode.
pub fn law(kinetics: &Kinetics) -> Box<dyn Law> {
    match kinetics {
        Kinetics::Primary => Box::new(Equipotential),
        Kinetics::Law(law) => Box::new(*law),
        Kinetics::Own(law) => Box::new(law.clone()),
    }
}

/// No polarisation: the electrolyte at the surface has the potential of the metal.
#[derive(Debug)]
struct Equipotential;

impl Law for Equipotential {
    fn at_drop(&self, drop_v: f64) -> Response {
        // A vertical line; nothing asks for it but the limit of vanishing series resistance.
        let current_a_per_m2 = if drop_v == 0.0 {
            0.0
        } else {
            f64::INFINITY.copysign(drop_v)
        };
        Response {
            current_a_per_m2,
            slope_s_per_m2: f64::INFINITY,
        }
    }

    fn drop_at(&self, _current_a_per_m2: f64) -> f64 {
        0.0
    }

    fn respond(&self, drive_v: f64, series_ohm_m2: f64) -> Response {
        Response {
            current_a_per_m2: drive_v / series_ohm_m2,
            slope_s_per_m2: 1.0 / series_ohm_m2,
        }
    }
}
