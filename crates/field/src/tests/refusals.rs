//! Networks that have no solution, and what is said of them.

use super::laws::{Equipotential, Tafel};
use super::networks::plates;
use crate::law::{Law, Response};
use crate::network::{Address, Conductivity, Link, Network};
use crate::{FieldError, Settings, solve};

fn error(network: &mut Network) -> FieldError {
    solve(network, &Settings::default(), None).expect_err("no solution")
}

fn good() -> Network {
    let (mut network, metals, _) = plates(8, Box::new(Equipotential), Box::new(Equipotential));
    network.fixed = vec![(metals.anode, 1.0), (metals.cathode, 0.0)];
    network
}

#[test]
fn empty_network() {
    assert_eq!(error(&mut Network::default()), FieldError::Empty);
}

#[test]
fn floating_part_is_named() {
    let mut network = good();
    // Two nodes linked to one another only.
    network.addresses.extend([Address::metal(); 2]);
    network.links.push(Link {
        a: 10,
        b: 11,
        conductance_s: 1.0,
    });
    assert_eq!(error(&mut network), FieldError::Floating { node: 10 });
    network.links.push(Link {
        a: 11,
        b: 8,
        conductance_s: 0.0,
    });
    assert_eq!(error(&mut network), FieldError::Floating { node: 10 });
    network.links.push(Link {
        a: 11,
        b: 8,
        conductance_s: 1.0,
    });
    assert!(solve(&mut network, &Settings::default(), None).is_ok());
}

#[test]
fn nothing_prescribed_floats() {
    let mut network = good();
    network.fixed.clear();
    network.injected = vec![(8, 1.0), (9, -1.0)];
    assert_eq!(error(&mut network), FieldError::Floating { node: 0 });
}

#[test]
fn malformed_networks() {
    type Fault = (fn(&mut Network), &'static str);
    let faults: [Fault; 12] = [
        (
            |n| n.couplings_mut().links[2].metres = -0.05,
            "link 2 has conductance -1 S",
        ),
        (
            |n| n.couplings_mut().links[1].b = 99,
            "node 99 is named, but there are 10",
        ),
        (
            |n| n.conductivity = Conductivity::uniform(-1.0),
            "the conductivity is -1 S/m",
        ),
        (|n| n.plain.push(98), "node 98 is named, but there are 10"),
        (|n| n.facets[1].area_m2 = f64::NAN, "facet 1 has area NaN"),
        (|n| n.facets[0].law = 7, "facet 0 has no law"),
        (|n| n.probes = Default::default(), "2 facets, but 0 rows"),
        (
            |n| n.probes_mut().weight[0] = f64::INFINITY,
            "weight of a row is not finite",
        ),
        (|n| n.fixed.push((8, 2.0)), "node 8 is fixed twice"),
        (
            |n| n.injected.push((3, f64::NAN)),
            "node 3 is given the value NaN",
        ),
        (|n| n.dimension = 0, "dimension 0"),
        (
            |n| n.addresses[0].cell.level = 99,
            "level 99 is deeper than",
        ),
    ];
    for (fault, text) in faults {
        let mut network = good();
        fault(&mut network);
        let message = error(&mut network).to_string();
        assert!(message.contains(text), "{message}");
    }
}

/// A current the wrong way through a law that carries none that way.
#[test]
fn wrong_direction_is_above_the_limit() {
    let law = Tafel {
        exchange_a_per_m2: 0.5,
        slope_v: 0.05,
    };
    let (mut network, metals, _) = plates(8, Box::new(Equipotential), Box::new(law));
    network.fixed = vec![(metals.cathode, 0.0)];
    network.injected = vec![(metals.anode, -0.01)];
    let limit = FieldError::DemandAboveLimit {
        demand_a: 0.01,
        largest_a: 0.0,
    };
    assert_eq!(error(&mut network), limit);
}

/// A current into a metal that has no facet at all.
#[test]
fn bare_metal_cannot_pass_on_current() {
    let mut network = good();
    network.addresses.push(Address::metal());
    network.links.push(Link {
        a: 10,
        b: 8,
        conductance_s: 1.0,
    });
    network.injected = vec![(10, 1.0)];
    assert!(solve(&mut network, &Settings::default(), None).is_ok());
    network.links.pop();
    assert_eq!(error(&mut network), FieldError::Floating { node: 10 });
}

#[test]
fn a_law_that_is_not_a_number_is_reported() {
    #[derive(Debug)]
    struct Broken;
    impl Law for Broken {
        fn at_drop(&self, _: f64) -> Response {
            Response {
                current_a_per_m2: f64::NAN,
                slope_s_per_m2: 1.0,
            }
        }
        fn drop_at(&self, _: f64) -> f64 {
            f64::NAN
        }
    }
    let mut network = good();
    network.laws[1] = Box::new(Broken);
    assert!(matches!(error(&mut network), FieldError::NotFinite { .. }));
}

/// Too few steps: the history of the imbalance comes with the error.
#[test]
fn not_converged_tells_the_history() {
    let mut network = good();
    network.laws[1] = Box::new(Tafel {
        exchange_a_per_m2: 0.5,
        slope_v: 0.05,
    });
    let settings = Settings {
        max_newton_steps: 1,
        ..Settings::default()
    };
    let error = solve(&mut network, &settings, None).expect_err("one step");
    let FieldError::NotConverged { residual_history } = error else {
        panic!("{error}");
    };
    assert_eq!(residual_history.len(), 2);
    assert!(residual_history[1] < residual_history[0]);
}
