//! Newton's method over laws, sizes and operators.

use super::laws::{ButlerVolmer, Equipotential, Limited, Linear, Tafel};
use super::networks::{Tank, distort, plates};
use crate::law::Law;
use crate::network::{Address, Conductivity, Link, Network};
use crate::{FieldError, Settings, Solution, solve};
use approx::assert_relative_eq;

const SLOW: ButlerVolmer = ButlerVolmer {
    exchange_a_per_m2: 2.0,
    slope_v: 0.03,
};
const FAST: ButlerVolmer = ButlerVolmer {
    exchange_a_per_m2: 5.0,
    slope_v: 0.04,
};

/// A tank of 0.1 m.
fn decimetre(cells: u32, dimension: u8) -> Tank {
    Tank {
        cells,
        dimension,
        edge_m: 0.1,
        kappa: 20.0,
    }
}

fn run(network: &mut Network) -> Solution {
    let solution = solve(network, &Settings::default(), None).expect("solvable");
    assert!(solution.balance_error < 1e-9, "{}", solution.balance_error);
    solution
}

/// Total current of the facets at a metal, A.
fn current(network: &Network, solution: &Solution, metal: u32) -> f64 {
    let pairs = network
        .facets
        .iter()
        .zip(&solution.current_density_a_per_m2);
    pairs
        .filter(|(f, _)| f.metal == metal)
        .map(|(f, i)| f.area_m2 * i)
        .sum()
}

fn cathodes() -> Vec<fn() -> Box<dyn Law>> {
    vec![
        || Box::new(Equipotential),
        || {
            Box::new(Linear {
                slope_s_per_m2: 900.0,
                rest_v: -0.3,
            })
        },
        || {
            Box::new(Tafel {
                exchange_a_per_m2: 0.5,
                slope_v: 0.05,
            })
        },
        || Box::new(SLOW),
        || {
            Box::new(Limited {
                exchange_a_per_m2: 1.0,
                slope_v: 0.026,
                limit_a_per_m2: 400.0,
            })
        },
    ]
}

/// Bisection for an increasing function.
fn root(f: impl Fn(f64) -> f64, mut lo: f64, mut hi: f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (lo + hi);
        if f(middle) < 0.0 {
            lo = middle
        } else {
            hi = middle
        }
    }
    0.5 * (lo + hi)
}

/// Between plates `V = i L / kappa + anode drop(i) - cathode drop(-i)`.
#[test]
fn plates_agree_with_scalar_equation() {
    for law in cathodes() {
        let anode = FAST;
        let (mut network, metals, tank) = plates(8, Box::new(anode), law());
        network.fixed = vec![(metals.anode, 1.7), (metals.cathode, 0.2)];
        let solution = run(&mut network);
        let laws = &network.laws;
        let limit = -laws[1].range_a_per_m2().0;
        let volts =
            |i: f64| i * tank.edge_m / tank.kappa + laws[0].drop_at(i) - laws[1].drop_at(-i);
        let i = root(|i| volts(i) - 1.5, 1e-9, limit.min(1e5));
        let found = &solution.current_density_a_per_m2;
        assert_relative_eq!(found[0], i, max_relative = 1e-9);
        assert_relative_eq!(found[1], -i, max_relative = 1e-9);
        let surface = 0.2 - laws[1].drop_at(-i);
        assert_relative_eq!(
            solution.surface_potential_v[1],
            surface,
            max_relative = 1e-9
        );
        assert_relative_eq!(
            solution.surface_potential_v[0],
            1.7 - laws[0].drop_at(i),
            max_relative = 1e-9
        );
    }
}

/// The same with the current given: the anode finds its potential.
#[test]
fn plates_at_constant_current() {
    for law in cathodes() {
        for i in [0.1, 20.0, 399.0] {
            let (mut network, metals, tank) = plates(16, Box::new(Equipotential), law());
            network.fixed = vec![(metals.cathode, 0.0)];
            network.injected = vec![(metals.anode, i * tank.cathode_m2())];
            let solution = run(&mut network);
            let volts = i * tank.edge_m / tank.kappa - network.laws[1].drop_at(-i);
            let anode = solution.potential_v[metals.anode as usize];
            assert_relative_eq!(anode, volts, max_relative = 1e-9);
        }
    }
}

/// From a cold start, for every law and Wagner numbers from 1e-4 to 1e4, in two and three
/// dimensions, symmetric or not, at given voltage and at given current.
#[test]
fn converges_for_all_wagner_numbers() {
    let (mut most_steps, mut most_cycles) = (0, 0);
    for (dimension, cells) in [(2, 32), (3, 16)] {
        for distorted in [false, true] {
            for law in cathodes() {
                for wagner in [1e-4, 1e-2, 1.0, 1e2, 1e4] {
                    for constant_current in [false, true] {
                        let (steps, cycles) =
                            one(dimension, cells, distorted, law(), wagner, constant_current);
                        most_steps = most_steps.max(steps);
                        most_cycles = most_cycles.max(cycles);
                    }
                }
            }
        }
    }
    assert!(most_steps <= 15, "{most_steps} steps");
    assert!(most_cycles <= 120, "{most_cycles} cycles");
}

/// One tank of the given Wagner number (at 100 A/m2 or 2 V).
fn one(
    dimension: u8,
    cells: u32,
    distorted: bool,
    law: Box<dyn Law>,
    wagner: f64,
    constant_current: bool,
) -> (usize, usize) {
    let edge_m = 0.1;
    let slope = 1.0 / law.at_drop(law.drop_at(-100.0)).slope_s_per_m2;
    let slope = if slope > 0.0 { slope } else { 1e-3 };
    let tank = Tank {
        cells,
        dimension,
        edge_m,
        kappa: wagner * edge_m / slope,
    };
    let label = format!(
        "{law:?} Wa {wagner} {dimension}-D distorted {distorted} current {constant_current}"
    );
    let (mut network, metals) = tank.network(Box::new(FAST), law);
    if distorted {
        distort(&mut network);
    }
    network.fixed = vec![(metals.cathode, 0.0)];
    if constant_current {
        network.injected = vec![(metals.anode, 100.0 * tank.cathode_m2())];
    } else {
        network.fixed.push((metals.anode, 2.0));
    }
    let solution = solve(&mut network, &Settings::default(), None);
    let solution = solution.unwrap_or_else(|e| panic!("{label}: {e}"));
    assert!(
        solution.balance_error < 1e-8,
        "{label}: {}",
        solution.balance_error
    );
    (solution.record.steps, solution.record.cycles)
}

/// At 99 % of the limiting current, the worst of the working range.
#[test]
fn converges_close_to_the_limiting_current() {
    for (dimension, cells) in [(2, 32), (3, 16)] {
        for wagner in [1e-4, 1e-2, 1.0, 1e2, 1e4] {
            for share in [0.9, 0.99, 0.999] {
                // The slopes of the law are then 1e-7 of the conductances beside it.
                if share > 0.99 && wagner > 1e3 {
                    continue;
                }
                let limit = 400.0;
                let law = Limited {
                    exchange_a_per_m2: 1.0,
                    slope_v: 0.026,
                    limit_a_per_m2: limit,
                };
                let tank = Tank {
                    cells,
                    dimension,
                    edge_m: 0.1,
                    kappa: wagner * 0.1 * limit / 0.026,
                };
                let anode = FAST;
                let (mut network, metals) = tank.network(Box::new(anode), Box::new(law));
                distort(&mut network);
                network.fixed = vec![(metals.cathode, 0.0)];
                network.injected = vec![(metals.anode, share * limit * tank.cathode_m2())];
                let solution = run(&mut network);
                assert!(solution.record.steps <= 15, "{}", solution.record.steps);
            }
        }
    }
}

#[test]
fn more_than_the_limiting_current_is_refused() {
    let law = Limited {
        exchange_a_per_m2: 1.0,
        slope_v: 0.026,
        limit_a_per_m2: 400.0,
    };
    let (mut network, metals, tank) = plates(8, Box::new(Equipotential), Box::new(law));
    network.fixed = vec![(metals.cathode, 0.0)];
    network.injected = vec![(metals.anode, 401.0 * tank.cathode_m2())];
    let error = solve(&mut network, &Settings::default(), None).expect_err("above the limit");
    let FieldError::DemandAboveLimit {
        demand_a,
        largest_a,
    } = error
    else {
        panic!("{error}");
    };
    assert_relative_eq!(demand_a, -401.0 * tank.cathode_m2(), max_relative = 1e-12);
    assert_relative_eq!(largest_a, -400.0 * tank.cathode_m2(), max_relative = 1e-12);
}

#[test]
fn an_earlier_solution_shortens_the_way() {
    let law = SLOW;
    let tank = decimetre(16, 3);
    let (mut network, metals) = tank.network(Box::new(Equipotential), Box::new(law));
    distort(&mut network);
    network.fixed = vec![(metals.cathode, 0.0), (metals.anode, 2.0)];
    let first = run(&mut network);
    let settings = Settings::default();
    let same = solve(&mut network, &settings, Some(&first.potential_v)).expect("solved before");
    assert_eq!((same.record.steps, same.record.cycles), (0, 0));
    network.fixed[1].1 = 2.01;
    let next = solve(&mut network, &settings, Some(&first.potential_v)).expect("near the last");
    let cold = run(&mut network);
    assert!(next.record.cycles < cold.record.cycles);
    let pairs = next.potential_v.iter().zip(&cold.potential_v);
    let far = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    assert!(far < 1e-8, "{far}");
}

/// A metal body without any supply: what enters it at one side leaves at the other.
#[test]
fn floating_metal_carries_no_net_current() {
    let tank = decimetre(16, 2);
    let law = || Box::new(SLOW);
    let (mut network, metals) = tank.network(law(), law());
    let body = network.addresses.len() as u32;
    network.addresses.push(Address::metal());
    // Along the lower wall, from a quarter to three quarters of the way.
    for cell in 4..12 {
        let mut facet = network.facets[0];
        facet.cell = cell;
        facet.metal = body;
        network.facets.push(facet);
        network.probes_mut().push([(cell, 1.0)]);
    }
    network.fixed = vec![(metals.cathode, 0.0), (metals.anode, 2.0)];
    let solution = run(&mut network);
    let net = current(&network, &solution, body);
    let through = current(&network, &solution, metals.anode);
    assert!(net.abs() < 1e-9 * through, "{net} of {through}");
    let most = solution.current_density_a_per_m2[network.facets.len() - 8..]
        .iter()
        .fold(0.0, |m: f64, i| m.max(i.abs()));
    assert!(most > 1.0, "the body takes part: {most} A/m2");
}

/// Two anodes on one supply, each with its own lead, against circuit algebra.
#[test]
fn leads_divide_the_current() {
    // A chain of cells with an anode at both ends and the cathode in the middle: two arms.
    let (kappa, area, h) = (20.0, 0.01, 0.01);
    let (mut network, _, _) = plates(8, Box::new(Equipotential), Box::new(Equipotential));
    network.conductivity = Conductivity::uniform(kappa);
    let links = network.couplings_mut().links.iter_mut();
    links.for_each(|l| l.metres = area / h);
    let resistance = 0.5 * h / kappa;
    for facet in &mut network.facets {
        facet.area_m2 = area;
        facet.series_m = 0.5 * h;
    }
    let (left, right) = (8, 9);
    let cathode = network.addresses.len() as u32;
    network.addresses.extend([Address::metal(); 2]);
    let supply = cathode + 1;
    let mut facet = network.facets[0];
    (facet.cell, facet.metal) = (2, cathode);
    network.facets.push(facet);
    network.probes_mut().push([(2, 1.0)]);
    let leads = [0.004, 0.02];
    for (metal, ohm) in [left, right].into_iter().zip(leads) {
        network.links.push(Link {
            a: supply,
            b: metal,
            conductance_s: 1.0 / ohm,
        });
    }
    network.fixed = vec![(cathode, 0.0)];
    network.injected = vec![(supply, 3.0)];
    let solution = run(&mut network);
    let (cell, half) = (h / (kappa * area), resistance / area);
    let arms = [leads[0] + half + 2.0 * cell, leads[1] + half + 5.0 * cell];
    let total = 1.0 / arms[0] + 1.0 / arms[1];
    let volts = 3.0 * (1.0 / total + half);
    assert_relative_eq!(
        solution.potential_v[supply as usize],
        volts,
        max_relative = 1e-9
    );
    for (metal, arm) in [left, right].into_iter().zip(arms) {
        let share = 3.0 / (arm * total);
        assert_relative_eq!(
            current(&network, &solution, metal),
            share,
            max_relative = 1e-9
        );
    }
}

#[test]
fn answers_do_not_depend_on_threads() {
    let tank = decimetre(32, 3);
    let law = || Box::new(SLOW);
    let (mut network, metals) = tank.network(law(), law());
    distort(&mut network);
    network.fixed = vec![(metals.cathode, 0.0)];
    network.injected = vec![(metals.anode, 1.0)];
    let runs = [1, 2, 3].map(|n| crate::with_threads(n, || run(&mut network)).expect("threads"));
    for other in &runs[1..] {
        assert_eq!(runs[0].potential_v, other.potential_v);
        assert_eq!(
            runs[0].current_density_a_per_m2,
            other.current_density_a_per_m2
        );
    }
}
