//! The headline figures as cells shrink: the thickest place at a sharp edge, the thinnest one in a
//! slot, whatever the rest of the body is divided into.
//!
//! References are computed here, not published: the L-shaped Tafel cathodes with quadratic finite
//! elements crowded at the corner (the mesh of `tests/independent/check_fem.py`; 361.87 and 361.93
//! A/m2 on the two finest for the first, 359.96 and 360.03 for the second).

use crate::bench::{Bench, PRIMARY, linear, tafel};
use ionfall_bath::metal::COPPER;
use ionfall_deposit::{BodyOutcome, EdgeFigure, Outcome, Place};
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, HalfSpace, Solid};
use ionfall_model::{Role, Tank};

const PLANAR: Space = Space::Planar { depth_m: 0.1 };

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

/// Current density that grows a thickness in the hour the bench takes, A/m2.
fn current(thickness_m: f64) -> f64 {
    thickness_m / (3600.0 * COPPER.thickness_rate_m_per_s(1.0, 1.0))
}

fn work(outcome: &Outcome<2>) -> &BodyOutcome {
    outcome
        .bodies
        .iter()
        .find(|b| b.role == Role::Work)
        .unwrap()
}

fn thickest(outcome: &Outcome<2>) -> Place {
    work(outcome).thickest.unwrap()
}

fn anode() -> Solid<2> {
    rectangle([0.1, -0.01], [0.11, 0.07])
}

/// The tank less the block of a cathode, 15 S/m, 1 V.
fn l_shape(corner: [f64; 2], edge_m: f64) -> Outcome<2> {
    Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.06]), 15.0, 2e-3, 2e-3)
        .put(
            Role::Work,
            rectangle([-0.01, -0.01], corner),
            tafel(1.0, 0.05, None),
            1e-3,
            edge_m,
        )
        .put(Role::Anode, anode(), PRIMARY, 2e-3, 2e-3)
        .run()
}

#[test]
fn the_thickest_place_at_a_sharp_edge_converges() {
    for (corner, reference) in [([0.04, 0.02], 361.9), ([0.0403, 0.0207], 360.0)] {
        let mut off = Vec::new();
        for edge_m in [1e-3, 5e-4, 2.5e-4, 1.25e-4, 6.25e-5] {
            let outcome = l_shape(corner, edge_m);
            let place = thickest(&outcome);
            let edge = place.edge.expect("the thickest place is the corner");
            let error = current(place.value) / reference - 1.0;
            eprintln!(
                "L, corner {corner:?}, cells {:.4} mm: {:+.2} %, {:?}, Wagner length {:.2} mm",
                1e3 * edge.cell_m,
                100.0 * error,
                edge.figure,
                1e3 * edge.wagner_length_m
            );
            let spread = work(&outcome).thickness_m.unwrap();
            assert_eq!(spread.max, place.value);
            assert!(spread.p99 <= spread.max && spread.p01 >= spread.min);
            match edge.figure {
                EdgeFigure::Resolved => assert!(error.abs() < 0.01, "{error}"),
                EdgeFigure::AtLeast => assert!(error < 0.0, "{error}"),
                EdgeFigure::StripMean | EdgeFigure::EndOfMetal => panic!("there is a law"),
            }
            // Told as resolved when it is.
            let resolved = edge.cell_m <= 0.2 * edge.wagner_length_m;
            assert_eq!(edge.figure == EdgeFigure::Resolved, resolved);
            off.push(error);
        }
        assert!(off[0] < -0.02, "the coarsest cells do not resolve it");
        let last = off[off.len() - 2..].iter();
        assert!(last.clone().all(|e| e.abs() < 0.006), "{off:?}");
    }
}

/// A cathode that is a part of the floor, the floor beside it being an insulator, and a bar with
/// lacquer from its edge on: its current is told as a least value, and grows towards the true one as
/// cells shrink. References: quadratic finite elements crowded at the edges, computed here: 1091.2
/// and 1092.5 A/m2, and 2857.1 and 2854.6 A/m2, on the two finest.
#[test]
fn the_thickest_place_beside_an_insulator_is_a_least_value() {
    let floor = rectangle([0.0203, -0.01], [0.0407, 0.0]);
    let bar = rectangle([-0.01, -0.01], [0.0403, 0.0207]);
    let below = Solid::new(HalfSpace::new([0.0403, 0.0207], [-1.0, 1.0]).unwrap());
    for (shape, lacquer, reference, most) in [
        (floor, None, 1092.5, 0.05),
        (bar, Some(below), 2854.6, 0.25),
    ] {
        let errors = [1e-3, 5e-4, 2.5e-4, 1.25e-4, 6.25e-5, 3.125e-5].map(|edge_m| {
            let mut bench =
                Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.06]), 15.0, 2e-3, 2e-3).put(
                    Role::Work,
                    shape.clone(),
                    tafel(1.0, 0.05, None),
                    1e-3,
                    edge_m,
                );
            if let Some(lacquer) = &lacquer {
                bench = bench.stop_off(lacquer.clone());
            }
            let bench = bench.put(Role::Anode, anode(), PRIMARY, 2e-3, 2e-3);
            let place = thickest(&bench.run());
            let edge = place.edge.expect("the surface ends there");
            assert_eq!(edge.figure, EdgeFigure::EndOfMetal);
            current(place.value) / reference - 1.0
        });
        eprintln!("beside an insulator: {errors:.4?}");
        assert!(errors.windows(2).all(|e| e[1] > e[0]), "{errors:?}");
        assert!(errors.iter().all(|e| *e < 0.0), "{errors:?}");
        assert!(errors[5] > -most, "{errors:?}");
    }
}

/// A wall of the tank at right angles is no edge: the field goes on as in a mirror.
#[test]
fn a_panel_from_wall_to_wall_has_no_edge() {
    let outcome = Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.06]), 15.0, 2e-3, 2e-3)
        .put(
            Role::Work,
            rectangle([-0.01, -0.01], [0.0101, 0.07]),
            tafel(1.0, 0.05, None),
            2e-3,
            2e-3,
        )
        .put(
            Role::Anode,
            rectangle([0.07, 0.03], [0.08, 0.07]),
            PRIMARY,
            2e-3,
            2e-3,
        )
        .run();
    assert!(thickest(&outcome).edge.is_none());
}

/// Without kinetics the strip beside the edge gets more the narrower it is, by the power of the
/// corner: 2^(1/3) for half the width.
#[test]
fn without_kinetics_an_edge_has_no_finite_value() {
    let mean = |edge_m: f64| {
        let outcome = Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.06]), 15.0, 2e-3, 2e-3)
            .put(
                Role::Work,
                rectangle([0.02, 0.02], [0.024, 0.04]),
                PRIMARY,
                1e-3,
                edge_m,
            )
            .put(Role::Anode, anode(), linear(1e-3), 2e-3, 2e-3)
            .run();
        let place = thickest(&outcome);
        let edge = place.edge.expect("a corner of the panel");
        assert_eq!(edge.figure, EdgeFigure::StripMean);
        assert_eq!(edge.wagner_length_m, 0.0);
        assert!(
            (0.49..1.6).contains(&(edge.strip_m / edge.cell_m)),
            "{edge:?}"
        );
        (place.value, edge.cell_m)
    };
    let found = [1e-3, 5e-4, 2.5e-4, 1.25e-4].map(mean);
    eprintln!("panel without kinetics: {found:?}");
    // Single steps differ: the corner cuts its cells now here, now there.
    for pair in found.windows(2) {
        assert!(pair[1].0 > 1.05 * pair[0].0, "{found:?}");
    }
    let ([wide, .., narrow], [from_m, .., to_m]) = (found.map(|f| f.0), found.map(|f| f.1));
    let power = (narrow / wide).ln() / (from_m / to_m).ln();
    assert!((power - 1.0 / 3.0).abs() < 0.06, "{power}");
}

/// A panel with a law, its edges refined further and further.
#[test]
fn refined_edges_of_a_panel_are_not_lost() {
    let found: Vec<Place> = [1e-3, 5e-4, 2.5e-4, 1.25e-4, 6.25e-5]
        .map(|edge_m| {
            let outcome = Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.06]), 15.0, 2e-3, 2e-3)
                .put(
                    Role::Work,
                    rectangle([0.02, 0.0203], [0.0243, 0.0401]),
                    tafel(1.0, 0.05, None),
                    2e-3,
                    edge_m,
                )
                .put(Role::Anode, anode(), PRIMARY, 2e-3, 2e-3)
                .run();
            thickest(&outcome)
        })
        .to_vec();
    let last = found[found.len() - 1].value;
    for place in &found {
        let edge = place.edge.expect("a corner of the panel");
        let off = place.value / last - 1.0;
        eprintln!(
            "panel, cells {:.4} mm: {:+.2} %, {:?}",
            1e3 * edge.cell_m,
            100.0 * off,
            edge.figure
        );
        match edge.figure {
            EdgeFigure::Resolved => assert!(off.abs() < 0.01, "{off}"),
            _ => assert!(off < 0.0, "{off}"),
        }
    }
}

/// A slot in a plate, the cells in it halved and halved again while the plate keeps its own.
#[test]
fn the_thinnest_place_of_a_refined_slot_is_not_lost() {
    let slot = rectangle([0.03, 0.0287], [0.05, 0.0323]);
    let thinnest: Vec<f64> = [2e-3, 1e-3, 5e-4, 2.5e-4]
        .map(|finest_m| {
            let plate = Solid::Difference(
                Box::new(rectangle([-0.01, -0.01], [0.04, 0.07])),
                vec![slot.clone()],
            );
            let bench = Tank::bench(PLANAR, rectangle([0.0, 0.0], [0.1, 0.06]), 15.0, 2e-3, 2e-3)
                .put(Role::Work, plate, tafel(1.0, 0.05, None), 2e-3, 2e-3)
                .put(Role::Anode, anode(), PRIMARY, 2e-3, 2e-3);
            let corner = rectangle([0.029, 0.027], [0.036, 0.034]);
            // The region alone refines.
            let outcome = bench.region_m(corner, finest_m).cells_across(0.0).run();
            let body = work(&outcome);
            let place = body.thinnest.unwrap();
            let facets = outcome.grid.facets.iter().zip(&outcome.thickness_m);
            let least = facets
                .filter(|(f, _)| f.body == 0)
                .map(|(_, h)| *h)
                .fold(f64::INFINITY, f64::min);
            eprintln!(
                "slot, cells {} mm: thinnest {:.3} um at {:?}, least facet {:.3} um",
                1e3 * finest_m,
                1e6 * place.value,
                place.at_m,
                1e6 * least
            );
            assert!(place.at_m[0] < 0.033, "not in the slot: {:?}", place.at_m);
            assert!(
                (place.value / least - 1.0).abs() < 0.1,
                "{} {least}",
                place.value
            );
            assert_eq!(body.thickness_m.unwrap().min, place.value);
            assert_eq!(outcome.history.moments.last().unwrap().least_m, place.value);
            place.value
        })
        .to_vec();
    let steps: Vec<f64> = thinnest
        .windows(2)
        .map(|w| (w[1] / w[0] - 1.0).abs())
        .collect();
    assert!(steps[2] < 0.5 * steps[0] && steps[2] < 0.05, "{steps:?}");
}
