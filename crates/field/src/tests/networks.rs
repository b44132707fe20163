//! Networks for the tests, on uniform grids.

use crate::law::Law;
use crate::network::{Address, Cell, Conductivity, Coupling, Couplings, Facet, Network};

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
            conductivity: Conductivity::uniform(self.kappa),
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
            let key = (0..dimension).map(bits).fold(0, |a, b| a | b);
            let address = Address::electrolyte(Cell { key, level });
            network.addresses.push(address);
            for axis in 0..dimension {
                if at(axis) + 1 < n {
                    network.couplings_mut().links.push(Coupling {
                        a: cell,
                        b: cell + n.pow(axis),
                        metres: face / h,
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
                    series_m: 0.5 * h,
                    depth: 0.0,
                    law,
                });
                network.probes_mut().push([(cell, 1.0)]);
            }
        }
        network.addresses.extend([Address::metal(); 2]);
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
            .all_links()
            .find_map(|l| [(l.a, l.b), (l.b, l.a)].into_iter().find(|p| p.0 == cell));
        match next {
            Some((_, next)) => {
                network.probes_mut().push([(cell, 0.75), (next, 0.25)]);
                network.facets[f].series_m *= 1.5;
            }
            None => network.probes_mut().push([(cell, 1.0)]),
        }
    }
    let Couplings { links, corrections } = network.couplings_mut();
    for pair in links.windows(2).step_by(7) {
        let [here, there] = [pair[0], pair[1]];
        let metres = 0.05 * here.metres;
        corrections.push(here.a, here.b, [(there.a, metres), (there.b, -metres)]);
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
