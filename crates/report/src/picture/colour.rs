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

/// Colour of a value of a quantity.
pub(crate) fn of(quantity: &Quantity, value: f64) -> Rgb {
    at(
        quantity.map,
        (value - quantity.low) / (quantity.high - quantity.low),
    )
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

/// So many colours of a map after each other, for pages.
pub(crate) fn stops(map: Map, count: usize) -> Vec<String> {
    (0..count)
        .map(|n| hex(at(map, n as f64 / (count - 1) as f64)))
        .collect()
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
}
