//! Colours of values.

use crate::story::{Kind, Map, Quantity};
use ionfall_model::Role;

/// Red, green, blue.
pub(crate) type Rgb = [u8; 3];

/// The darkest part of the maps is left out: shading would not show in it.
const DARKEST: f64 = 0.1;

/// Colour of a share of the way through a map.
pub(crate) fn at(map: Map, share: f64) -> Rgb {
    let gradient = match map {
        Map::Viridis => colorous::VIRIDIS,
        Map::Cividis => colorous::CIVIDIS,
    };
    let colour = gradient.eval_continuous(DARKEST + (1.0 - DARKEST) * share.clamp(0.0, 1.0));
    [colour.r, colour.g, colour.b]
}

/// Colour of a step of so many.
pub(crate) fn step(map: Map, number: usize, count: usize) -> Rgb {
    at(map, (number as f64 + 0.5) / count as f64)
}

/// Colour of a value of a quantity: that of its step.
pub(crate) fn of(quantity: &Quantity, value: f64) -> Rgb {
    let count = quantity.shares.len();
    let inner = &quantity.edges[1..count];
    step(quantity.map, inner.partition_point(|e| *e <= value), count)
}

/// Colours of the steps of a quantity, from the least value on.
pub(crate) fn steps(quantity: &Quantity) -> Vec<String> {
    let count = quantity.shares.len();
    (0..count)
        .map(|n| hex(step(quantity.map, n, count)))
        .collect()
}

/// How light a side is that faces away from the light, and how much lighter one that faces it.
pub(crate) type Light = [f64; 2];

/// Light that shows shapes.
pub(crate) const PLAIN: Light = [0.88, 0.2];

/// Light in which no step of a map passes for the one beside it.
pub(crate) const fn light(map: Map) -> Light {
    match map {
        Map::Viridis => PLAIN,
        Map::Cividis => [0.94, 0.1],
    }
}

/// A colour on a side that faces the light so much.
pub(crate) fn lit(colour: Rgb, [away, more]: Light, facing: f64) -> Rgb {
    colour.map(|c| ((away + more * facing) * f64::from(c)).min(255.0) as u8)
}

/// Contrast of two colours as the web's guidelines for accessible content count it, 1 to 21 (from memory).
pub(crate) fn contrast(a: Rgb, b: Rgb) -> f64 {
    let linear = |c: u8| match f64::from(c) / 255.0 {
        c if c <= 0.04045 => c / 12.92,
        c => ((c + 0.055) / 1.055).powf(2.4),
    };
    let light = |[r, g, b]: Rgb| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    let (a, b) = (light(a) + 0.05, light(b) + 0.05);
    (a / b).max(b / a)
}

/// Black or white, whichever is read better on a colour.
pub(crate) fn on(colour: Rgb) -> &'static str {
    let black = contrast([0; 3], colour);
    if black >= contrast([0xff; 3], colour) {
        "#000000"
    } else {
        "#ffffff"
    }
}

/// Colour of the lines of a role.
pub(crate) fn of_role(role: Kind) -> Rgb {
    match role {
        Kind::Electrode(Role::Anode) => [0x9a, 0x4f, 0x1f],
        Kind::Shield => [0x2f, 0x6f, 0x8f],
        Kind::Contact => [0xa8, 0x1e, 0x5c],
        Kind::Electrode(Role::Work | Role::Thief) => [0x33, 0x33, 0x33],
        Kind::Tank | Kind::Electrode(Role::Floating) => [0x8a, 0x93, 0x9c],
    }
}

/// As written in a page.
pub(crate) fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Both maps grow lighter all the way: they can be read in grey.
    #[test]
    fn maps_grow_lighter() {
        for map in [Map::Viridis, Map::Cividis] {
            let light = |share: f64| {
                let [r, g, b] = at(map, share).map(f64::from);
                0.2126 * r + 0.7152 * g + 0.0722 * b
            };
            for n in 0..20 {
                assert!(light(f64::from(n + 1) / 20.0) > light(f64::from(n) / 20.0));
            }
        }
    }

    /// Whatever the light, a colour is nearest to the one of its own step.
    #[test]
    fn light_does_not_change_what_colours_say() {
        let far = |a: Rgb, b: Rgb| -> f64 {
            (0..3)
                .map(|k| (f64::from(a[k]) - f64::from(b[k])).powi(2))
                .sum()
        };
        for map in [Map::Viridis, Map::Cividis] {
            for count in 2..=7 {
                for n in 0..count {
                    for facing in [0.0, 0.6, 1.0] {
                        let seen = lit(step(map, n, count), light(map), facing);
                        let nearest = (0..count).min_by(|&a, &b| {
                            far(seen, step(map, a, count))
                                .total_cmp(&far(seen, step(map, b, count)))
                        });
                        assert_eq!(nearest, Some(n), "{map:?} {n} of {count} at {facing}");
                    }
                }
            }
        }
    }

    /// Words on any colour of the maps are read.
    #[test]
    fn words_on_colours_have_contrast() {
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
        for map in [Map::Viridis, Map::Cividis] {
            for n in 0..=100 {
                let colour = at(map, f64::from(n) / 100.0);
                let ink = match on(colour) {
                    "#ffffff" => [255; 3],
                    _ => [0; 3],
                };
                assert!(contrast(ink, colour) >= 4.5, "{map:?} {n}");
            }
        }
    }
}
