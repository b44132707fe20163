//! Polarisation laws against one-dimensional cells, central differences and their own inverses.

use approx::assert_relative_eq;
use ionfall_bath::constants::thermal_voltage_v;
use ionfall_bath::kinetics::{Branch, Hydrogen, Limit, Polarisation, Transfer};
use proptest::prelude::*;

const T_K: f64 = 298.15;

fn law(transfer: Transfer, limit: Option<Limit>) -> Polarisation {
    Polarisation::new(transfer, limit).expect("valid parameters")
}

fn tafel(branch: Branch, exchange_a_per_m2: f64, slope_v: f64) -> Transfer {
    Transfer::Tafel {
        branch,
        exchange_a_per_m2,
        slope_v,
    }
}

fn butler_volmer(exchange_a_per_m2: f64, alpha_a: f64, alpha_c: f64) -> Transfer {
    Transfer::ButlerVolmer {
        exchange_a_per_m2,
        alpha_a,
        alpha_c,
        temperature_k: T_K,
    }
}

fn linear(resistance_ohm_m2: f64) -> Transfer {
    Transfer::Linear { resistance_ohm_m2 }
}

/// Current density and overpotentials (cathode magnitude, anode) of two parallel plates, gap 0.1 m,
/// 25 S/m: bisection on `i gap/kappa + anode drop - cathode drop = V`. An absent anode law is an
/// equipotential anode.
fn cell(cathode: &Polarisation, anode: Option<&Polarisation>, volts: f64) -> [f64; 3] {
    let drops = |i: f64| {
        (
            -cathode.drop_at(-i).expect("within the limit"),
            anode.map_or(0.0, |a| a.drop_at(i).expect("in range")),
        )
    };
    let (mut low, mut high) = (0.0, (25.0 * volts / 0.1).min(-cathode.range_a_per_m2().0));
    for _ in 0..200 {
        let i = 0.5 * (low + high);
        let (c, a) = drops(i);
        if i * 0.1 / 25.0 + c + a < volts {
            low = i;
        } else {
            high = i;
        }
        if high - low <= 1e-15 * high {
            break;
        }
    }
    let i = 0.5 * (low + high);
    let (c, a) = drops(i);
    // The forward law must agree with the inverse one.
    let back = cathode.at_drop(-c).current_a_per_m2;
    assert_relative_eq!(back, -i, max_relative = 1e-11);
    [i, c, a]
}

fn assert_cell(found: [f64; 3], expected: [f64; 3]) {
    for (f, e) in found.into_iter().zip(expected) {
        assert_relative_eq!(f, e, max_relative = 1e-9, epsilon = 1e-15);
    }
}

/// Series resistances: i = V/(d/kappa + Rc + Ra).
#[test]
fn linear_plates() {
    let found = cell(
        &law(linear(0.002), None),
        Some(&law(linear(0.0005), None)),
        1.0,
    );
    assert_cell(found, [153.8461538462, 0.3076923076923, 0.07692307692308]);
}

/// Checked against the Lambert W function where the figures come from.
#[test]
fn tafel_plates() {
    let found = cell(
        &law(tafel(Branch::Cathodic, 0.5, 0.0513), None),
        Some(&law(tafel(Branch::Anodic, 10.0, 0.0257), None)),
        0.8,
    );
    assert_cell(found, [114.6270784232, 0.2788068427836, 0.06268484352362]);
}

#[test]
fn copper_like_butler_volmer_plates() {
    let both = law(butler_volmer(30.0, 1.5, 0.5), None);
    let found = cell(&both, Some(&both), 1.2);
    assert_cell(found, [262.6111066716, 0.1114876585356, 0.03806791477811]);
}

/// i d/kappa + (4RT/F) asinh(i/(2 i0)) = V.
#[test]
fn symmetric_butler_volmer_plates() {
    let both = law(butler_volmer(5.0, 0.5, 0.5), None);
    let found = cell(&both, Some(&both), 0.5);
    assert_cell(found, [60.68994572552, 0.128620108549, 0.128620108549]);
}

/// Tafel cathode with a Nernst film and a separate concentration overpotential, n = 2.
#[test]
fn limited_tafel_plates_with_film_overpotential() {
    let film = thermal_voltage_v(T_K) / 2.0;
    let cathode = law(
        tafel(Branch::Cathodic, 0.5, 0.0513),
        Some(Limit {
            current_a_per_m2: 500.0,
            film_voltage_v: Some(film),
        }),
    );
    let [i, eta, _] = cell(&cathode, None, 2.2);
    assert_relative_eq!(i, 431.4371654607, max_relative = 1e-9);
    assert_relative_eq!(eta, 0.0255237465177 + 0.4487275916396, max_relative = 1e-9);
}

/// The same without the separate term.
#[test]
fn limited_tafel_plates() {
    let cathode = law(
        tafel(Branch::Cathodic, 0.5, 0.0513),
        Some(Limit {
            current_a_per_m2: 500.0,
            film_voltage_v: None,
        }),
    );
    let [i, eta, _] = cell(&cathode, None, 2.2);
    assert_relative_eq!(i, 436.6499406194, max_relative = 1e-9);
    assert_relative_eq!(eta, 0.45340023752, max_relative = 1e-9);
}

/// Nernst film (n = 2, 250 mol/m3, 6e-10 m2/s, 0.1 mm): concentration overpotential at half and at
/// nine tenths of the limit, as the part that the film adds to the drop.
#[test]
fn concentration_overpotential() {
    let limit = |film_voltage_v| {
        Some(Limit {
            current_a_per_m2: 289.45599636,
            film_voltage_v,
        })
    };
    let plain = law(tafel(Branch::Cathodic, 0.5, 0.0513), limit(None));
    let film = law(
        tafel(Branch::Cathodic, 0.5, 0.0513),
        limit(Some(thermal_voltage_v(T_K) / 2.0)),
    );
    for (share, expected) in [(0.5, 0.0089043693897), (0.9, 0.029579674843)] {
        let i = -share * 289.45599636;
        let added = plain.drop_at(i).unwrap() - film.drop_at(i).unwrap();
        assert_relative_eq!(added, expected, max_relative = 1e-9);
    }
}

#[test]
fn impossible_parameters_are_refused() {
    assert!(Polarisation::new(linear(0.0), None).is_err());
    assert!(Polarisation::new(butler_volmer(f64::NAN, 1.0, 1.0), None).is_err());
    let limit = Limit {
        current_a_per_m2: 10.0,
        film_voltage_v: None,
    };
    assert!(Polarisation::new(tafel(Branch::Anodic, 1.0, 0.05), Some(limit)).is_err());
    let limited = law(butler_volmer(1.0, 1.5, 0.5), Some(limit));
    assert_eq!(limited.drop_at(-10.0), None);
    assert_eq!(limited.drop_at(-11.0), None);
}

#[test]
fn no_current_at_equilibrium() {
    let limit = Some(Limit {
        current_a_per_m2: 300.0,
        film_voltage_v: Some(0.0128),
    });
    for transfer in [linear(1e-3), butler_volmer(10.0, 1.5, 0.5)] {
        assert_eq!(law(transfer, limit).at_drop(0.0).current_a_per_m2, 0.0);
        assert_eq!(law(transfer, limit).drop_at(0.0), Some(0.0));
    }
}

/// Any law, with all kinds of limit, with hydrogen and without.
fn any_law() -> impl Strategy<Value = Polarisation> {
    let transfer = prop_oneof![
        (1e-5..1e-1).prop_map(linear),
        (1e-3..1e2, 0.01..0.1).prop_map(|(i0, b)| tafel(Branch::Cathodic, i0, b)),
        (1e-3..1e2, 0.01..0.1).prop_map(|(i0, b)| tafel(Branch::Anodic, i0, b)),
        (1e-3..1e2, 0.2..2.0, 0.2..2.0).prop_map(|(i0, a, c)| butler_volmer(i0, a, c)),
    ];
    let limit = prop::option::of((1.0..5e3, prop::option::of(0.005..0.03)).prop_map(
        |(current_a_per_m2, film_voltage_v)| Limit {
            current_a_per_m2,
            film_voltage_v,
        },
    ));
    let hydrogen = prop::option::of((1e-6..1.0, 0.02..0.1, -0.5..0.2));
    let metal = (transfer, limit, hydrogen).prop_map(|(transfer, limit, hydrogen)| {
        let bare = Polarisation::new(transfer, limit).unwrap_or_else(|_| law(transfer, None));
        let hydrogen = hydrogen.map(|(i0, b, u)| Hydrogen::new(i0, b, u).expect("valid"));
        hydrogen.map_or(bare, |h| bare.with_hydrogen(h).unwrap_or(bare))
    });
    let gas = (1e-3..1e2, 0.02..0.1, 0.05..1.5).prop_map(|(i0, b, back)| {
        Polarisation::evolving_gas(tafel(Branch::Anodic, i0, b), back).expect("valid")
    });
    prop_oneof![9 => metal, 1 => gas]
}

/// Two plates of copper winning, 0.1 m apart in 25 S/m: the back voltage stands between them in full.
#[test]
fn insoluble_anode_against_a_cathode() {
    let cathode = law(tafel(Branch::Cathodic, 0.5, 0.0513), None);
    let anode = tafel(Branch::Anodic, 2e-3, 0.12 / std::f64::consts::LN_10);
    let soluble = law(anode, None);
    let insoluble = Polarisation::evolving_gas(anode, 0.89).unwrap();
    let [i, _, drop] = cell(&cathode, Some(&insoluble), 2.5 + 0.89);
    let [same, _, less] = cell(&cathode, Some(&soluble), 2.5);
    assert_relative_eq!(i, same, max_relative = 1e-9);
    assert_relative_eq!(drop, less + 0.89, max_relative = 1e-9);
    assert!(!ionfall_bath::Kinetics::Law(insoluble).dissolves());
    let both = butler_volmer(1.0, 1.5, 0.5);
    assert!(Polarisation::evolving_gas(both, 0.89).is_err());
}

/// A slope times 1.2: of a Tafel line 1.2 times the overpotential, of Butler-Volmer 1/1.2 of the cathodic
/// coefficient with the sum, and with it the slope at rest, kept.
#[test]
fn flatter_laws() {
    let line = law(tafel(Branch::Cathodic, 0.5, 0.05), None);
    let drop = |law: &Polarisation, i| law.drop_at(i).unwrap();
    let flat = line.with_slope_times(1.2);
    assert_relative_eq!(
        drop(&flat, -90.0),
        1.2 * drop(&line, -90.0),
        max_relative = 1e-12
    );
    let both = law(butler_volmer(10.0, 1.5, 0.5), None);
    let flat = both.with_slope_times(1.25);
    let expected = law(butler_volmer(10.0, 1.6, 0.4), None);
    for u in [-0.3, -0.01, 0.1] {
        let (found, expected) = (flat.at_drop(u), expected.at_drop(u));
        assert_relative_eq!(
            found.current_a_per_m2,
            expected.current_a_per_m2,
            max_relative = 1e-9
        );
    }
    assert_relative_eq!(
        flat.at_drop(0.0).slope_s_per_m2,
        both.at_drop(0.0).slope_s_per_m2,
        max_relative = 1e-12
    );
}

/// Hydrogen that outdoes the metal holds the drop above rest, where metal dissolves under a
/// cathodic current.
#[test]
fn gas_can_hold_the_drop_above_rest() {
    let hydrogen = Hydrogen::new(0.5, 0.02, 0.11).unwrap();
    for law in [linear(0.0275), butler_volmer(10.0, 1.5, 0.5)] {
        let law = Polarisation::new(law, None).unwrap();
        let law = law.with_hydrogen(hydrogen).unwrap();
        let at = law.at_drop(0.03);
        assert!(law.metal_current_a_per_m2(0.03) > 0.0);
        let back = law.drop_at(at.current_a_per_m2).unwrap();
        assert_relative_eq!(back, 0.03, max_relative = 1e-12);
        assert_eq!(law.metal_share(0.03), 1.0);
    }
}

#[test]
fn hydrogen_needs_a_cathodic_side() {
    let hydrogen = Hydrogen::new(1e-3, 0.05, -0.34).unwrap();
    let anodic = law(tafel(Branch::Anodic, 1.0, 0.05), None);
    assert!(anodic.with_hydrogen(hydrogen).is_err());
    assert!(Hydrogen::new(0.0, 0.05, 0.0).is_err());
    assert!(Hydrogen::new(1.0, 0.05, f64::NAN).is_err());
}

proptest! {
    #[test]
    fn metal_and_hydrogen_share_the_current(law in any_law(), drop in -1.0..-0.01_f64) {
        let share = law.metal_share(drop);
        prop_assert!((0.0..=1.0).contains(&share));
        let whole = law.at_drop(drop).current_a_per_m2;
        let metal = law.metal_current_a_per_m2(drop);
        prop_assume!(metal < 0.0);
        prop_assert!((share * whole - metal).abs() <= 1e-12 * metal.abs(), "{law:?}");
    }

    #[test]
    fn slope_is_the_derivative(law in any_law(), drop in -0.6..0.6_f64) {
        let step = 1e-6;
        let at = law.at_drop(drop);
        let difference = law.at_drop(drop + step).current_a_per_m2
            - law.at_drop(drop - step).current_a_per_m2;
        // Central differences: relative truncation (step/b)^2/6 under 2e-9, but rounding of i
        // (1e-16 relative) is divided by the step; and linear laws have a kink in curvature at 0.
        let rounding = 1e-15 * at.current_a_per_m2.abs() / step;
        let bend = if drop.abs() <= 2.0 * step { 1e-3 } else { 1e-7 };
        let central = difference / (2.0 * step);
        prop_assert!(
            (central - at.slope_s_per_m2).abs() <= bend * at.slope_s_per_m2 + 10.0 * rounding,
            "{law:?} at {drop}: {central} against {}", at.slope_s_per_m2
        );
    }

    #[test]
    fn drop_at_inverts_at_drop(law in any_law(), drop in -0.5..0.5_f64) {
        let at = law.at_drop(drop);
        // Within the last 1e-6 below the limit the current no longer carries the drop.
        prop_assume!(at.current_a_per_m2 > law.range_a_per_m2().0 * (1.0 - 1e-6));
        let back = law.drop_at(at.current_a_per_m2).expect("inside the range");
        let lost = 1e-15 * at.current_a_per_m2.abs() / at.slope_s_per_m2;
        prop_assert!((back - drop).abs() <= 1e-12 + 10.0 * lost, "{law:?}: {drop} became {back}");
    }

    #[test]
    fn monotone_and_finite_for_any_drop(law in any_law(), a in -1e6..1e6_f64, b in -1e6..1e6_f64) {
        let (low, high) = (a.min(b), a.max(b));
        let (first, second) = (law.at_drop(low), law.at_drop(high));
        for r in [first, second] {
            prop_assert!(r.current_a_per_m2.is_finite());
            prop_assert!(r.slope_s_per_m2.is_finite() && r.slope_s_per_m2 >= 0.0);
        }
        // Equal up to rounding where both sit on the plateau of the limit.
        let rounding = 1e-14 * first.current_a_per_m2.abs();
        prop_assert!(first.current_a_per_m2 <= second.current_a_per_m2 + rounding);
    }
}
