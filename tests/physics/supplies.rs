//! Supplies, leads, floating metal and plans against circuit algebra and Faraday's law.

use crate::bench::{Bench, PRIMARY, linear, step, supply, tafel};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use ionfall_deposit::{DepositError, Outcome};
use ionfall_field::FieldError;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, Solid};
use ionfall_model::{Hold, Pulse, Role, Setting, Step, Tank, Until};

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

const PLANAR: Space = Space::Planar { depth_m: 0.1 };
const KAPPA: f64 = 20.0;
const LAW: f64 = 0.002;

/// A channel 0.1 m long and 0.04 m high, its ends an anode and a work with a linear law.
fn channel(law: ionfall_bath::Kinetics) -> Tank<2> {
    let h = 2e-3;
    Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.04]), KAPPA, h, h)
        .put(
            Role::Anode,
            rectangle([0.1, -0.01], [0.11, 0.05]),
            PRIMARY,
            h,
            h,
        )
        .put(
            Role::Work,
            rectangle([-0.01, -0.01], [0.0, 0.05]),
            law,
            h,
            h,
        )
}

/// Section of the channel, m2, and its resistance, ohm.
const SECTION: f64 = 0.004;
const CHANNEL: f64 = (0.1 / KAPPA + LAW) / SECTION;

fn balanced<const D: usize>(outcome: &Outcome<D>) {
    assert!(
        outcome.ledger.energy_error() < 1e-8,
        "{:e}",
        outcome.ledger.energy_error()
    );
    assert!(
        outcome.ledger.charge_error() < 1e-8,
        "{:e}",
        outcome.ledger.charge_error()
    );
}

/// Two channels side by side, one pole, leads of 0.3 and 1.1 ohm: each current is the voltage over
/// its own resistances.
#[test]
fn anodes_share_the_current_by_their_leads() {
    let h = 2e-3;
    let bench = |hold: Hold| {
        Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.09]), KAPPA, h, h)
            .put(
                Role::Anode,
                rectangle([0.1, -0.01], [0.11, 0.044]),
                PRIMARY,
                h,
                h,
            )
            .lead_ohm(0.3)
            .put(
                Role::Anode,
                rectangle([0.1, 0.046], [0.11, 0.1]),
                PRIMARY,
                h,
                h,
            )
            .lead_ohm(1.1)
            .put(
                Role::Work,
                rectangle([-0.01, -0.01], [0.0, 0.1]),
                linear(LAW),
                h,
                h,
            )
            .shield("wall", rectangle([-0.02, 0.04], [0.12, 0.05]))
            .cells_m(h, h)
            .hold(hold)
    };
    let at_volts = bench(Hold::Voltage(2.0)).run();
    let conductances = [0.3, 1.1].map(|lead| 1.0 / (CHANNEL + lead));
    for (body, g) in at_volts.bodies.iter().zip(conductances) {
        assert_relative_eq!(body.current_a, 2.0 * g, max_relative = 1e-6);
    }
    balanced(&at_volts);
    let heat = 0.3 * at_volts.bodies[0].current_a.powi(2) * 3600.0;
    assert_relative_eq!(at_volts.ledger.lead_j[0], heat, max_relative = 1e-8);
    let at_amps = bench(Hold::Current(3.0)).run();
    let total: f64 = conductances.iter().sum();
    for (body, g) in at_amps.bodies.iter().zip(conductances) {
        assert_relative_eq!(body.current_a, 3.0 * g / total, max_relative = 1e-6);
    }
    assert_relative_eq!(at_amps.voltage_v, 3.0 / total, max_relative = 1e-6);
}

/// A plate across the channel, connected to nothing: the current enters on one side and leaves on
/// the other, and pays for its law twice.
#[test]
fn a_floating_plate_across_the_channel() {
    let h = 2e-3;
    let plate = rectangle([0.05, -0.01], [0.06, 0.05]);
    let outcome = channel(linear(LAW))
        .put(Role::Floating, plate, linear(LAW), h, h)
        .voltage_v(1.0)
        .run();
    let ohm = (0.09 / KAPPA + 3.0 * LAW) / SECTION;
    assert_relative_eq!(outcome.current_a, 1.0 / ohm, max_relative = 1e-6);
    let floating = &outcome.bodies[2];
    assert_abs_diff_eq!(floating.current_a, 0.0, epsilon = 1e-10 * outcome.current_a);
    assert_relative_eq!(
        floating.anodic.current_a,
        outcome.current_a,
        max_relative = 1e-6
    );
    assert_relative_eq!(floating.anodic.area_m2, SECTION, max_relative = 1e-9);
    let (on, off) = (
        outcome.ledger.deposited_kg[2],
        outcome.ledger.dissolved_kg[2],
    );
    assert_relative_eq!(on, off, max_relative = 1e-8);
    balanced(&outcome);
}

/// A channel whose lower end wall is a thief below the work, with a lead of its own.
fn with_thief(thief_ohm: f64) -> Tank<2> {
    let h = 2e-3;
    let end = |low: f64, high: f64| rectangle([-0.01, low], [0.0, high]);
    Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.04]), KAPPA, h, h)
        .put(
            Role::Anode,
            rectangle([0.1, -0.01], [0.11, 0.05]),
            PRIMARY,
            h,
            h,
        )
        .put(Role::Work, end(0.012, 0.05), linear(LAW), h, h)
        .put(Role::Thief, end(-0.01, 0.008), linear(LAW), h, h)
        .lead_ohm(thief_ohm)
}

/// A second supply takes a set current from a thief beside the work, whatever the main one does.
#[test]
fn a_thief_with_its_own_supply() {
    let mut bench = with_thief(0.0).current_a(1.0);
    let mut own = supply(Hold::Current(0.5));
    own.thieves = vec![2];
    bench = bench.supply(own);
    let outcome = bench.run();
    assert_relative_eq!(outcome.bodies[1].current_a, -1.0, max_relative = 1e-8);
    assert_relative_eq!(outcome.bodies[2].current_a, -0.5, max_relative = 1e-8);
    assert_relative_eq!(outcome.bodies[0].current_a, 1.5, max_relative = 1e-8);
    assert_relative_eq!(outcome.supplies[0].current_a, 1.0, max_relative = 1e-8);
    assert_relative_eq!(outcome.supplies[1].current_a, 0.5, max_relative = 1e-8);
    balanced(&outcome);
}

/// On the common pole, with a series resistor or without, the mean on the work holds.
#[test]
fn a_thief_with_a_resistor() {
    let shared = |ohm: f64| with_thief(ohm).hold(Hold::MeanCurrentDensity(300.0)).run();
    let (strong, weak) = (shared(0.0), shared(20.0));
    for outcome in [&strong, &weak] {
        let mean = -outcome.bodies[1].current_a / outcome.bodies[1].area_m2;
        assert_relative_eq!(mean, 300.0, max_relative = 1e-8);
        balanced(outcome);
    }
    assert!(weak.bodies[2].current_a.abs() < 0.6 * strong.bodies[2].current_a.abs());
}

/// A supply that cannot give the volts gives what it can; else it holds its current.
#[test]
fn a_voltage_limit() {
    let limited = |amps: f64, limit_v: f64| {
        let mut bench = channel(linear(LAW)).current_a(amps);
        bench = bench.voltage_limit_v(limit_v);
        bench.run()
    };
    let fallen = limited(2.0, 1.0);
    assert!(fallen.supplies[0].limited);
    assert_relative_eq!(fallen.voltage_v, 1.0);
    assert_relative_eq!(fallen.current_a, 1.0 / CHANNEL, max_relative = 1e-6);
    let held = limited(0.2, 1.0);
    assert!(!held.supplies[0].limited);
    assert_relative_eq!(held.current_a, 0.2, max_relative = 1e-8);
    assert_relative_eq!(held.voltage_v, 0.2 * CHANNEL, max_relative = 1e-6);
}

/// A limit far above what the current takes changes nothing: it is not even looked at, though
/// holding it would drive the work into its limiting current.
#[test]
fn a_generous_voltage_limit_changes_nothing() {
    let run = |limit_v: Option<f64>| {
        let mut bench = channel(tafel(1.0, 0.05, Some(500.0))).current_a(1.0);
        if let Some(limit_v) = limit_v {
            bench = bench.voltage_limit_v(limit_v);
        }
        bench.run()
    };
    let free = run(None);
    for limit_v in [2.5, 6.0, 24.0, 1000.0] {
        let outcome = run(Some(limit_v));
        assert!(!outcome.supplies[0].limited);
        assert_relative_eq!(outcome.voltage_v, free.voltage_v, max_relative = 1e-9);
        assert_relative_eq!(outcome.current_a, 1.0, max_relative = 1e-9);
    }
}

/// A limit of just the volts the current takes: held or fallen, it is the same point.
#[test]
fn a_voltage_limit_that_is_just_reached() {
    let free = channel(tafel(1.0, 0.05, Some(500.0))).current_a(1.0).run();
    for nearly in [1.0 - 1e-10, 1.0, 1.0 + 1e-10] {
        let mut bench = channel(tafel(1.0, 0.05, Some(500.0))).current_a(1.0);
        bench = bench.voltage_limit_v(nearly * free.voltage_v);
        let outcome = bench.run();
        assert_relative_eq!(outcome.voltage_v, free.voltage_v, max_relative = 1e-8);
        assert_relative_eq!(outcome.current_a, 1.0, max_relative = 1e-8);
    }
}

/// More than the limiting current is asked for: the supply goes to its limit, and passes what it
/// passes when it holds that voltage.
#[test]
fn a_current_that_cannot_flow_ends_at_the_voltage_limit() {
    let law = || tafel(1.0, 0.05, Some(500.0));
    let mut bench = channel(law()).current_a(3.0);
    bench = bench.voltage_limit_v(1.5);
    let fallen = bench.run();
    let held = channel(law()).voltage_v(1.5).run();
    assert!(fallen.supplies[0].limited);
    assert_relative_eq!(fallen.voltage_v, 1.5);
    assert!(fallen.current_a < 500.0 * SECTION);
    assert_relative_eq!(fallen.current_a, held.current_a, max_relative = 1e-8);
    // Without a limit there is no such point.
    let refused = channel(law()).current_a(3.0).attempt();
    assert!(matches!(
        refused,
        Err(DepositError::Field(FieldError::DemandAboveLimit { .. }))
    ));
}

/// A ramp that runs into the limit and a step after it that leaves it again.
#[test]
fn a_limit_is_reached_and_left_in_one_plan() {
    let mut bench = channel(linear(LAW)).current_a(1.0);
    bench = bench.voltage_limit_v(CHANNEL);
    let ramp = Step {
        setting: Setting::Ramp(Hold::Current(0.5), Hold::Current(1.5)),
        ..step(Hold::Current(1.0), Until::Time(800.0))
    };
    let after = step(Hold::Current(0.25), Until::Time(400.0));
    let outcome = bench.step(ramp).step(after).run();
    balanced(&outcome);
    assert!(!outcome.supplies[0].limited);
    assert_relative_eq!(outcome.voltage_v, 0.25 * CHANNEL, max_relative = 1e-6);
    // Up to 1 A the current is held, then the limit is, which passes 1 A.
    let charge_c = 0.75 * 400.0 + 1.0 * 400.0 + 0.25 * 400.0;
    assert_relative_eq!(outcome.ledger.supply_c[0], charge_c, max_relative = 1e-3);
}

/// Two anodes side by side, the second on a supply of its own, which gives a share of what the
/// work gets; a thief on the common pole if wanted.
fn two_supplies(share: f64, thief: bool, law: impl Fn() -> ionfall_bath::Kinetics) -> Tank<2> {
    let h = 2e-3;
    let anode = |low: f64, high: f64| rectangle([0.1, low], [0.11, high]);
    let end = |low: f64, high: f64| rectangle([-0.01, low], [0.0, high]);
    let mut bench = Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.04]), KAPPA, h, h)
        .put(Role::Anode, anode(-0.01, 0.018), PRIMARY, h, h)
        .put(Role::Anode, anode(0.022, 0.05), PRIMARY, h, h)
        .put(
            Role::Work,
            end(if thief { 0.012 } else { -0.01 }, 0.05),
            law(),
            h,
            h,
        )
        .hold(Hold::MeanCurrentDensity(300.0));
    let work_m2 = 0.1 * if thief { 0.028 } else { 0.04 };
    if thief {
        bench = bench
            .put(Role::Thief, end(-0.01, 0.008), law(), h, h)
            .lead_ohm(0.5);
    }
    let mut second = supply(Hold::Current(share * 300.0 * work_m2));
    second.anodes = vec![1];
    bench = bench.supply(second);
    bench
}

/// However much the second supply gives, the main one gives the rest, found in a few solves.
#[test]
fn the_main_supply_gives_what_the_second_leaves() {
    let law = || tafel(1.0, 0.05, Some(500.0));
    for share in [0.1, 0.5, 0.7, 0.9, 0.99] {
        let outcome = two_supplies(share, false, law).run();
        let wanted_a = 300.0 * SECTION;
        let [main, second] = [0, 1].map(|n| outcome.supplies[n].current_a);
        assert_relative_eq!(-outcome.bodies[2].current_a, wanted_a, max_relative = 1e-8);
        assert_relative_eq!(second, share * wanted_a, max_relative = 1e-8);
        assert_relative_eq!(main, (1.0 - share) * wanted_a, max_relative = 1e-6);
        assert!(outcome.work[0] <= 2, "{} solves", outcome.work[0]);
        balanced(&outcome);
    }
}

/// The same with a thief that takes a share which depends on the current.
#[test]
fn a_second_supply_and_a_thief() {
    let law = || tafel(1.0, 0.05, None);
    for share in [0.3, 0.8, 1.1] {
        let outcome = two_supplies(share, true, law).run();
        assert!(outcome.work[0] <= 10, "{} solves", outcome.work[0]);
        let mean = -outcome.bodies[2].current_a / outcome.bodies[2].area_m2;
        assert_relative_eq!(mean, 300.0, max_relative = 1e-8);
        assert!(outcome.supplies[0].current_a > 0.0);
        balanced(&outcome);
    }
}

/// Where the others give the work all it should have, nothing is left to be sought.
#[test]
fn others_that_give_all_are_told() {
    let outcome = two_supplies(1.1, false, || linear(LAW)).attempt();
    let Err(error @ DepositError::OthersGiveAll { .. }) = outcome else {
        panic!("the second supply gives more than the mean");
    };
    // With a thief that takes a share it shows only after some solves.
    let shared = two_supplies(1.3, true, || tafel(1.0, 0.05, None)).attempt();
    assert!(matches!(shared, Err(DepositError::OthersGiveAll { .. })));
    assert!(error.to_string().contains("alone give the work 1.3200 A"));
    assert!(error.to_string().contains("takes 1.2000 A"));
}

/// The supply of a thief falls to its limit, which is measured from the main pole, wherever that
/// comes to lie.
#[test]
fn a_thief_at_the_voltage_limit_of_its_supply() {
    for limit_v in [2.0, 3.0, 4.0] {
        let mut bench = with_thief(0.0).current_a(1.0);
        let mut own = supply(Hold::Current(5.0));
        own.thieves = vec![2];
        own.limits.voltage_v = Some(limit_v);
        bench = bench.supply(own);
        let outcome = bench.run();
        assert!(outcome.supplies[1].limited);
        assert_relative_eq!(outcome.supplies[1].voltage_v, limit_v, max_relative = 1e-8);
        assert_relative_eq!(outcome.supplies[0].current_a, 1.0, max_relative = 1e-8);
        assert!(outcome.supplies[1].current_a < 5.0);
        assert!(outcome.work[0] <= 8, "{} solves", outcome.work[0]);
        balanced(&outcome);
    }
}

/// Growth is proportional to current where the efficiency is one (common practice, no source): a
/// weak supply takes twenty times as long as one of twenty times the current. The strong one comes
/// nearer to the limiting current than is good for the deposit.
#[test]
fn a_weak_and_a_strong_supply() {
    let grown = |amps: f64| {
        let bench = channel(tafel(1.0, 0.05, Some(500.0))).current_a(amps);
        let until = Until::LeastThickness(1e-4, None);
        bench.step(step(Hold::Current(amps), until)).run()
    };
    let (weak, strong) = (grown(0.05), grown(1.0));
    let ratio = weak.time_s.unwrap() / strong.time_s.unwrap();
    assert_relative_eq!(ratio, 20.0, max_relative = 1e-8);
    let exact_s = 1e-4 * SECTION * 8960.0 * 2.0 * 96_485.332_12 / 0.063_546;
    assert_relative_eq!(strong.time_s.unwrap(), exact_s, max_relative = 1e-6);
    let share = |outcome: &Outcome<2>| outcome.bodies[1].limit_share.unwrap().value;
    assert_relative_eq!(share(&strong), 1.0 / SECTION / 500.0, max_relative = 1e-6);
    assert!(share(&strong) > 0.4 && share(&weak) < 0.4);
}

fn planned(plan: Vec<Step>) -> Outcome<2> {
    let bench = channel(linear(LAW)).current_a(1.0);
    let outcome = plan.into_iter().fold(bench, Tank::step).run();
    balanced(&outcome);
    outcome
}

/// Every way to end a step, a ramp, a rest, pulses: charge and metal as Faraday says.
#[test]
fn plans_keep_their_charge() {
    let ramp = Step {
        setting: Setting::Ramp(Hold::Current(0.2), Hold::Current(1.0)),
        ..step(Hold::Current(1.0), Until::Time(600.0))
    };
    let rest = Step {
        setting: Setting::Rest,
        ..step(Hold::Current(1.0), Until::Time(500.0))
    };
    let pulse = Pulse {
        on_s: 0.01,
        off_s: 0.03,
        reverse_s: 0.0,
        reverse_share: 1.0,
    };
    let pulsed = Step {
        pulse: Some(pulse),
        ..step(Hold::Current(0.5), Until::Time(100.0))
    };
    let outcome = planned(vec![
        ramp,
        rest,
        step(Hold::Current(1.0), Until::Charge(1000.0)),
        pulsed,
        step(Hold::Current(2.0), Until::MeanThickness(2e-5, None)),
    ]);
    let per_coulomb = 0.063_546 / (2.0 * 96_485.332_12);
    let kg = 2e-5 * SECTION * 8960.0;
    assert_relative_eq!(outcome.ledger.deposited_kg[1], kg, max_relative = 1e-8);
    assert_relative_eq!(outcome.ledger.dissolved_kg[0], kg, max_relative = 1e-8);
    let charge_c = kg / per_coulomb;
    assert_relative_eq!(outcome.ledger.supply_c[0], charge_c, max_relative = 1e-8);
    let before_c = 0.6 * 600.0 + 1000.0 + 0.5 * 100.0;
    let time_s = 600.0 + 500.0 + 1000.0 + 100.0 + (charge_c - before_c) / 2.0;
    assert_relative_eq!(outcome.time_s.unwrap(), time_s, max_relative = 1e-8);
    assert_relative_eq!(pulse.peak_factor(), 4.0);
    let reverse = Pulse {
        reverse_s: 0.01,
        off_s: 0.0,
        on_s: 0.03,
        reverse_share: 1.0,
    };
    assert_relative_eq!(reverse.peak_factor(), 2.0);
}

/// Two plates that grow towards each other: the gap and the time they meet.
#[test]
fn fronts_that_meet_are_told() {
    let h = 1e-3;
    let bench = Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.02]), KAPPA, h, h)
        .put(
            Role::Anode,
            rectangle([0.1, -0.01], [0.11, 0.03]),
            PRIMARY,
            h,
            h,
        )
        .put(
            Role::Work,
            Solid::Union(vec![
                rectangle([0.02, -0.01], [0.06, 0.007]),
                rectangle([0.02, 0.013], [0.06, 0.03]),
            ]),
            linear(0.05),
            h,
            h,
        )
        .current_a(1.0);
    let until = Until::MeanThickness(2e-3, None);
    let bench = bench.step(step(Hold::Current(1.0), until));
    let outcome = bench.run();
    let crowding = outcome.bodies[1].crowding.unwrap();
    assert_relative_eq!(crowding.gap_m, 6e-3, max_relative = 0.02);
    // Faces towards the anode are free, faces of the slot are not.
    assert!(crowding.area_share > 0.5 && crowding.area_share < 1.0);
    // The worst place is the thickest that looks across the slot.
    let facets = outcome.grid.facets.iter().zip(&outcome.thickness_m);
    let thickest = facets
        .filter(|(f, _)| f.body == 1 && f.normal[1].abs() > 0.9)
        .map(|(_, h)| *h)
        .fold(0.0, f64::max);
    assert_relative_eq!(
        crowding.worst.value,
        2.0 * thickest / 6e-3,
        max_relative = 0.02
    );
    // There the fronts have grown by half the gap each when they meet, if they do.
    let met_s = outcome.time_s.unwrap() * 3e-3 / thickest;
    match crowding.met_after_s {
        Some(time_s) => assert_relative_eq!(time_s, met_s, max_relative = 0.02),
        None => assert!(thickest < 3e-3),
    }
}
