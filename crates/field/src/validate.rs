//! Checks what a network is made of.

use crate::error::FieldError;
use crate::network::{Forms, Link, Network};
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
    if let Some(a) = network.addresses.iter().find(|a| a.level > deepest) {
        return malformed(format!("level {} is deeper than {deepest}", a.level));
    }
    let counts = [
        (
            "corrections",
            network.corrections.len(),
            &network.correction_forms,
        ),
        ("facets", network.facets.len(), &network.probes),
    ];
    for (what, count, forms) in counts {
        if forms.len() != count {
            return malformed(format!("{count} {what}, but {} forms", forms.len()));
        }
        form_shape(what, forms)?;
    }
    let named = (network.links.iter().flat_map(|l| [l.a, l.b]))
        .chain(network.corrections.iter().flat_map(|c| [c.from, c.to]))
        .chain(network.facets.iter().flat_map(|f| [f.cell, f.metal]))
        .chain(network.correction_forms.node.iter().copied())
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

fn form_shape(what: &str, forms: &Forms) -> Result<(), FieldError> {
    let entries = forms.node.len();
    let end = forms.start.last().map_or(0, |&end| end as usize);
    if end != entries || forms.weight.len() != entries || !forms.start.is_sorted() {
        return malformed(format!("forms of the {what} are not compressed rows"));
    }
    Ok(())
}

/// Signs and finiteness.
fn values(network: &Network) -> Result<(), FieldError> {
    links(&network.links, 0)?;
    let good = |x: f64| x.is_finite() && x >= 0.0;
    let facet = |f: &crate::network::Facet| good(f.area_m2) && good(f.series_ohm_m2);
    if let Some(k) = network.facets.iter().position(|f| !facet(f)) {
        let (a, s) = (network.facets[k].area_m2, network.facets[k].series_ohm_m2);
        return malformed(format!("facet {k} has area {a} m2, resistance {s} ohm m2"));
    }
    let weights = network.correction_forms.weight.iter();
    if weights
        .chain(&network.probes.weight)
        .any(|w| !w.is_finite())
    {
        return malformed("a weight of a form is not finite".into());
    }
    given(&network.fixed, &network.injected)
}

/// Conductances of links, the first of which has a number.
pub(crate) fn links(links: &[Link], first: usize) -> Result<(), FieldError> {
    let good = |x: f64| x.is_finite() && x >= 0.0;
    if let Some(k) = links.iter().position(|l| !good(l.conductance_s)) {
        let g = links[k].conductance_s;
        return malformed(format!("link {} has conductance {g} S", first + k));
    }
    Ok(())
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
