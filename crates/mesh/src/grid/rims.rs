//! The cells in which sheets end, for what lies beyond them ([`super::beyond`]).

use super::links::Neighbours;
use super::raster::Lists;
use super::scene::{Role, Scene};
use rustc_hash::FxHashSet;

/// Takes what lies beyond sheets out of all leaves but those that hold a sheet and those next to them.
pub fn only_at_rims<const D: usize>(
    scene: &Scene<'_, D>,
    neighbours: &Neighbours<D>,
    lists: &mut Lists<u32>,
) {
    if scene.domain.sheets.is_empty() {
        return;
    }
    let role = |e: u32| scene.surfaces[scene.elements[e as usize].surface as usize].role;
    let (mut held, mut beyond) = (FxHashSet::default(), Vec::new());
    for (n, &leaf) in lists.at.iter().enumerate() {
        let roles = || lists.list(n).iter().map(|&e| role(e));
        if roles().any(|r| matches!(r, Role::Sheet(_))) {
            held.insert(leaf);
        } else if roles().any(|r| matches!(r, Role::Beyond(_))) {
            beyond.push(leaf);
        }
    }
    let across = |leaf: u32| {
        let leaves = (0..2 * D).filter_map(move |face| neighbours.across(leaf as usize, face));
        leaves.map(|l| l as u32)
    };
    // A leaf sees larger ones and its equals; smaller ones see it.
    let mut near: FxHashSet<u32> = held.iter().flat_map(|&l| across(l)).collect();
    near.extend((beyond.into_iter()).filter(|&l| across(l).any(|a| held.contains(&a))));
    near.extend(held);
    lists.retain(|leaf, e| !matches!(role(e), Role::Beyond(_)) || near.contains(&leaf));
}
