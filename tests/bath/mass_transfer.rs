//! Worked numbers of the mass-transfer correlations (cases M01 to M06), to 0.1 %.

use crate::cases::expected;
use approx::assert_relative_eq;
use ionfall_bath::transfer::correlation::{
    Channel, Film, Liquid, channel, free_convection, moved_face, rev_per_min, rotating_cylinder,
    rotating_disk, sparged, still,
};
use ionfall_bath::transfer::limiting_current_a_per_m2;

const D: f64 = 6e-10;

/// 250 mol/m3 of a divalent metal in a liquid of viscosity 1.1e-6 m2/s.
fn liquid() -> Liquid {
    Liquid {
        diffusion_m2_per_s: Some(D),
        viscosity_m2_per_s: Some(1.1e-6),
        density_difference: Some(0.03),
    }
}

fn limit(film_m: f64) -> f64 {
    limiting_current_a_per_m2(2.0, D, 250.0, film_m)
}

fn check(found: f64, id: &str, quantity: &str, place: &str) {
    assert_relative_eq!(found, expected(id, quantity, place), max_relative = 1e-3);
}

fn number(film: &Film, name: &str) -> f64 {
    film.number(name).unwrap_or_else(|| panic!("no {name}"))
}

#[test]
fn m01_nernst_film() {
    check(limit(1e-4), "M01", "limiting current density", "");
}

#[test]
fn m02_rotating_disk() {
    let speed = rev_per_min(500.0);
    check(speed, "M02", "angular speed", "");
    let film = rotating_disk(&liquid(), speed, Some(0.01)).unwrap();
    let found = limit(film.thickness.value);
    check(
        found,
        "M02",
        "limiting current density, coefficient 0.620",
        "",
    );
    // Newman's correction is left out: it is 2.4 % here, within the band.
    let corrected = expected("M02", "Schmidt-number correction", "");
    assert!((found / corrected - 1.0).abs() < film.thickness.relative_uncertainty.unwrap());
}

#[test]
fn m03_rotating_cylinder() {
    let film = rotating_cylinder(&liquid(), rev_per_min(500.0), 0.02).unwrap();
    check(number(&film, "Reynolds number"), "M03", "Re", "");
    check(number(&film, "Sherwood number"), "M03", "Sherwood", "");
    check(limit(film.thickness.value), "M03", "limiting current", "");
    assert!(film.warnings.is_empty());
}

#[test]
fn m04_free_convection() {
    let low = still(&liquid(), 0.1).unwrap();
    check(
        number(&low, "Rayleigh number"),
        "M04",
        "Sc Gr",
        "0.1 m plate",
    );
    let sherwood = number(&low, "Sherwood number");
    check(sherwood, "M04", "mean Sherwood number", "0.1 m plate");
    let found = limit(low.thickness.value);
    check(found, "M04", "mean limiting current", "0.1 m plate");
    let tall = still(&liquid(), 1.0).unwrap();
    let sherwood = number(&tall, "Sherwood number");
    check(
        sherwood,
        "M04",
        "mean Sherwood number",
        "1 m plate, turbulent",
    );
    let found = limit(tall.thickness.value);
    check(found, "M04", "mean limiting current", "1 m plate");
    let both = free_convection(&liquid(), 1.0).unwrap();
    assert_relative_eq!(
        both.turbulent_film_m,
        tall.thickness.value,
        max_relative = 1e-12
    );
}

#[test]
fn m05_channel() {
    let at = |velocity_m_per_s| {
        let flow = Channel {
            velocity_m_per_s,
            gap_m: 0.01,
            width_m: Some(0.1),
            length_m: 0.2,
        };
        channel(&liquid(), &flow).unwrap()
    };
    for (velocity, place) in [(0.05, "laminar"), (1.0, "turbulent")] {
        let film = at(velocity);
        check(number(&film, "Reynolds number"), "M05", "Re (d_e)", place);
        check(number(&film, "Sherwood number"), "M05", "Sherwood", place);
        check(
            limit(film.thickness.value),
            "M05",
            "limiting current",
            place,
        );
        assert!(film.warnings.is_empty(), "{:?}", film.warnings);
    }
}

#[test]
fn m06_gas_sparging() {
    let film = sparged(&liquid(), 0.02, 0.5).unwrap();
    check(number(&film, "Archimedes number"), "M06", "Archimedes", "");
    check(number(&film, "Sherwood number"), "M06", "Sherwood", "");
    check(limit(film.thickness.value), "M06", "limiting current", "");
    // The height cancels.
    let taller = sparged(&liquid(), 0.02, 2.0).unwrap();
    assert_relative_eq!(
        taller.thickness.value,
        film.thickness.value,
        max_relative = 1e-12
    );
}

/// Stronger agitation, thinner film, for each of the set-ups.
#[test]
fn more_movement_thins_the_film() {
    let thinner = |film: &dyn Fn(f64) -> Film| {
        let films: Vec<f64> = [1.0, 2.0, 5.0, 20.0]
            .iter()
            .map(|x| film(*x).thickness.value)
            .collect();
        assert!(films.windows(2).all(|w| w[1] < w[0]), "{films:?}");
    };
    thinner(&|x| rotating_disk(&liquid(), 10.0 * x, None).unwrap());
    thinner(&|x| rotating_cylinder(&liquid(), 10.0 * x, 0.02).unwrap());
    thinner(&|x| moved_face(&liquid(), 0.02 * x, 0.1).unwrap());
    thinner(&|x| sparged(&liquid(), 0.005 * x, 1.0).unwrap());
    thinner(&|x| {
        let flow = Channel {
            velocity_m_per_s: 0.02 * x,
            gap_m: 0.01,
            width_m: None,
            length_m: 0.1,
        };
        channel(&liquid(), &flow).unwrap()
    });
}
