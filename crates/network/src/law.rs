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

/// The same law behind a layer that resists: `i = law(drop - R i)`.
pub fn behind_film(law: Box<dyn Law>, film_ohm_m2: f64) -> Box<dyn Law> {
    if film_ohm_m2 > 0.0 {
        Box::new(BehindFilm { law, film_ohm_m2 })
    } else {
        law
    }
}

#[derive(Debug)]
struct BehindFilm {
    law: Box<dyn Law>,
    film_ohm_m2: f64,
}

impl Law for BehindFilm {
    fn at_drop(&self, drop_v: f64) -> Response {
        self.law.respond(drop_v, self.film_ohm_m2)
    }

    fn range_a_per_m2(&self) -> (f64, f64) {
        self.law.range_a_per_m2()
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        self.law.drop_at(current_a_per_m2) + self.film_ohm_m2 * current_a_per_m2
    }

    fn respond(&self, drive_v: f64, series_ohm_m2: f64) -> Response {
        self.law.respond(drive_v, self.film_ohm_m2 + series_ohm_m2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_bath::Polarisation;
    use ionfall_bath::kinetics::{Branch, Transfer};

    /// A law behind a film, and the film counted among the electrolyte in front of it, are the same; and
    /// current and drop are inverse to each other.
    #[test]
    fn a_film_is_a_resistance_in_series() {
        let tafel = Transfer::Tafel {
            branch: Branch::Cathodic,
            exchange_a_per_m2: 0.5,
            slope_v: 0.0513,
        };
        let bare = || law(&Kinetics::Law(Polarisation::new(tafel, None).unwrap()));
        let film = behind_film(bare(), 2e-3);
        for drop_v in [-0.1, -0.4, -0.9] {
            let i = film.at_drop(drop_v).current_a_per_m2;
            let own_v = drop_v - 2e-3 * i;
            let exact = -0.5 * (-own_v / 0.0513).exp();
            assert!((i / exact - 1.0).abs() < 1e-9, "{i} {exact}");
            assert!((film.drop_at(i) - drop_v).abs() < 1e-12);
            assert_eq!(film.respond(drop_v, 1e-3), bare().respond(drop_v, 3e-3));
        }
        let plain = behind_film(law(&Kinetics::Primary), 2e-3).at_drop(0.4);
        assert!((plain.current_a_per_m2 - 200.0).abs() < 1e-9);
        assert!((plain.slope_s_per_m2 - 500.0).abs() < 1e-9);
    }
}
