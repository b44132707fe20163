//! Thin bodies and narrow gaps: smaller cells where the sizes are free, a word where they are not.

use crate::bench::{Bench, PRIMARY, current_of, linear};
use approx::assert_relative_eq;
use ionfall_mesh::grid::{GridNote, NoteKind, Space, count_cells};
use ionfall_mesh::solid::{Ball, Cuboid, Solid, wire};
use ionfall_model::{Role, Tank};
use std::f64::consts::PI;

const PLANAR: Space = Space::Planar { depth_m: 1.0 };
const MEMORY: u64 = 8 << 30;

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

fn block(low: [f64; 3], high: [f64; 3]) -> Solid<3> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

fn disc(radius_m: f64) -> Solid<2> {
    Solid::new(Ball::<2>::new([0.0; 2], radius_m).unwrap())
}

/// Fewest cells across what the notes tell of: gaps and walls.
fn told<const D: usize>(notes: &[GridNote<D>]) -> [Option<f64>; 2] {
    let mut out = [None; 2];
    for note in notes {
        match note.kind {
            NoteKind::NarrowGap { cells, .. } => out[0] = Some(cells),
            NoteKind::ThinWall { cells, .. } => out[1] = Some(cells),
            _ => {}
        }
    }
    out
}

/// A wire of 1 mm radius in the axis of a ring of 100 mm, cells of 8 mm: current per length
/// `2 pi kappa U / ln(R / r)`.
fn coaxial() -> Tank<2> {
    let ring = Solid::Difference(Box::new(disc(0.13)), vec![disc(0.1)]);
    Tank::bench(PLANAR, disc(0.12), 20.0, 8e-3, 16e-3)
        .put(Role::Anode, ring, PRIMARY, 8e-3, 8e-3)
        .put(Role::Work, disc(1e-3), PRIMARY, 8e-3, 8e-3)
        .voltage_v(1.0)
}

#[test]
fn a_wire_in_a_wide_tank_gets_its_own_cells() {
    let exact = 2.0 * PI * 20.0 / 100f64.ln();
    let free = coaxial().free().run();
    assert_relative_eq!(current_of(&free, 1), exact, max_relative = 2e-3);
    assert_eq!(told(&free.grid.notes), [None; 2]);
    // Where the size is given two cells across are what it gets.
    let kept = coaxial().run();
    // On cells of that size alone the result is off; so much is told.
    let given = coaxial().cells_across(0.0).run();
    let finest = (0..given.grid.len()).map(|n| given.grid.size_m(n));
    assert!(finest.fold(1.0, f64::min) > 3.9e-3);
    let off = |outcome: &_| (current_of(outcome, 1) / exact - 1.0).abs();
    assert!(
        off(&given) > 0.02 && off(&kept) < 0.5 * off(&given),
        "{}",
        off(&kept)
    );
    let [gap, Some(wall)] = told(&given.grid.notes) else {
        panic!(
            "a wire of a quarter of a cell is to be told: {:?}",
            given.grid.notes
        );
    };
    assert_eq!(gap, None);
    assert!(wall > 0.2 && wall < 0.55, "{wall} cells");
}

/// The same in space: a wire across a tank, before an image in the opposite wall that is the
/// anode: conductance per length `2 pi kappa / acosh(distance / radius)`.
#[test]
fn a_wire_before_a_plate() {
    let bench = || {
        let path = [[0.06, -0.02, 0.1], [0.06, 0.06, 0.1]];
        Tank::bench(
            Space::Tank,
            block([0.0; 3], [0.4, 0.04, 0.2]),
            20.0,
            0.02,
            0.02,
        )
        .put(
            Role::Anode,
            block([-0.02, -0.02, -0.02], [0.0, 0.06, 0.22]),
            PRIMARY,
            0.02,
            0.02,
        )
        .put(Role::Work, wire(&path, 2e-3).unwrap(), PRIMARY, 0.02, 0.02)
        .voltage_v(1.0)
    };
    let free = bench().free().run();
    let given = bench().run();
    let [_, wall] = told(&given.grid.notes);
    assert!(wall.is_some_and(|cells| cells < 1.0));
    // Against a grid with small cells all around the wire.
    let fine = bench().cells_m(4e-4, 4e-4).run();
    let [free, given, fine] = [&free, &given, &fine].map(|o| current_of(o, 1));
    assert!(
        (given / fine - 1.0).abs() > 0.03,
        "{given} A against {fine} A"
    );
    assert_relative_eq!(free, fine, max_relative = 0.01);
}

/// A channel of 0.2 m with electrodes for end walls, cells of 8 mm.
fn channel() -> Tank<2> {
    let h = 8e-3;
    Tank::bench(PLANAR, rectangle([0.0; 2], [0.2, 0.1]), 20.0, h, h)
        .put(
            Role::Anode,
            rectangle([0.2, -0.01], [0.21, 0.11]),
            PRIMARY,
            h,
            h,
        )
        .put(
            Role::Work,
            rectangle([-0.01; 2], [0.0, 0.11]),
            linear(1e-3),
            h,
            h,
        )
}

/// A slot of 2 mm in a thick plate across the channel, at the plate cells of its own.
fn slotted(at_plate: f64) -> Tank<2> {
    let plate = |low: f64, high: f64| rectangle([0.095, low], [0.105, high]);
    channel()
        .shield("below", plate(-0.01, 0.043))
        .cells_m(at_plate, at_plate)
        .shield("above", plate(0.045, 0.11))
        .cells_m(at_plate, at_plate)
        .voltage_v(1.0)
}

#[test]
fn a_slot_gets_its_own_cells() {
    let free = slotted(8e-3).free().run();
    let fine = slotted(1e-4).run();
    assert_relative_eq!(free.current_a, fine.current_a, max_relative = 0.01);
    assert_eq!(told(&free.grid.notes)[0], None);
    assert!(free.grid.len() < fine.grid.len());
    let given = slotted(8e-3).cells_across(0.0).run();
    assert!(told(&given.grid.notes)[0].is_some_and(|cells| cells < 0.51));
}

/// A floating plate thinner than a cell, free in the channel.
#[test]
fn a_thin_plate_gets_its_own_cells() {
    let bench = || {
        channel()
            .shield("plate", rectangle([0.1, 0.03], [0.1015, 0.07]))
            .cells_m(8e-3, 8e-3)
            .voltage_v(1.0)
    };
    let free = bench().free().run();
    assert_eq!(told(&free.grid.notes), [None; 2]);
    let [gap, wall] = told(&bench().cells_across(0.0).run().grid.notes);
    assert_eq!(gap, None);
    assert!(wall.is_some_and(|cells| cells < 0.4));
}

/// Two wide plates 2 mm apart want more cells than all the rest has: they get what the budget
/// holds, and what is left is told.
#[test]
fn the_budget_is_kept() {
    let domain = |across: f64| {
        let h = 0.01;
        let bench = Tank::bench(Space::Tank, block([0.0; 3], [0.3, 0.2, 0.2]), 20.0, h, h)
            .put(
                Role::Anode,
                block([0.1, 0.02, 0.02], [0.13, 0.18, 0.18]),
                PRIMARY,
                h,
                h,
            )
            .put(
                Role::Work,
                block([0.132, 0.02, 0.02], [0.16, 0.18, 0.18]),
                PRIMARY,
                h,
                h,
            );
        bench.cells_across(across).domain()
    };
    let given = count_cells(&domain(0.0), MEMORY).unwrap();
    let free = count_cells(&domain(6.0), MEMORY).unwrap();
    assert!(free > given, "{free} and {given} cells");
    assert!(
        free <= given + (given / 2).max(40_000),
        "{free} and {given} cells"
    );
    let grid = ionfall_mesh::grid::build(&domain(6.0), MEMORY).unwrap();
    let [gap, _] = told(&grid.notes);
    assert!(gap.is_some_and(|cells| cells < 4.0));
    // No memory, no more cells.
    let tight = given * ionfall_mesh::grid::BYTES_PER_CELL;
    if let Ok(cells) = count_cells(&domain(6.0), tight) {
        assert!(cells <= given);
    }
}

/// Plain bodies far from each other: nothing is narrow, nothing changes, nothing is told.
#[test]
fn ordinary_bodies_are_left_alone() {
    let bench = || {
        let h = 8e-3;
        Tank::bench(PLANAR, rectangle([0.0; 2], [0.3, 0.2]), 20.0, h, h)
            .put(
                Role::Anode,
                rectangle([0.02, 0.05], [0.1, 0.15]),
                PRIMARY,
                h,
                h,
            )
            .put(
                Role::Work,
                rectangle([0.2, 0.05], [0.26, 0.15]),
                PRIMARY,
                h,
                h,
            )
            .voltage_v(1.0)
    };
    let (free, given) = (bench().free().run(), bench().run());
    assert_eq!(free.grid.len(), given.grid.len());
    assert_eq!(told(&free.grid.notes), [None; 2]);
    assert_eq!(told(&given.grid.notes), [None; 2]);
}
