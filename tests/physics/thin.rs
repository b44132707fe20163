//! Sheets and plates thinner than a cell, 3-D: they neither leak nor vanish.

use crate::bench::{Bench, PRIMARY, at};
use crate::cases::expected;
use ionfall_deposit::{DepositError, field_vectors};
use ionfall_mesh::grid::{GridError, Space};
use ionfall_mesh::solid::{Cuboid, Placement, Polygon, Sheet, Solid};
use ionfall_model::{Role, Tank};

const DEPTH: f64 = 0.03;

fn block(low: [f64; 3], high: [f64; 3]) -> Solid<3> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

/// A channel along x, 0.2 m long and 0.1 m high, with whole end walls as electrodes.
fn channel(h: f64) -> Tank<3> {
    Tank::bench(
        Space::Tank,
        block([0.0; 3], [0.2, 0.1, DEPTH]),
        1.0,
        2.0 * h,
        2.0 * h,
    )
    .put(
        Role::Work,
        block([-0.01, -0.01, -0.01], [0.0, 0.12, 0.05]),
        PRIMARY,
        h,
        h,
    )
    .put(
        Role::Anode,
        block([0.2, -0.01, -0.01], [0.21, 0.12, 0.05]),
        PRIMARY,
        h,
        h,
    )
}

/// A sheet across the channel at x = 0.1 m from height `slot` up.
fn across(slot: f64, open_fraction: f64, thickness_m: f64) -> Sheet<3> {
    let outline = Polygon::new(
        vec![[-0.01, slot], [0.05, slot], [0.05, 0.12], [-0.01, 0.12]],
        Vec::new(),
    );
    // Drawn in the plane of (z, y), put at x = 0.1.
    let place = Placement::<3>::rotation([0.0, 1.0, 0.0], -0.5 * std::f64::consts::PI)
        .unwrap()
        .then(&Placement::translation([0.1, 0.0, 0.0]).unwrap());
    Sheet::flat(&outline.unwrap(), &place, open_fraction, thickness_m).unwrap()
}

#[test]
fn a_tight_sheet_stops_all_current() {
    let h = 0.005;
    let bench = channel(h).sheet("baffle", across(-0.01, 0.0, 1e-4), h, h);
    let error = bench.attempt().expect_err("no way through");
    assert!(
        matches!(error, DepositError::Grid(GridError::NothingToSolve)),
        "{error}"
    );
}

#[test]
fn a_plate_thinner_than_a_cell_stops_all_current() {
    let h = 0.005;
    let plate = block([0.1, -0.01, -0.01], [0.1 + 0.15 * h, 0.12, 0.05]);
    let bench = channel(h).shield("plate", plate).cells_m(h, h);
    let error = bench.attempt().expect_err("no way through");
    assert!(
        matches!(error, DepositError::Grid(GridError::NothingToSolve)),
        "{error}"
    );
}

/// P13a, drawn out into the third dimension: with a sheet, and with a plate 0.1 cell thick.
#[test]
fn p13_slotted_baffle_in_3d() {
    let h = 0.0025;
    let plate = block([0.1, 0.05, -0.01], [0.1 + 0.1 * h, 0.12, 0.05]);
    let with_sheet = channel(h).sheet("baffle", across(0.05, 0.0, 1e-4), h, h);
    let with_plate = channel(h).shield("plate", plate).cells_m(h, h);
    for (name, bench) in [("sheet", with_sheet), ("plate", with_plate)] {
        let out = bench.run();
        let total = out.current_a / DEPTH / expected("P13a", "conductance per depth", "") - 1.0;
        let average = out.current_a / DEPTH / 0.1;
        let mut worst = 0.0f64;
        for (y, place) in [
            (0.25, "y = 0.25 H"),
            (0.5, "y = 0.5 H"),
            (0.75, "y = 0.75 H"),
        ] {
            let exact = expected("P13a", "i/i_avg", place);
            let i = at(&out, 0, &[0.0, 0.1 * y, 0.5 * DEPTH]);
            worst = worst.max((i / average / exact - 1.0).abs());
        }
        eprintln!(
            "P13a 3-D {name}: cells {} total {:+.4} % worst {:.4} % {:?}",
            out.grid.len(),
            100.0 * total,
            100.0 * worst,
            out.grid.notes
        );
        // The rim is a singular edge: the error is proportional to the cell size there (h is a
        // fortieth of the tank's height).
        assert!(total.abs() < 1e-2 && worst < 1e-2);
    }
}

/// Resistances in series: t/f of a perforated sheet in place of t of electrolyte.
#[test]
fn a_perforated_sheet_is_a_resistance_in_series() {
    let (t, f) = (0.002, 0.2);
    let h = 0.005;
    let out = channel(h).sheet("sheet", across(-0.01, f, t), h, h).run();
    let exact = 0.1 * DEPTH / (0.2 + t * (1.0 / f - 1.0));
    eprintln!("perforated: {:e}", out.current_a / exact - 1.0);
    assert!((out.current_a / exact - 1.0).abs() < 1e-6);
    // The current as it is drawn in the bath: straight, and the same on both sides of the sheet.
    let potential_v = &out.solution.potential_v[..out.grid.len()];
    let density = out.current_a / 0.1 / DEPTH;
    for [x, y, z] in field_vectors(&out.grid, potential_v, 1.0) {
        let off = (x / density + 1.0).hypot(y.hypot(z) / density);
        assert!(off < 1e-6, "{off:e}");
    }
}
