//! Diffusion films by published correlations, each checked against the range it was found in.
//!
//! With a length `L` of the set-up, film `delta`, diffusion coefficient `D`, kinematic viscosity
//! `nu`:
//!
//! ```text
//! Sh = L/delta      Sc = nu/D      Re = U L/nu      Ra = Gr Sc = g (delta rho/rho) L^3/(nu D)
//! ```
//! None of the original papers could be seen, except where a function says so: the formulae are
//! recalled, and so are their ranges; the coefficients of the laminar ones are worked out from the flow
//! by tests beside this file. The uncertainties are judgements of this project.

use crate::constants::GRAVITY_M_PER_S2;
use crate::error::{BathError, positive};
use crate::figure::{Figure, Grade, Range};
use crate::subject::Subject;
use crate::warning::Warning;
use serde::Serialize;
use std::f64::consts::PI;

/// What moving a solution past a surface depends on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Liquid {
    /// Diffusion coefficient of the metal ion, m2/s.
    pub diffusion_m2_per_s: Option<f64>,
    /// Kinematic viscosity, m2/s.
    pub viscosity_m2_per_s: Option<f64>,
    /// By what share of its density the bath is heavier than the same bath without its metal.
    pub density_difference: Option<f64>,
}

impl Liquid {
    /// Diffusion coefficient, kinematic viscosity and their ratio.
    pub(super) fn transport(&self) -> Result<Transport, BathError> {
        let d = known(Subject::Diffusion, self.diffusion_m2_per_s)?;
        let nu = known(Subject::Viscosity, self.viscosity_m2_per_s)?;
        Ok(Transport { d, nu, sc: nu / d })
    }
}

pub(super) struct Transport {
    d: f64,
    pub nu: f64,
    pub sc: f64,
}

fn known(what: Subject, value: Option<f64>) -> Result<f64, BathError> {
    value.ok_or(BathError::Missing { what })
}

/// A mean diffusion film.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Film {
    /// Thickness, m, with source and band.
    pub thickness: Figure,
    /// Dimensionless numbers behind it.
    pub numbers: Vec<(&'static str, f64)>,
    /// Ranges that are left.
    pub warnings: Vec<Warning>,
}

impl Film {
    /// A film that stands by itself.
    pub fn of(thickness: Figure) -> Self {
        Self {
            thickness,
            numbers: Vec::new(),
            warnings: Vec::new(),
        }
    }

    /// One of the numbers.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.numbers
            .iter()
            .find(|(n, _)| *n == name)
            .map(|(_, x)| *x)
    }

    pub(super) fn check(mut self, what: &'static str, low: f64, high: f64) -> Self {
        let range = Range::new(low, high, "", Grade::Recalled, self.thickness.source);
        let value = self.number(what).unwrap_or(f64::NAN);
        let meaning = "the formula for the diffusion film is used outside its range";
        self.warnings
            .extend(Warning::unless_within(what, value, range, meaning));
        self
    }
}

pub(super) const REYNOLDS: &str = "Reynolds number";
pub(super) const SCHMIDT: &str = "Schmidt number";
pub(super) const SHERWOOD: &str = "Sherwood number";
const RAYLEIGH: &str = "Rayleigh number";
const ARCHIMEDES: &str = "Archimedes number";
const ENTRANCE: &str = "entrance number Re Sc d/L";

pub(super) fn film(thickness_m: f64, source: &'static str, spread: f64) -> Film {
    Film::of(Figure::new(thickness_m, "m", Grade::Recalled, source).uncertain(spread))
}

/// Rotating disk: `delta = D^(1/3) nu^(1/6) omega^(-1/2)/0.620`, that is
/// `i_L = 0.620 z F D^(2/3) nu^(-1/6) omega^(1/2) c`. Laminar up to `Re = omega r^2/nu` of about
/// 2e5 (from memory), checked if the diameter is known.
///
/// V. G. Levich, Physicochemical Hydrodynamics, Prentice-Hall 1962 (recalled).
///
/// # Errors
/// Unknown liquid; figures that are not greater than zero.
pub fn rotating_disk(
    liquid: &Liquid,
    speed_rad_per_s: f64,
    diameter_m: Option<f64>,
) -> Result<Film, BathError> {
    let Transport { d, nu, sc } = liquid.transport()?;
    positive(Subject::Rotation, speed_rad_per_s)?;
    let thickness = d.cbrt() * nu.powf(1.0 / 6.0) / (0.620 * speed_rad_per_s.sqrt());
    let source = "rotating disk, Levich 1962";
    let mut film = film(thickness, source, 0.05);
    film.numbers.push((SCHMIDT, sc));
    let Some(diameter) = diameter_m else {
        return Ok(film);
    };
    positive(Subject::Diameter, diameter)?;
    let re = speed_rad_per_s * (0.5 * diameter).powi(2) / nu;
    film.numbers.push((REYNOLDS, re));
    Ok(film.check(REYNOLDS, 1e2, 2e5))
}

/// Speed of the surface and Reynolds number of a rotating cylinder, both on its diameter.
fn cylinder(liquid: &Liquid, speed_rad_per_s: f64, diameter_m: f64) -> Result<[f64; 2], BathError> {
    positive(Subject::Rotation, speed_rad_per_s)?;
    positive(Subject::Diameter, diameter_m)?;
    let Transport { nu, sc, .. } = liquid.transport()?;
    Ok([0.5 * speed_rad_per_s * diameter_m * diameter_m / nu, sc])
}

/// Rotating cylinder, turbulent: `Sh = 0.0791 Re^0.70 Sc^0.356` on the diameter, with the speed
/// of the surface, for `Re` 1e3 to 1e5 and `Sc` 835 to 11490 (recalled).
///
/// M. Eisenberg, C. W. Tobias, C. R. Wilke, J. Electrochem. Soc. 101 (1954) 306 (recalled). The
/// band covers [`rotating_cylinder_copper`], which lies about a fifth off.
///
/// # Errors
/// Unknown liquid; figures that are not greater than zero.
pub fn rotating_cylinder(
    liquid: &Liquid,
    speed_rad_per_s: f64,
    diameter_m: f64,
) -> Result<Film, BathError> {
    let [re, sc] = cylinder(liquid, speed_rad_per_s, diameter_m)?;
    let sh = 0.0791 * re.powf(0.70) * sc.powf(0.356);
    let source = "rotating cylinder, Eisenberg, Tobias, Wilke 1954";
    let mut film = film(diameter_m / sh, source, 0.2);
    film.numbers = vec![(REYNOLDS, re), (SCHMIDT, sc), (SHERWOOD, sh)];
    Ok(film
        .check(REYNOLDS, 1e3, 1e5)
        .check(SCHMIDT, 835.0, 11_490.0))
}

/// Rotating cylinder in acid copper, turbulent: `St = 0.169 Sc^-0.67 Re^-0.34`, that is
/// `Sh = 0.169 Re^0.66 Sc^0.33`.
///
/// Transactions of the IMF 48 (1970) 35-42 (summary seen; it gives no range).
///
/// # Errors
/// Unknown liquid; figures that are not greater than zero.
pub fn rotating_cylinder_copper(
    liquid: &Liquid,
    speed_rad_per_s: f64,
    diameter_m: f64,
) -> Result<Film, BathError> {
    let [re, sc] = cylinder(liquid, speed_rad_per_s, diameter_m)?;
    let sh = 0.169 * re.powf(0.66) * sc.powf(0.33);
    let source = "rotating cylinder in acid copper, Transactions of the IMF 48 (1970) 35";
    let thickness = Figure::new(diameter_m / sh, "m", Grade::Seen, source).uncertain(0.2);
    Ok(Film {
        numbers: vec![(REYNOLDS, re), (SCHMIDT, sc), (SHERWOOD, sh)],
        ..Film::of(thickness)
    })
}

/// Mean films of a vertical face in a still bath by both formulae.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FreeConvection {
    /// `Ra = Gr Sc` of the height.
    pub rayleigh: f64,
    /// Film by the laminar formula `Sh = 0.66 Ra^0.25`, m (C. R. Wilke, M. Eisenberg,
    /// C. W. Tobias, J. Electrochem. Soc. 100 (1953) 513, recalled; 0.67 is quoted as well).
    pub laminar_film_m: f64,
    /// Film by the turbulent formula `Sh = 0.31 Ra^0.28`, m (M. G. Fouad, N. Ibl, Electrochim.
    /// Acta 3 (1960) 233, recalled), meant for `Ra` above about 4e13.
    pub turbulent_film_m: f64,
}

/// Free convection along a vertical face, both formulae. The migration of acid towards the
/// cathode is left out, so the limiting current leans high.
///
/// # Errors
/// Unknown liquid; a height that is not greater than zero.
pub fn free_convection(liquid: &Liquid, height_m: f64) -> Result<FreeConvection, BathError> {
    positive(Subject::Height, height_m)?;
    let Transport { d, nu, .. } = liquid.transport()?;
    let lighter = known(Subject::DensityDifference, liquid.density_difference)?;
    let rayleigh = GRAVITY_M_PER_S2 * lighter * height_m.powi(3) / (nu * d);
    Ok(FreeConvection {
        rayleigh,
        laminar_film_m: height_m / (0.66 * rayleigh.powf(0.25)),
        turbulent_film_m: height_m / (0.31 * rayleigh.powf(0.28)),
    })
}

/// Free convection along a vertical face: the laminar formula up to `Ra` 1e13, the turbulent one
/// from 1e14, in between passing from one to the other evenly in `ln Ra` (own choice; the change
/// is put at about 4e13). The film is thinner at the foot of the face than at its top.
///
/// # Errors
/// As [`free_convection`].
pub fn still(liquid: &Liquid, height_m: f64) -> Result<Film, BathError> {
    let free = free_convection(liquid, height_m)?;
    let turbulence = ((free.rayleigh / 1e13).ln() / 10.0_f64.ln()).clamp(0.0, 1.0);
    let thickness =
        free.laminar_film_m.powf(1.0 - turbulence) * free.turbulent_film_m.powf(turbulence);
    let source = "free convection, Wilke, Eisenberg, Tobias 1953 and Fouad, Ibl 1960";
    let mut film = film(thickness, source, 0.15);
    film.numbers = vec![(RAYLEIGH, free.rayleigh), (SHERWOOD, height_m / thickness)];
    Ok(film.check(RAYLEIGH, 4e6, 1e15))
}

/// A face moved edge on through the bath, as by a cathode rod: the boundary layer of a flat plate,
/// `Sh = 0.664 Re^0.5 Sc^(1/3)` up to `Re` 5e5, `Sh = (0.037 Re^0.8 - 871) Sc^(1/3)` beyond, on
/// the length of the face along the movement (textbook formulae, recalled). To and fro is not
/// steady flow, hence the wide band.
///
/// # Errors
/// Unknown liquid; figures that are not greater than zero.
pub fn moved_face(liquid: &Liquid, speed_m_per_s: f64, length_m: f64) -> Result<Film, BathError> {
    positive(Subject::Movement, speed_m_per_s)?;
    positive(Subject::Length, length_m)?;
    let Transport { nu, sc, .. } = liquid.transport()?;
    let re = speed_m_per_s * length_m / nu;
    let flow = if re <= 5e5 {
        0.664 * re.sqrt()
    } else {
        0.037 * re.powf(0.8) - 871.0
    };
    let sh = flow * sc.cbrt();
    let mut film = film(length_m / sh, "flat plate boundary layer", 0.3);
    film.numbers = vec![(REYNOLDS, re), (SCHMIDT, sc), (SHERWOOD, sh)];
    Ok(film.check(REYNOLDS, 1e3, 1e7))
}

/// A channel of rectangular section with the face as one wall.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Channel {
    /// Mean speed of the flow, m/s.
    pub velocity_m_per_s: f64,
    /// Distance of the opposite wall, m.
    pub gap_m: f64,
    /// Width along the face across the flow, m; none for one much wider than the gap.
    pub width_m: Option<f64>,
    /// Length of the face along the flow, m.
    pub length_m: f64,
}

impl Channel {
    /// Equivalent diameter, four times the section over its circumference, m.
    pub fn equivalent_diameter_m(&self) -> f64 {
        match self.width_m {
            Some(width) => 2.0 * self.gap_m * width / (self.gap_m + width),
            None => 2.0 * self.gap_m,
        }
    }
}

/// Flow through a channel past the face: laminar up to `Re` 2300, `Sh = 1.85 (Re Sc d/L)^(1/3)`
/// (Leveque; coefficient 1.8488 for plates much wider than their gap, derived); turbulent from
/// `Re` 4000, `Sh = 0.023 Re^0.8 Sc^(1/3)` (Chilton-Colburn form, recalled), both on the
/// equivalent diameter `d`; in between evenly in `ln Re` (own choice). The laminar form is quoted
/// as `1.467 (2/(1+g))^0.33 (Re Sc d/L)^0.33` in a preprint that quotes Pickett and Ong (not citable), which tends to 1.84 for wide
/// channels.
///
/// # Errors
/// Unknown liquid; figures that are not greater than zero.
pub fn channel(liquid: &Liquid, channel: &Channel) -> Result<Film, BathError> {
    positive(Subject::Flow, channel.velocity_m_per_s)?;
    positive(Subject::Gap, channel.gap_m)?;
    positive(Subject::Length, channel.length_m)?;
    channel
        .width_m
        .map(|w| positive(Subject::Width, w))
        .transpose()?;
    let Transport { nu, sc, .. } = liquid.transport()?;
    let d = channel.equivalent_diameter_m();
    let reynolds = channel.velocity_m_per_s * d / nu;
    let laminar = |re: f64| 1.85 * (re * sc * d / channel.length_m).cbrt();
    let turbulent = |re: f64| 0.023 * re.powf(0.8) * sc.cbrt();
    let (end, start) = (2300.0_f64, 4000.0_f64);
    let sh = if reynolds <= end {
        laminar(reynolds)
    } else if reynolds >= start {
        turbulent(reynolds)
    } else {
        let share = (reynolds / end).ln() / (start / end).ln();
        laminar(end).powf(1.0 - share) * turbulent(start).powf(share)
    };
    let entrance = reynolds * sc * d / channel.length_m;
    let mut film = film(d / sh, "channel flow, Leveque or Chilton-Colburn", 0.2);
    film.numbers = vec![
        (REYNOLDS, reynolds),
        (SCHMIDT, sc),
        (ENTRANCE, entrance),
        (SHERWOOD, sh),
    ];
    let film = film
        .check(REYNOLDS, 1.0, 1e5)
        .check(ENTRANCE, 1e2, f64::INFINITY);
    Ok(if (end..start).contains(&reynolds) {
        let between = Range::new(start, f64::INFINITY, "", Grade::Recalled, "");
        let meaning = "between laminar and turbulent flow the film is not certain";
        let mut film = film;
        film.warnings
            .extend(Warning::unless_within(REYNOLDS, reynolds, between, meaning));
        film
    } else {
        film
    })
}

/// Air bubbles along a vertical face: `Sh = 0.19 (Ar Sc)^(1/3)`, `Ar = g H^3 e/(nu^2 (1-e))`, on
/// the height `H`, which cancels, with the share `e` of gas in the liquid (hold-up), 0.1 to 20 %
/// (range from memory).
///
/// From memory (about L. Sigrist, O. Dossenbach, N. Ibl, Int. J. Heat Mass Transfer 22 (1979)
/// 1393), neither formula nor coefficient checked, hence a band of a factor of two. That the gain
/// follows the share of gas, whatever sparger and liquid speed, says the abstract of a thesis ("Agitation
/// for the electrodeposition of printed circuit boards", Loughborough University).
///
/// # Errors
/// Unknown liquid; a share of gas not between 0 and 1; a height that is not greater than zero.
pub fn sparged(liquid: &Liquid, gas_share: f64, height_m: f64) -> Result<Film, BathError> {
    positive(Subject::GasShare, gas_share)?;
    crate::error::within(Subject::GasShare, gas_share, 0.0, 0.9)?;
    positive(Subject::Height, height_m)?;
    let Transport { nu, sc, .. } = liquid.transport()?;
    let ar = GRAVITY_M_PER_S2 * height_m.powi(3) * gas_share / (nu * nu * (1.0 - gas_share));
    let sh = 0.19 * (ar * sc).cbrt();
    let source = "gas-sparged face, formula not checked";
    let thickness = Figure::new(height_m / sh, "m", Grade::Memory, source).within_factor(2.0);
    let film = Film {
        numbers: vec![(ARCHIMEDES, ar), (SCHMIDT, sc), (SHERWOOD, sh)],
        ..Film::of(thickness)
    };
    let range = Range::new(0.1, 20.0, "%", Grade::Memory, "");
    let meaning = "the formula for air bubbles is used outside its range";
    let outside =
        Warning::unless_within(Subject::GasShare.name(), 100.0 * gas_share, range, meaning);
    Ok(Film {
        warnings: outside.into_iter().collect(),
        ..film
    })
}

/// Revolutions per minute in rad/s.
pub fn rev_per_min(speed: f64) -> f64 {
    speed * PI / 30.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transfer::testing::liquid;
    use approx::assert_relative_eq;

    fn flow(velocity_m_per_s: f64) -> Channel {
        Channel {
            velocity_m_per_s,
            gap_m: 0.01,
            width_m: Some(0.1),
            length_m: 0.2,
        }
    }

    #[test]
    fn an_unknown_liquid_is_asked_for() {
        let nothing = Liquid::default();
        assert!(rotating_disk(&nothing, 50.0, None).is_err());
        let heavy = Liquid {
            density_difference: None,
            ..liquid()
        };
        assert_eq!(
            still(&heavy, 0.1),
            Err(BathError::Missing {
                what: Subject::DensityDifference
            })
        );
    }

    #[test]
    fn films_pass_evenly_from_laminar_to_turbulent() {
        let thickness = |v| channel(&liquid(), &flow(v)).unwrap().thickness.value;
        let (mut last, mut v) = (thickness(0.01), 0.01);
        while v < 1.0 {
            v *= 1.01;
            let next = thickness(v);
            assert!(next < last && next > 0.93 * last, "{v}: {last} to {next}");
            last = next;
        }
        // Free convection: the mean film of a taller face is never much thinner.
        let film = |h| still(&liquid(), h).unwrap().thickness.value;
        for h in [0.05, 0.1, 0.3, 0.4, 0.5, 0.6, 0.8] {
            let ratio = film(1.02 * h) / film(h);
            assert!((0.98..1.01).contains(&ratio), "{h}: {ratio}");
        }
        let plate = |u| moved_face(&liquid(), u, 0.1).unwrap().thickness.value;
        assert_relative_eq!(plate(5.499), plate(5.501), max_relative = 2e-3);
    }

    #[test]
    fn ranges_left_are_named() {
        let slow = rotating_cylinder(&liquid(), 1.0, 0.02).unwrap();
        let text = slow.warnings[0].to_string();
        assert!(
            text.contains("Reynolds number") && text.contains("1000 to 1.000e5"),
            "{text}"
        );
        assert!(
            rotating_cylinder(&liquid(), 50.0, 0.02)
                .unwrap()
                .warnings
                .is_empty()
        );
        assert!(
            !rotating_disk(&liquid(), 3e3, Some(0.05))
                .unwrap()
                .warnings
                .is_empty()
        );
        assert!(!channel(&liquid(), &flow(0.18)).unwrap().warnings.is_empty());
        assert!(channel(&liquid(), &flow(0.05)).unwrap().warnings.is_empty());
        assert!(!sparged(&liquid(), 0.3, 1.0).unwrap().warnings.is_empty());
        assert!(!still(&liquid(), 3.0).unwrap().warnings.is_empty());
        assert!(
            !moved_face(&liquid(), 0.01, 0.01)
                .unwrap()
                .warnings
                .is_empty()
        );
    }

    /// A rod moved at 3 m/min gives a film within the trade's 0.06 to 0.15 mm, near its upper end.
    #[test]
    fn rod_movement_agrees_with_the_trade() {
        let film = moved_face(&liquid(), 0.05, 0.1).unwrap().thickness.value;
        assert!((0.06e-3..0.25e-3).contains(&film), "{film}");
    }

    #[test]
    fn impossible_figures_are_refused() {
        assert!(sparged(&liquid(), 1.0, 1.0).is_err());
        assert!(sparged(&liquid(), 0.0, 1.0).is_err());
        assert!(rotating_cylinder(&liquid(), 0.0, 0.02).is_err());
        assert!(channel(&liquid(), &flow(-1.0)).is_err());
        assert!(still(&liquid(), 0.0).is_err());
    }
}
