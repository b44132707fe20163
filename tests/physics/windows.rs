//! Sheets whose rims lie anywhere in the cells: windows are as wide as they are drawn.
//!
//! Between parallel walls `H` apart, half open, a thin baffle with a slot of width `b` along one wall
//! (its mirror image makes the whole slot) adds to the resistance of a strip of depth `w`
//!
//! ```text
//! kappa w R = (4 / pi) ln(1 / sin(pi b / 2 H))
//! ```
//! as the static limit of the capacitive window in a parallel-plate guide (Marcuvitz, Waveguide
//! Handbook, 1951, section 5.1; from memory, and held here against the exact cases P13a and P13b). Plates twice `H` away change
//! it by `exp(-4 pi)`, 3.5e-6 of it.

use crate::bench::{Bench, PRIMARY};
use crate::cases::expected;
use crate::flat::{baffled, slotted};
use ionfall_deposit::DepositError;
use ionfall_mesh::grid::{GridError, NoteKind, Space};
use ionfall_mesh::solid::{Cuboid, Placement, Point, Polygon, Sheet, Solid};
use ionfall_model::{Role, Tank};
use proptest::prelude::*;
use std::f64::consts::PI;

const HEIGHT: f64 = 0.1;

/// Ohm metres of the slot alone, over the resistivity.
fn window(slot: f64) -> f64 {
    4.0 / PI * (1.0 / (0.5 * PI * slot / HEIGHT).sin()).ln()
}

fn block<const D: usize>(low: Point<D>, high: Point<D>) -> Solid<D> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

#[test]
fn the_formula_is_that_of_the_exact_cases() {
    // Plates only H away: exp(-2 pi) of the window's own resistance, doubled by the two sides.
    for (id, slot) in [("P13a", 0.05), ("P13b", 0.02)] {
        let exact = 1.0 / expected(id, "conductance per depth", "");
        let off = (2.0 + window(slot)) / exact - 1.0;
        assert!(off.abs() < 2.0 * (-2.0 * PI).exp(), "{id}: {off:e}");
    }
}

/// Twenty slots, a tenth of a cell apart: within the bound at any of them, and each step counts.
#[test]
fn a_slot_is_as_wide_as_it_is_drawn() {
    for (h, bound) in [(0.005, 3e-3), (0.0025, 1.5e-3)] {
        let mut before = 0.0;
        let mut worst = 0.0f64;
        for n in 0..20 {
            let slot = 0.047 + 0.1 * h * f64::from(n);
            let current = slotted(4.0 * HEIGHT, slot, h, h, h).current_a;
            assert!(current > before, "slot {slot}: {current} after {before}");
            before = current;
            worst = worst.max((current * (4.0 + window(slot)) - 1.0).abs());
        }
        eprintln!("cells {h}: worst {:.3} %", 100.0 * worst);
        assert!(worst < bound, "cells {h}: {worst:e}");
    }
}

/// Gauzes of all kinds over half the section: the cells tell what fine ones at the rim do.
#[test]
fn the_rim_of_a_gauze_is_none_where_it_hardly_resists() {
    let gauzes = [
        (0.05, 1e-3, 7e-4),
        (0.2, 2e-3, 4e-4),
        (0.6, 2e-3, 1.2e-4),
        (0.95, 2e-3, 1.2e-5),
    ];
    for (open_fraction, thickness_m, bound) in gauzes {
        let mut worst = 0.0f64;
        for n in 0..8 {
            let slot = 0.047 + 0.25 * 0.005 * f64::from(n);
            let current = |edge: f64| {
                let half_way = [[2.0 * HEIGHT, slot], [2.0 * HEIGHT, 1.1 * HEIGHT]];
                let gauze = Sheet::polyline(&half_way, open_fraction, thickness_m).unwrap();
                baffled(4.0 * HEIGHT, gauze, 0.005, 0.005, edge).current_a
            };
            worst = worst.max((current(0.005) / current(0.005 / 64.0) - 1.0).abs());
        }
        eprintln!("{open_fraction} open, {thickness_m} m: {worst:.1e}");
        assert!(worst < bound, "{open_fraction}: {worst:e}");
    }
}

/// Outline and holes.
type Rings = (Vec<[f64; 2]>, Vec<Vec<[f64; 2]>>);

/// A tank with a work, an anode and sheets in the plane x = 0.05 m, each drawn in (y, z).
fn with_frame(rings: &[Rings], turn: f64, h: f64) -> Tank<3> {
    with_sheets(rings, [0.0, 0.0, turn], [0.05, 0.03, 0.03], h)
}

/// The same, turned about x, y and z, and moved.
fn with_sheets(rings: &[Rings], turns: [f64; 3], to: Point<3>, h: f64) -> Tank<3> {
    let upright = Placement::<3>::rotation([1.0, 1.0, 1.0], 2.0 * PI / 3.0).unwrap();
    let turned = (0..3).fold(upright, |turned, k| {
        let mut axis = [0.0; 3];
        axis[k] = 1.0;
        turned.then(&Placement::<3>::rotation(axis, turns[k]).unwrap())
    });
    let turned = turned.then(&Placement::translation(to).unwrap());
    let tank = Tank::bench(Space::Tank, block([0.0; 3], [0.1, 0.06, 0.06]), 1.0, h, h)
        .put(
            Role::Work,
            block([-0.01; 3], [0.0, 0.07, 0.07]),
            PRIMARY,
            h,
            h,
        )
        .put(
            Role::Anode,
            block([0.1, -0.01, -0.01], [0.11, 0.07, 0.07]),
            PRIMARY,
            h,
            h,
        );
    rings
        .iter()
        .enumerate()
        .fold(tank, |tank, (n, (ring, holes))| {
            let outline = Polygon::new(ring.clone(), holes.clone()).unwrap();
            let sheet = Sheet::flat(&outline, &turned, 0.0, 1e-4).unwrap();
            tank.sheet(&format!("frame {n}"), sheet, h, h)
        })
}

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Vec<[f64; 2]> {
    vec![low, [high[0], low[1]], high, [low[0], high[1]]]
}

/// A frame over the whole section, with a window of half-widths `a` and `b` off its middle.
fn frame(a: f64, b: f64) -> Vec<Rings> {
    let window = rectangle([0.003 - a, -0.002 - b], [0.003 + a, -0.002 + b]);
    vec![(rectangle([-0.05; 2], [0.05; 2]), vec![window])]
}

/// Windows of a frame, upright and aslant to the grid: near those of fine cells, and each step counts.
#[test]
fn a_window_is_as_large_as_it_is_drawn() {
    for (turn, bound) in [(0.0, 0.006), (0.3, 0.006)] {
        let fine = with_frame(&frame(0.0123, 0.0107), turn, 0.001)
            .run()
            .current_a;
        let (mut before, mut worst) = (0.0, 0.0f64);
        for n in 0..8 {
            let more = 0.0002 * (f64::from(n) - 4.0);
            let rings = frame(0.0123 + more, 0.0107 + more);
            let current = with_frame(&rings, turn, 0.002).run().current_a;
            assert!(current > before, "{turn}, {n}: {current} after {before}");
            before = current;
            if n == 4 {
                worst = (current / fine - 1.0).abs();
            }
        }
        eprintln!("turned by {turn}: {:.2} %", 100.0 * worst);
        assert!(worst < bound, "turned by {turn}: {worst:e}");
    }
}

/// Strips that make a frame are the frame: nothing leaks where they abut or overlap.
#[test]
fn strips_side_by_side_are_one_sheet() {
    let whole = with_frame(&frame(0.0123, 0.0107), 0.0, 0.004)
        .run()
        .current_a;
    let [x0, x1, y0, y1] = [
        0.003 - 0.0123,
        0.003 + 0.0123,
        -0.002 - 0.0107,
        -0.002 + 0.0107,
    ];
    for lap in [0.0, 0.0017] {
        let strips: Vec<_> = [
            rectangle([-0.05, -0.05], [x0, 0.05]),
            rectangle([x1, -0.05], [0.05, 0.05]),
            rectangle([x0 - lap, -0.05], [x1 + lap, y0]),
            rectangle([x0 - lap, y1], [x1 + lap, 0.05]),
        ]
        .map(|ring| (ring, Vec::new()))
        .into();
        let current = with_frame(&strips, 0.0, 0.004).run().current_a;
        eprintln!("overlap {lap}: {:+.1e}", current / whole - 1.0);
        assert!((current / whole - 1.0).abs() < 1e-4);
        // The same strips without a window let nothing through.
        let shut: Vec<_> = [
            rectangle([-0.05, -0.05], [x0 + lap, 0.05]),
            rectangle([x0, -0.05], [0.05, 0.05]),
        ]
        .map(|ring| (ring, Vec::new()))
        .into();
        let error = with_frame(&shut, 0.0, 0.004).attempt().expect_err("tight");
        assert!(
            matches!(error, DepositError::Grid(GridError::NothingToSolve)),
            "overlap {lap}: {error}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..Default::default() })]

    /// Anywhere, at any angle: the walls of the cells join, and a larger window lets more through.
    #[test]
    fn windows_at_random(
        turns in prop::array::uniform3(-0.6..0.6f64),
        shift in prop::array::uniform3(-0.004..0.004f64),
        half in prop::array::uniform2(0.006..0.016f64),
    ) {
        let to = [0.05 + shift[0], 0.03 + shift[1], 0.03 + shift[2]];
        let current = |more: f64| {
            let rings = frame(half[0] + more, half[1] + more);
            let out = with_sheets(&rings, turns, to, 0.004).run();
            let tangled = (out.grid.notes.iter()).find(|n| matches!(n.kind, NoteKind::Tangled));
            assert!(tangled.is_none(), "{tangled:?}");
            out.current_a
        };
        let (small, large) = (current(0.0), current(0.001));
        prop_assert!(small > 0.0 && large > small, "{small} and {large}");
        // Less than without any sheet.
        prop_assert!(large < 0.06 * 0.06 / 0.1, "{large}");
    }
}
