//! Numbers as people write and round them.

/// So many significant digits, as a person writes them.
pub fn significant(value: f64, digits: i32) -> String {
    let magnitude = value.abs();
    if value == 0.0 {
        "0".into()
    } else if !(1e-3..1e5).contains(&magnitude) {
        format!("{value:.0$e}", (digits - 1).max(0) as usize)
    } else {
        // Rounding first may carry into the next power of ten, where one decimal less is due.
        let place = 10f64.powi(digits - 1 - magnitude.log10().floor() as i32);
        let rounded = (value * place).round() / place;
        let decimals = (digits - 1 - rounded.abs().log10().floor() as i32).max(0) as usize;
        let text = format!("{rounded:.decimals$}");
        if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.').into()
        } else {
            text
        }
    }
}

/// A number with two significant digits left.
pub fn two_digits(value: f64) -> f64 {
    let unit = 10f64.powf(value.abs().max(1e-12).log10().floor() - 1.0);
    (value / unit).round() * unit
}

/// 1234567 as 1,234,567.
pub fn grouped(n: usize) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// A round step (1, 2 or 5 times a power of ten) that parts a span about so often.
pub fn round_step(span: f64, parts: f64) -> f64 {
    let rough = span / parts;
    let power = 10f64.powf(rough.log10().floor());
    let factor = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|f| f * power >= 0.999 * rough)
        .unwrap_or(10.0);
    factor * power
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn significant_digits() {
        assert_eq!(significant(13.18, 3), "13.2");
        assert_eq!(significant(9.996, 3), "10");
        assert_eq!(significant(12_345.0, 3), "12300");
        assert_eq!(significant(-0.001_234_4, 4), "-0.001234");
        assert_eq!(significant(2.5e-7, 3), "2.50e-7");
        assert_eq!(significant(0.0, 3), "0");
    }

    #[test]
    fn two_digits_are_left_and_thousands_grouped() {
        assert_relative_eq!(two_digits(1234.0), 1200.0);
        assert_relative_eq!(two_digits(-1.26e-6), -1.3e-6, max_relative = 1e-12);
        assert_eq!(grouped(1_234_567), "1,234,567");
        assert_eq!(grouped(123), "123");
    }

    #[test]
    fn steps_are_round() {
        assert_relative_eq!(round_step(7.3, 10.0), 1.0);
        assert_relative_eq!(round_step(0.13, 10.0), 0.02);
        assert_relative_eq!(round_step(1400.0, 4.0), 500.0);
    }
}
