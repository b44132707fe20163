//! The maximum principle, where the accurate form breaks it.

use super::laws::{ButlerVolmer, Equipotential};
use super::networks::{Metals, Tank, distort};
use crate::law::Law;
use crate::network::{Coupling, Facet, Network, Rows};
use crate::{Settings, solve};

const VOLTS: f64 = 1.3;

const TANK: Tank = Tank {
    cells: 16,
    dimension: 2,
    edge_m: 0.1,
    kappa: 20.0,
};

/// A tank with a pocket: a cell behind a pinhole in the middle of the tank, with as much cathode in it
/// as in any other cell. Its facet reads the cell outside, as if the pinhole were wide open, and so
/// does the pocket enter the probes of the cathode.
fn with_pocket(law: fn() -> Box<dyn Law>, pinhole: f64) -> (Network, Metals, u32) {
    let (mut network, Metals { anode, cathode }) = TANK.network(Box::new(Equipotential), law());
    let middle = TANK.cells.pow(2) / 2 + 8;
    let h = TANK.edge_m / f64::from(TANK.cells);
    let pocket = network.addresses.len() as u32;
    network.addresses.push(network.addresses[middle as usize]);
    network.couplings_mut().links.push(Coupling {
        a: middle,
        b: pocket,
        metres: pinhole * h,
    });
    let mut probes = Rows::default();
    for f in &network.facets {
        if f.metal == cathode {
            let row = [(f.cell, 1.2), (f.cell - 1, 0.3), (pocket, -0.5)];
            probes.push(row);
        } else {
            probes.push([(f.cell, 1.0)]);
        }
    }
    network.facets.push(Facet {
        cell: pocket,
        metal: cathode,
        area_m2: h * h,
        series_m: 0.5 * h,
        depth: 0.0,
        law: 1,
    });
    probes.push([(middle, 1.0)]);
    network.probes = probes.into();
    network.fixed = vec![(cathode, 0.0), (anode, VOLTS)];
    (network, Metals { anode, cathode }, pocket)
}

fn laws() -> [fn() -> Box<dyn Law>; 2] {
    [
        || Box::new(Equipotential),
        || {
            Box::new(ButlerVolmer {
                exchange_a_per_m2: 5.0,
                slope_v: 0.05,
            })
        },
    ]
}

/// All potentials lie between the metals, and the cathode is cathodic everywhere; the pinhole may be
/// of any size. Only the cells concerned lose their accurate form.
#[test]
fn a_starved_cell_turns_no_current_round() {
    for law in laws() {
        for pinhole in [1e-1, 1e-3, 1e-6] {
            let (mut network, metals, pocket) = with_pocket(law, pinhole);
            let solution = solve(&mut network, &Settings::default(), None).unwrap();
            for v in &solution.potential_v {
                assert!((-1e-9..=VOLTS + 1e-9).contains(v), "{v} V, {pinhole}");
            }
            for (f, i) in network
                .facets
                .iter()
                .zip(&solution.current_density_a_per_m2)
            {
                let sign = if f.metal == metals.cathode { -1.0 } else { 1.0 };
                assert!(sign * i >= 0.0, "{i} A/m2, {pinhole}");
            }
            assert!(network.plain.binary_search(&pocket).is_ok());
            assert!(network.plain.len() <= 1 + TANK.cells as usize);
            assert!(solution.balance_error < 1e-9);
        }
    }
}

/// Going on from what was found changes nothing, and nothing is found twice.
#[test]
fn plain_nodes_stay() {
    let (mut network, ..) = with_pocket(laws()[1], 1e-3);
    let first = solve(&mut network, &Settings::default(), None).unwrap();
    let plain = network.plain.clone();
    let again = solve(&mut network, &Settings::default(), Some(&first.potential_v)).unwrap();
    assert_eq!(network.plain, plain);
    for (a, b) in first.potential_v.iter().zip(&again.potential_v) {
        assert!((a - b).abs() < 1e-7 * VOLTS, "{a} {b}");
    }
}

/// A sound network keeps its accurate form everywhere.
#[test]
fn sound_networks_have_no_plain_nodes() {
    for law in laws() {
        let (mut network, Metals { anode, cathode }) = TANK.network(Box::new(Equipotential), law());
        distort(&mut network);
        network.fixed = vec![(cathode, 0.0), (anode, VOLTS)];
        solve(&mut network, &Settings::default(), None).unwrap();
        assert_eq!(network.plain, Vec::<u32>::new());
    }
}
