//! Checks what a network is made of.

use crate::error::FieldError;
use crate::network::{Conductivity, Link, Network, Rows};
use crate::order::deepest_level;

/// Finds out whether a network is well formed.
pub(crate) fn validate(network: &Network) -> Result<(), FieldError> {
    shapes(network)?;
    values(network)
}

/// Lengths and node numbers.
fn shapes(network: &Network) -> Result<(), FieldError> {
    if network.addresses.is_empty() {
        return Err(FieldError::Empty);
    }
    let nodes = network.addresses.len();
    let laws = network.laws.len();
    let dimension = network.dimension;
    if !(1..=3).contains(&dimension) {
        return malformed(format!("dimension {dimension} is not 1, 2 or 3"));
    }
    if u32::try_from(nodes).is_err() {
        return malformed(format!("{nodes} nodes are more than can be numbered"));
    }
    let deepest = deepest_level(dimension);
    if let Some(a) = network.addresses.iter().find(|a| a.cell.level > deepest) {
        return malformed(format!("level {} is deeper than {deepest}", {
            a.cell.level
        }));
    }
    let corrections = &network.couplings.corrections;
    let counts = [
        ("corrections", corrections.ends.len(), &corrections.rows),
        ("facets", network.facets.len(), &network.probes),
    ];
    for (what, count, rows) in counts {
        if rows.len() != count {
            return malformed(format!("{count} {what}, but {} rows", rows.len()));
        }
        row_shape(what, rows)?;
    }
    let named = (network.all_links().flat_map(|l| [l.a, l.b]))
        .chain(corrections.ends.iter().flat_map(|c| [c.from, c.to]))
        .chain(network.facets.iter().flat_map(|f| [f.cell, f.metal]))
        .chain(corrections.rows.node.iter().copied())
        .chain(network.probes.node.iter().copied())
        .chain(network.plain.iter().copied())
        .chain(network.fixed.iter().map(|f| f.0))
        .chain(network.injected.iter().map(|f| f.0));
    if let Some(node) = named.max().filter(|&node| node as usize >= nodes) {
        return malformed(format!("node {node} is named, but there are {nodes}"));
    }
    if let Some(facet) = network.facets.iter().position(|f| f.law as usize >= laws) {
        return malformed(format!("facet {facet} has no law"));
    }
    Ok(())
}

fn row_shape(what: &str, rows: &Rows) -> Result<(), FieldError> {
    let entries = rows.node.len();
    let end = rows.start.last().map_or(0, |&end| end as usize);
    if end != entries || rows.weight.len() != entries || !rows.start.is_sorted() {
        return malformed(format!("rows of the {what} are not compressed"));
    }
    Ok(())
}

/// Signs and finiteness.
fn values(network: &Network) -> Result<(), FieldError> {
    conducts(network.conductivity)?;
    links(network.all_links(), 0)?;
    let good = |x: f64| x.is_finite() && x >= 0.0;
    let facet = |f: &crate::network::Facet| good(f.area_m2) && good(f.series_m);
    if let Some(k) = network.facets.iter().position(|f| !facet(f)) {
        let (a, s) = (network.facets[k].area_m2, network.facets[k].series_m);
        return malformed(format!(
            "facet {k} has area {a} m2, {s} m of electrolyte before it"
        ));
    }
    let weights = network.couplings.corrections.rows.weight.iter();
    if weights
        .chain(&network.probes.weight)
        .any(|w| !w.is_finite())
    {
        return malformed("a weight of a row is not finite".into());
    }
    given(&network.fixed, &network.injected)
}

/// Is the conductivity positive and finite?
pub(crate) fn conducts(conductivity: Conductivity) -> Result<(), FieldError> {
    let s_per_m = conductivity.at(0);
    if !(s_per_m.is_finite() && s_per_m > 0.0) {
        return malformed(format!("the conductivity is {s_per_m} S/m"));
    }
    Ok(())
}

/// Conductances of links, the first of which has a number.
pub(crate) fn links(links: impl Iterator<Item = Link>, first: usize) -> Result<(), FieldError> {
    let good = |x: f64| x.is_finite() && x >= 0.0;
    match (first..).zip(links).find(|(_, l)| !good(l.conductance_s)) {
        Some((k, bad)) => malformed(format!("link {k} has conductance {} S", bad.conductance_s)),
        None => Ok(()),
    }
}

/// Prescribed potentials and injected currents.
pub(crate) fn given(fixed: &[(u32, f64)], injected: &[(u32, f64)]) -> Result<(), FieldError> {
    for &(node, value) in fixed.iter().chain(injected) {
        if !value.is_finite() {
            return malformed(format!("node {node} is given the value {value}"));
        }
    }
    let mut fixed: Vec<u32> = fixed.iter().map(|f| f.0).collect();
    fixed.sort_unstable();
    match fixed.windows(2).find(|w| w[0] == w[1]) {
        Some(twice) => malformed(format!("node {} is fixed twice", twice[0])),
        None => Ok(()),
    }
}

pub(crate) fn malformed<T>(what: String) -> Result<T, FieldError> {
    Err(FieldError::Malformed(what))
}
