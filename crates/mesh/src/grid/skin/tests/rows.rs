//! Planar and axisymmetric jobs.

use super::{Bench, Network, conductance};
use crate::grid::{Space, skin::skin};
use crate::solid::{Cuboid, Placement, Point, Solid};
use approx::assert_relative_eq;
use std::f64::consts::PI;

fn up<const D: usize>(grid: &crate::grid::Grid<D>, f: usize, axis: Point<D>) -> bool {
    let facet = &grid.facets[f];
    facet.body == 0 && (0..D).map(|k| axis[k] * facet.normal[k]).sum::<f64>() > 0.99
}

#[test]
fn a_planar_strip_has_the_resistance_of_its_squares() {
    let depth_m = 0.25;
    let placement = Placement::<2>::rotation(0.4).unwrap();
    let bar = Cuboid::<2>::new([-0.6, -0.1], [0.6, 0.0]).unwrap();
    let grid = Bench::new(Solid::new(bar).placed(&placement), 0.03).grid(Space::Planar { depth_m });
    let top = |f: usize| up(&grid, f, placement.turned(&[0.0, 1.0]));
    let skin = skin(&grid, top, |_| true);
    assert_eq!(skin.rims.len(), 2);
    let found = conductance(&grid, &skin, |x| placement.undo(x)[0] > 0.0);
    assert_relative_eq!(found, depth_m / 1.2, max_relative = 1e-12);
}

#[test]
fn a_bent_planar_strip_goes_around_the_corner() {
    let placement = Placement::<2>::rotation(0.4).unwrap();
    let bar = Cuboid::<2>::new([-0.6, -0.3], [0.6, 0.3]).unwrap();
    let depth_m = 1.0;
    let grid = Bench::new(Solid::new(bar).placed(&placement), 0.03).grid(Space::Planar { depth_m });
    let on = |f: usize| {
        up(&grid, f, placement.turned(&[0.0, 1.0])) || up(&grid, f, placement.turned(&[1.0, 0.0]))
    };
    let skin = skin(&grid, on, |_| true);
    let found = conductance(&grid, &skin, |x| placement.undo(x)[1] > 0.29);
    assert_relative_eq!(found, 1.0 / 1.8, max_relative = 1e-12);
}

#[test]
fn a_revolved_ring_has_the_resistance_of_the_logarithm() {
    let bar = Cuboid::<2>::new([0.2, -0.1], [0.6, 0.0]).unwrap();
    let grid = Bench::new(Solid::new(bar), 0.03).grid(Space::Axisymmetric);
    let top = |f: usize| up(&grid, f, [0.0, 1.0]);
    let skin = skin(&grid, top, |_| true);
    let found = conductance(&grid, &skin, |x| x[0] < 0.4);
    assert_relative_eq!(found, 2.0 * PI / 3f64.ln(), max_relative = 1e-9);
}

#[test]
fn a_revolved_disc_follows_the_bessel_function() {
    // Case R03 enlarged, as in the test in space; R03's middle value is at r = 0, the
    // facet at the axis has its centre at two thirds of its width.
    let (radius, leak, sheet, volt) = (0.5, 0.0015 * 25.0, 0.1, 0.4);
    let mut wrong = Vec::new();
    for n in [16.0, 32.0, 64.0] {
        let bar = Cuboid::<2>::new([0.0, -0.1], [radius, 0.0]).unwrap();
        let grid = Bench::new(Solid::new(bar), radius / n).grid(Space::Axisymmetric);
        let top = |f: usize| up(&grid, f, [0.0, 1.0]);
        let mut skin = skin(&grid, top, |_| true);
        assert_eq!(skin.rims.len(), 1, "no current crosses the axis");
        skin.rims[0].weight /= sheet;
        let mut network = Network::new(grid.facets.len(), &skin);
        network.links.iter_mut().for_each(|l| l.2 /= sheet);
        network.hold(&skin, |_| volt);
        let own = || (0..grid.facets.len()).filter(|&f| top(f));
        for f in own() {
            network.leak[f] += grid.facets[f].area_m2 / leak;
        }
        let u = network.solve();
        let current: f64 = own().map(|f| grid.facets[f].area_m2 * u[f] / leak).sum();
        println!(
            "revolved disc {n}: {:+.5} %",
            100.0 * (current / 7.74904837334 - 1.0)
        );
        wrong.push((current / 7.74904837334 - 1.0).abs());
    }
    assert!(wrong[2] < 1e-4, "{wrong:?}");
}
