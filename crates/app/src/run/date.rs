//! Day and time, universal, as `2026-11-27 05:21 UTC`.

use std::time::{SystemTime, UNIX_EPOCH};

/// Now.
pub(super) fn now() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    date(since.map_or(0, |s| s.as_secs()))
}

/// Seconds since the first of January 1970. Years are counted from March on, so that the day that is put in
/// is the last one; 400 of them have 146,097 days.
fn date(seconds: u64) -> String {
    let (days, rest) = (seconds / 86400 + 719_468, seconds % 86400);
    let (era, day) = (days / 146_097, days % 146_097);
    let year = (day - day / 1460 + day / 36524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day = day - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    let year = 400 * era + year + u64::from(month < 3);
    format!(
        "{year}-{month:02}-{day:02} {:02}:{:02} UTC",
        rest / 3600,
        rest % 3600 / 60
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seconds as `date -u +%s` tells them.
    #[test]
    fn days_are_counted_over_leap_years() {
        for (seconds, told) in [
            (0, "1970-01-01 00:00 UTC"),
            (951_782_400, "2000-02-29 00:00 UTC"),
            (1_709_251_199, "2024-02-29 23:59 UTC"),
            (4_107_542_400, "2100-03-01 00:00 UTC"),
        ] {
            assert_eq!(date(seconds), told);
        }
    }
}
