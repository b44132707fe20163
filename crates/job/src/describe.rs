//! How a job was understood, in plain words.

use crate::measure::{Split, volume_m3};
use crate::schedule;
use ionfall_bath::constants::ZERO_CELSIUS_K;
use ionfall_bath::kinetics::{Branch, Transfer};
use ionfall_bath::{Electrolyte, Kinetics, Polarisation};
use ionfall_mesh::grid::{BodyKind, Domain, Space};
use ionfall_mesh::solid::Soup;
use ionfall_model::{Electrode, Geometry, Model, Output, Parts, Role, USUAL_BATH_CELLS};
use ionfall_numerics::number;

/// Says how a job was understood: space, bath with the grade of every figure, bodies with areas
/// and volumes, supply, plan, grid, output, cautions. `areas_m2` are the surfaces of the bodies as the
/// grid cuts them ([`Geometry::survey`]).
///
/// ```
/// let job = r#"
///     tank = { size = "100 x 50 x 50 mm" }
///     bath = { kind = "custom", metal = "copper", conductivity = "20 S/m" }
///     supply = { current = "2 A" }
///     anode = [{ shape.box = { from = "90 x 0 x 0 mm", to = "100 x 50 x 50 mm" } }]
///     work = [{ shape.ball = { radius = "10 mm", centre = "30 x 25 x 25 mm" } }]
/// "#;
/// let model = ionfall_job::parse("job.toml", job, "".as_ref()).expect("a good job");
/// let survey = model.geometry.survey(1 << 30).expect("a grid");
/// assert!(ionfall_job::describe(&model, &survey.areas_m2).contains("2 A"));
/// ```
pub fn describe(model: &Model, areas_m2: &[f64]) -> String {
    let mut lines = Vec::new();
    if !model.title.is_empty() {
        lines.push(model.title.clone());
    }
    bath(&model.bath, &mut lines);
    let work_m2 = match &model.geometry {
        Geometry::Flat(p) => parts(p, areas_m2, &mut lines),
        Geometry::Solid(p) => parts(p, areas_m2, &mut lines),
    };
    schedule::tell(model, work_m2, &mut lines);
    let most_a = match &model.geometry {
        Geometry::Flat(p) => most_current_a(p, areas_m2),
        Geometry::Solid(p) => most_current_a(p, areas_m2),
    };
    if let Some(most_a) = most_a {
        schedule::tell_excess(model, work_m2, most_a, &mut lines);
    }
    for (what, names) in match &model.geometry {
        Geometry::Flat(p) => told(p),
        Geometry::Solid(p) => told(p),
    } {
        if !names.is_empty() {
            lines.push(format!("{what} {}", names.join(", ")));
        }
    }
    // Of a grid that is not yet known: the usual ones.
    let words: Vec<_> = Output::ALL
        .iter()
        .filter(|(_, output)| model.save.what.hold(*output, USUAL_BATH_CELLS))
        .map(|(word, _)| *word)
        .collect();
    lines.push(format!("Saved: summary, {}", words.join(", ")));
    lines.extend(model.notes.iter().map(|note| format!("Note: {note}")));
    for caution in model.bath.cautions {
        lines.push(format!(
            "Caution, {}: {} ({})",
            caution.about, caution.text, caution.grade
        ));
    }
    lines.join("\n") + "\n"
}

/// Most current that can reach the work, A, if all of it has a limiting current and no gas is counted.
fn most_current_a<const D: usize>(parts: &Parts<D>, areas_m2: &[f64]) -> Option<f64> {
    let stirred = parts
        .zones
        .iter()
        .map(|z| z.limit_factor)
        .fold(1.0, f64::max);
    let works = parts.electrodes.iter().filter(|e| e.role == Role::Work);
    let most = works.map(|e| match &e.kinetics {
        Kinetics::Law(law) if law.hydrogen().is_none() => {
            Some(law.limit()?.current_a_per_m2 * stirred * areas_m2.get(e.body)?)
        }
        _ => None,
    });
    most.sum()
}

/// Names of the lines, faces and points at which the result is told.
fn told<const D: usize>(parts: &Parts<D>) -> [(&'static str, Vec<String>); 3] {
    let lines = parts.lines.iter().map(|l| format!("`{}`", l.name));
    let faces = parts.faces.iter().map(|f| {
        let on = &parts.electrodes[f.on].name;
        format!("`{}` of `{on}`", f.name)
    });
    let points = parts.readings.iter().map(|r| format!("`{}`", r.name));
    [
        ("Told along the lines", lines.collect()),
        ("Current told of the faces", faces.collect()),
        ("Read at the points", points.collect()),
    ]
}

fn bath(bath: &Electrolyte, lines: &mut Vec<String>) {
    lines.push(format!(
        "Bath: {} at {} degC, deposits {}",
        bath.name,
        significant(bath.temperature_k - ZERO_CELSIUS_K),
        bath.metal.name
    ));
    for (name, figure) in &bath.composition {
        lines.push(format!("  {name}: {figure}"));
    }
    for (name, figure) in bath.figures() {
        lines.push(format!("  {name}: {figure}"));
    }
    if let Some(wants) = bath.limit_wants() {
        lines.push(format!(
            "  no limiting current is known, so burning cannot be judged: {wants}"
        ));
    }
}

/// A number as given.
fn significant(value: f64) -> String {
    number::significant(value, 4)
}

/// A number measured on flat pieces of a surface.
fn measured(value: f64) -> String {
    number::significant(value, 3)
}

/// Gives the wet area of the work, m2.
fn parts<const D: usize>(parts: &Parts<D>, areas_m2: &[f64], lines: &mut Vec<String>) -> f64
where
    Soup<D>: Split<D>,
{
    let domain = &parts.domain;
    lines.push(liquid(domain));
    let mut work_m2 = 0.0;
    for (n, body) in domain.bodies.iter().enumerate() {
        let electrode = parts.electrodes.iter().find(|e| e.body == n);
        let what = electrode.map_or("shield", |e| e.role.word());
        let surface = match (body.kind, areas_m2.get(n)) {
            (BodyKind::Insulator, _) | (_, None) => "insulating".into(),
            (BodyKind::Electrode, Some(area_m2)) => {
                format!("surface in the liquid {} dm2", measured(100.0 * area_m2))
            }
        };
        if is_told(parts, electrode) {
            // Only the surface may be another one.
            lines.push(format!("{what} `{}`: {surface}", body.name));
            if what == Role::Work.word() {
                work_m2 += areas_m2.get(n).copied().unwrap_or(f64::NAN);
            }
            continue;
        }
        let volume = match volume_m3(&body.solid, domain.space) {
            Some(volume_m3) => format!("volume {} cm3", measured(1e6 * volume_m3)),
            None => "without bounds".into(),
        };
        lines.push(format!("{what} `{}`: {surface}, {volume}", body.name));
        if let Some(electrode) = electrode {
            lines.push(format!("  {}", kinetics(&electrode.kinetics)));
            skin(parts, electrode, lines);
            if electrode.role == Role::Work {
                work_m2 += areas_m2.get(n).copied().unwrap_or(f64::NAN);
            }
        }
    }
    for sheet in &domain.sheets {
        lines.push(format!(
            "shield `{}`: a sheet, {} % open",
            sheet.name,
            significant(100.0 * sheet.sheet.open_fraction)
        ));
    }
    for stop_off in &domain.stop_offs {
        let on = match stop_off.body {
            Some(n) => format!("`{}`", domain.bodies[n].name),
            None => "every electrode it covers".into(),
        };
        lines.push(format!("stop-off on {on}"));
    }
    lines.push(grid(domain));
    work_m2
}

/// Is it a copy of what has been told of?
fn is_told<const D: usize>(parts: &Parts<D>, electrode: Option<&Electrode>) -> bool {
    let Some(electrode) = electrode else {
        return false;
    };
    let copies = |e: &&Electrode| e.copy_of.is_some() && e.copy_of == electrode.copy_of;
    let first = parts.electrodes.iter().find(copies);
    first.is_some_and(|first| first.name != electrode.name)
}

/// Coats, contacts and leads of an electrode.
fn skin<const D: usize>(parts: &Parts<D>, electrode: &Electrode, lines: &mut Vec<String>) {
    let own = |n: usize| parts.electrodes[n].name == electrode.name;
    for coat in parts.coats.iter().filter(|c| own(c.electrode)) {
        let place = match coat.region {
            Some(_) => "in its region",
            None => "all over",
        };
        let mut line = format!(
            "  coat: {} ohm on each square, {place}",
            significant(coat.sheet_resistance_ohm)
        );
        if coat.islands_m > 0.0 {
            line += &format!(
                "; the first {} um of metal are islands",
                significant(1e6 * coat.islands_m)
            );
        }
        lines.push(line);
    }
    for contact in parts.contacts.iter().filter(|c| own(c.electrode)) {
        lines.push(format!(
            "  {}: {} ohm",
            contact.name,
            significant(contact.resistance_ohm)
        ));
    }
    if electrode.lead_ohm > 0.0 {
        lines.push(format!("  lead: {} ohm", significant(electrode.lead_ohm)));
    }
    if electrode.film_ohm_m2 > 0.0 {
        let ohm_cm2 = significant(1e4 * electrode.film_ohm_m2);
        lines.push(format!("  film on it: {ohm_cm2} ohm cm2"));
    }
}

fn liquid<const D: usize>(domain: &Domain<D>) -> String
where
    Soup<D>: Split<D>,
{
    let b = domain.tank.bounds();
    let sides: Vec<_> = (0..D)
        .map(|k| significant(1e3 * (b.high[k] - b.low[k])))
        .collect();
    let volume = match volume_m3(&domain.tank, domain.space) {
        Some(volume_m3) => format!("{} L before the bodies", measured(1e3 * volume_m3)),
        None => "without bounds".into(),
    };
    let space = match domain.space {
        Space::Tank => "tank in three dimensions".into(),
        Space::Planar { depth_m } => format!("planar, depth {} mm", significant(1e3 * depth_m)),
        Space::Axisymmetric => "axisymmetric (r, z)".to_owned(),
    };
    format!("Space: {space}; liquid {} mm, {volume}", sides.join(" x "))
}

fn kinetics(kinetics: &Kinetics) -> String {
    match kinetics {
        Kinetics::Primary => "no polarisation (equipotential)".into(),
        Kinetics::Law(law) => polarisation(law),
        Kinetics::Own(_) => "a law of the program's own".into(),
    }
}

fn polarisation(law: &Polarisation) -> String {
    let mut text = match law.transfer() {
        Transfer::Linear { resistance_ohm_m2 } => {
            format!("linear, {} ohm m2", significant(resistance_ohm_m2))
        }
        Transfer::Tafel {
            branch,
            exchange_a_per_m2,
            slope_v,
        } => format!(
            "Tafel ({}), {} A/m2, {} mV per factor e",
            match branch {
                Branch::Anodic => "anodic",
                Branch::Cathodic => "cathodic",
            },
            significant(exchange_a_per_m2),
            significant(1e3 * slope_v)
        ),
        Transfer::ButlerVolmer {
            exchange_a_per_m2,
            alpha_a,
            alpha_c,
            ..
        } => format!(
            "Butler-Volmer, {} A/m2, alpha {} anodic and {} cathodic",
            significant(exchange_a_per_m2),
            significant(alpha_a),
            significant(alpha_c)
        ),
    };
    if let Some(limit) = law.limit() {
        text += &format!(
            ", at most {} A/dm2{}",
            significant(0.01 * limit.current_a_per_m2),
            if limit.film_voltage_v.is_some() {
                ", with concentration overpotential"
            } else {
                ""
            }
        );
    }
    if law.hydrogen().is_some() {
        text += ", hydrogen beside the metal";
    }
    if let Some(back_v) = law.back_v() {
        text += &format!(
            ", of oxygen, whose equilibrium lies {} V above that of the metal: it does not dissolve",
            significant(back_v)
        );
    }
    text
}

fn grid<const D: usize>(domain: &Domain<D>) -> String {
    let finest = domain.bodies.iter().map(|b| b.edge_m.min(b.finest_m));
    let finest = finest.fold(domain.coarsest_m, f64::min);
    format!(
        "Grid: cells from {} mm at the electrodes to {} mm",
        significant(1e3 * finest),
        significant(1e3 * domain.coarsest_m)
    )
}
