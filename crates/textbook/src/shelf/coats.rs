//! Resistive coats: the terminal effect, also while the coat grows.

use super::make::{at, job, percent};
use crate::case::{Case, Variant};
use crate::laws::strip;
use crate::table::{expected, expected_exactly};

pub(super) fn cases() -> Vec<Case> {
    vec![
        coated_strip(),
        coated_strip_tafel(),
        coated_disk(),
        coated_disk_tafel(),
        coated_disk_centre(),
        coated_plate(),
        growing_strip(),
    ]
}

const MM: &str = "distance from the contact, mm";

fn along(x: &[f64; 3]) -> Option<f64> {
    Some(1e3 * x[0])
}

/// Mean current density of the coat and, where one is given, the drop along it.
fn whole(variant: Variant, mean: f64, drop: Option<&str>, most: f64) -> Variant {
    let id = variant.id;
    let variant = variant.other(
        "mean",
        "A/m2",
        |s| s.mean("coat"),
        mean,
        percent(0.5 * most),
    );
    match drop {
        Some(quantity) => variant.other(
            "drop along the coat",
            "V",
            |s| s.body("coat")?.coat_drop_v,
            expected(id, quantity, ""),
            percent(most),
        ),
        None => variant,
    }
}

/// Current densities at places named as in the table.
fn local(variant: Variant, places: &[(f64, &'static str)], most: f64) -> Variant {
    let id = variant.id;
    places.iter().fold(variant, |variant, (x, place)| {
        let stated = expected(id, "current density", place);
        variant.check(*place, "A/m2", at("coat", *x, 0.0), stated, percent(most))
    })
}

fn coated_strip() -> Case {
    let one = whole(
        Variant::new("R01", "fed at one end"),
        expected("R01", "mean current density", ""),
        Some("coat potential drop"),
        0.3,
    );
    let one = local(
        one,
        &[
            (0.0, "x = 0 L"),
            (0.05, "x = 0.25 L"),
            (0.1, "x = 0.5 L"),
            (0.15, "x = 0.75 L"),
            (0.2, "x = 1 L"),
        ],
        0.3,
    )
    .curve(
        "worst place",
        "coat",
        |x| Some(strip::linear(0.2, 0.05, 0.002, 0.5, x[0])),
        percent(0.3),
    )
    .order(1.8);
    let both = Variant::new("R01b", "fed at both ends").change(
        "\"0.001 x 1 mm\" } }]",
        "\"0.001 x 1 mm\" } }, { shape.rectangle = { from = \"199.999 x -1 mm\", to = \"200.001 x 1 mm\" } }]",
    );
    let both = whole(
        both,
        expected("R01b", "mean current density", ""),
        None,
        0.3,
    );
    let both = local(both, &[(0.1, "middle"), (0.0, "each contact")], 0.3);
    Case::new(job!("coated-strip"))
        .with(one)
        .with(both)
        .drawn("coat", MM, along)
}

fn coated_strip_tafel() -> Case {
    let variant = whole(
        Variant::new("R02", ""),
        300.0,
        Some("coat potential drop"),
        0.5,
    );
    let variant = local(
        variant,
        &[(0.0, "contact"), (0.1, "x = L/2"), (0.2, "far end")],
        0.5,
    )
    .curve(
        "worst place beyond 1 mm",
        "coat",
        |x| (x[0] > 1e-3).then(|| strip::tafel(0.2, 0.05, 0.05, 60.0, x[0])),
        percent(0.5),
    );
    Case::new(job!("coated-strip-tafel"))
        .with(variant)
        .drawn("coat", MM, along)
}

fn coated_disk() -> Case {
    let variant = whole(
        Variant::new("R03", ""),
        expected("R03", "mean current density", ""),
        None,
        0.5,
    );
    let variant = local(
        variant,
        &[
            (0.0, "r = 0 a"),
            (0.025, "r = 0.25 a"),
            (0.05, "r = 0.5 a"),
            (0.075, "r = 0.75 a"),
            (0.1, "r = 1 a"),
        ],
        0.5,
    )
    .curve(
        "worst place",
        "coat",
        |x| Some(strip::disk(0.1, 0.1, 0.0015, 0.4, x[0])),
        percent(0.5),
    )
    .order(1.8);
    Case::new(job!("coated-disk"))
        .with(variant)
        .drawn("coat", "radius, mm", along)
}

fn coated_disk_tafel() -> Case {
    let mean = 10.0 / (std::f64::consts::PI * 0.01);
    let variant = whole(
        Variant::new("R03b", ""),
        mean,
        Some("coat potential drop"),
        0.5,
    );
    let variant = local(
        variant,
        &[(0.0, "centre"), (0.05, "r = a/2"), (0.1, "rim")],
        0.5,
    )
    .curve(
        "worst place",
        "coat",
        |x| Some(strip::disk_tafel(0.1, 0.1, 0.05, 10.0, x[0])),
        percent(0.5),
    );
    Case::new(job!("coated-disk-tafel"))
        .with(variant)
        .drawn("coat", "radius, mm", along)
}

fn coated_disk_centre() -> Case {
    let variant = Variant::new("R03c", "").current(
        "current",
        ("A", 1.0),
        expected("R03c", "total current", ""),
        percent(0.25),
    );
    let variant = local(
        variant,
        &[(0.01, "contact edge"), (0.05, "r = 0.05"), (0.1, "rim")],
        0.5,
    );
    Case::new(job!("coated-disk-centre"))
        .with(variant)
        .drawn("coat", "radius, mm", along)
}

fn coated_plate() -> Case {
    let variant = whole(
        Variant::new("R04", ""),
        expected("R04", "mean current density", ""),
        Some("plate potential"),
        0.5,
    );
    let variant = local(
        variant,
        &[
            (0.0, "x = 0 L"),
            (0.02, "x = 0.1 L"),
            (0.05, "x = 0.25 L"),
            (0.1, "x = 0.5 L"),
            (0.15, "x = 0.75 L"),
            (0.2, "x = 1 L"),
        ],
        0.5,
    );
    Case::new(job!("coated-plate"))
        .with(variant)
        .drawn("coat", MM, along)
}

fn growing_strip() -> Case {
    const SEED_M: f64 = 1e-7;
    let controls = [
        Variant::new("G01a", "0.6 V held"),
        Variant::new("G01b", "200 A/m2 held")
            .change("voltage = \"0.6 V\"", "mean_current_density = \"200 A/m2\""),
    ];
    let case = controls
        .into_iter()
        .fold(Case::new(job!("growing-strip")), |case, variant| {
            let id = variant.id;
            let mut variant = variant;
            for time_s in [10.0, 60.0, 300.0] {
                for (x, place, name) in [
                    (0.0, "thickness at the contact x = 0", "contact"),
                    (0.075, "thickness at x = L/2", "half way"),
                    (0.15, "thickness at x = L", "far end"),
                ] {
                    let stated = expected_exactly(id, place, &format!("t = {time_s} s"));
                    variant = variant.other(
                        format!("coat after {time_s} s, {name}"),
                        "um",
                        move |s| {
                            Some(1e6 * (SEED_M + s.thickness_m("coat", &[x, 0.0, 0.0], time_s)?))
                        },
                        1e6 * stated,
                        percent(0.5),
                    );
                }
            }
            let variant = local_at_end(variant);
            case.with(if id == "G01b" {
                let stated = expected_exactly(id, "voltage", "t = 300 s");
                variant.voltage("voltage after 300 s", stated, percent(0.5))
            } else {
                variant.other(
                    "mean current density after 300 s",
                    "A/m2",
                    |s| s.mean("coat"),
                    expected_exactly(id, "mean current density", "t = 300 s"),
                    percent(0.5),
                )
            })
        });
    case.drawn("coat", MM, along)
}

/// Current densities at the ends of the strip after 300 s.
fn local_at_end(variant: Variant) -> Variant {
    let id = variant.id;
    [
        (0.0, "current density at x = 0"),
        (0.15, "current density at x = L"),
    ]
    .into_iter()
    .fold(variant, |variant, (x, place)| {
        let stated = expected_exactly(id, place, "t = 300 s");
        let name = format!("{place} after 300 s");
        variant.check(name, "A/m2", at("coat", x, 0.0), stated, percent(0.5))
    })
}
