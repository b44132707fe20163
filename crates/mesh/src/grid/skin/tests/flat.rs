//! Plates, discs, rings and bent strips, oblique to the grid.

use super::{Bench, Network, conductance, errors, oblique, poisson};
use crate::grid::{Grid, Space, skin::skin};
use crate::solid::{Cuboid, Placement, Point, Polygon, Revolved, Solid};
use approx::assert_relative_eq;
use std::f64::consts::PI;

/// Does the facet look along a direction of the body?
fn looks(grid: &Grid<3>, f: usize, placement: &Placement<3>, along: Point<3>) -> bool {
    let axis = placement.turned(&along);
    let facet = &grid.facets[f];
    facet.body == 0 && (0..3).map(|k| axis[k] * facet.normal[k]).sum::<f64>() > 0.99
}

fn cuboid(low: Point<3>, high: Point<3>, placement: &Placement<3>) -> Solid<3> {
    Solid::new(Cuboid::new(low, high).unwrap()).placed(placement)
}

const UP: Point<3> = [0.0, 0.0, 1.0];

#[test]
fn a_square_with_free_border_converges_at_second_order() {
    let side = 0.9;
    let placement = oblique();
    let body = cuboid([0.0, 0.0, -0.1], [side, side, 0.0], &{
        Placement::translation([-0.45, -0.45, 0.0])
            .unwrap()
            .then(&placement)
    });
    let exact = |x: &Point<3>| {
        let p = placement.undo(x);
        (PI * (p[0] / side + 0.5)).cos() * (PI * (p[1] / side + 0.5)).cos()
    };
    let mut all = Vec::new();
    for n in [12.0, 24.0, 48.0] {
        let grid = Bench::new(body.clone(), side / n).grid(Space::Tank);
        let top = |f: usize| looks(&grid, f, &placement, UP);
        let (skin, u) = poisson(&grid, top, |x| 2.0 * (PI / side).powi(2) * exact(x));
        let e = errors(&grid, top, &u, exact);
        println!(
            "square {n}: errors {:.3} % {:.3} %, clipped {}, patched {}",
            100.0 * e[0],
            100.0 * e[1],
            skin.clipped,
            skin.patched
        );
        all.push(e);
    }
    let order = (all[1][1] / all[2][1]).log2();
    println!("order {order}");
    assert!(order > 1.8);
}

#[test]
fn a_disc_fed_at_the_rim_follows_the_bessel_function() {
    // Case R03: sheet 0.1 ohm, leak 0.0015 ohm m2, 0.4 V, radius 0.1 m, here five times as large
    // (leak times 25): current 7.74904837334 A, 227.1937786291 A/m2 in the middle over 25.
    let (radius, leak, sheet, volt) = (0.5, 0.0015 * 25.0, 0.1, 0.4);
    let placement = Placement::translation([0.0, 0.0, -0.1])
        .unwrap()
        .then(&oblique());
    let body = Solid::new(Revolved::cylinder(radius, 0.1).unwrap()).placed(&placement);
    let mut wrong = Vec::new();
    for n in [16.0, 32.0, 64.0] {
        let grid = Bench::new(body.clone(), 2.0 * radius / n).grid(Space::Tank);
        let top = |f: usize| looks(&grid, f, &placement, UP);
        let skin = skin(&grid, top, |_| true);
        let mut network = Network::new(grid.facets.len(), &skin);
        for l in &mut network.links {
            l.2 /= sheet;
        }
        let mut held = skin.clone();
        held.rims.iter_mut().for_each(|r| r.weight /= sheet);
        network.hold(&held, |_| volt);
        for f in (0..grid.facets.len()).filter(|&f| top(f)) {
            network.leak[f] += grid.facets[f].area_m2 / leak;
        }
        let u = network.solve();
        let own = || (0..grid.facets.len()).filter(|&f| top(f));
        let current: f64 = own().map(|f| grid.facets[f].area_m2 * u[f] / leak).sum();
        let middle = own()
            .map(|f| {
                let p = placement.undo(&grid.facets[f].point);
                (p[0].hypot(p[1]), u[f] / leak)
            })
            .min_by(|x, y| x.0.total_cmp(&y.0))
            .unwrap();
        let rim: f64 = skin.rims.iter().map(|r| r.weight).sum();
        println!(
            "disc {n}: current {:+.4} %, middle {:+.4} %, clipped {}, patched {}, rim {rim:.1}",
            100.0 * (current / 7.74904837334 - 1.0),
            100.0 * (25.0 * middle.1 / 227.1937786291 - 1.0),
            skin.clipped,
            skin.patched
        );
        wrong.push(current / 7.74904837334 - 1.0);
        assert_relative_eq!(current, 7.74904837334, max_relative = 5e-3);
        assert_relative_eq!(25.0 * middle.1, 227.1937786291, max_relative = 5e-3);
    }
    assert!(wrong[2].abs() < 5e-4, "{wrong:?}");
}

#[test]
fn a_straight_strip_has_the_resistance_of_its_squares() {
    let (length, width) = (1.2, 0.3);
    let placement = oblique();
    let body = cuboid([-0.6, -0.15, -0.1], [0.6, 0.15, 0.0], &placement);
    for size in [0.1, 0.05, 0.03] {
        let grid = Bench::new(body.clone(), size).grid(Space::Tank);
        let top = |f: usize| looks(&grid, f, &placement, UP);
        let along = |x: &Point<3>| placement.undo(x)[0];
        let skin = skin(&grid, top, |x| along(x).abs() > 0.6 - 1e-6);
        let found = conductance(&grid, &skin, |x| along(x) > 0.0);
        println!("strip {size}: {found} {}", found * length / width - 1.0);
        assert_eq!((skin.clipped, skin.patched), (0, 0));
        assert_relative_eq!(found, width / length, max_relative = 1e-9);
    }
}

#[test]
fn a_strip_of_one_facet_keeps_its_resistance() {
    let placement = oblique();
    let body = cuboid([-0.6, -0.02, -0.1], [0.6, 0.02, 0.0], &placement);
    let grid = Bench::new(body, 0.1).grid(Space::Tank);
    let top = |f: usize| looks(&grid, f, &placement, UP);
    let along = |x: &Point<3>| placement.undo(x)[0];
    let skin = skin(&grid, top, |x| along(x).abs() > 0.6 - 1e-6);
    let found = conductance(&grid, &skin, |x| along(x) > 0.0);
    println!("narrow strip: {}", found * 1.2 / 0.04 - 1.0);
    assert_relative_eq!(found, 0.04 / 1.2, max_relative = 0.02);
}

/// A strip over the edge of a box, its sides under stop-off: half its length on each face.
#[test]
fn a_strip_bent_over_a_sharp_edge_is_as_good_as_a_flat_one() {
    let (half, width) = (0.6, 0.4);
    let placement = oblique();
    let body = cuboid([-0.3, -0.4, -0.3], [0.3, 0.4, 0.3], &placement);
    let cover = |low: f64, high: f64| cuboid([-0.5, low, -0.5], [0.5, high, 0.5], &placement);
    for size in [0.08, 0.04] {
        let mut bench = Bench::new(body.clone(), size);
        bench.stop_offs = vec![cover(-0.5, -0.2), cover(0.2, 0.5)];
        let grid = bench.grid(Space::Tank);
        let on = |f: usize| {
            looks(&grid, f, &placement, UP) || looks(&grid, f, &placement, [1.0, 0.0, 0.0])
        };
        let along = |x: &Point<3>| {
            let p = placement.undo(x);
            p[0] - p[2]
        };
        let skin = skin(&grid, on, |x| along(x).abs() > 0.6 - 1e-6);
        let found = conductance(&grid, &skin, |x| along(x) > 0.0);
        println!("bent {size}: {}", found * 2.0 * half / width - 1.0);
        assert_relative_eq!(found, 0.5 * width / half, max_relative = 1e-5);
    }
}

#[test]
fn a_strip_across_cells_of_two_sizes_has_the_resistance_of_its_squares() {
    let (length, width) = (1.2, 0.5);
    let placement = oblique();
    let body = cuboid([-0.6, -0.25, -0.1], [0.6, 0.25, 0.0], &placement);
    let mut bench = Bench::new(body, 0.08);
    let fine = Cuboid::new([-0.1, -0.1, -1.0], [0.2, 1.0, 1.0]).unwrap();
    bench.region = Some((Solid::new(fine), 0.02));
    let grid = bench.grid(Space::Tank);
    let top = |f: usize| looks(&grid, f, &placement, UP);
    let sizes: std::collections::BTreeSet<u8> = (0..grid.facets.len())
        .filter(|&f| top(f))
        .map(|f| grid.node_cell[grid.facet_node[f] as usize].level)
        .collect();
    assert!(sizes.len() > 1, "{sizes:?}");
    let along = |x: &Point<3>| placement.undo(x)[0];
    let skin = skin(&grid, top, |x| along(x).abs() > 0.6 - 1e-6);
    let found = conductance(&grid, &skin, |x| along(x) > 0.0);
    println!(
        "two sizes: {:e}, clipped {}",
        found * length / width - 1.0,
        skin.clipped
    );
    // One facet that just touches the fed end would get a negative rim, which is left out.
    assert_relative_eq!(found, width / length, max_relative = 1e-3);
    // The linear field leaves no current behind anywhere else.
    let mut left = vec![0.0; grid.facets.len()];
    for l in &skin.links {
        let drop = [l.a, l.b].map(|f| along(&grid.facets[f as usize].point));
        left[l.a as usize] += l.weight * (drop[0] - drop[1]);
        left[l.b as usize] += l.weight * (drop[1] - drop[0]);
    }
    for f in (0..left.len()).filter(|&f| top(f)) {
        if along(&grid.facets[f].point).abs() < 0.45 {
            assert!(left[f].abs() < 1e-9, "{f}: {}", left[f]);
        }
    }
}

#[test]
fn a_ring_has_the_resistance_of_the_logarithm() {
    let (inner, outer) = (0.2, 0.6);
    let profile = vec![[inner, -0.1], [outer, -0.1], [outer, 0.0], [inner, 0.0]];
    let ring = Revolved::new(Polygon::new(profile, Vec::new()).unwrap()).unwrap();
    let placement = oblique();
    let body = Solid::new(ring).placed(&placement);
    let exact = 2.0 * PI / (outer / inner).ln();
    let mut wrong = Vec::new();
    for size in [0.08, 0.04, 0.02] {
        let grid = Bench::new(body.clone(), size).grid(Space::Tank);
        let top = |f: usize| looks(&grid, f, &placement, UP);
        let radius = |x: &Point<3>| {
            let p = placement.undo(x);
            p[0].hypot(p[1])
        };
        let skin = skin(&grid, top, |_| true);
        let found = conductance(&grid, &skin, |x| radius(x) < 0.4);
        println!("ring {size}: {:+.4} %", 100.0 * (found / exact - 1.0));
        wrong.push((found / exact - 1.0).abs());
    }
    assert!(wrong[2] < 3e-3, "{wrong:?}");
    assert!(wrong[2] < 0.4 * wrong[1], "{wrong:?}");
}
