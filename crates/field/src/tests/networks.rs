//! Networks for the tests, on uniform grids.

use crate::law::Law;
use crate::network::{Address, Correction, Facet, Link, Network, NodeKind};

/// A tank of cubes between an anode plate (lower x) and a cathode plate (upper x), of which the
/// anode covers the middle half of its wall only where the tank has more than one dimension.
pub struct Tank {
    /// Cells along an edge; a power of two.
    pub cells: u32,
    pub dimension: u8,
    /// Edge of the tank, m.
    pub edge_m: f64,
    /// Conductivity, S/m.
    pub kappa: f64,
}

/// Numbers of the two metals of a tank.
pub struct Metals {
    pub anode: u32,
    pub cathode: u32,
}

/// An address of a metal; only the kind counts.
pub fn metal() -> Address {
    Address {
        kind: NodeKind::Metal,
        key: 0,
        level: 0,
    }
}

impl Tank {
    /// The network, without sources; law 0 holds at the anode, law 1 at the cathode.
    pub fn network(&self, anode: Box<dyn Law>, cathode: Box<dyn Law>) -> (Network, Metals) {
        let (n, dimension) = (self.cells, u32::from(self.dimension));
        let h = self.edge_m / f64::from(n);
        let face = h.powi(2);
        let count = n.pow(dimension);
        let level = n.trailing_zeros() as u8;
        let mut network = Network {
            dimension: self.dimension,
            laws: vec![anode, cathode],
            ..Network::default()
        };
        for cell in 0..count {
            let at = |axis: u32| cell / n.pow(axis) % n;
            let bits = |axis: u32| {
                (0..u32::from(level)).fold(0, |key, bit| {
                    key | u64::from(at(axis) >> bit & 1) << (dimension * bit + axis)
                })
            };
            network.addresses.push(Address {
                kind: NodeKind::Electrolyte,
                key: (0..dimension).map(bits).fold(0, |a, b| a | b),
                level,
            });
            for axis in 0..dimension {
                if at(axis) + 1 < n {
                    network.links.push(Link {
                        a: cell,
                        b: cell + n.pow(axis),
                        conductance_s: self.kappa * face / h,
                    });
                }
            }
            let window = (1..dimension).all(|axis| (n / 4..n - n / 4).contains(&at(axis)));
            let sides = [(at(0) == 0 && window, 0), (at(0) == n - 1, 1)];
            for (_, law) in sides.into_iter().filter(|side| side.0) {
                network.facets.push(Facet {
                    cell,
                    metal: count + law,
                    area_m2: face,
                    series_ohm_m2: 0.5 * h / self.kappa,
                    depth: 0.0,
                    law,
                });
                network.probes.push([(cell, 1.0)]);
            }
        }
        network.addresses.extend([metal(), metal()]);
        let metals = Metals {
            anode: count,
            cathode: count + 1,
        };
        (network, metals)
    }

    /// Area of the cathode, m2.
    pub fn cathode_m2(&self) -> f64 {
        let h = self.edge_m / f64::from(self.cells);
        h.powi(2) * f64::from(self.cells.pow(u32::from(self.dimension) - 1))
    }
}

/// Makes a network nonsymmetric the way the mesher does: probes half a cell further out, taking
/// in the next cell, and a correction of a few per cent on every seventh link.
pub fn distort(network: &mut Network) {
    network.probes = Default::default();
    for f in 0..network.facets.len() {
        let cell = network.facets[f].cell;
        let next = network
            .links
            .iter()
            .find_map(|l| [(l.a, l.b), (l.b, l.a)].into_iter().find(|p| p.0 == cell));
        match next {
            Some((_, next)) => {
                network.probes.push([(cell, 0.75), (next, 0.25)]);
                network.facets[f].series_ohm_m2 *= 1.5;
            }
            None => network.probes.push([(cell, 1.0)]),
        }
    }
    for k in (0..network.links.len().saturating_sub(1)).step_by(7) {
        let (here, there) = (network.links[k], network.links[k + 1]);
        let g = 0.05 * here.conductance_s;
        network.corrections.push(Correction {
            from: here.a,
            to: here.b,
        });
        network.correction_forms.push([(there.a, g), (there.b, -g)]);
    }
}

/// Two plates one cell apart, everything known: returns the network and its metals.
pub fn plates(cells: u32, anode: Box<dyn Law>, cathode: Box<dyn Law>) -> (Network, Metals, Tank) {
    let tank = Tank {
        cells,
        dimension: 1,
        edge_m: 0.1,
        kappa: 20.0,
    };
    let (network, metals) = tank.network(anode, cathode);
    (network, metals, tank)
}
