//! Corners between stirred faces, which are no recesses.
//!
//! No rolled ball enters an inner corner, however open it is, and where it is only an assumption how large a ball
//! stirs, that alone is no reason to doubt a face. A facet counts as part of a stirred face if that face goes on to it:
//! from facet to facet, in one plane with a stirred one (to [`FLAT`] of the radius), without a step or a wall
//! between, no farther than the radius, which is as far as the strip reaches that a ball leaves out at a right angle.
//! What no stirred face goes on to, as the floor and the walls of a groove or the inside of a letter, stays sheltered.
//! Nor is a place sheltered that the ball touches without meeting a body: samples of walls overhang sharp edges a bit.
//! (Own choice, no source: liquid in a corner of a right angle is driven by the flow along both faces.)

use ionfall_mesh::grid::Grid;
use ionfall_mesh::grid::surroundings::Adjacency;
use ionfall_model::Parts;
use ionfall_numerics::vector::{add_scaled, distance, dot, sub};
use rayon::prelude::*;
use std::collections::VecDeque;

/// How far out of a plane a facet may lie, over the radius.
const FLAT: f64 = 0.02;
/// How far a ball may reach into a wall, over the cell.
const REACHES_IN: f64 = 0.02;
/// Cosine of the angle by which it may be turned, eight degrees.
const TURNED: f64 = 0.99;

/// Takes corners between stirred faces, and what a ball touches, for stirred: their shelter becomes 1.
pub fn stir_corners<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    shelter: &mut [f64],
    radius_m: f64,
) {
    let adjacency = Adjacency::new(grid.len(), &grid.couplings.links);
    let mut of_node: Vec<Vec<u32>> = vec![Vec::new(); grid.len()];
    for (f, &node) in grid.facet_node.iter().enumerate() {
        of_node[node as usize].push(f as u32);
    }
    let open = (0..shelter.len()).filter(|&f| shelter[f] >= 1.0);
    let mut waiting: VecDeque<(usize, usize)> = open.map(|f| (f, f)).collect();
    while let Some((f, from)) = waiting.pop_front() {
        let node = grid.facet_node[f];
        let beside = adjacency.of(node).iter().copied().chain([node]);
        for next in beside.flat_map(|n| of_node[n as usize].iter()) {
            let next = *next as usize;
            let (stirred, facet) = (&grid.facets[from], &grid.facets[next]);
            let goes_on = shelter[next] < 1.0
                && facet.body == stirred.body
                && dot(&facet.normal, &stirred.normal) > TURNED
                && dot(&sub(&facet.point, &stirred.point), &stirred.normal).abs() < FLAT * radius_m
                && distance(&facet.point, &stirred.point) < radius_m + grid.size_m(node as usize);
            if goes_on {
                shelter[next] = 1.0;
                waiting.push_back((next, from));
            }
        }
    }
    let bodies = &parts.domain.bodies;
    shelter.par_iter_mut().enumerate().for_each(|(f, share)| {
        let facet = &grid.facets[f];
        let cell_m = grid.size_m(grid.facet_node[f] as usize);
        let centre = add_scaled(&facet.point, radius_m, &facet.normal);
        let clear_m = radius_m - REACHES_IN * cell_m;
        let touches = || {
            bodies
                .iter()
                .all(|b| b.solid.signed_distance(&centre) >= clear_m)
        };
        if *share < 1.0 && touches() {
            *share = 1.0;
        }
    });
}
