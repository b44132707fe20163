//! Films that vary over a face, on grids: the mean is that of the correlation.

use ionfall_bath::Electrolyte;
use ionfall_bath::electrolyte::Given;
use ionfall_bath::metal::COPPER;
use ionfall_bath::transfer::Agitation;
use ionfall_bath::transfer::correlation::Channel;
use ionfall_bath::transfer::jet::Jet;
use ionfall_mesh::grid::{Grid, build};
use ionfall_mesh::solid::{Cuboid, Solid};
use ionfall_model::{Parts, Tank};
use ionfall_network::{LocalLimits, local_limits};

fn bath(agitation: Agitation) -> Electrolyte {
    let given = Given {
        agitation: Some(agitation),
        conductivity_s_per_m: Some(20.0),
        concentration_mol_per_m3: Some(800.0),
        diffusion_m2_per_s: Some(6e-10),
        density_kg_per_m3: Some(1150.0),
        viscosity_pa_s: Some(1.3e-3),
        density_difference: Some(0.05),
        ..Given::default()
    };
    Electrolyte::custom(COPPER, 25.0, &given).unwrap()
}

fn block<const D: usize>(from: [f64; D], to: [f64; D]) -> Solid<D> {
    Solid::new(Cuboid::new(from, to).unwrap())
}

/// A plate of 100 mm along z in a tank in space, its edges on no cell's face.
fn tank(agitation: Agitation) -> Tank<3> {
    Tank::sized_m([0.1, 0.08, 0.14])
        .unwrap()
        .bath(bath(agitation))
        .anode("anode", block([0.09, 0.01, 0.02], [0.1, 0.07, 0.12]))
        .work(
            "plate",
            block([0.031, 0.0183, 0.0217], [0.0372, 0.0611, 0.1217]),
        )
        .cells_m(5e-3, 5e-3)
        .voltage_v(0.5)
}

fn solved(tank: Tank<3>) -> (Grid<3>, Parts<3>, Option<LocalLimits>) {
    let model = tank.model().unwrap();
    let film = model.bath.local_film;
    let parts = Parts::<3>::try_from(model.geometry).unwrap();
    let grid = build(&parts.domain, 1 << 30).unwrap();
    let found = local_limits(&grid, &parts, film.as_ref());
    (grid, parts, found)
}

const WORK: u16 = 1;

/// Mean over the facets of the plate that look to the anode.
fn front_mean(grid: &Grid<3>, shares: &[f64]) -> f64 {
    let front = |f: &usize| grid.facets[*f].body == WORK && grid.facets[*f].normal[0] > 0.9;
    let (mut sum, mut area) = (0.0, 0.0);
    for f in (0..shares.len()).filter(front) {
        sum += grid.facets[f].area_m2 * shares[f];
        area += grid.facets[f].area_m2;
    }
    sum / area
}

/// Free convection in space rises along z; the mean over the face is that of the correlation, 1 %.
#[test]
fn free_convection_grows_from_the_lower_edge() {
    let (grid, _, found) = solved(tank(Agitation::StillFace { height_m: 0.1 }));
    let found = found.unwrap();
    let mean = front_mean(&grid, &found.shares);
    assert!((mean - 1.0).abs() < 0.01, "{mean}");
    let plate = found.faces.iter().find(|face| face.electrode == 1).unwrap();
    assert!((plate.length_m - 0.1).abs() < 1e-9);
    for (facet, share) in grid.facets.iter().zip(&found.shares) {
        if facet.body != WORK {
            continue;
        }
        if facet.normal[2].abs() > 0.9 {
            assert_eq!(*share, 1.0);
        } else {
            // The mean over a cell's height about the place, of 3/4 (x/H)^(-1/4).
            let x = (facet.point[2] - 0.0217) / 0.1;
            if x > 0.2 {
                let exact = 0.75 * x.powf(-0.25);
                assert!((share / exact - 1.0).abs() < 0.01, "{x} {share} {exact}");
            }
        }
    }
    // At the anode it begins at the upper edge.
    let anode = |high: bool| {
        let ends = grid.facets.iter().zip(&found.shares);
        ends.filter(|(f, _)| f.body == 0 && f.normal[0] < -0.9 && (f.point[2] > 0.11) == high)
            .map(|(_, s)| *s)
            .fold(0.0, f64::max)
    };
    assert!(anode(true) > 1.3 && anode(false) < anode(true));
}

fn channel() -> Agitation {
    Agitation::Channel(Channel {
        velocity_m_per_s: 0.03,
        gap_m: 0.01,
        width_m: None,
        length_m: 0.1,
    })
}

/// A flow leads from one edge, whichever way it goes; without a way the mean is kept.
#[test]
fn a_flow_goes_where_it_is_said_to() {
    let at = [0.0; 3];
    let (grid, _, down) = solved(tank(channel()).flow_along([0.0, 0.0, -2.0], at));
    let shares = down.unwrap().shares;
    assert!((front_mean(&grid, &shares) - 1.0).abs() < 0.01);
    let largest = (0..shares.len())
        .max_by(|&a, &b| shares[a].total_cmp(&shares[b]))
        .unwrap();
    // Either plate or anode: both have their upper edge first.
    assert!(grid.facets[largest].point[2] > 0.11);
    assert!(solved(tank(channel())).2.is_none());
    assert!(solved(tank(Agitation::Air)).2.is_none());
}

/// A rod leads both edges alike and moves no anode; a zone keeps its own film.
#[test]
fn a_rod_moves_the_work_and_zones_win() {
    let rod = Agitation::MovedFace {
        speed_m_per_s: 0.05,
        length_m: 0.1,
    };
    let calm = block([0.0, 0.0, 0.1], [0.1, 0.08, 0.14]);
    let moved = tank(rod).flow_along([0.0, 0.0, 1.0], [0.0; 3]);
    let (grid, _, found) = solved(moved.clone());
    let found = found.unwrap();
    assert!((front_mean(&grid, &found.shares) - 1.0).abs() < 0.01);
    assert!(found.faces.iter().all(|face| face.electrode == 1));
    let (grid, _, zoned) = solved(moved.zone("calm", calm, 0.5));
    let zoned = zoned.unwrap();
    for (f, facet) in grid.facets.iter().enumerate() {
        let own = if facet.point[2] >= 0.1 {
            1.0
        } else {
            found.shares[f]
        };
        assert_eq!(zoned.shares[f], own);
    }
}

/// A jet feeds the face in front of it most about its axis, and its back not at all.
#[test]
fn a_jet_feeds_what_faces_it() {
    let jet = Agitation::Impinging(Jet {
        speed_m_per_s: 2.0,
        nozzle_m: 5e-3,
        distance_m: 30e-3,
        radius_m: 20e-3,
    });
    let (grid, _, found) = solved(tank(jet).flow_along([-1.0, 0.0, 0.0], [0.0, 0.04, 0.07]));
    let shares = found.unwrap().shares;
    for (facet, share) in grid
        .facets
        .iter()
        .zip(&shares)
        .filter(|(f, _)| f.body == WORK)
    {
        let [_, y, z] = facet.point;
        let radius_m = (y - 0.04).hypot(z - 0.07);
        if facet.normal[0] < 0.9 {
            assert_eq!(*share, 1.0);
        } else if radius_m < 8e-3 {
            // 0.4 (1 - 0.44) over the mean 0.25 (1 - 0.275).
            assert!((share / (0.224 / 0.18125) - 1.0).abs() < 0.01, "{share}");
        } else if radius_m > 22e-3 {
            assert!(*share < 0.8, "{radius_m} {share}");
        }
    }
}
