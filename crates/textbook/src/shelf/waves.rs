//! Wavy cathodes.

use super::make::{job, percent};
use crate::case::{Case, Variant};
use crate::laws::waves;
use crate::table::expected;

const LAW: &str = "law.linear = { resistance = \"0.001 ohm m2\" }";
const LENGTH: f64 = 0.04;

pub(super) fn cases() -> Vec<Case> {
    let a = 0.002;
    let high = [
        ("primary", "R_ct = 0 ohm", "law = \"primary\""),
        ("0.001 ohm m2", "R_ct = 0.001", LAW),
    ];
    let high = high.into_iter().fold(
        Case::new(job!("sine-profile")),
        |case, (label, place, law)| {
            let local = |quantity: &str| expected("S06b", quantity, place);
            case.with(
                Variant::new("S06b", label)
                    .change(LAW, law)
                    .current(
                        "current per depth and wavelength",
                        ("A/m2", LENGTH),
                        local("current per depth"),
                        percent(0.2),
                    )
                    .places(
                        "waves",
                        &[
                            ("crest", [0.0, a], local("crest")),
                            ("mid height", [0.25 * LENGTH, 0.0], local("mid height")),
                            ("trough", [0.5 * LENGTH, -a], local("trough")),
                        ],
                        percent(1.0),
                    ),
            )
        },
    );
    let laws = [
        ("primary", "law = \"primary\"", 0.0, "R_ct = 0 ohm"),
        (
            "0.0005 ohm m2",
            "law.linear = { resistance = \"0.0005 ohm m2\" }",
            5e-4,
            "R_ct = 0.0005",
        ),
        ("0.001 ohm m2", LAW, 1e-3, "R_ct = 0.001"),
        (
            "0.004 ohm m2",
            "law.linear = { resistance = \"0.004 ohm m2\" }",
            4e-3,
            "R_ct = 0.004",
        ),
    ];
    let gentle = laws.into_iter().fold(
        Case::new(job!("gentle-waves")),
        |case, (label, law, r, place)| {
            let height = 2e-4;
            let flat = waves::flat(1.0, 0.03, 10.0, r);
            // Half the difference of crest and trough: the even second order falls out.
            let read = move |s: &crate::Solved| {
                let crest = s.at("waves", &[0.0, height, 0.0])?;
                let trough = s.at("waves", &[0.5 * LENGTH, -height, 0.0])?;
                Some(0.5 * (crest - trough) / (flat * height))
            };
            let stated = expected("S06", "d(i1/i0)/dA", place);
            case.with(Variant::new("S06", label).change(LAW, law).other(
                "ripple of i/i0 per metre of height",
                "1/m",
                read,
                stated,
                percent(1.0),
            ))
        },
    );
    let along = |x: &[f64; 3]| Some(1e3 * x[0]);
    vec![
        high.drawn("waves", "place along the waves, mm", along),
        gentle.drawn("waves", "place along the waves, mm", along),
    ]
}
