//! Every connected surface gives a connected network.

use super::{Bench, cathode, oblique, skin};
use crate::grid::skin::Skin;
use crate::grid::{Grid, Space};
use crate::solid::{Ball, Cuboid, Placement, Relief, Revolved, Solid, Torus};
use ionfall_numerics::groups::Groups;

/// Separate parts of the network of the facets that are `on`.
fn parts<const D: usize>(grid: &Grid<D>, skin: &Skin, on: impl Fn(usize) -> bool) -> usize {
    let mut groups = Groups::new(grid.facets.len());
    for l in &skin.links {
        assert!(l.weight > 0.0 && l.weight.is_finite() && l.a < l.b);
        groups.join(l.a as usize, l.b as usize);
    }
    (0..grid.facets.len())
        .filter(|&f| on(f) && groups.find(f) == f)
        .count()
}

fn whole(name: &str, body: Solid<3>, size_m: f64) -> Skin {
    let grid = Bench::new(body, size_m).grid(Space::Tank);
    let skin = skin(&grid, cathode(&grid), |_| false);
    let facets = (0..grid.facets.len())
        .filter(|&f| grid.facets[f].body == 0)
        .count();
    let largest = skin.links.iter().map(|l| l.weight).fold(0.0, f64::max);
    println!(
        "{name}: {facets} facets, {} links, largest {largest:.1}, clipped {}, patched {}",
        skin.links.len(),
        skin.clipped,
        skin.patched
    );
    assert_eq!(parts(&grid, &skin, cathode(&grid)), 1, "{name}");
    assert!(largest < 3e3, "{name}: {largest}");
    assert!(skin.clipped + skin.patched < facets / 50, "{name}");
    skin
}

#[test]
fn boxes_and_curved_bodies_are_whole() {
    let box_ = Solid::new(Cuboid::new([-0.4, -0.3, -0.2], [0.4, 0.3, 0.2]).unwrap());
    whole("box along the grid", box_.clone(), 0.05);
    whole("oblique box", box_.placed(&oblique()), 0.05);
    let torus = Solid::new(Torus::new(0.5, 0.15).unwrap());
    whole("torus", torus.placed(&oblique()), 0.04);
    let cylinder = Solid::new(Revolved::cylinder(0.3, 0.6).unwrap());
    whole("cylinder", cylinder.placed(&oblique()), 0.05);
    let cone = Solid::new(Revolved::frustum(0.4, 0.0, 0.7).unwrap());
    whole("cone", cone.placed(&oblique()), 0.05);
}

#[test]
fn bodies_of_several_shapes_are_whole() {
    let ball = |c, r| Solid::new(Ball::new(c, r).unwrap());
    let two = Solid::Union(vec![
        ball([-0.2, 0.0, 0.0], 0.35),
        ball([0.25, 0.1, 0.05], 0.3),
    ]);
    whole("two balls", two, 0.04);
    let rod = Solid::new(Revolved::cylinder(0.12, 0.8).unwrap()).placed(&oblique());
    let lollipop = Solid::Union(vec![ball([0.0, 0.0, 0.0], 0.35), rod.clone()]);
    whole("ball on a rod", lollipop, 0.04);
    let drilled = Solid::Difference(Box::new(ball([0.0, 0.0, 0.3], 0.45)), vec![rod]);
    whole("drilled ball", drilled, 0.04);
}

#[test]
fn a_relief_with_many_pieces_in_a_cell_is_whole() {
    // Waves shorter than two cells.
    let heights = ndarray::Array2::from_shape_fn((65, 65), |(i, j)| {
        let (x, y) = (j as f32, i as f32);
        0.5 + 0.25 * (0.9 * x).sin() * (0.7 * y + 0.2 * x).cos() + 0.25 * (0.03 * x * y).sin()
    });
    let relief = Relief::new(&heights, 0.8, 0.8, 0.06, 0.1, true).unwrap();
    let middle = Placement::translation([-0.4, -0.4, -0.1]).unwrap();
    whole(
        "relief",
        Solid::new(relief).placed(&middle.then(&oblique())),
        0.04,
    );
}

#[test]
fn a_bare_gap_parts_the_skin() {
    let bar = Cuboid::new([-0.6, -0.2, -0.2], [0.6, 0.2, 0.2]).unwrap();
    let body = Solid::new(bar).placed(&oblique());
    let grid = Bench::new(body, 0.05).grid(Space::Tank);
    let on =
        |f: usize| grid.facets[f].body == 0 && oblique().undo(&grid.facets[f].point)[0].abs() > 0.1;
    let skin = skin(&grid, on, |_| false);
    assert_eq!(parts(&grid, &skin, on), 2);
}
