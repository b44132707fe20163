//! Parallel plates, limiting currents, and Faraday's law.

use super::make::{job, percent};
use crate::case::{Case, Variant};
use crate::table::expected;
use ionfall_bath::Metal;

pub(super) fn cases() -> Vec<Case> {
    vec![parallel_plates(), limiting_current(), faraday_rack()]
}

const CATHODE: &str = "law.linear = { resistance = \"0.002 ohm m2\" } # of the cathode";
const ANODE: &str = "law.linear = { resistance = \"0.0005 ohm m2\" } # of the anode";
const VOLTS: &str = "voltage = \"1 V\"";

/// Plates have no error but the solver's: a millionth, as the tests ask for.
fn plates(variant: Variant) -> Variant {
    let exact = expected(variant.id, "current density", "everywhere");
    ["cathode", "anode"]
        .into_iter()
        .fold(variant, |variant, body| {
            let name = format!("worst place of the {body}");
            variant.curve(name, body, move |_| Some(exact), percent(1e-4))
        })
}

fn parallel_plates() -> Case {
    const SLOW: &str = "law.butler_volmer = { exchange_current_density = \"30 A/m2\", alpha_a = 1.5, \
                        alpha_c = 0.5 }";
    const EVEN: &str = "law.butler_volmer = { exchange_current_density = \"5 A/m2\", alpha_a = 0.5, \
                        alpha_c = 0.5 }";
    let limited = |id, label| {
        Variant::new(id, label)
            .change(ANODE, "law = \"primary\"")
            .change(VOLTS, "voltage = \"2.2 V\"")
    };
    Case::new(job!("parallel-plates"))
        .with(plates(Variant::new("S01a", "linear")))
        .with(plates(
            Variant::new("S01b", "Tafel")
                .change(
                    CATHODE,
                    "law.tafel = { exchange_current_density = \"0.5 A/m2\", slope = \"51.3 mV\" }",
                )
                .change(
                    ANODE,
                    "law.tafel = { exchange_current_density = \"10 A/m2\", slope = \"25.7 mV\" }",
                )
                .change(VOLTS, "voltage = \"0.8 V\""),
        ))
        .with(plates(
            Variant::new("S01c", "Butler-Volmer, as copper")
                .change(CATHODE, SLOW)
                .change(ANODE, SLOW)
                .change(VOLTS, "voltage = \"1.2 V\""),
        ))
        .with(plates(
            Variant::new("S01d", "Butler-Volmer, symmetric")
                .change(CATHODE, EVEN)
                .change(ANODE, EVEN)
                .change(VOLTS, "voltage = \"0.5 V\""),
        ))
        .with(plates(
            limited("T01", "limiting current, film in series").change(
                CATHODE,
                "law.tafel = { exchange_current_density = \"0.5 A/m2\", slope = \"51.3 mV\", \
             limiting_current_density = \"500 A/m2\", concentration_overpotential = true }",
            ),
        ))
        .with(plates(limited("T01b", "limiting current").change(
            CATHODE,
            "law.tafel = { exchange_current_density = \"0.5 A/m2\", slope = \"51.3 mV\", \
             limiting_current_density = \"500 A/m2\" }",
        )))
}

fn limiting_current() -> Case {
    const DISK: &str = "agitation = { rotating_disk = \"500 rev/min\" }";
    let both = |variant: Variant, place: &str| {
        let stated = match variant.id {
            "M02" => expected("M02", "limiting current density, coefficient 0.620", ""),
            id => expected(id, "limiting current density", place),
        };
        // To a tenth of a percent, as the worked numbers of the correlations.
        variant
            .other(
                "i_L of the bath",
                "A/m2",
                |s| Some(s.bath.limiting_current?.value),
                stated,
                percent(0.1),
            )
            .other(
                "mean at 2.2 V",
                "A/m2",
                |s| s.mean("disk"),
                stated,
                percent(0.1),
            )
    };
    let stirred: [(&str, &str, &str, &str); 6] = [
        (
            "M01",
            "film of 0.1 mm",
            "agitation = { film = \"0.1 mm\" }",
            "",
        ),
        (
            "M03",
            "rotating cylinder",
            "agitation = { rotating_cylinder = \"500 rev/min\", diameter = \"20 mm\" }",
            "",
        ),
        (
            "M04",
            "still, 0.1 m",
            "agitation = { still = \"100 mm\" }",
            "0.1 m plate",
        ),
        (
            "M05",
            "channel, laminar",
            "agitation = { flow = \"0.05 m/s\", gap = \"10 mm\", width = \"100 mm\", \
             length = \"200 mm\" }",
            "laminar",
        ),
        (
            "M05",
            "channel, turbulent",
            "agitation = { flow = \"1 m/s\", gap = \"10 mm\", width = \"100 mm\", \
             length = \"200 mm\" }",
            "turbulent",
        ),
        ("M06", "air, 2 % gas", "agitation = { air = \"2 %\" }", ""),
    ];
    let case = Case::new(job!("limiting-current"))
        .with(both(Variant::new("M02", "rotating disk (Levich)"), ""));
    stirred
        .into_iter()
        .fold(case, |case, (id, label, agitation, place)| {
            case.with(both(Variant::new(id, label).change(DISK, agitation), place))
        })
}

fn faraday_rack() -> Case {
    let stated = |quantity: &str, place: &str| expected("F02", quantity, place);
    let exact = percent(1e-3);
    let mut rack = Variant::new("F02", "rack")
        .other("charge", "C", |s| s.charge_c(), stated("charge", ""), exact)
        .other(
            "nickel on the rack",
            "kg",
            |s| Some(s.body("zone 1")?.metal_kg? + s.body("zone 2")?.metal_kg?),
            stated("mass", ""),
            exact,
        )
        .other(
            "nickel off the anodes",
            "kg",
            |s| Some(s.body("far")?.metal_kg? + s.body("near")?.metal_kg?),
            stated("anode mass loss", ""),
            exact,
        );
    for (zone, y) in [("zone 1", 0.1), ("zone 2", 0.26)] {
        let thickness = stated("thickness", zone);
        rack = rack
            .places(
                zone,
                &[(
                    format!("in the middle of {zone}"),
                    [0.0, y],
                    stated("current density", zone),
                )],
                exact,
            )
            .other(
                format!("thickness, {zone}"),
                "um",
                move |s| Some(1e6 * s.thickness_m(zone, &[0.0, y, 0.0], 1800.0)?),
                1e6 * thickness,
                exact,
            );
    }
    let metals = [
        "Cu(II)", "Ni(II)", "Ag(I)", "Au(I)", "Zn(II)", "Sn(II)", "Fe(II)", "Cr(VI)",
    ];
    let weights = metals
        .into_iter()
        .fold(Variant::new("F01", "equivalents"), |variant, place| {
            let symbol = place.split('(').next().unwrap_or(place);
            let read =
                move |_: &crate::Solved| Some(3.6e6 * Metal::find(symbol)?.equivalent_kg_per_c());
            // Standard atomic weights are rounded differently from table to table.
            let stated = expected("F01", "g/Ah", place);
            variant.other(place, "g/Ah", read, stated, percent(0.01))
        });
    Case::new(job!("faraday-rack")).with(rack).with(weights)
}
