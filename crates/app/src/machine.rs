//! What the machine has: memory.

use std::fs;

/// Taken where the system does not tell.
const FALLBACK_BYTES: u64 = 8 << 30;
/// Share of the available memory that a run may take.
const SHARE: f64 = 0.9;

/// Memory a run may take, bytes.
pub(crate) fn memory_limit_bytes() -> u64 {
    match kilobytes("/proc/meminfo", "MemAvailable:") {
        Some(kb) => (SHARE * 1024.0 * kb as f64) as u64,
        None => FALLBACK_BYTES,
    }
}

/// Largest memory this process had so far, bytes.
pub(crate) fn peak_memory_bytes() -> Option<u64> {
    kilobytes("/proc/self/status", "VmHWM:").map(|kb| 1024 * kb)
}

/// A line like `MemAvailable:   16384 kB` of a file of the system.
fn kilobytes(path: &str, key: &str) -> Option<u64> {
    parse(&fs::read_to_string(path).ok()?, key)
}

fn parse(text: &str, key: &str) -> Option<u64> {
    let line = text.lines().find_map(|line| line.strip_prefix(key))?;
    line.split_whitespace().next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_the_system() {
        let text = "MemTotal:       32768 kB\nMemAvailable:    16384 kB\n";
        assert_eq!(parse(text, "MemAvailable:"), Some(16_384));
        assert_eq!(parse(text, "VmHWM:"), None);
        assert_eq!(parse("VmHWM: much kB", "VmHWM:"), None);
        assert!(memory_limit_bytes() > 0);
    }
}
