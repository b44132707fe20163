//! Jobs that are right.

use crate::{good, told};
use approx::assert_relative_eq;
use ionfall_bath::kinetics::Transfer;
use ionfall_bath::{Grade, Kinetics, Origin, Variation};
use ionfall_job::schema;
use ionfall_mesh::grid::narrow::KEPT;
use ionfall_model::{Geometry, Hold, Output, Outputs, Role, Setting, Until};
use serde_json::Value;

const MEDAL: &str = include_str!("jobs/medal.toml");

/// A planar cell in which everything is given, laws included.
const PLANAR: &str = include_str!("jobs/planar.toml");

/// Shapes in two coordinates.
const RING: &str = include_str!("jobs/ring.toml");

/// Shapes from files.
const FILES: &str = include_str!("jobs/files.toml");

#[test]
fn a_tank_with_everything() {
    let model = good(MEDAL);
    assert_eq!(model.title, "Medal, one anode");
    assert_eq!(model.supplies.len(), 1);
    assert_eq!(model.supplies[0].hold, Hold::MeanCurrentDensity(300.0));
    assert_eq!(model.supplies[0].anodes, [0]);
    assert_eq!(model.plan.len(), 1);
    assert_eq!(model.plan[0].until, Until::Time(28_800.0));
    assert_eq!(
        model.plan[0].setting,
        Setting::Hold(Hold::MeanCurrentDensity(300.0))
    );
    assert_eq!(
        model.save.what,
        Outputs::These(vec![Output::Surface, Output::Facets])
    );
    assert_eq!(model.bath.conductivity.grade, Grade::Computed);
    let wanted = model.wanted.as_ref().expect("wanted");
    assert_relative_eq!(wanted.thickness_m, 2e-4);
    let prices = model.prices.as_ref().expect("prices");
    assert_relative_eq!(prices.energy_per_j.unwrap() * 3.6e6, 0.28);
    assert_relative_eq!(prices.time_per_s.unwrap() * 3600.0, 6.0);
    let priced = "Prices EUR: metal 11 a kg, energy 0.28 a kWh, time 6 a h, acid 0.6 a kg";
    assert!(told(&model).contains(priced));
    let Geometry::Solid(parts) = model.geometry else {
        panic!("a tank is three-dimensional");
    };
    let roles: Vec<_> = parts
        .electrodes
        .iter()
        .map(|e| (e.name.as_str(), e.role))
        .collect();
    assert_eq!(
        roles,
        [
            ("anode", Role::Anode),
            ("medal", Role::Work),
            ("thief", Role::Thief)
        ]
    );
    // Both follow the bath, which dissolves copper as it deposits it.
    assert!(matches!(parts.electrodes[0].kinetics, Kinetics::Law(_)));
    assert!(matches!(parts.electrodes[1].kinetics, Kinetics::Law(_)));
    let domain = parts.domain;
    assert_eq!(domain.bodies.len(), 4);
    assert_relative_eq!(domain.bodies[1].finest_m, 5e-4);
    assert_eq!(domain.bodies[1].across, KEPT, "its size is given");
    assert_relative_eq!(domain.bodies[0].edge_m, 1e-3);
    assert_relative_eq!(domain.tank.bounds().high[2], 0.22);
    assert_eq!(domain.stop_offs[0].body, Some(1));
    assert_eq!(domain.regions.len(), 1);
    assert!(!domain.bodies[3].solid.contains(&[0.152, 0.1, 0.11]));
    assert!(domain.bodies[3].solid.contains(&[0.152, 0.03, 0.11]));
    // The medal stands on x = 250 mm and is 4 mm thick.
    assert!(domain.bodies[1].solid.contains(&[0.252, 0.1, 0.11]));
    assert!(!domain.bodies[1].solid.contains(&[0.255, 0.1, 0.11]));
    let sheet = &domain.sheets[0].sheet;
    assert_relative_eq!(sheet.open_fraction, 0.4);
    for v in &sheet.soup.vertices {
        assert_relative_eq!(v[0], 0.1, epsilon = 1e-12);
        assert!((0.04 - 1e-9..=0.14 + 1e-9).contains(&v[1]));
        assert!((0.06 - 1e-9..=0.16 + 1e-9).contains(&v[2]));
    }
}

#[test]
fn the_description_tells_sizes_and_grades() {
    let text = told(&good(MEDAL));
    for piece in [
        "Medal, one anode",
        "liquid 300 x 200 x 220 mm, 13.2 L",
        "conductivity: 14.07 S/m +-20 % (worked out here",
        "anode `anode`: surface in the liquid 4.66 dm2",
        "volume 204 cm3",
        "shield `gauze`: a sheet, 40 % open",
        "stop-off on `medal`",
        "Wanted: at least 0.2 mm on medal",
        "add acid to water",
    ] {
        assert!(text.contains(piece), "no {piece:?} in\n{text}");
    }
}

#[test]
fn a_planar_cell() {
    let model = good(PLANAR);
    assert_eq!(model.supplies[0].hold, Hold::Voltage(2.2));
    assert!(model.plan.is_empty());
    assert_relative_eq!(model.bath.conductivity.value, 25.0);
    let Geometry::Flat(parts) = model.geometry else {
        panic!("planar jobs are two-dimensional");
    };
    let Kinetics::Law(law) = parts.electrodes[1].kinetics else {
        panic!("the work has a law");
    };
    assert!(matches!(law.transfer(), Transfer::Tafel { .. }));
    // The case of parallel plates with a Nernst film at 431.4371654607 A/m2: the drop is the sum
    // of its surface and concentration overpotentials.
    let drop = law.drop_at(-431.4371654607).expect("below the limit");
    assert_relative_eq!(
        drop,
        -(0.4487275916396 + 0.0255237465177),
        max_relative = 1e-9
    );
}

/// A law of the job takes the bath's limiting current, or says one of its own; also where that is
/// the same number, or a hair off, it stays the job's.
#[test]
fn a_law_knows_whose_figures_it_is_made_of() {
    let job = |law: &str| {
        let job = format!(
            "space = \"planar\"\ndepth = \"100 mm\"\n[tank]\nsize = \"60 x 40 mm\"\n[bath]\nkind = \
             \"acid copper\"\nagitation = \"air\"\n[[anode]]\nshape.rectangle = {{ from = \"4 x 5 mm\", \
             to = \"8 x 35 mm\" }}\n[[work]]\nshape.rectangle = {{ from = \"45 x 10 mm\", to = \"50 x 30 \
             mm\" }}\n{law}\n[supply]\nvoltage = \"1 V\"\n"
        );
        let model = good(&job);
        let bath = model.bath.clone();
        let Geometry::Flat(parts) = model.geometry else {
            panic!("planar jobs are two-dimensional");
        };
        let Kinetics::Law(law) = parts.electrodes[1].kinetics else {
            panic!("the work has a law");
        };
        (bath, law)
    };
    let tafel = |limit: &str| {
        format!("law.tafel = {{ exchange_current_density = \"1 A/m2\", slope = \"50 mV\"{limit} }}")
    };
    let (bath, whole) = job("");
    assert_eq!(whole.transfer_from(), Origin::Bath);
    assert_eq!(whole.limit_from(), Origin::Bath);
    let (_, borrowed) = job(&tafel(""));
    assert_eq!(borrowed.transfer_from(), Origin::Job);
    assert_eq!(borrowed.limit_from(), Origin::Bath);
    let same = bath.limiting_current.unwrap().value;
    for limit in [same, same * (1.0 + 1e-9)] {
        let (_, own) = job(&tafel(&format!(
            ", limiting_current_density = \"{limit} A/m2\""
        )));
        assert_relative_eq!(own.limit().unwrap().current_a_per_m2, limit);
        assert_eq!(own.limit_from(), Origin::Job);
        for variation in Variation::set(&bath) {
            let law = Kinetics::Law(own);
            assert_eq!(variation.kinetics(&law), law);
        }
    }
}

#[test]
fn shapes_in_two_dimensions() {
    let model = good(RING);
    let Geometry::Flat(parts) = model.geometry else {
        panic!("axisymmetric jobs are two-dimensional");
    };
    let [_, work, ring] = &parts.domain.bodies[..] else {
        panic!("three bodies");
    };
    assert!(work.solid.contains(&[0.005, 0.19]));
    assert!(work.solid.contains(&[0.0, 0.085]));
    assert!(ring.solid.contains(&[0.06 + 0.028, 0.1]));
    assert!(!ring.solid.contains(&[0.06, 0.1]));
}

/// A tetrahedron with corners at 0 and 20 units on the axes, facing out.
const TETRAHEDRON: &str = "v 0 0 0\nv 20 0 0\nv 0 20 0\nv 0 0 20\n\
    f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";

#[test]
fn files_are_taken_from_the_folder_of_the_job() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("part.obj"), TETRAHEDRON).expect("written");
    let file = std::fs::File::create(folder.path().join("step.png")).expect("created");
    let mut picture = png::Encoder::new(file, 3, 2);
    picture.set_color(png::ColorType::Grayscale);
    picture.set_depth(png::BitDepth::Eight);
    let mut writer = picture.write_header().expect("written");
    writer
        .write_image_data(&[0, 255, 255, 0, 255, 255])
        .expect("written");
    writer.finish().expect("written");
    let path = folder.path().join("job.toml");
    std::fs::write(&path, FILES).expect("written");
    let model = ionfall_job::read(&path).expect("a good job");
    let Geometry::Solid(parts) = &model.geometry else {
        panic!("a tank is three-dimensional");
    };
    let [anode, work] = &parts.domain.bodies[..] else {
        panic!("two bodies");
    };
    assert!(anode.solid.contains(&[0.010, 0.010, 0.010]));
    assert!(!anode.solid.contains(&[0.020, 0.020, 0.020]));
    // Black on the left is low, white is high; 2 x 1 meshes on 40 mm make the plate 20 mm wide.
    assert!(work.solid.contains(&[0.085, 0.06, 0.0055]));
    assert!(!work.solid.contains(&[0.051, 0.06, 0.0055]));
    assert_relative_eq!(work.solid.bounds().high[1], 0.07, max_relative = 1e-12);
    // One sixth of the cube of 20 mm.
    assert!(told(&model).contains("volume 1.33 cm3"), "{}", told(&model));
}

/// The job shown at the head of the documentation of the crate.
#[test]
fn the_documented_job_is_right() {
    let shown: Vec<_> = include_str!("../src/lib.rs")
        .lines()
        .skip_while(|line| *line != "//! ```toml")
        .skip(1)
        .take_while(|line| *line != "//! ```")
        .map(|line| line.trim_start_matches("//!"))
        .collect();
    assert!(shown.len() > 20);
    good(&shown.join("\n"));
}

/// Does a value follow a schema? Knows the words the schema of the job uses.
fn follows(value: &Value, rule: &Value, root: &Value) -> bool {
    if let Some(link) = rule["$ref"].as_str() {
        let target = root.pointer(&link[1..]).expect("a definition");
        return follows(value, target, root);
    }
    if let Some(choices) = rule["anyOf"].as_array() {
        return choices.iter().any(|choice| follows(value, choice, root));
    }
    if let Some(words) = rule["enum"].as_array() {
        return words.contains(value);
    }
    match rule["type"].as_str().expect("a type") {
        "string" => value.is_string(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        "array" => value
            .as_array()
            .is_some_and(|items| items.iter().all(|i| follows(i, &rule["items"], root))),
        _ => value.as_object().is_some_and(|table| {
            let required = rule["required"].as_array().expect("a list");
            required
                .iter()
                .all(|key| table.contains_key(key.as_str().expect("a key")))
                && table.iter().all(|(key, v)| {
                    let named = rule["properties"].get(key);
                    let others = rule.get("additionalProperties").filter(|r| r.is_object());
                    named.or(others).is_some_and(|r| follows(v, r, root))
                })
        }),
    }
}

#[test]
fn good_jobs_follow_the_schema_and_others_do_not() {
    let schema = schema();
    let json = |text: &str| -> Value { toml::from_str(text).expect("TOML") };
    for job in [MEDAL, PLANAR, RING, FILES] {
        assert!(follows(&json(job), &schema, &schema), "{job}");
    }
    for (from, to) in [
        ("[plan]", "[plann]"),
        ("\"acid copper\"", "\"acid coper\""),
        ("diameter = ", "diametre = "),
        ("[supply]", "[supply]\nvolts = 3"),
    ] {
        let job = MEDAL.replacen(from, to, 1);
        assert!(!follows(&json(&job), &schema, &schema), "{job}");
    }
}

/// The same job with numbers and with figures, and along a line.
#[test]
fn figures_stand_for_numbers() {
    let text = include_str!("jobs/figures.toml");
    let text = text.replace(
        "size = \"1 x 10 x 10 mm\"",
        "outline = [\"0 x 0 mm\", \"1 x 0 mm\", \"0 x 1 mm\"]",
    );
    let model = good(&text);
    let Geometry::Solid(parts) = &model.geometry else {
        panic!("a tank");
    };
    let bounds = parts.domain.bodies[parts.electrodes[1].body].solid.bounds();
    for (found, exact) in bounds.low.iter().zip([0.11, 0.05, 0.05]) {
        assert!((found - exact).abs() < 1e-12, "{bounds:?}");
    }
    assert!((bounds.high[0] - 0.115).abs() < 1e-12);
    let line = &parts.lines[0];
    assert_eq!(
        (line.name.as_str(), line.on, line.points.len()),
        ("up", Some(1), 2)
    );
    assert!((line.points[1][0] - 0.11).abs() < 1e-12);
    let json: Value = toml::from_str(&text).expect("TOML");
    let schema = schema();
    assert!(follows(&json, &schema, &schema));
}

const CURVED: &str = include_str!("jobs/curved.toml");

#[test]
fn curves_edges_and_what_was_measured_on_the_deposit() {
    let model = good(CURVED);
    assert_relative_eq!(model.bath.metal.density.value, 8908.0);
    assert_eq!(model.bath.metal.density.grade, Grade::Given);
    assert_relative_eq!(model.bath.metal.resistivity.value, 9e-8);
    let Geometry::Flat(parts) = &model.geometry else {
        panic!("flat");
    };
    let wave = parts
        .domain
        .bodies
        .iter()
        .find(|b| b.name == "wave")
        .unwrap();
    assert_eq!([wave.finest_m, wave.edge_m], [1e-3, 1e-4]);
    // Between two of the points, a hair under and above the sine.
    let height = |x: f64| {
        2e-3 * (2.0 * std::f64::consts::PI * (x - 0.01) / 0.04 + std::f64::consts::PI).sin()
    };
    for x in [0.0225, 0.0275, 0.0325, 0.0375] {
        let y = height(x);
        assert!(wave.solid.contains(&[x, y - 1.5e-5]), "{x}");
        assert!(!wave.solid.contains(&[x, y + 1.5e-5]), "{x}");
    }
    let json: Value = toml::from_str(CURVED).expect("TOML");
    assert!(follows(&json, &schema(), &schema()));
}
