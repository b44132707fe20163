//! A solver that stays, against fresh ones.

use super::laws::{ButlerVolmer, Equipotential, Limited};
use super::linear::Noise;
use super::networks::{Metals, Tank, distort};
use crate::attempt::{Start, find};
use crate::graph::Graph;
use crate::hierarchy::Coarse;
use crate::law::Law;
use crate::network::{Address, Conductivity, Link, Network};
use crate::preconditioner::Preconditioner;
use crate::sorted::Sorted;
use crate::system::System;
use crate::{FieldError, Settings, Solver, solve};
use std::sync::Arc;

const TANK: Tank = Tank {
    cells: 16,
    dimension: 3,
    edge_m: 0.1,
    kappa: 20.0,
};

fn butler_volmer() -> Box<dyn Law> {
    Box::new(ButlerVolmer {
        exchange_a_per_m2: 2.0,
        slope_v: 0.03,
    })
}

/// A tank whose cathode is a coat: a node behind each of its facets, joined to those beside it, the
/// first also to the metal. Gives the number of the coat's first link.
fn coated(kappa: f64) -> (Network, Metals, usize) {
    let tank = Tank { kappa, ..TANK };
    let (mut network, metals) = tank.network(Box::new(Equipotential), butler_volmer());
    distort(&mut network);
    let first = network.links.len();
    // A lead to the cathode, which nothing changes but which shares ends with a link of the coat.
    let coat = network.addresses.len() as u32;
    let n = TANK.cells;
    let mut laid = 0;
    for facet in &mut network.facets {
        if facet.metal == metals.cathode {
            let cell = network.addresses[facet.cell as usize].cell;
            network.addresses.push(Address::coat(cell));
            facet.metal = coat + laid;
            let mut join = |a: u32, b: u32| {
                network.links.push(Link {
                    a,
                    b,
                    conductance_s: 1.0,
                })
            };
            if laid == 0 {
                join(coat, metals.cathode);
                join(coat, metals.cathode);
            }
            if laid % n > 0 {
                join(coat + laid, coat + laid - 1);
            }
            if laid >= n {
                join(coat + laid, coat + laid - n);
            }
            laid += 1;
        }
    }
    (network, metals, first + 1)
}

/// Conductances of a coat that grows from its contact on: up to five decades from one end to the
/// other.
fn grown(network: &Network, first: usize, step: u32) -> Vec<f64> {
    let mut noise = Noise(u64::from(step) + 1);
    let links = network.links[first..].len();
    let front = f64::from(step) / 12.0 * links as f64;
    let near = |k: usize| 1e4 * (1.0 + noise.next()) / (1.0 + (k as f64 / (1.0 + front)).powi(12));
    (0..links).map(near).map(|g| g.max(0.1)).collect()
}

fn far(a: &[f64], b: &[f64]) -> f64 {
    let pairs = a.iter().zip(b);
    pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

/// A coat that grows, under a supply that switches between current and voltage: with fresh levels to
/// the last bit as with a fresh solver, with those of the first solve to the tolerance, and in hardly
/// more cycles.
#[test]
fn changes_give_what_a_fresh_solver_gives() {
    let settings = Settings::default();
    let (network, metals, first) = coated(20.0);
    let mut same = Solver::new(network).unwrap();
    let mut kept = Solver::new(coated(20.0).0).unwrap();
    let (mut cycles_fresh, mut cycles_kept) = (0, 0);
    let mut start: Option<Vec<f64>> = None;
    for step in 0..14 {
        let (mut network, ..) = coated(20.0);
        let conductances_s = grown(&network, first, step);
        let mut fixed = vec![(metals.cathode, 0.0)];
        let mut injected = Vec::new();
        match step {
            4..7 => injected.push((metals.anode, 0.3 + 0.1 * f64::from(step))),
            _ => fixed.push((metals.anode, 2.0 + 0.05 * f64::from(step))),
        }
        for solver in [&mut same, &mut kept] {
            solver.supply(fixed.clone(), injected.clone()).unwrap();
            solver.set_conductances(first, &conductances_s).unwrap();
        }
        for (link, &g) in network.links[first..].iter_mut().zip(&conductances_s) {
            link.conductance_s = g;
        }
        (network.fixed, network.injected) = (fixed, injected);
        same.coarsen_anew();
        let fresh = solve(&mut network, &settings, start.as_deref()).unwrap();
        let a = same.solve(&settings, start.as_deref()).unwrap();
        let b = kept.solve(&settings, start.as_deref()).unwrap();
        assert_eq!(a.potential_v, fresh.potential_v, "step {step}");
        assert_eq!(a.current_density_a_per_m2, fresh.current_density_a_per_m2);
        assert_eq!(a.record.history, fresh.record.history);
        assert!(
            far(&b.potential_v, &fresh.potential_v) < 1e-8,
            "step {step}"
        );
        cycles_fresh += fresh.record.cycles;
        cycles_kept += b.record.cycles;
        start = Some(fresh.potential_v);
    }
    assert!(
        cycles_kept as f64 <= 1.1 * cycles_fresh as f64,
        "{cycles_kept} cycles instead of {cycles_fresh}"
    );
}

/// Laws and conductivity.
#[test]
fn other_laws_and_baths() {
    let settings = Settings::default();
    let limited = || {
        Box::new(Limited {
            exchange_a_per_m2: 1.0,
            slope_v: 0.026,
            limit_a_per_m2: 400.0,
        })
    };
    let supplied = |metals: &Metals| vec![(metals.cathode, 0.0), (metals.anode, 1.5)];
    let (mut network, metals, _) = coated(20.0);
    network.fixed = supplied(&metals);
    let mut solver = Solver::new(network).unwrap();
    solver.solve(&settings, None).unwrap();
    solver
        .set_conductivity(Conductivity::uniform(14.0))
        .unwrap();
    solver.set_law(1, limited()).unwrap();
    let found = solver.solve(&settings, None).unwrap();
    let (mut network, metals, _) = coated(14.0);
    network.fixed = supplied(&metals);
    network.laws[1] = limited();
    let fresh = solve(&mut network, &settings, None).unwrap();
    assert!(far(&found.potential_v, &fresh.potential_v) < 1e-8);
    let back = solver.into_network();
    assert!(back.all_links().eq(network.all_links()));
}

/// The network that comes back is the one that went in; what others share of it is neither changed nor
/// copied.
#[test]
fn the_network_comes_back() {
    let (mut network, metals, first) = coated(20.0);
    network.fixed = vec![(metals.cathode, 0.0)];
    network.injected = vec![(metals.anode, 0.5)];
    let (couplings, probes) = (network.couplings.clone(), network.probes.clone());
    let mut solver = Solver::new(network).unwrap();
    solver.solve(&Settings::default(), None).unwrap();
    let conductances_s: Vec<f64> = solver.links()[first..]
        .iter()
        .map(|l| l.conductance_s)
        .collect();
    solver.set_conductances(first, &conductances_s).unwrap();
    let back = solver.into_network();
    let (given, ..) = coated(20.0);
    assert_eq!(back.links, given.links);
    assert_eq!(back.probes, given.probes);
    assert_eq!(back.couplings, given.couplings);
    assert!(Arc::ptr_eq(&back.couplings, &couplings) && Arc::ptr_eq(&back.probes, &probes));
    assert_eq!(back.plain, given.plain);
}

/// Numbers that make no sense are refused and change nothing; a part that is cut off is found out.
#[test]
fn bad_changes_are_refused() {
    let settings = Settings::default();
    let (mut network, metals, first) = coated(20.0);
    let links = network.links.len();
    network.fixed = vec![(metals.cathode, 0.0), (metals.anode, 1.0)];
    let mut solver = Solver::new(network).unwrap();
    let before = solver.solve(&settings, None).unwrap();
    let malformed = |result: Result<(), FieldError>| {
        assert!(
            matches!(result, Err(FieldError::Malformed(_))),
            "{result:?}"
        );
    };
    malformed(solver.set_conductances(first, &[1.0, -1.0]));
    malformed(solver.set_conductances(first, &[f64::NAN]));
    malformed(solver.set_conductances(links, &[1.0]));
    malformed(solver.set_conductances(usize::MAX, &[1.0]));
    malformed(solver.supply(vec![(u32::MAX, 0.0)], Vec::new()));
    malformed(solver.supply(vec![(0, 0.0), (0, 1.0)], Vec::new()));
    malformed(solver.supply(Vec::new(), vec![(0, f64::INFINITY)]));
    malformed(solver.set_law(2, butler_volmer()));
    malformed(solver.set_conductivity(Conductivity::uniform(0.0)));
    malformed(solver.make_plain(&[u32::MAX]));
    let after = solver.solve(&settings, None).unwrap();
    assert_eq!(before.potential_v, after.potential_v);
    // Without its contact the coat still hangs on the bath; without a prescribed metal nothing does.
    solver
        .supply(vec![(metals.cathode, 0.0)], vec![(metals.anode, 0.5)])
        .unwrap();
    solver.solve(&settings, None).unwrap();
    solver.set_conductances(first - 1, &[0.0, 0.0]).unwrap();
    let cut = solver.solve(&settings, None).unwrap_err();
    assert!(matches!(cut, FieldError::Floating { .. }), "{cut}");
    solver.set_conductances(first - 1, &[0.0, 1.0]).unwrap();
    solver.solve(&settings, None).unwrap();
}

/// The simplest preconditioner there is: the diagonal.
#[derive(Debug)]
struct Diagonal {
    graph: Graph<Coarse>,
    inverse: Vec<f64>,
    sol: Vec<Coarse>,
}

impl Preconditioner for Diagonal {
    fn graph(&mut self) -> &mut Graph<Coarse> {
        &mut self.graph
    }

    fn refresh(&mut self, _: bool) {
        self.inverse = self.graph.diagonal().iter().map(|d| 1.0 / d).collect();
    }

    fn apply(&mut self, r: &[Coarse]) -> &mut Vec<Coarse> {
        self.sol.clear();
        let both = r.iter().zip(&self.inverse);
        self.sol
            .extend(both.map(|(r, d)| (f64::from(*r) * d) as Coarse));
        self.sol.resize(r.len(), 0.0);
        &mut self.sol
    }
}

/// Another preconditioner finds the same solution, if in more cycles.
#[test]
fn any_preconditioner_will_do() {
    let tank = Tank {
        cells: 8,
        dimension: 2,
        edge_m: 0.1,
        kappa: 20.0,
    };
    let (mut network, metals) = tank.network(Box::new(Equipotential), butler_volmer());
    distort(&mut network);
    network.addresses.push(Address::metal());
    let lead = network.addresses.len() as u32 - 1;
    network.links.push(Link {
        a: metals.anode,
        b: lead,
        conductance_s: 3.0,
    });
    network.fixed = vec![(metals.cathode, 0.0), (lead, 2.0)];
    let settings = Settings::default();
    let multigrid = solve(&mut network, &settings, None).unwrap();
    let sorted = Sorted::new(&network);
    let mut diagonal = Diagonal {
        graph: Graph::zero(sorted.graph.pattern.clone()),
        inverse: Vec::new(),
        sol: Vec::new(),
    };
    let mut system = System::new(network, sorted);
    system.load_links(&mut diagonal);
    let start = Start {
        potential_v: None,
        foreseen: None,
    };
    let (state, record) = find(&mut system, &mut diagonal, &settings, start, &mut |_| ()).unwrap();
    let potential_v: Vec<f64> = (system.places().iter())
        .map(|&place| state.x[place as usize])
        .collect();
    assert!(far(&potential_v, &multigrid.potential_v) < 1e-8);
    assert!(record.cycles > multigrid.record.cycles);
}
