//! Cases whose figures can be moved: the job of the shelf with other figures, and its formula for any of them.

use super::shown::{Axis, Chart, Series, Shown, Slider, compared, thinned, title};
use crate::refusal::Refusal;
use ionfall_textbook::laws::{cylinders::Eccentric, strip, strips};
use ionfall_textbook::{Solved, shelf, solve_text};
use std::f64::consts::PI;

/// A case to play with.
pub(super) struct Played {
    pub id: &'static str,
    /// Name of the job on the shelf.
    pub job: &'static str,
    pub sliders: &'static [Slider],
    /// Texts of the job and what stands in their place.
    changes: fn(&[f64]) -> Vec<(&'static str, String)>,
    /// Curves and rows.
    read: fn(&[f64], &Solved) -> Option<Found>,
}

/// What is read off a solved case.
struct Found {
    x: [&'static str; 2],
    y: [&'static str; 2],
    exact: Vec<[f64; 2]>,
    computed: Vec<[f64; 2]>,
    rows: Vec<[String; 4]>,
}

const fn slider(
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    [from, to, value]: [f64; 3],
) -> Slider {
    Slider {
        name,
        label,
        unit,
        from,
        to,
        value,
        step: None,
    }
}

pub(super) const PLAYED: [Played; 5] = [
    Played {
        id: "play-eccentric-cylinders",
        job: "eccentric-cylinders",
        sliders: &[
            slider("offset", "rod off the middle", "mm", [2.0, 26.0, 20.0]),
            slider("volts", "voltage", "V", [0.1, 1.0, 0.5]),
        ],
        changes: |v| {
            vec![
                (
                    "centre = \"20 x 0 mm\"",
                    format!("centre = \"{} x 0 mm\"", v[0]),
                ),
                ("voltage = \"0.5 V\"", format!("voltage = \"{} V\"", v[1])),
                ("finest = \"0.3125 mm\"", "finest = \"0.5 mm\"".into()),
                ("coarsest = \"0.3125 mm\"", "coarsest = \"1 mm\"".into()),
            ]
        },
        read: eccentric,
    },
    Played {
        id: "play-disk",
        job: "disk",
        sliders: &[slider(
            "height",
            "height of the bowl of the anode",
            "mm",
            [8.0, 32.0, 30.0],
        )],
        changes: |v| {
            let long = RADIUS.hypot(v[0]);
            vec![
                (
                    "semi_axes = \"36.05551275463989 x 30 mm\"",
                    format!("semi_axes = \"{long} x {} mm\"", v[0]),
                ),
                ("edge = \"0.00390625 mm\"", "edge = \"0.015625 mm\"".into()),
            ]
        },
        read: disk,
    },
    Played {
        id: "play-coated-strip",
        job: "coated-strip",
        sliders: &[
            slider(
                "sheet",
                "sheet resistance of the coat",
                "ohm/sq",
                [0.005, 0.3, 0.05],
            ),
            slider(
                "law",
                "resistance of the reaction",
                "ohm m2",
                [0.0005, 0.01, 0.002],
            ),
        ],
        changes: |v| {
            // The narrow gap of the bath is a part of it.
            let law = v[1] - 2e-8;
            vec![
                (
                    "sheet_resistance = \"0.05 ohm/sq\"",
                    format!("sheet_resistance = \"{} ohm/sq\"", v[0]),
                ),
                (
                    "resistance = \"0.00199998 ohm m2\"",
                    format!("resistance = \"{law} ohm m2\""),
                ),
            ]
        },
        read: coated_strip,
    },
    Played {
        id: "play-haring-blum",
        job: "haring-blum",
        sliders: &[
            slider("far", "far distance over near", "", [2.0, 5.0, 5.0]),
            slider(
                "law",
                "resistance of the reaction",
                "ohm m2",
                [0.0002, 0.01, 0.0025],
            ),
        ],
        changes: |v| {
            let far = 65.0 + NEAR_MM * v[0];
            vec![
                (
                    "size = \"320 x 40 mm\"",
                    format!("size = \"{} x 40 mm\"", far + 5.0),
                ),
                (
                    "from = \"315 x -5 mm\"",
                    format!("from = \"{far} x -5 mm\""),
                ),
                (
                    "to = \"325 x 45 mm\"",
                    format!("to = \"{} x 45 mm\"", far + 10.0),
                ),
                (
                    "resistance = \"0.0025 ohm m2\"",
                    format!("resistance = \"{} ohm m2\"", v[1]),
                ),
            ]
        },
        read: throwing,
    },
    Played {
        id: "play-strips-in-a-channel",
        job: "strips-in-a-channel",
        sliders: &[slider(
            "length",
            "length of the strips (the gap is 10 mm)",
            "mm",
            [3.0, 20.0, 5.0],
        )],
        changes: |v| {
            let half = 0.5 * v[0];
            vec![
                (
                    "from = \"-5 x -2 mm\"",
                    format!("from = \"-{half} x -2 mm\""),
                ),
                ("to = \"5 x 0 mm\"", format!("to = \"{half} x 0 mm\"")),
                (
                    "from = \"-5 x 10 mm\"",
                    format!("from = \"-{half} x 10 mm\""),
                ),
                ("to = \"5 x 12 mm\"", format!("to = \"{half} x 12 mm\"")),
            ]
        },
        read: channel,
    },
];

impl Played {
    /// Solves the case with these values.
    pub fn shown(&self, values: &[f64]) -> Result<Shown, Refusal> {
        let shelf = shelf::all();
        let case = shelf::find(&shelf, self.job).map_err(|error| Refusal::of(&error))?;
        let mut text = case.job.to_owned();
        for (from, to) in (self.changes)(values) {
            if !text.contains(from) {
                return Err(Refusal::plain(format!(
                    "the job of {} has no {from}",
                    self.job
                )));
            }
            text = text.replace(from, &to);
        }
        let solved = solve_text(case.name, &text).map_err(|error| Refusal::of(&error))?;
        let found = (self.read)(values, &solved);
        let found = found
            .ok_or_else(|| Refusal::plain("nothing can be read there; move the slider back"))?;
        let axis = |[label, unit]: [&str; 2]| Axis {
            label: label.into(),
            unit: unit.into(),
        };
        let [_, formula, source] = case.told();
        Ok(Shown {
            chart: Some(Chart {
                title: title(case),
                x: axis(found.x),
                y: axis(found.y),
                series: vec![
                    Series {
                        label: "exact",
                        points: found.exact,
                    },
                    Series {
                        label: "computed",
                        points: thinned(&found.computed),
                    },
                ],
            }),
            rows: found.rows,
            source: format!("{formula} {source}"),
        })
    }
}

/// Values of a function at places evenly apart.
fn curve([from, to]: [f64; 2], of: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
    const STEPS: usize = 120;
    let at = |n: usize| from + (to - from) * n as f64 / STEPS as f64;
    (0..=STEPS).map(|n| [at(n), of(at(n))]).collect()
}

/// Computed current densities of a body over a place on it, in the order of the place.
fn along(
    solved: &Solved,
    body: &str,
    unit: f64,
    place: impl Fn(&[f64; 3]) -> Option<f64>,
) -> Vec<[f64; 2]> {
    let points = solved.points(body);
    let mut found: Vec<[f64; 2]> = points
        .iter()
        .filter_map(|(x, i)| Some([place(x)?, i / unit]))
        .collect();
    found.sort_by(|a, b| a[0].total_cmp(&b[0]));
    found
}

/// Radii of the rod and of the wall, m; conductivity, S/m.
const ROD: f64 = 0.01;
const WALL: f64 = 0.04;
const KAPPA: f64 = 10.0;

fn eccentric(v: &[f64], solved: &Solved) -> Option<Found> {
    let (offset, volts) = (1e-3 * v[0], v[1]);
    let pair = Eccentric::new(ROD, WALL, offset);
    let exact =
        |degrees: f64| pair.primary(KAPPA, volts, offset + ROD * degrees.to_radians().cos());
    let angle = |x: &[f64; 3]| x[1].atan2(x[0] - offset).to_degrees();
    let at = |x: f64| solved.at("rod", &[x, 0.0, 0.0]);
    Some(Found {
        x: ["angle from the narrow gap", "degrees"],
        y: ["current density", "A/m2"],
        exact: curve([0.0, 180.0], exact),
        computed: along(solved, "rod", 1.0, |x| Some(angle(x)).filter(|a| *a >= 0.0)),
        rows: vec![
            compared("at the narrow gap", "A/m2", at(offset + ROD)?, exact(0.0)),
            compared("opposite", "A/m2", at(offset - ROD)?, exact(180.0)),
        ],
    })
}

/// Radius of the disk, mm; what is drawn of it; conductivity, S/m.
const RADIUS: f64 = 20.0;
const DRAWN: f64 = 0.98;
const DISK_KAPPA: f64 = 20.0;

fn disk(v: &[f64], solved: &Solved) -> Option<Found> {
    let radius = 1e-3 * RADIUS;
    let current = 2.0 * PI * DISK_KAPPA * radius / (v[0] / RADIUS).atan();
    let mean = solved.mean("disk")?;
    let exact = |r: f64| 0.5 / (1.0 - r * r).sqrt();
    let at = |r: f64| Some(solved.at("disk", &[(r * radius).max(1e-6), 0.0, 0.0])? / mean);
    Some(Found {
        x: ["distance from the middle over the radius", ""],
        y: ["current density over its mean", ""],
        exact: curve([0.0, DRAWN], exact),
        computed: along(solved, "disk", mean, |x| {
            Some(x[0] / radius).filter(|r| *r <= DRAWN)
        }),
        rows: vec![
            compared("current at 1 V", "A", solved.current_a(), current),
            compared("in the middle, over the mean", "", at(0.0)?, exact(0.0)),
            compared(
                "at nine tenths of the radius, over the mean",
                "",
                at(0.9)?,
                exact(0.9),
            ),
        ],
    })
}

/// Length of the strip, m, and volts.
const STRIP: f64 = 0.2;
const VOLTS: f64 = 0.5;

fn coated_strip(v: &[f64], solved: &Solved) -> Option<Found> {
    let exact = |mm: f64| strip::linear(STRIP, v[0], v[1], VOLTS, 1e-3 * mm);
    let at = |x: f64| solved.at("coat", &[x, 0.0, 0.0]);
    let beta = STRIP * (v[0] / v[1]).sqrt();
    Some(Found {
        x: ["distance from the contact", "mm"],
        y: ["current density", "A/m2"],
        exact: curve([0.0, 1e3 * STRIP], exact),
        computed: along(solved, "coat", 1.0, |x| Some(1e3 * x[0])),
        rows: vec![
            compared(
                "mean",
                "A/m2",
                solved.mean("coat")?,
                VOLTS / v[1] * beta.tanh() / beta,
            ),
            compared(
                "at a quarter",
                "A/m2",
                at(0.25 * STRIP)?,
                exact(250.0 * STRIP),
            ),
            compared("far end", "A/m2", at(STRIP)?, exact(1e3 * STRIP)),
        ],
    })
}

/// Near distance, mm; conductivity, S/m.
const NEAR_MM: f64 = 50.0;
const CELL_KAPPA: f64 = 20.0;

fn throwing(v: &[f64], solved: &Solved) -> Option<Found> {
    let exact = |law: f64| {
        let wagner = CELL_KAPPA * law / (1e-3 * NEAR_MM);
        (v[0] + wagner) / (1.0 + wagner)
    };
    let ratio = solved.body("near")?.metal_kg? / solved.body("far")?.metal_kg?;
    Some(Found {
        x: ["resistance of the reaction", "ohm m2"],
        y: ["metal on the near cathode over that on the far one", ""],
        exact: curve([0.0, 0.01], exact),
        computed: vec![[v[1], ratio]],
        rows: vec![compared("metal, near over far", "", ratio, exact(v[1]))],
    })
}

/// Gap of the channel, m.
const GAP: f64 = 0.01;

fn channel(v: &[f64], solved: &Solved) -> Option<Found> {
    let length = 1e-3 * v[0];
    let mean = solved.mean("strip")?;
    let exact = |share: f64| strips::over_mean(length, GAP, share * length);
    let at = |share: f64| Some(solved.at("strip", &[share * length, 0.0, 0.0])? / mean);
    Some(Found {
        x: ["distance from the middle over the length", ""],
        y: ["current density over its mean", ""],
        exact: curve([-0.5 * DRAWN, 0.5 * DRAWN], exact),
        computed: along(solved, "strip", mean, |x| {
            Some(x[0] / length).filter(|s| s.abs() <= 0.5 * DRAWN)
        }),
        rows: vec![
            compared("in the middle, over the mean", "", at(0.0)?, exact(0.0)),
            compared(
                "half way to the end, over the mean",
                "",
                at(0.25)?,
                exact(0.25),
            ),
        ],
    })
}
