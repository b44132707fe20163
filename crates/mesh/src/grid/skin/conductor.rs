//! Conductors between facets: the skin as a network.

/// Sheet conductor between two facets: conductance is sheet conductance (siemens) times `weight`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SkinLink {
    /// One facet.
    pub a: u32,
    /// The other; larger.
    pub b: u32,
    /// Width over length of the conductor (planar: depth over length), positive.
    pub weight: f64,
}

/// Sheet conductor between a facet and the fed part of the border beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RimLink {
    /// The facet.
    pub facet: u32,
    /// Width over length, positive.
    pub weight: f64,
}

/// The skin of some facets as a network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Skin {
    /// Conductors, each pair once, in order.
    pub links: Vec<SkinLink>,
    /// Conductors to fed borders, each facet once, in order.
    pub rims: Vec<RimLink>,
    /// Weights that stayed negative after all flips and were left out.
    pub clipped: usize,
    /// Pairs of facets joined by a rough conductance, because they meet in no corner (slivers).
    pub patched: usize,
}

/// A point in space.
pub type Place = [f64; 3];

/// A conductor between two plates in the making.
pub type Conductor = (u32, u32, f64);

/// Adds up the conductors of each pair.
pub fn links(facets: &[u32], mut conductors: Vec<Conductor>) -> Vec<SkinLink> {
    for c in &mut conductors {
        *c = (c.0.min(c.1), c.0.max(c.1), c.2);
    }
    conductors.sort_by_key(|c| (c.0, c.1));
    conductors
        .chunk_by(|x, y| (x.0, x.1) == (y.0, y.1))
        .map(|same| SkinLink {
            a: facets[same[0].0 as usize],
            b: facets[same[0].1 as usize],
            weight: same.iter().map(|c| c.2).sum(),
        })
        .filter(|l| l.a != l.b && l.weight > 0.0)
        .collect()
}
