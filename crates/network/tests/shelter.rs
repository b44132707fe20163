//! Sheltered places against the problem solved on paper and by finite differences.

use ionfall_mesh::grid::{Grid, build};
use ionfall_mesh::solid::{Cuboid, Polygon, Solid};
use ionfall_model::{Parts, Tank};
use ionfall_network::shelter;
use std::f64::consts::TAU;

const MM: f64 = 1e-3;

fn block(from: [f64; 2], to: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(from.map(|x| x * MM), to.map(|x| x * MM)).unwrap())
}

/// A block with a groove of the width 0.1 mm, its mouth at y = 0 and its middle at x = 0.
fn grooved(depth_mm: f64) -> Solid<2> {
    let corners = [
        [-8.0, -2.0],
        [8.0, -2.0],
        [8.0, 0.0],
        [0.05, 0.0],
        [0.05, -depth_mm],
        [-0.05, -depth_mm],
        [-0.05, 0.0],
        [-8.0, 0.0],
    ];
    let corners = corners.map(|c| c.map(|x| x * MM)).to_vec();
    Solid::new(Polygon::new(corners, Vec::new()).unwrap())
}

/// The tank around it: an anode far above.
fn tank(work: Solid<2>, cells_mm: f64) -> Tank<2> {
    Tank::planar(block([-60.0, -10.0], [60.0, 150.0]), 0.1)
        .conductivity_s_per_m(20.0)
        .anode("anode", block([-60.0, 145.0], [60.0, 150.0]))
        .cells_m(2e-3, 2e-3)
        .work("work", work)
        .cells_m(cells_mm * MM, cells_mm * MM)
        .voltage_v(1.0)
}

fn solved(tank: Tank<2>, film_m: f64, radius_m: f64) -> (Grid<2>, Option<Vec<f64>>) {
    let parts = Parts::<2>::try_from(tank.model().unwrap().geometry).unwrap();
    let grid = build(&parts.domain, 1 << 30).unwrap();
    let found = shelter(&grid, &parts, film_m, radius_m).unwrap();
    if let Some(shelter) = &found {
        assert!(shelter.iter().all(|s| *s > 0.0 && *s <= 1.0));
    }
    (grid, found)
}

/// Middle of the bottom of a stagnant groove, `c = 0` on all metal: reference by finite differences with the
/// film's diffusivity above a flat edge at the mouth (own computation, 80 cells across). A film with a
/// sharp edge at `delta` gives 0.1633, 0.0715, 0.162, 0.01485, 0.0339, 0.00064.
#[test]
fn the_bottom_of_a_groove() {
    for (depth, film, reference) in [
        (0.25, 0.05, 0.1626),
        (0.5, 0.05, 0.0711),
        (0.5, 0.15, 0.1589),
        (1.0, 0.05, 0.01476),
        (1.0, 0.15, 0.03321),
        (2.0, 0.05, 0.000638),
    ] {
        let tank = tank(grooved(0.1 * depth), 0.1 / 64.0);
        let (grid, found) = solved(tank, 0.1 * film * MM, 30.0 * MM);
        let shelter = found.unwrap();
        let bottom = (0..shelter.len())
            .filter(|&f| grid.facets[f].normal[1] > 0.9 && grid.facets[f].point[1] < -0.01 * MM)
            .min_by(|&a, &b| {
                let off = |f: usize| grid.facets[f].point[0].abs();
                off(a).total_cmp(&off(b))
            });
        let share = shelter[bottom.unwrap()];

        assert!(
            (share / reference - 1.0).abs() < 0.02,
            "{depth} {film}: {share}"
        );
        let land = |f: usize| {
            grid.facets[f].point[1].abs() < 1e-6 * MM && grid.facets[f].point[0].abs() > 0.1 * MM
        };
        assert!(
            (0..shelter.len())
                .filter(|&f| land(f))
                .all(|f| shelter[f] == 1.0)
        );
    }
}

/// A recess between insulators whose bottom is the only cathode: the film and the recess in series. The
/// film is thin against the width, so that what it gets from the sides does not count; the ball sinks into the
/// mouth by `w^2 / (12 a)` on average.
#[test]
fn an_insulated_recess() {
    for (length_mm, cells_mm) in [(1.0, 0.1), (1.0, 0.15), (2.5, 0.125)] {
        let (film_mm, ball_mm) = (0.004, 60.0);
        let mut tank = tank(block([-0.5, -5.0], [0.5, -length_mm]), cells_mm);
        for (name, from, to) in [
            ("left", [-9.0, -5.0], [-0.5, 0.0]),
            ("right", [0.5, -5.0], [9.0, 0.0]),
        ] {
            tank = tank
                .shield(name, block(from, to))
                .cells_m(cells_mm * MM, cells_mm * MM);
        }
        let (grid, found) = solved(tank, film_mm * MM, ball_mm * MM);
        let shelter = found.unwrap();
        let exact = film_mm / (film_mm + length_mm - 1.0 / (12.0 * ball_mm));
        let (mut sum, mut area) = (0.0, 0.0);
        for (facet, share) in grid.facets.iter().zip(&shelter) {
            if facet.body == 1 && facet.normal[1] > 0.9 {
                sum += facet.area_m2 * share;
                area += facet.area_m2;
            }
        }

        assert!(
            (sum / area / exact - 1.0).abs() < 2e-3,
            "{} {exact}",
            sum / area
        );
    }
}

/// A block that stands free has no sheltered place, however large it is and however it is turned.
#[test]
fn nothing_in_the_open_is_sheltered() {
    let mut seed = 7_u64;
    let mut random = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (seed >> 11) as f64 / (1_u64 << 53) as f64
    };
    for _ in 0..12 {
        let size = [2.0 + 6.0 * random(), 2.0 + 6.0 * random()];
        let (sin, cos) = (TAU * random()).sin_cos();
        let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]].map(|c: [f64; 2]| {
            let [x, y] = [c[0] * size[0], c[1] * size[1]].map(|x| 0.5 * x * MM);
            [cos * x - sin * y, sin * x + cos * y]
        });
        let work = Solid::new(Polygon::new(corners.to_vec(), Vec::new()).unwrap());
        let tank = tank(work, 0.2 + 0.5 * random());
        let film_m = (0.01 + 0.2 * random()) * MM;
        let (_, found) = solved(tank, film_m, (1.0 + 4.0 * random()) * MM);
        assert_eq!(found, None);
    }
}
