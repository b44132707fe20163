//! Putting the story together.

use super::chains::strips;
use super::data::{Chart, First, Marker, Packed, Said, Section, Story, Table, Wire};
use super::kind::Kind;
use super::lift::Lift;
use super::look::view;
use super::plane::Plane;
use super::quantities::{Field, What, fields};
use super::rules::rules;
use super::section::{Source, plane, section};
use super::surfaces::{Shape, flat, shapes, surfaces};
use super::wires::{Frame, frames, wires};
use super::words::extreme;
use super::{charts, measure, tables, watch, words};
use crate::edge;
use crate::faces;
use crate::facets::axes;
use crate::lines::walks;
use crate::readings;
use crate::repeats;
use crate::summary::Summary;
use crate::verdict::change;
use ionfall_deposit::{BodyOutcome, Outcome, Place};
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::Point;
use ionfall_model::{Model, Parts};

impl Story {
    /// Of a finished run.
    pub fn new<const D: usize>(
        model: &Model<Parts<D>>,
        outcome: &Outcome<D>,
        summary: &Summary,
    ) -> Self {
        Self::told(model, outcome, summary, true)
    }

    /// Of a finished run what a first screen shows, without section, charts and tables.
    pub fn first_screen<const D: usize>(
        model: &Model<Parts<D>>,
        outcome: &Outcome<D>,
        summary: &Summary,
    ) -> Self {
        Self::told(model, outcome, summary, false)
    }

    fn told<const D: usize>(
        model: &Model<Parts<D>>,
        outcome: &Outcome<D>,
        summary: &Summary,
        is_whole: bool,
    ) -> Self {
        let parts = &model.geometry;
        let domain = &parts.domain;
        let fields = fields(model, outcome);
        let lift = Lift::of(domain);
        let shapes = shapes(parts, outcome, &fields);
        let frames = frames(parts);
        let wires = wires(&frames, lift, &domain.tank.bounds());
        let drawn = Ready {
            model,
            outcome,
            summary,
            fields: &fields,
            shapes: &shapes,
            frames: &frames,
            lift,
        };
        let (section, charts) = match is_whole {
            true => cut_and_charts(&drawn),
            false => (None, Vec::new()),
        };
        let cathodes = cathodes(&shapes);
        let bath = &summary.bath;
        let mut markers = markers::<D>(summary, lift);
        let change = change(&summary.verdict, "JOB");
        let (rules, takes) = rules(summary, change.as_deref(), &mut markers);
        let place = markers.first().map(|m| m.at);
        let (front, view) = view(&wires, &cathodes, place, lift);
        Self {
            title: title(summary),
            space: space(domain.space),
            axes: axes(domain.space),
            copies: repeats::copies_by_name(summary),
            verdict: words::verdict(summary),
            first: First {
                rules,
                change,
                takes,
            },
            quantities: fields.iter().map(|f| f.quantity.clone()).collect(),
            surfaces: surfaces(&shapes, lift, summary.grid.finest_m),
            front,
            view,
            markers,
            section,
            charts,
            tables: match is_whole {
                true => all_tables(summary),
                false => Vec::new(),
            },
            setting: watch::setting(model, summary, &wires, &cathodes),
            wires,
            cathodes,
            cautions: summary.cautions.clone(),
            said: Said {
                bands: words::bands(summary),
                levers: words::levers(summary),
                assumptions: words::assumptions(summary, !parts.zones.is_empty()),
            },
            notes: summary.notes.clone(),
            safety: bath
                .cautions
                .iter()
                .map(|c| [c.about.to_owned(), c.text.to_owned()])
                .collect(),
            computed: tables::computed(summary),
            job: None,
        }
    }
}

/// What the drawings are made from.
struct Ready<'a, const D: usize> {
    model: &'a Model<Parts<D>>,
    outcome: &'a Outcome<D>,
    summary: &'a Summary,
    fields: &'a [Field],
    shapes: &'a [Shape<'a, D>],
    frames: &'a [Frame<D>],
    lift: Lift,
}

/// The cut through the bath with the ends of the ways along which charts are drawn, and the charts.
fn cut_and_charts<const D: usize>(ready: &Ready<'_, D>) -> (Option<Section>, Vec<Chart>) {
    let (parts, outcome, lift) = (&ready.model.geometry, ready.outcome, ready.lift);
    let place_m = of_interest(ready.summary);
    let plane = plane(&parts.domain, &parts.electrodes, outcome, place_m);
    let strips = strips(&plane, ready.shapes);
    let place_of = |what: What| ready.fields.iter().position(|f| f.what == what);
    let current_field = place_of(What::CurrentDensity).unwrap_or(0);
    let source = Source {
        parts,
        outcome,
        conductivity_s_per_m: ready.model.bath.conductivity.value,
        shapes: ready.shapes,
        frames: ready.frames,
        strips: &strips,
        current_field,
    };
    let mut section = section(&source, &plane, lift);
    for (n, strip) in charts::drawn_strips(&strips).enumerate() {
        let ends = [strip.places.first(), strip.places.last()];
        for (letter, end) in charts::letters(n).into_iter().zip(ends) {
            section
                .ends
                .extend(end.map(|p| (p.map(|x| 1e3 * x), letter)));
        }
    }
    let main = place_of(What::Thickness).unwrap_or(current_field);
    let way = Way {
        plane: &plane,
        lift,
    };
    let charts = all_charts(&source, ready.fields, main, way, ready.summary);
    (Some(section), charts)
}

fn all_tables(summary: &Summary) -> Vec<Table> {
    (repeats::tables(summary).into_iter().map(Some))
        .chain([
            Some(tables::statistics(summary)),
            Some(tables::anodes(summary)),
            tables::supplies(summary),
            faces::table(summary),
            readings::table(summary),
            tables::cost(summary),
            tables::ledger(summary),
            Some(tables::bath(summary)),
        ])
        .flatten()
        .collect()
}

fn title(summary: &Summary) -> String {
    if summary.title.is_empty() {
        "Where the metal lands".into()
    } else {
        summary.title.clone()
    }
}

fn space(space: Space) -> &'static str {
    match space {
        Space::Tank => "tank",
        Space::Planar { .. } => "planar",
        Space::Axisymmetric => "axisymmetric",
    }
}

/// Boxes around the cathodes.
fn cathodes<const D: usize>(shapes: &[Shape<'_, D>]) -> Vec<Wire> {
    let boxed = |s: &Shape<'_, D>| {
        let role = Kind::Electrode(s.electrode.role);
        boxed(&s.electrode.name, role, &s.drawn.vertices)
    };
    shapes.iter().map(boxed).collect()
}

/// Distribution, profiles, ways over the work, and what happened in time; `main` is the field that is
/// asked for most.
fn all_charts<const D: usize>(
    source: &Source<'_, D>,
    fields: &[Field],
    main: usize,
    way: Way<'_>,
    summary: &Summary,
) -> Vec<Chart> {
    let (parts, outcome) = (source.parts, source.outcome);
    let mut all: Vec<Chart> = charts::distribution(&parts.electrodes, outcome, &fields[main])
        .into_iter()
        .collect();
    all.extend(fields.iter().enumerate().filter_map(|(n, field)| {
        // In two dimensions the section is the whole; in a tank one line is enough.
        (D == 2 || n == main)
            .then(|| charts::profile(source.strips, field, n, |p| way.place::<D>(p)))
            .flatten()
    }));
    let middle = |f: usize| way.lift.point(&outcome.grid.facets[f].point, 0);
    all.extend(charts::along(&walks(parts, outcome), &fields[main], middle));
    all.extend(charts::history(summary, fields[main].quantity.unit));
    charts::on_one_ordinate(&mut all);
    all
}

/// From the plane of the section into the view.
#[derive(Clone, Copy)]
struct Way<'a> {
    plane: &'a Plane,
    lift: Lift,
}

impl Way<'_> {
    fn place<const D: usize>(self, p: [f64; 2]) -> [f64; 3] {
        self.lift.point(&self.plane.point::<D>(p), 0)
    }
}

/// The thinnest place that counts, or where the least current flows, or the origin.
fn of_interest(summary: &Summary) -> [f64; 3] {
    let on = summary.wanted.as_ref().and_then(|w| w.on.as_deref());
    let thinnest = summary.works(on).filter_map(|b| b.thinnest);
    let place = thinnest.min_by(|a, b| a.value.total_cmp(&b.value));
    let loaded = || summary.works(None).find_map(|b| b.limit_share);
    place.or_else(loaded).map_or([0.0; 3], |p| p.at_m)
}

fn boxed<const D: usize>(name: &str, role: Kind, vertices: &[Point<D>]) -> Wire {
    let mm = |pick: fn(f64, f64) -> f64, start: f64| -> [f64; 3] {
        std::array::from_fn(|k| {
            let along = vertices.iter().filter_map(|v| v.get(k));
            let found = along.fold(start, |m, x| pick(m, 1e3 * x));
            if found.is_finite() { found } else { 0.0 }
        })
    };
    Wire {
        name: name.into(),
        role,
        points: Packed(flat(&[])),
        faces: Vec::new(),
        bounds: [mm(f64::min, f64::INFINITY), mm(f64::max, f64::NEG_INFINITY)],
    }
}

/// The thinnest, the thickest and the most loaded place of all works.
fn markers<const D: usize>(summary: &Summary, lift: Lift) -> Vec<Marker> {
    type Pick = fn(&BodyOutcome) -> Option<Place>;
    let on = summary.wanted.as_ref().and_then(|w| w.on.as_deref());
    let kinds: [(&'static str, &str, Option<&str>, bool, Pick); 3] = [
        ("thinnest", "thinnest", on, false, |b| b.thinnest),
        ("thickest", "thickest", None, true, |b| b.thickest),
        ("loaded", "most loaded", None, true, |b| b.limit_share),
    ];
    let several = summary.works(None).count() > 1;
    let mut markers: Vec<Marker> = Vec::new();
    for (kind, word, on, largest, of) in kinds {
        let Some((body, place)) = extreme(summary.works(on), of, largest) else {
            continue;
        };
        let figure = if kind == "loaded" {
            measure::percent(place.value)
        } else {
            measure::thick(place.value)
        };
        let figure = format!("{}{figure}", edge::before(&place));
        let at: Point<D> = std::array::from_fn(|k| place.at_m[k]);
        let at = lift.point(&at, 0);
        match markers.iter_mut().find(|m| m.at == at) {
            Some(same) => {
                same.label += &format!(" and {word}");
                same.figures.push(figure);
            }
            None => markers.push(Marker {
                kind,
                label: match several {
                    true => format!("{word}, on {}", body.name),
                    false => word.to_owned(),
                },
                figures: vec![figure],
                place: words::place(summary, &place),
                note: edge::after(&place).trim_start_matches(", ").to_owned(),
                at,
            }),
        }
    }
    markers
}
