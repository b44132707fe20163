//! Fragments of several surfaces in one cell, split where they cross.
//!
//! A tree of boxes finds the elements of other surfaces near a fragment; it is split along the plane
//! of each whose outline really crosses it. After the last element of a surface every part lies
//! wholly on one side of that surface, so if the surface bounds a part of a body, what is inside it
//! bounds no electrolyte and is dropped before the next surface. What is wholly inside a convex part
//! is dropped before anything else: where hundreds of parts of a body lie in each other, little is
//! left to be split.

use super::domain::BodyKind;
use super::fragment::Fragment;
use super::scene::{Role, Scene};
use crate::solid::{Bounds, BoxTree, Point};

/// The fragments of a cell.
pub(super) struct Crowd<'a, const D: usize> {
    scene: &'a Scene<'a, D>,
    /// Surfaces in the cell, ascending.
    surfaces: &'a [u32],
    /// Elements, ascending, with what the cell holds of them.
    clipped: &'a [(u32, Fragment<D>)],
    boxes: BoxTree<D>,
    tolerance_m: f64,
    /// Are several electrodes here, which might touch?
    touchy: bool,
}

impl<'a, const D: usize> Crowd<'a, D> {
    pub fn new(
        scene: &'a Scene<'a, D>,
        surfaces: &'a [u32],
        clipped: &'a [(u32, Fragment<D>)],
        tolerance_m: f64,
    ) -> Self {
        let electrode = |s: &u32| match scene.surfaces[*s as usize].role {
            Role::Body(i) if scene.domain.bodies[i].kind == BodyKind::Electrode => Some(i),
            _ => None,
        };
        let mut electrodes: Vec<usize> = surfaces.iter().filter_map(electrode).collect();
        electrodes.dedup();
        let around = |c: &(u32, Fragment<D>)| c.1.bounds().grown(tolerance_m);
        Self {
            scene,
            surfaces,
            clipped,
            boxes: BoxTree::new(clipped.iter().map(around).collect()),
            tolerance_m,
            touchy: electrodes.len() > 1,
        }
    }

    fn surface(&self, n: usize) -> u32 {
        self.scene.elements[self.clipped[n].0 as usize].surface
    }

    /// Does a fragment of this surface bound nothing where both its sides are in that one? Not if
    /// two electrodes might touch there, which has to be told.
    fn may_bury(&self, surface: u32, in_surface: u32) -> bool {
        let role = |s: u32| self.scene.surfaces[s as usize].role;
        match (role(surface), role(in_surface)) {
            (Role::Body(a), Role::Body(b)) => a == b || !self.touchy,
            (_, Role::Body(_)) => true,
            _ => false,
        }
    }

    fn is_buried(&self, n: usize, in_surface: u32, sides: &[Point<D>; 3]) -> bool {
        self.may_bury(self.surface(n), in_surface) && self.scene.buries(in_surface, sides)
    }

    fn sides(&self, n: usize, part: &Fragment<D>) -> [Point<D>; 3] {
        let element = &self.scene.elements[self.clipped[n].0 as usize];
        self.scene.sides(element, &part.measure().1)
    }

    fn crosses(&self, n: usize, part: &Fragment<D>, other: usize) -> bool {
        let normal = |n: usize| &self.scene.elements[self.clipped[n].0 as usize].normal;
        let normals = [normal(n), normal(other)];
        part.is_crossed_by(&self.clipped[other].1, normals, self.tolerance_m)
    }

    /// The parts of fragment `n` that may bound electrolyte; each lies wholly on one side of every
    /// other surface.
    pub fn parts(&self, n: usize) -> Vec<Fragment<D>> {
        let whole = &self.clipped[n].1;
        let own = self.surface(n);
        let sides = self.sides(n, whole);
        let others = || self.surfaces.iter().copied().filter(|s| *s != own);
        // A convex solid that holds all corners holds everything between them.
        let element = &self.scene.elements[self.clipped[n].0 as usize];
        let corners = || whole.vertices.iter();
        let holds_all = |s: u32| {
            self.scene.surfaces[s as usize].convex
                && self.is_buried(n, s, &sides)
                && corners().all(|v| self.scene.buries(s, &self.scene.sides(element, &v.at)))
        };
        if others().any(holds_all) {
            return Vec::new();
        }
        let mut crossing: Vec<usize> = Vec::new();
        self.boxes.any_meeting(&whole.bounds(), |other| {
            let other = other as usize;
            if self.surface(other) != own && self.crosses(n, whole, other) {
                crossing.push(other);
            }
            false
        });
        crossing.sort_unstable();
        let cross = |s: u32| {
            let place = crossing.partition_point(|&other| self.surface(other) < s);
            crossing
                .get(place)
                .is_some_and(|&other| self.surface(other) == s)
        };
        if others().any(|s| self.is_buried(n, s, &sides) && !cross(s)) {
            return Vec::new();
        }
        let mut parts = vec![whole.clone()];
        for of_one in crossing.chunk_by(|a, b| self.surface(*a) == self.surface(*b)) {
            for &other in of_one {
                self.split(n, other, &mut parts);
            }
            let surface = self.surface(of_one[0]);
            if self.may_bury(own, surface) {
                parts.retain(|part| !self.scene.buries(surface, &self.sides(n, part)));
            }
        }
        parts
    }

    /// Splits those parts of fragment `n` that another one crosses.
    fn split(&self, n: usize, other: usize, parts: &mut Vec<Fragment<D>>) {
        let (e, shape) = &self.clipped[other];
        let cutter = &self.scene.elements[*e as usize];
        let reach: Bounds<D> = shape.bounds().grown(self.tolerance_m);
        let mut at = 0;
        while at < parts.len() {
            if reach.overlaps(&parts[at].bounds())
                && self.crosses(n, &parts[at], other)
                && let Some((a, b)) =
                    parts[at].split(&cutter.normal, &cutter.corners[0], self.tolerance_m)
            {
                parts[at] = a;
                at += 1;
                parts.insert(at, b);
            }
            at += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::cut::pieces;
    use super::super::scene::Label;
    use super::super::tree::{Cell, Root};
    use super::super::{Body, Domain, Space};
    use super::*;
    use crate::solid::{Ball, Cuboid, Solid, wire};
    use std::f64::consts::PI;

    const ROOT: Root<3> = Root {
        origin: [-1.0; 3],
        side_m: 2.0,
    };

    fn block(low: [f64; 3], high: [f64; 3]) -> Solid<3> {
        Solid::new(Cuboid::new(low, high).unwrap())
    }

    fn domain(solid: Solid<3>) -> Domain<3> {
        Domain {
            space: Space::Tank,
            tank: block([-0.9; 3], [0.9; 3]),
            bodies: vec![Body {
                name: "body".into(),
                solid,
                kind: BodyKind::Electrode,
                finest_m: 0.1,
                edge_m: 0.1,
                across: 0.0,
            }],
            stop_offs: Vec::new(),
            sheets: Vec::new(),
            regions: Vec::new(),
            wall_m: 0.1,
            coarsest_m: 0.1,
        }
    }

    /// Elements of a solid in the tank, pieces of its boundary, and the area of these, all looked
    /// at as one cell.
    fn looked_at(solid: Solid<3>) -> (usize, usize, f64) {
        let domain = domain(solid);
        let whole = ROOT.bounds(Cell { key: 0, level: 0 });
        let scene = Scene::new(&domain, &ROOT, &whole, 0.1, &[2e-4, 1e-2]);
        let elements: Vec<u32> = (0..scene.elements.len() as u32).collect();
        let pieces = pieces(&scene, &whole, &elements, None, &mut Vec::new());
        let own = |label: Label| {
            matches!(
                label,
                Label::Wall {
                    electrode: Some(0),
                    ..
                }
            )
        };
        let own: Vec<_> = pieces.iter().filter(|p| own(p.label)).collect();
        let factor = |e: u32| f64::from(scene.elements[e as usize].area_factor);
        let area = own.iter().map(|p| p.flat * factor(p.element)).sum();
        let walls = 12;
        (elements.len() - walls, own.len(), area)
    }

    fn row(balls: usize, step: f64) -> Solid<3> {
        let ball = |n: usize| Ball::<3>::new([step * n as f64 - 0.5, 0.01, 0.02], 0.2);
        Solid::Union((0..balls).map(|n| Solid::new(ball(n).unwrap())).collect())
    }

    /// Balls in each other: of each but the ends a ring of the height of the step is left, and not
    /// much more than what is left has been split.
    #[test]
    fn balls_in_each_other_leave_their_rings() {
        let (one, ..) = looked_at(row(1, 0.0));
        for (balls, step) in [(2, 0.1), (8, 0.1), (30, 0.03)] {
            let (elements, pieces, area) = looked_at(row(balls, step));
            assert_eq!(elements, balls * one);
            let exact = 4.0 * PI * 0.04 + (balls - 1) as f64 * step * 2.0 * PI * 0.2;
            assert!((area / exact - 1.0).abs() < 3e-3, "{area} for {exact}");
            // As many elements as have the area of what is left, in three parts on average.
            let left = exact / (4.0 * PI * 0.04) * one as f64;
            assert!(
                (pieces as f64) < 3.0 * left,
                "{pieces} pieces of {left} elements"
            );
        }
    }

    /// The mantle of a straight wire of many points, with its round ends.
    #[test]
    fn a_wire_of_many_points_has_one_mantle() {
        let points: Vec<[f64; 3]> = (0..41)
            .map(|n| [0.02 * f64::from(n) - 0.4, 0.013, 0.027])
            .collect();
        let (_, _, area) = looked_at(wire(&points, 0.1).unwrap());
        let exact = 4.0 * PI * 0.01 + 0.8 * 2.0 * PI * 0.1;
        assert!((area / exact - 1.0).abs() < 1e-2, "{area} for {exact}");
    }

    /// What lies outside the region is no element at all.
    #[test]
    fn nothing_is_kept_of_what_is_far_away() {
        let far = block([-1e4; 3], [-0.5, 0.5, 0.5]);
        let (elements, pieces, area) = looked_at(far);
        assert_eq!(elements, 6, "three sides reach into the tank");
        assert!(pieces <= 12);
        // What is in the tank: 0.4 m of three sides that are 1.4 m long.
        let exact = 1.4 * 1.4 + 2.0 * 0.4 * 1.4;
        assert!((area / exact - 1.0).abs() < 1e-9, "{area} for {exact}");
    }
}
