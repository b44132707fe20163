//! The cells in which sheets end, for what lies beyond them ([`super::beyond`]).

use super::links::Neighbours;
use super::raster::Lists;
use super::scene::{Role, Scene};
use rustc_hash::FxHashSet;

/// Takes what lies beyond sheets out of all leaves but those that hold a sheet and those next to them.
pub fn only_at_rims<const D: usize>(
    scene: &Scene<'_, D>,
    neighbours: &Neighbours<D>,
    lists: Lists<u32>,
) -> Lists<u32> {
    let role = |e: u32| scene.surfaces[scene.elements[e as usize].surface as usize].role;
    let leaves_with = |wanted: &dyn Fn(Role) -> bool| -> Vec<u32> {
        let holds = |n: &usize| lists.list(*n).iter().any(|&e| wanted(role(e)));
        (0..lists.at.len())
            .filter(holds)
            .map(|n| lists.at[n])
            .collect()
    };
    let beyond = leaves_with(&|r| matches!(r, Role::Beyond(_)));
    if beyond.is_empty() {
        return lists;
    }
    let held: FxHashSet<u32> = leaves_with(&|r| matches!(r, Role::Sheet(_)))
        .into_iter()
        .collect();
    let across = |leaf: u32| {
        (0..2 * D)
            .filter_map(move |face| neighbours.across(leaf as usize, face))
            .map(|l| l as u32)
    };
    // A leaf sees larger ones and its equals; smaller ones see it.
    let mut near: FxHashSet<u32> = held.iter().flat_map(|&l| across(l)).collect();
    near.extend(
        beyond
            .iter()
            .filter(|&&l| across(l).any(|a| held.contains(&a))),
    );
    near.extend(&held);
    lists.retained(|leaf, e| !matches!(role(e), Role::Beyond(_)) || near.contains(&leaf))
}
