//! Work that travels: the mean over positions.

use ionfall_deposit::Outcome;

const JOB: &str = include_str!("jobs/travel.toml");

fn solved(works: &str) -> Outcome<2> {
    crate::solved(&crate::model(&JOB.replace("WORKS", works)))
}

fn round(name: &str, x_mm: f64, more: &str) -> String {
    format!(
        "{{ name = \"{name}\", shape.circle = {{ radius = \"15 mm\", centre = \"{x_mm} x 70 mm\" }}{more} }}"
    )
}

fn mean_m(outcome: &Outcome<2>, name: &str) -> f64 {
    outcome.body(name).unwrap().thickness_m.unwrap().mean
}

/// To and fro over 60 mm in three positions, at 0 and +-30 cos(30 degrees) mm: each work gets the mean of what it gets in
/// three jobs of their own, and so does the ledger.
#[test]
fn a_rod_gives_the_mean_of_its_positions() {
    let travels = ", travels = { by = \"60 x 0 mm\", count = 3 }";
    let both = |dx: f64, more: &str| {
        let works = [
            round("left", 60.0 + dx, more),
            round("right", 140.0 + dx, more),
        ];
        solved(&works.join(", "))
    };
    let travelled = both(0.0, travels);
    let aside = 30.0 * 0.75_f64.sqrt();
    let alone = [0.0, aside, -aside].map(|dx| both(dx, ""));
    for name in ["left", "right"] {
        let mean = alone.iter().map(|o| mean_m(o, name)).sum::<f64>() / 3.0;
        let found = mean_m(&travelled, name);
        // Surfaces on other cells differ by as much.
        assert!((found / mean - 1.0).abs() < 2e-3, "{name} {found} {mean}");
        let standing = mean_m(&alone[0], name);
        assert!(
            (found / standing - 1.0).abs() > 1e-3,
            "{name}: {found} {standing}"
        );
    }
    let energy_j = alone.iter().map(|o| o.energy_j.unwrap()).sum::<f64>() / 3.0;
    assert!((travelled.energy_j.unwrap() / energy_j - 1.0).abs() < 1e-3);
    assert!(travelled.ledger.charge_error() < 1e-8);
    let told = travelled.travelled.as_ref().unwrap();
    assert_eq!((told.positions, told.names.len()), (3, 2));
    assert!(alone[0].travelled.is_none());
}

/// A round work that goes around its own middle is a roller: every place gets the mean over the turn. Places are
/// read from facets beside them, hence 1 %.
#[test]
fn around_its_own_middle_it_is_a_roller() {
    let around = ", travels = { turn = \"15 deg\", at = \"60 x 70 mm\", count = 24 }";
    let carousel = solved(&round("roller", 60.0, around));
    let turned = solved(&round("roller", 60.0, ", turns = { at = \"60 x 70 mm\" }"));
    let standing = solved(&round("roller", 60.0, ""));
    let mean = mean_m(&turned, "roller");
    let body = carousel.body("roller").unwrap();
    let ends = [body.thinnest.unwrap().value, body.thickest.unwrap().value];
    assert!(
        ends.iter().all(|h| (h / mean - 1.0).abs() < 0.01),
        "{ends:?} {mean}"
    );
    let still = standing.body("roller").unwrap();
    assert!(still.thickest.unwrap().value > 1.5 * still.thinnest.unwrap().value);
}
