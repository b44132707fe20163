//! How a film varies over a face: the local limiting current over its mean.
//!
//! Each correlation gives the mean film over the first length `x` of a face, whatever `x`. With `m = 1/delta` that
//! mean, what the first `x` of a face of length `L` gets, and with it the mean over any part of it, is
//!
//! ```text
//! P(x) = x m(x) / (L m(L))        local over mean = L dP/dx        P(0) = 0, P(L) = 1
//! ```
//! so that the mean over the whole face is that of the correlation, exactly. It comes to
//!
//! ```text
//! free convection, laminar     3/4 (x/L)^(-1/4)     the lower edge of a cathode foremost (Wilke, Eisenberg, Tobias 1953)
//! flat plate, laminar          1/2 (x/L)^(-1/2)     Sh_x = 0.332 Re_x^(1/2) Sc^(1/3) (Pohlhausen)
//! flat plate, turbulent        Sh_x = 0.0296 Re_x^0.8 Sc^(1/3), as x^(-1/5)
//! channel, laminar             2/3 (x/L)^(-1/3)     (Leveque)
//! channel, turbulent           even: its formula is that of a flow that is formed
//! jet                          P on discs: r^2 m(r) / (R^2 m(R)) (Martin 1977)
//! ```
//! (all recalled). A rod goes to and fro: both edges lead in turn, and the mean of both ways is taken. Bubbles,
//! rotating cylinders and disks have even films. Words know no length and keep their mean.

use super::agitation::Agitation;
use super::correlation::{Channel, Liquid};
use super::jet::Jet;
use serde::Serialize;

/// What the place on a face is counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Course {
    /// From the lower edge up.
    Rising,
    /// From the edge that a flow meets first.
    Along,
    /// From both ends of the movement.
    ToAndFro,
    /// From the axis of a jet.
    Radial,
}

/// A film that varies over a face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LocalFilm {
    /// What the place is counted from.
    pub course: Course,
    /// Length, or radius, of the face that its mean belongs to, m.
    pub length_m: f64,
    agitation: Agitation,
    liquid: Liquid,
}

impl LocalFilm {
    /// Of an agitation; none where its film is even, or nothing is known of how it varies.
    pub fn new(agitation: &Agitation, liquid: &Liquid) -> Option<Self> {
        let (course, length_m) = match *agitation {
            Agitation::StillFace { height_m } => (Course::Rising, height_m),
            Agitation::MovedFace { length_m, .. } => (Course::ToAndFro, length_m),
            Agitation::Channel(Channel { length_m, .. }) => (Course::Along, length_m),
            Agitation::Impinging(Jet { radius_m, .. }) => (Course::Radial, radius_m),
            _ => return None,
        };
        let local = Self {
            course,
            length_m,
            agitation: *agitation,
            liquid: *liquid,
        };
        // The same at both ends: even.
        let even = (local.mean_between(0.0, 0.1) - 1.0).abs() < 1e-6;
        (!even).then_some(local)
    }

    /// The limiting current over its mean, as the mean between two places, each over the length of the face: 0 to 1
    /// (a jet reaches farther).
    pub fn mean_between(&self, from: f64, to: f64) -> f64 {
        // On a disc areas go with the square of the radius.
        let areas = |x: f64| match self.course {
            Course::Radial => x * x,
            _ => x,
        };
        let most = match self.course {
            Course::Radial => f64::INFINITY,
            _ => 1.0,
        };
        let (from, to) = (from.clamp(0.0, most), to.clamp(0.0, most));
        // At one place: a strip so narrow that nothing changes over it.
        let middle = 0.5 * (from + to);
        let half = (0.5 * (to - from)).max(NARROW * middle.max(NARROW));
        let (from, to) = ((middle - half).max(0.0), (middle + half).min(most));
        (self.passed(to) - self.passed(from)) / (areas(to) - areas(from))
    }

    /// `P`: what the face gets up to a place, over what it gets in all.
    fn passed(&self, x: f64) -> f64 {
        match self.course {
            Course::Rising | Course::Along => self.one_way(x),
            Course::ToAndFro => 0.5 * (self.one_way(x) + 1.0 - self.one_way(1.0 - x)),
            Course::Radial => x * self.one_way(x),
        }
    }

    /// `x m(x) / m(1)`.
    fn one_way(&self, x: f64) -> f64 {
        if x <= 0.0 {
            return 0.0;
        }
        let shorter = match self.agitation {
            Agitation::StillFace { height_m } => Agitation::StillFace {
                height_m: x * height_m,
            },
            Agitation::MovedFace {
                speed_m_per_s,
                length_m,
            } => Agitation::MovedFace {
                speed_m_per_s,
                length_m: x * length_m,
            },
            Agitation::Channel(channel) => Agitation::Channel(Channel {
                length_m: x * channel.length_m,
                ..channel
            }),
            Agitation::Impinging(jet) => Agitation::Impinging(Jet {
                radius_m: x * jet.radius_m,
                ..jet
            }),
            even => even,
        };
        let film_m = |a: &Agitation| a.film(&self.liquid).map(|film| film.thickness.value);
        match (film_m(&shorter), film_m(&self.agitation)) {
            (Ok(own), Ok(whole)) => x * whole / own,
            // The whole was computed before: a part of it cannot fail.
            _ => x,
        }
    }
}

/// Half the width of a strip that stands for a place.
const NARROW: f64 = 1e-4;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transfer::testing::liquid;
    use approx::assert_relative_eq;

    fn channel(velocity_m_per_s: f64) -> Agitation {
        Agitation::Channel(Channel {
            velocity_m_per_s,
            gap_m: 0.01,
            width_m: Some(0.1),
            length_m: 0.2,
        })
    }

    fn rod(speed_m_per_s: f64) -> Agitation {
        Agitation::MovedFace {
            speed_m_per_s,
            length_m: 0.1,
        }
    }

    fn jet() -> Agitation {
        Agitation::Impinging(Jet {
            speed_m_per_s: 2.2,
            nozzle_m: 5e-3,
            distance_m: 30e-3,
            radius_m: 30e-3,
        })
    }

    fn local(agitation: &Agitation) -> LocalFilm {
        LocalFilm::new(agitation, &liquid()).unwrap()
    }

    /// The mean over the face is that of the correlation, however it is cut into strips: 1e-6.
    #[test]
    fn the_mean_is_that_of_the_correlation() {
        let still = |height_m| Agitation::StillFace { height_m };
        for setting in [
            still(0.1),
            still(2.0),
            rod(0.05),
            rod(8.0),
            channel(0.05),
            jet(),
        ] {
            let film = local(&setting);
            let radial = film.course == Course::Radial;
            let cuts = [0.0, 0.03, 0.2, 0.21, 0.7, 1.0];
            let mean: f64 = (cuts.windows(2))
                .map(|w| {
                    let share = if radial {
                        w[1] * w[1] - w[0] * w[0]
                    } else {
                        w[1] - w[0]
                    };
                    share * film.mean_between(w[0], w[1])
                })
                .sum();
            assert_relative_eq!(mean, 1.0, max_relative = 1e-6);
        }
    }

    /// The closed forms at a place, each by its published exponent.
    #[test]
    fn local_over_mean_as_published() {
        let at = |film: &LocalFilm, x: f64| film.mean_between(x, x);
        let still = local(&Agitation::StillFace { height_m: 0.1 });
        let wide = local(&channel(0.05));
        for x in [0.05, 0.3, 0.9] {
            assert_relative_eq!(at(&still, x), 0.75 * x.powf(-0.25), max_relative = 1e-6);
            assert_relative_eq!(at(&wide, x), 2.0 / 3.0 / x.cbrt(), max_relative = 1e-6);
        }
        // Sh_x = 0.332 Re_x^0.5 Sc^(1/3), both ways.
        let film = local(&rod(0.05));
        let [re, sc] = [0.05 * 0.1 / 1.1e-6, 1.1e-6 / 6e-10_f64];
        let mean = 0.664 * re.sqrt() * sc.cbrt();
        let one = |x: f64| 0.332 * (re * x).sqrt() / x * sc.cbrt();
        for x in [0.2, 0.5, 0.6] {
            let both = 0.5 * (one(x) + one(1.0 - x));
            assert_relative_eq!(at(&film, x), both / mean, max_relative = 1e-6);
        }
        // Beyond Re 5e5 Sh_x = 0.0296 Re_x^0.8 Sc^(1/3): at 8 m/s that begins at 69 mm, so from there on
        // one way; the other way is laminar.
        let fast = local(&rod(8.0));
        let re = 8.0 * 0.1 / 1.1e-6_f64;
        let mean = 0.037 * re.powf(0.8) - 871.0;
        let x = 0.9_f64;
        let turbulent = 0.0296 * (re * x).powf(0.8) / x;
        let laminar = 0.332 * (re * (1.0 - x)).sqrt() / (1.0 - x);
        assert_relative_eq!(
            at(&fast, x),
            0.5 * (turbulent + laminar) / mean,
            max_relative = 1e-6
        );
    }

    /// Martin's mean taken apart: `Sh(r) = F Sc^0.42 d (r^2 + 2 r b - a b) / (2 r (r + b)^2)` with `a = 1.1 d`,
    /// `b = 0.1 (H/d - 6) d`; here `b = 0`: `d / (2 r)` against the mean `d (R - a) / R^2`.
    #[test]
    fn a_jet_fades_with_the_radius() {
        let film = local(&jet());
        let mean = 5.0 * (30.0 - 5.5) / (30.0 * 30.0);
        for r in [15.0, 20.0, 29.0] {
            let exact = 5.0 / (2.0 * r) / mean;
            assert_relative_eq!(
                film.mean_between(r / 30.0, r / 30.0),
                exact,
                max_relative = 1e-6
            );
        }
        // Even within 2.5 nozzles: 0.4 (1 - 0.44) over the mean.
        assert_relative_eq!(
            film.mean_between(0.0, 0.4),
            0.224 / mean,
            max_relative = 1e-9
        );
        assert!(film.mean_between(1.2, 1.3) < film.mean_between(0.9, 1.0));
    }

    #[test]
    fn even_films_and_words_do_not_vary() {
        for (_, word, ..) in Agitation::NAMED {
            assert!(LocalFilm::new(&word, &liquid()).is_none());
        }
        let even = [
            channel(2.0),
            Agitation::Film(5e-5),
            Agitation::Sparged { gas_share: 0.02 },
            Agitation::RotatingCylinder {
                speed_rad_per_s: 50.0,
                diameter_m: 0.02,
            },
        ];
        for setting in even {
            assert!(LocalFilm::new(&setting, &liquid()).is_none(), "{setting:?}");
        }
    }
}
