//! Burning needs time: what a short plan uses up in front of the metal.

use approx::assert_relative_eq;
use ionfall_deposit::Outcome;
use ionfall_model::{Model, Parts};
use std::f64::consts::PI;

const PLATES: &str = include_str!("jobs/plates.toml");

fn solved(plan: &str) -> (Model<Parts<2>>, Outcome<2>) {
    let model = crate::model(&format!("{PLATES}{plan}"));
    let outcome = crate::solved(&model);
    (model, outcome)
}

fn worst(outcome: &Outcome<2>) -> f64 {
    outcome.bodies[1].limit_share.unwrap().value
}

/// A film of `d^2 / D` seconds that was full at first, against the series of diffusion through it; after
/// a long time, and without a plan, the share is that of the limiting current.
#[test]
fn a_short_burst_uses_up_less() {
    let (model, rest) = solved("");
    let (film, diffusion) = (model.bath.film.unwrap(), model.bath.diffusion.unwrap());
    let film_s = film.value * film.value / diffusion.value;
    let limit = model.bath.limiting_current.unwrap().value;
    assert_relative_eq!(worst(&rest), 300.0 / limit, max_relative = 1e-6);
    for time in [0.05, 0.3, 20.0] {
        let (_, burst) = solved(&format!("plan.time = \"{} s\"\n", time * film_s));
        let left = |n: usize| {
            let odd = ((2 * n + 1) as f64 * PI).powi(2);
            8.0 / odd * (-time * odd / 4.0).exp()
        };
        let share = 1.0 - (0..400).map(left).sum::<f64>();
        assert_relative_eq!(worst(&burst), share * worst(&rest), max_relative = 5e-3);
    }
    // What a burst has used up comes back at rest, but the worst stays known.
    let plan = format!(
        "[[plan.step]]\ntime = \"{0} s\"\n[[plan.step]]\nrest = true\ntime = \"{0} s\"\n",
        20.0 * film_s
    );
    let (_, rested) = solved(&plan);
    assert_relative_eq!(worst(&rested), worst(&rest), max_relative = 5e-3);
    let last = rested.moments.last().unwrap();
    assert!(last.limit_share.unwrap() < 1e-6 * worst(&rest), "{last:?}");
}
