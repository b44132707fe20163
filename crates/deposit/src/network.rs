//! From the grid to the resistor network.
//!
//! Geometric conductances (metres) times conductivity (S/m) are conductances (S). All cathodes
//! share one metal node, the negative pole, at 0 V; all anodes share another, the positive pole,
//! which is fixed at the cell voltage or takes the supply's current.

use crate::law::law;
use ionfall_field::network::{Address, Correction, Facet, Forms, Link, Network, NodeKind};
use ionfall_job::{Electrode, Role};
use ionfall_mesh::grid::{Grid, Rows};

/// What the rectifier holds constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    /// Current, A.
    Current(f64),
    /// Voltage between the poles, V.
    Voltage(f64),
}

/// The two poles' node numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Poles {
    /// Work and thieves.
    pub negative: u32,
    /// Anodes.
    pub positive: u32,
}

/// Builds the network of a grid. Every electrode body of the grid must be in `electrodes`.
pub fn network<const D: usize>(
    grid: &Grid<D>,
    conductivity_s_per_m: f64,
    electrodes: &[Electrode],
    drive: Drive,
) -> (Network, Poles) {
    let kappa = conductivity_s_per_m;
    let cells = grid.len() as u32;
    let poles = Poles {
        negative: cells,
        positive: cells + 1,
    };
    let mut addresses: Vec<Address> = grid
        .node_cell
        .iter()
        .map(|c| Address {
            kind: NodeKind::Electrolyte,
            key: c.key,
            level: c.level,
        })
        .collect();
    addresses.extend((0..2).map(|key| Address {
        kind: NodeKind::Metal,
        key,
        level: 0,
    }));
    let facets = grid
        .facets
        .iter()
        .zip(&grid.facet_node)
        .zip(&grid.probe_scale)
        .map(|((facet, &cell), scale)| {
            let number = electrodes
                .iter()
                .position(|e| e.body == usize::from(facet.body));
            let number = number.unwrap_or(0);
            let cathode = electrodes[number].role.is_cathode();
            Facet {
                cell,
                metal: if cathode {
                    poles.negative
                } else {
                    poles.positive
                },
                area_m2: facet.area_m2,
                series_ohm_m2: 1.0 / (kappa * scale.per_m),
                law: number as u32,
            }
        })
        .collect();
    let mut network = Network {
        addresses,
        dimension: D as u8,
        links: grid
            .links
            .iter()
            .map(|l| Link {
                a: l.a,
                b: l.b,
                conductance_s: kappa * l.metres,
            })
            .collect(),
        corrections: grid
            .corrections
            .iter()
            .map(|c| Correction {
                from: c.from,
                to: c.to,
            })
            .collect(),
        correction_forms: forms(&grid.correction_rows, kappa),
        facets,
        probes: forms(&grid.probe_rows, 1.0),
        laws: electrodes.iter().map(|e| law(&e.kinetics)).collect(),
        fixed: vec![(poles.negative, 0.0)],
        injected: Vec::new(),
    };
    match drive {
        Drive::Voltage(v) => network.fixed.push((poles.positive, v)),
        Drive::Current(i) => network.injected.push((poles.positive, i)),
    }
    (network, poles)
}

fn forms(rows: &Rows, scale: f64) -> Forms {
    Forms {
        start: rows.start.clone(),
        node: rows.node.clone(),
        weight: rows.weight.iter().map(|w| scale * w).collect(),
    }
}

/// Area of all facets of a role, m2.
pub fn area_m2<const D: usize>(grid: &Grid<D>, electrodes: &[Electrode], role: Role) -> f64 {
    grid.facets
        .iter()
        .filter(|f| {
            electrodes
                .iter()
                .any(|e| e.body == usize::from(f.body) && e.role == role)
        })
        .map(|f| f.area_m2)
        .sum()
}
