//! Small help for writing SVG.

use crate::unit::printed;
use ionfall_numerics::number::round_step;
use std::fmt::Write;

/// Text safe between tags and in attributes, with the signs of units.
pub(crate) fn text(plain: &str) -> String {
    let mut safe = String::with_capacity(plain.len());
    for letter in plain.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            // Names are quoted so in the summary; a page need not.
            '`' => {}
            _ => safe.push(letter),
        }
    }
    printed(&safe)
}

/// A line through points, as the content of a `d` attribute.
pub(crate) fn path(points: impl IntoIterator<Item = [f64; 2]>) -> String {
    let mut d = String::new();
    for (n, [x, y]) in points.into_iter().enumerate() {
        // Writing into a string does not fail.
        let _ = write!(d, "{}{x:.1} {y:.1}", if n == 0 { "M" } else { "L" });
    }
    d
}

/// Round values between two, about so many.
pub(crate) fn ticks(low: f64, high: f64, count: f64) -> Vec<f64> {
    let step = round_step(high - low, count);
    let first = (low / step - 1e-9).ceil() as i64;
    (first..)
        .map(|n| n as f64 * step)
        .take_while(|t| *t <= high + 1e-9 * step)
        .collect()
}

/// A tick as a person writes it, with as many places as the step needs.
pub(crate) fn tick_text(value: f64, step: f64) -> String {
    let places = (-step.log10().floor()).max(0.0) as usize;
    format!("{value:.places$}")
}

/// A colour bar with ticks and unit: colours from below to above.
pub(crate) struct Bar<'a> {
    pub at: [f64; 2],
    pub height: f64,
    pub colours: Vec<String>,
    pub low: f64,
    pub high: f64,
    pub label: &'a str,
}

impl Bar<'_> {
    /// As a group.
    pub fn svg(&self) -> String {
        let [x, y] = self.at;
        let each = self.height / self.colours.len() as f64;
        let mut group = String::from("<g>");
        for (n, colour) in self.colours.iter().rev().enumerate() {
            let _ = write!(
                group,
                r#"<rect x="{x:.1}" y="{:.2}" width="16" height="{:.2}" fill="{colour}"/>"#,
                y + n as f64 * each,
                each + 0.5
            );
        }
        let ticks = ticks(self.low, self.high, 6.0);
        let step = round_step(self.high - self.low, 6.0);
        for tick in ticks {
            let at = y + self.height * (1.0 - (tick - self.low) / (self.high - self.low));
            let _ = write!(
                group,
                r##"<path d="M{:.1} {at:.1}h6" stroke="currentColor"/><text x="{:.1}" y="{:.1}">{}</text>"##,
                x + 16.0,
                x + 26.0,
                at + 4.5,
                tick_text(tick, step)
            );
        }
        let _ = write!(
            group,
            r#"<text x="{:.1}" y="{:.1}" text-anchor="end">{}</text></g>"#,
            x + 70.0,
            y - 12.0,
            text(self.label)
        );
        group
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_safe_and_units_printed() {
        assert_eq!(text("a<b & \"`c`\""), "a&lt;b &amp; &quot;c&quot;");
    }

    #[test]
    fn ticks_are_round_and_inside() {
        let found: Vec<String> = ticks(0.13, 0.61, 5.0)
            .into_iter()
            .map(|t| tick_text(t, round_step(0.48, 5.0)))
            .collect();
        assert_eq!(found, ["0.2", "0.3", "0.4", "0.5", "0.6"]);
    }
}
