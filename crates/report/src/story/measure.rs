//! Numbers, lengths, times and places as people at the tank write them.

use ionfall_deposit::Place;
use ionfall_model::Pulse;
use ionfall_numerics::number::{significant, two_digits};

/// Three digits.
pub(crate) fn number(value: f64) -> String {
    significant(value, 3)
}

/// A share in percent.
pub(crate) fn percent(share: f64) -> String {
    format!("{} %", significant(100.0 * share, 2))
}

/// A thickness in um, or mm from one on.
pub(crate) fn thick(metres: f64) -> String {
    if metres.abs() < 9.995e-4 {
        format!("{} um", number(1e6 * metres))
    } else {
        format!("{} mm", number(1e3 * metres))
    }
}

/// The plus-minus of a thickness: two digits say all that is known of it.
pub(crate) fn thick_off(metres: f64) -> String {
    thick(two_digits(metres))
}

/// The plus-minus of a time.
pub(crate) fn hours_off(seconds: f64) -> String {
    hours(two_digits(seconds))
}

/// A time in seconds, minutes or hours.
pub(crate) fn hours(seconds: f64) -> String {
    if seconds < 60.0 {
        format!("{} s", number(seconds))
    } else if seconds < 3600.0 {
        format!("{} min", number(seconds / 60.0))
    } else {
        format!("{} h", number(seconds / 3600.0))
    }
}

/// A place given in metres: `x 41.2, y 3.0 mm`.
pub(crate) fn coordinates(axes: &[&str], at_m: &[f64]) -> String {
    let parts: Vec<String> = axes
        .iter()
        .zip(at_m)
        // No minus before a zero.
        .map(|(axis, x)| format!("{axis} {:.1}", (1e4 * x).round() / 10.0 + 0.0))
        .collect();
    format!("{} mm", parts.join(", "))
}

/// A place in words.
pub(crate) fn place(axes: &[&str], place: &Place) -> String {
    format!("at {}", coordinates(axes, &place.at_m))
}

/// The times of a cycle of pulses.
pub(crate) fn pulse_times(pulse: &Pulse) -> String {
    let [on, off, reverse] = [pulse.on_s, pulse.off_s, pulse.reverse_s].map(|s| number(1e3 * s));
    let mut text = format!("{on} ms on, {off} ms off");
    if pulse.reverse_s > 0.0 {
        text += &format!(
            ", {reverse} ms reverse at {} of the forward current",
            percent(pulse.reverse_share)
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_people_write_them() {
        assert_eq!(thick(3.14159e-4), "314 um");
        assert_eq!(thick(9.999e-4), "1 mm");
        assert_eq!(hours(2.5 * 3600.0), "2.5 h");
        assert_eq!(hours(90.0), "1.5 min");
        assert_eq!(hours_off(1234.0), "20 min");
        assert_eq!(thick_off(1.234e-6), "1.2 um");
        assert_eq!(percent(0.3456), "35 %");
        assert_eq!(
            coordinates(&["r", "z"], &[0.0412, -0.01, 0.0]),
            "r 41.2, z -10.0 mm"
        );
        assert_eq!(coordinates(&["x", "y"], &[-0.0, -4e-5]), "x 0.0, y 0.0 mm");
    }
}
