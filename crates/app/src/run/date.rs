//! Day and time, universal, as `2026-11-27 05:21 UTC`.

use jiff::Timestamp;

/// Now.
pub(super) fn now() -> String {
    told(Timestamp::now())
}

fn told(at: Timestamp) -> String {
    at.strftime("%Y-%m-%d %H:%M UTC").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seconds as `date -u +%s` tells them.
    #[test]
    fn times_are_universal_to_the_minute() {
        for (seconds, text) in [
            (0, "1970-01-01 00:00 UTC"),
            (951_782_400, "2000-02-29 00:00 UTC"),
            (1_709_251_199, "2024-02-29 23:59 UTC"),
            (4_107_542_400, "2100-03-01 00:00 UTC"),
        ] {
            assert_eq!(told(Timestamp::from_second(seconds).unwrap()), text);
        }
    }
}
