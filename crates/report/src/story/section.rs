//! The cut through the bath: potential on a raster, equipotentials, current lines, outlines.
//!
//! Each pixel takes the potential of the leaf it lies in, carried from the leaf's centre by the
//! gradient there, as the mean over four places a quarter of the leaf away (so that steps between
//! leaves are evened out).

use super::chains::Strip;
use super::contour::{Raster, lines};
use super::data::{Cut, Section};
use super::kind::Kind;
use super::lift::Lift;
use super::measure::coordinates;
use super::plane::{Plane, Rank};
use super::streamlines::{beginnings, walk};
use super::surfaces::Shape;
use super::wires::Frame;
use crate::facets::axes;
use ionfall_deposit::{Outcome, field_vectors};
use ionfall_mesh::grid::tree::{Cell, MAX_LEVEL, encode};
use ionfall_mesh::grid::{Domain, Grid, Space};
use ionfall_mesh::solid::{Bounds, Members, Point, Solid};
use ionfall_model::{Electrode, Parts};
use ionfall_numerics::number::round_step;
use std::collections::HashMap;

/// Pixels along the longer side.
const PIXELS: f64 = 420.0;
/// Equipotentials, about.
const LEVELS: f64 = 16.0;
/// Current lines.
const CURRENTS: usize = 24;

/// Something in the bath is this in [`Section::matter`] plus its number in [`Section::bodies`].
pub(crate) const BODY: u8 = 2;

/// What the section is made from.
pub(super) struct Source<'a, const D: usize> {
    pub parts: &'a Parts<D>,
    pub outcome: &'a Outcome<D>,
    pub conductivity_s_per_m: f64,
    pub shapes: &'a [Shape<'a, D>],
    pub frames: &'a [Frame<D>],
    pub strips: &'a [Strip],
    /// Which value of the strips is the current density.
    pub current_field: usize,
}

/// The plane for a job: through the place of interest.
pub(super) fn plane<const D: usize>(
    domain: &Domain<D>,
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
    place_m: [f64; 3],
) -> Plane {
    if D == 2 {
        return Plane::FLAT;
    }
    let in_space = |x: &Point<D>| std::array::from_fn(|k| x.get(k).copied().unwrap_or(0.0));
    let mut bodies: Vec<(Rank, Bounds<3>)> = Vec::new();
    for electrode in electrodes {
        let facets = outcome.grid.facets.iter();
        let own = facets.filter(|f| usize::from(f.body) == electrode.body);
        let rank = if electrode.role.is_cathode() {
            Rank::Work
        } else {
            Rank::Anode
        };
        bodies.push((rank, Bounds::around(own.map(|f| in_space(&f.point)))));
    }
    for sheet in &domain.sheets {
        let vertices = sheet.sheet.soup.vertices.iter();
        bodies.push((Rank::Other, Bounds::around(vertices.map(in_space))));
    }
    Plane::through(place_m, &bodies)
}

/// Cuts.
pub(super) fn section<const D: usize>(
    source: &Source<'_, D>,
    plane: &Plane,
    lift: Lift,
) -> Section {
    let grid = &source.outcome.grid;
    let tank = source.parts.domain.tank.bounds();
    let mut low = plane.within(&tank.low);
    let high = plane.within(&tank.high);
    if grid.space == Space::Axisymmetric {
        low[0] = low[0].max(0.0);
    }
    let side = [high[0] - low[0], high[1] - low[1]];
    let pixel_m = side[0].max(side[1]) / PIXELS;
    let size = side.map(|s| (s / pixel_m).ceil().max(2.0) as usize);
    let (bodies, numbers) = bodies(source, plane);
    let (matter, potential_mv) = picture(source, plane, (low, pixel_m, size), &numbers);
    let raster = Raster {
        values: &potential_mv,
        size,
    };
    // From pixels to mm in the plane; the centre of pixel 0 is half a pixel from the corner.
    let placed = |line: Vec<[f64; 2]>| -> Vec<[f64; 2]> {
        line.iter()
            .map(|p| std::array::from_fn(|k| 1e3 * (low[k] + (p[k] + 0.5) * pixel_m)))
            .collect()
    };
    let levels = levels(&potential_mv)
        .into_iter()
        .map(|level| {
            (
                level,
                lines(&raster, level).into_iter().map(placed).collect(),
            )
        })
        .collect();
    let weight = |strip: &Strip, n: usize| {
        let around = match grid.space {
            Space::Axisymmetric => strip.places[n][0],
            _ => 1.0,
        };
        around * strip.length_m[n] * strip.values[source.current_field][n]
    };
    let currents = beginnings(source.strips, CURRENTS, weight)
        .into_iter()
        .filter_map(|[place, along]| {
            let place = std::array::from_fn(|k| (place[k] - low[k]) / pixel_m - 0.5);
            walk(&raster, place, along)
        })
        .map(placed)
        .collect();
    let corner = |p: [f64; 2]| lift.point(&plane.point::<D>(p), 0);
    let end = [
        low[0] + size[0] as f64 * pixel_m,
        low[1] + size[1] as f64 * pixel_m,
    ];
    let names = axes(grid.space);
    Section {
        title: title(plane, names),
        axes: plane.along.map(|k| names[k]),
        low: low.map(|x| 1e3 * x),
        pixel: 1e3 * pixel_m,
        size,
        corners: [
            corner(low),
            corner([end[0], low[1]]),
            corner(end),
            corner([low[0], end[1]]),
        ],
        potential_mv,
        matter,
        levels,
        currents,
        bodies,
        ends: Vec::new(),
        tube_share: (D == 2).then_some(1.0 / CURRENTS as f64),
    }
}

/// What each pixel is and its potential, mV, row by row; not a number outside the bath. The lowest
/// corner, the edge of a pixel and the size are those of the picture.
fn picture<const D: usize>(
    source: &Source<'_, D>,
    plane: &Plane,
    (low, pixel_m, size): ([f64; 2], f64, [usize; 2]),
    numbers: &[Option<u8>],
) -> (Vec<u8>, Vec<f32>) {
    let domain = &source.parts.domain;
    let field = Field::new(source, plane);
    let solids: Vec<(Bounds<D>, Members<D>)> = (domain.bodies.iter())
        .map(|b| (b.solid.bounds(), Members::new(&b.solid)))
        .collect();
    let mut matter = Vec::with_capacity(size[0] * size[1]);
    let mut potential_mv = Vec::with_capacity(size[0] * size[1]);
    for j in 0..size[1] {
        for i in 0..size[0] {
            let p = [
                low[0] + (i as f64 + 0.5) * pixel_m,
                low[1] + (j as f64 + 0.5) * pixel_m,
            ];
            let x = plane.point::<D>(p);
            let what = field.matter(&domain.tank, &solids, numbers, &x);
            let volts = (what == 0).then(|| field.potential_v(plane, &x)).flatten();
            matter.push(if what == 0 && volts.is_none() {
                1
            } else {
                what
            });
            potential_mv.push(volts.map_or(f32::NAN, |v| (1e3 * v) as f32));
        }
    }
    (matter, potential_mv)
}

fn title(plane: &Plane, names: &[&str]) -> String {
    match plane.across {
        None => "The bath in the plane of the job".into(),
        Some((axis, at_m)) => format!(
            "Cut through the bath at {}",
            coordinates(&names[axis..=axis], &[at_m])
        ),
    }
}

/// Round values of the potential.
fn levels(potential_mv: &[f32]) -> Vec<f64> {
    let known = potential_mv.iter().filter(|v| v.is_finite());
    let (low, high) = known.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| {
        (l.min(f64::from(v)), h.max(f64::from(v)))
    });
    if high - low <= 1e-9 * high.abs() || !low.is_finite() {
        return Vec::new();
    }
    let step = round_step(high - low, LEVELS);
    let first = (low / step).ceil() as i64;
    (first..)
        .map(|n| n as f64 * step)
        .take_while(|v| *v < high)
        .collect()
}

/// Outlines of everything cut, and for each body of the domain its number among them.
fn bodies<const D: usize>(source: &Source<'_, D>, plane: &Plane) -> (Vec<Cut>, Vec<Option<u8>>) {
    let shapes = source.shapes.iter().map(|s| {
        (
            s.electrode.name.as_str(),
            Kind::Electrode(s.electrode.role),
            &s.drawn,
        )
    });
    let frames = source
        .frames
        .iter()
        .map(|f| (f.name.as_str(), f.role, &f.drawn));
    let cuts: Vec<Cut> = shapes
        .chain(frames)
        .map(|(name, role, drawn)| Cut {
            name: name.into(),
            role,
            lines: plane
                .cut(drawn)
                .iter()
                .map(|t| t.ends.map(|p| p.map(|x| 1e3 * x)))
                .collect(),
        })
        .collect();
    let number = |name: &str| {
        cuts.iter()
            .position(|c| c.name == name && c.role != Kind::Tank)
    };
    let domain = &source.parts.domain;
    let numbers = domain
        .bodies
        .iter()
        .map(|b| number(&b.name).map(|n| n as u8));
    let numbers = numbers.collect();
    (cuts, numbers)
}

/// The potential near the plane.
struct Field<'a, const D: usize> {
    grid: &'a Grid<D>,
    nodes: HashMap<Cell, u32>,
    levels: Vec<u8>,
    potential_v: &'a [f64],
    /// Minus conductivity times the gradient, A/m2.
    current: Vec<Point<D>>,
    conductivity: f64,
    /// Lowest and highest potential at the electrodes, V: the bath has none beyond (maximum
    /// principle of Laplace's equation).
    range_v: [f64; 2],
}

impl<'a, const D: usize> Field<'a, D> {
    fn new(source: &Source<'a, D>, plane: &Plane) -> Self {
        let grid = &source.outcome.grid;
        let potential_v = &source.outcome.solution.potential_v[..grid.len()];
        let surface = source.outcome.solution.surface_potential_v.iter().copied();
        let near = |n: &usize| plane.height(&grid.centre(*n)).abs() <= 0.5 * grid.size_m(*n);
        let nodes: HashMap<Cell, u32> = (0..grid.len())
            .rev()
            .filter(near)
            .map(|n| (grid.node_cell[n], n as u32))
            .collect();
        let mut levels: Vec<u8> = nodes.keys().map(|c| c.level).collect();
        levels.sort_unstable();
        levels.dedup();
        levels.reverse();
        Self {
            grid,
            nodes,
            levels,
            potential_v,
            current: field_vectors(grid, potential_v, source.conductivity_s_per_m),
            conductivity: source.conductivity_s_per_m,
            range_v: [
                surface.clone().fold(f64::INFINITY, f64::min),
                surface.fold(f64::NEG_INFINITY, f64::max),
            ],
        }
    }

    fn node(&self, x: &Point<D>) -> Option<usize> {
        let root = &self.grid.root;
        let scale = f64::from(1u32 << MAX_LEVEL) / root.side_m;
        let mut fine = [0u32; D];
        for k in 0..D {
            let at = ((x[k] - root.origin[k]) * scale).floor();
            if !(0.0..f64::from(1u32 << MAX_LEVEL)).contains(&at) {
                return None;
            }
            fine[k] = at as u32;
        }
        let key = encode(fine);
        self.levels.iter().find_map(|&level| {
            let key = key >> (D * usize::from(MAX_LEVEL - level));
            self.nodes.get(&Cell { key, level }).map(|&n| n as usize)
        })
    }

    /// What is at a point: 0 bath, 1 outside, else a body.
    fn matter(
        &self,
        tank: &Solid<D>,
        solids: &[(Bounds<D>, Members<D>)],
        numbers: &[Option<u8>],
        x: &Point<D>,
    ) -> u8 {
        if !tank.contains(x) {
            return 1;
        }
        let held = (solids.iter().zip(numbers))
            .find(|((bounds, solid), _)| bounds.contains(x) && solid.contains(x));
        match held {
            Some((_, number)) => number.map_or(1, |n| BODY + n),
            None => u8::from(self.node(x).is_none()),
        }
    }

    fn potential_v(&self, plane: &Plane, x: &Point<D>) -> Option<f64> {
        let quarter = 0.25 * self.grid.size_m(self.node(x)?);
        let (mut sum, mut count) = (0.0, 0.0);
        for (u, v) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
            let mut beside = *x;
            beside[plane.along[0]] += u * quarter;
            beside[plane.along[1]] += v * quarter;
            if let Some(node) = self.node(&beside) {
                sum += self.carried(node, x);
                count += 1.0;
            }
        }
        let [low, high] = self.range_v;
        (count > 0.0).then(|| (sum / count).max(low).min(high))
    }

    /// The potential of a node carried to a point.
    fn carried(&self, node: usize, x: &Point<D>) -> f64 {
        let centre = self.grid.centre(node);
        let rise: f64 = (0..D)
            .map(|k| -self.current[node][k] / self.conductivity * (x[k] - centre[k]))
            .sum();
        self.potential_v[node] + rise
    }
}
