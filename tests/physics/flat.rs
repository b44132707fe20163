//! Walls, flush electrodes, polygons, sheets, 2-D planar: P05, P06, S05, P11, P13, P14, S06b.

use crate::bench::{Bench, PRIMARY, at, current_of, linear, tafel};
use crate::cases::expected;
use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, Point, Polygon, Sheet, Solid};
use ionfall_model::{Role, Tank};

fn block(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

fn flat(tank: Solid<2>, kappa: f64, h: f64) -> Tank<2> {
    Tank::bench(Space::Planar { depth_m: 1.0 }, tank, kappa, h, 4.0 * h)
}

/// Largest difference of the current density at points of the work from the exact values, as a share.
fn worst(out: &Outcome<2>, exact: impl IntoIterator<Item = (Point<2>, f64)>) -> f64 {
    exact.into_iter().fold(0.0, |worst: f64, (place, exact)| {
        worst.max((at(out, 0, &place) / exact - 1.0).abs())
    })
}

/// The total current must be right to 0.2 %, every place to 1 %.
fn check(id: &str, out: &Outcome<2>, total: f64, worst: f64) {
    eprintln!(
        "{id}: cells {} total {} worst {} {:?}",
        out.grid.len(),
        percent(total),
        percent(worst),
        out.grid.notes
    );
    assert!(total.abs() < 2e-3 && worst < 1e-2);
}

fn percent(x: f64) -> String {
    format!("{:+.4} %", 100.0 * x)
}

#[test]
fn p05_flush_strips_in_a_channel() {
    let gap = 0.01;
    for (id, length) in [("P05a", 0.005), ("P05b", 0.01), ("P05c", 0.02)] {
        let half = 0.5 * length;
        let reach = half + 3.0 * gap;
        let h = gap / 64.0;
        let edge = half / 1024.0;
        let out = flat(block([-reach, 0.0], [reach, gap]), 1.0, 2.0 * h)
            .put(
                Role::Work,
                block([-half, -0.002], [half, 0.0]),
                PRIMARY,
                h,
                edge,
            )
            .put(
                Role::Anode,
                block([-half, gap], [half, gap + 0.002]),
                PRIMARY,
                h,
                edge,
            )
            .run();
        let total = out.current_a / expected(id, "conductance", "cell") - 1.0;
        let average = out.current_a / length;
        let places = ["0 (", "0.25", "0.5 (", "0.75", "0.9 (", "0.95"].map(|x| {
            let place: f64 = x.trim_end_matches(" (").parse().unwrap();
            let exact = average * expected(id, "i/i_avg", &format!("2x/L = {x}"));
            ([place * half, 0.0], exact)
        });
        check(id, &out, total, worst(&out, places));
    }
}

/// The 267 mL trapezoid; anode on x = 0, cathode on the inclined side.
fn trapezoid(h: f64, edge: f64, kinetics: Kinetics) -> Tank<2> {
    let corners = vec![[0.0, 0.0], [0.127, 0.0], [0.048, 0.064], [0.0, 0.064]];
    let tank = Solid::new(Polygon::new(corners, Vec::new()).unwrap());
    let behind = Polygon::new(
        vec![[0.127, 0.0], [0.147, 0.0], [0.068, 0.064], [0.048, 0.064]],
        vec![],
    );
    flat(tank, 20.0, h)
        .put(Role::Work, Solid::new(behind.unwrap()), kinetics, h, edge)
        .put(
            Role::Anode,
            block([-0.01, -0.01], [0.0, 0.074]),
            PRIMARY,
            h,
            h,
        )
}

/// Point of the inclined side at a distance from its near end.
fn inclined(x: f64) -> Point<2> {
    let length = 0.1016710381574;
    [0.048 + x / length * 0.079, 0.064 - x / length * 0.064]
}

#[test]
fn p06_trapezoid_primary() {
    let out = trapezoid(0.0005, 0.0005 / 64.0, PRIMARY)
        .voltage_v(1.0)
        .run();
    let total = out.current_a / 20.0 / expected("P06", "conductance", "cell") - 1.0;
    let average = out.current_a / 0.1016710381574;
    let places = [
        "0.002", "0.005", "0.00635", "0.010", "0.020", "0.030", "0.040", "0.050", "0.060", "0.070",
        "0.08255", "0.090", "0.095",
    ]
    .map(|x| {
        let exact = average * expected("P06", "i/i_avg", &format!("cathode, {x} m"));
        let place = inclined(x.parse().unwrap());
        eprintln!("P06 {x}: {}", percent(at(&out, 0, &place) / exact - 1.0));
        (place, exact)
    });
    check("P06", &out, total, worst(&out, places));
}

#[test]
fn s05_trapezoid_with_kinetics() {
    let places = [
        "0.005", "0.01", "0.02", "0.03", "0.04", "0.05", "0.06", "0.07", "0.08255", "0.095",
    ];
    let wa = [
        ("S05a", 0.0005083551907869143),
        ("S05b", 0.005083551907869142),
    ];
    let mut runs: Vec<(&str, Outcome<2>)> = wa
        .into_iter()
        .map(|(id, r)| {
            (
                id,
                trapezoid(0.0005, 0.0005 / 16.0, linear(r))
                    .voltage_v(1.0)
                    .run(),
            )
        })
        .collect();
    runs.push((
        "S05c",
        trapezoid(0.0005, 0.0005 / 16.0, tafel(1.0, 0.05, None))
            .current_a(42.0)
            .run(),
    ));
    for (id, out) in runs {
        let total = if id == "S05c" {
            out.voltage_v / expected(id, "cell voltage", "") - 1.0
        } else {
            out.current_a / expected(id, "current per depth", "") - 1.0
        };
        let exact = places.map(|x| {
            let exact = expected(id, "current density", &format!("cathode, {x} m"));
            (inclined(x.parse().unwrap()), exact)
        });
        check(id, &out, total, worst(&out, exact));
    }
}

/// Before the acute corner at the far end, whatever the cells. With a linear fit in the corner's last cell, which
/// had too few neighbours at half of these sizes, 3e-4 to 1e-3 were missing.
#[test]
fn s05a_before_the_acute_corner() {
    let exact = expected("S05a", "current density", "cathode, 0.095 m");
    for h in [0.00035, 0.0005, 0.00062, 0.0008, 0.0009, 0.001] {
        let out = trapezoid(h, h / 16.0, linear(0.0005083551907869143))
            .voltage_v(1.0)
            .run();
        let off = at(&out, 0, &inclined(0.095)) / exact - 1.0;
        eprintln!("S05a, {h} m: {off:.1e}");
        assert!(off.abs() < 5e-5, "{h} m: {off}");
    }
}

#[test]
fn p11_plates_short_of_the_walls() {
    for (id, length, h1, h2) in [
        ("P11a", 0.2, 0.06, 0.06),
        ("P11b", 0.2, 0.05, 0.1),
        ("P11c", 0.05, 0.06, 0.08),
    ] {
        let h = 0.001;
        let edge = h1 / 2048.0;
        let anode_top = if h2 == 0.1 { 0.12 } else { h2 };
        let out = flat(block([0.0, 0.0], [length, 0.1]), 1.0, 2.0 * h)
            .put(
                Role::Work,
                block([-0.01, -0.01], [0.0, h1]),
                PRIMARY,
                h,
                edge,
            )
            .put(
                Role::Anode,
                block([length, -0.01], [length + 0.01, anode_top]),
                PRIMARY,
                h,
                edge,
            )
            .run();
        let total = out.current_a / expected(id, "conductance", "") - 1.0;
        let average = out.current_a / h1;
        let places = [
            (0.0, "centre"),
            (0.5, "y = 0.5 h1"),
            (0.8, "y = 0.8 h1"),
            (0.9, "y = 0.9 h1"),
            (0.95, "y = 0.95 h1"),
        ]
        .map(|(y, place)| ([0.0, y * h1], average * expected(id, "i/i_avg", place)));
        check(id, &out, total, worst(&out, places));
    }
}

/// Two plates of 0.1 m, the baffle half-way, open up to height `slot`; `coarse` cells away from all.
pub fn slotted(length: f64, slot: f64, coarse: f64, h: f64, edge: f64) -> Outcome<2> {
    let half_way = [[0.5 * length, slot], [0.5 * length, 0.11]];
    let baffle = Sheet::polyline(&half_way, 0.0, 1e-4).unwrap();
    baffled(length, baffle, coarse, h, edge)
}

/// The same with a baffle of any kind.
pub fn baffled(length: f64, baffle: Sheet<2>, coarse: f64, h: f64, edge: f64) -> Outcome<2> {
    let plate = |x: f64| block([x, -0.01], [x + 0.01, 0.12]);
    flat(block([0.0, 0.0], [length, 0.1]), 1.0, coarse)
        .put(Role::Work, plate(-0.01), PRIMARY, h, h)
        .put(Role::Anode, plate(length), PRIMARY, h, h)
        .sheet("baffle", baffle, h, edge)
        .run()
}

#[test]
fn p13_slotted_thin_baffle() {
    for (id, slot) in [("P13a", 0.05), ("P13b", 0.02)] {
        let h = 0.001;
        let out = slotted(0.2, slot, 2.0 * h, h, h / 64.0);
        let total = out.current_a / expected(id, "conductance per depth", "") - 1.0;
        let average = out.current_a / 0.1;
        let places = [
            (0.0, "facing the slot"),
            (0.25, "y = 0.25 H"),
            (0.5, "y = 0.5 H"),
            (0.75, "y = 0.75 H"),
            (1.0, "side wall"),
        ]
        .map(|(y, place)| ([0.0, 0.1 * y], average * expected(id, "i/i_avg", place)));
        check(id, &out, total, worst(&out, places));
    }
}

#[test]
fn p14_thief_beside_the_cathode() {
    let h = 0.001;
    let edge = h / 64.0;
    let out = flat(block([0.0, 0.0], [0.15, 0.1]), 1.0, 2.0 * h)
        .put(
            Role::Work,
            block([-0.01, -0.01], [0.0, 0.06]),
            PRIMARY,
            h,
            edge,
        )
        .put(
            Role::Thief,
            block([-0.01, 0.07], [0.0, 0.12]),
            PRIMARY,
            h,
            edge,
        )
        .put(
            Role::Anode,
            block([0.15, -0.01], [0.16, 0.12]),
            PRIMARY,
            h,
            h,
        )
        .run();
    let total = out.current_a / expected("P14", "conductance", "with thief") - 1.0;
    let on_work = current_of(&out, 0);
    let share = on_work / out.current_a / expected("P14", "cathode share", "with thief") - 1.0;
    let places = [
        (0.0, "y = 0 cm"),
        (0.03, "y = 3 cm"),
        (0.045, "y = 4.5 cm"),
        (0.054, "y = 5.4 cm"),
    ]
    .map(|(y, place)| {
        let exact = expected("P14", "i/i_avg", &format!("{place}, with thief"));
        ([0.0, y], on_work / 0.06 * exact)
    });
    eprintln!("P14: share {}", percent(share));
    assert!(share.abs() < 2e-3);
    check("P14", &out, total, worst(&out, places));
}

#[test]
fn s06b_sine_profile() {
    // y = A cos(2 pi x / lambda), one wavelength between crests, electrolyte above up to H.
    let (a, lambda, top) = (0.002, 0.04, 0.03);
    let profile: Vec<Point<2>> = (0..=2000)
        .map(|k| {
            let x = -0.005 + 0.05 * f64::from(k) / 2000.0;
            [x, a * (2.0 * std::f64::consts::PI * x / lambda).cos()]
        })
        .rev()
        .collect();
    let mut outline = vec![[-0.005, -0.01], [0.045, -0.01]];
    outline.extend(profile);
    for (r, text) in [(0.0, "R_ct = 0 ohm"), (0.001, "R_ct = 0.001")] {
        let h = 0.0005;
        let law = if r == 0.0 { PRIMARY } else { linear(r) };
        let ground = Solid::new(Polygon::new(outline.clone(), Vec::new()).unwrap());
        let out = flat(block([0.0, -0.008], [lambda, top]), 10.0, h)
            .voltage_v(1.0)
            .put(Role::Work, ground, law, h, h)
            .put(
                Role::Anode,
                block([-0.01, top], [0.05, top + 0.01]),
                PRIMARY,
                h,
                h,
            )
            .run();
        let total = out.current_a / lambda / expected("S06b", "current per depth", text) - 1.0;
        let mut worst = 0.0f64;
        for (x, y, place) in [
            (0.5 * lambda, -a, "trough"),
            (0.0, a, "crest"),
            (0.25 * lambda, 0.0, "mid height"),
        ] {
            let exact = expected("S06b", place, text);
            let error = at(&out, 0, &[x, y]) / exact - 1.0;
            eprintln!("S06b {text} {place}: {}", percent(error));
            worst = worst.max(error.abs());
        }
        eprintln!(
            "S06b {text}: total {} worst {}",
            percent(total),
            percent(worst)
        );
        assert!(total.abs() < 2e-3 && worst < 1e-2);
    }
}
