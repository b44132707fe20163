//! What the machine has: memory.
//!
//! A run may take a share of the least of three: what is free on the machine, what is left of the process's
//! address space (`ulimit -v`), and what is left to its control groups.

use std::fs;
use std::path::{Path, PathBuf};

/// Taken where the system does not tell.
const FALLBACK_BYTES: u64 = 8 << 30;
/// Share of the available memory that a run may take.
const SHARE: f64 = 0.9;
/// The same of the address space: more of it is reserved than used.
const SHARE_OF_ADDRESSES: f64 = 0.7;
/// Where control groups are.
const GROUPS: &str = "/sys/fs/cgroup";

/// Memory a run may take, bytes.
pub(crate) fn memory_limit_bytes() -> u64 {
    let share = |part: f64, bytes: u64| (part * bytes as f64) as u64;
    let free = kilobytes("/proc/meminfo", "MemAvailable:").map(|kb| share(SHARE, 1024 * kb));
    let addresses = address_space_left_bytes().map(|bytes| share(SHARE_OF_ADDRESSES, bytes));
    let group = group_left_bytes().map(|bytes| share(SHARE, bytes));
    let least = [free, addresses, group].into_iter().flatten().min();
    least.unwrap_or(FALLBACK_BYTES)
}

/// Address space that this process may still take, if it is limited.
fn address_space_left_bytes() -> Option<u64> {
    let limits = fs::read_to_string("/proc/self/limits").ok()?;
    let limit = parse(&limits, "Max address space")?;
    let taken = kilobytes("/proc/self/status", "VmSize:")?;
    Some(limit.saturating_sub(1024 * taken))
}

/// Memory that the control groups of this process leave it, if any of them is limited. What the system
/// keeps of files goes when memory is short, and does not count.
fn group_left_bytes() -> Option<u64> {
    let groups = fs::read_to_string("/proc/self/cgroup").ok()?;
    let left = |(folder, limit, taken): (PathBuf, &str, &str)| {
        let text = |name: &str| fs::read_to_string(folder.join(name)).ok();
        let number = |name: &str| text(name)?.trim().parse::<u64>().ok();
        let all = |key: &str| text("memory.stat").and_then(|t| parse(&t, key));
        let files = all("total_inactive_file ").or_else(|| all("inactive_file "));
        let taken = number(taken)?.saturating_sub(files.unwrap_or(0));
        Some(number(limit)?.saturating_sub(taken))
    };
    group_folders(&groups).into_iter().filter_map(left).min()
}

/// The folders of the process's control group and of those around it, with the names of limit and use,
/// in both versions of the interface.
fn group_folders(groups: &str) -> Vec<(PathBuf, &'static str, &'static str)> {
    let kinds = [
        ("::/", "", "memory.max", "memory.current"),
        (
            ":memory:/",
            "memory",
            "memory.limit_in_bytes",
            "memory.usage_in_bytes",
        ),
    ];
    let folders = |(mark, root, limit, taken): (&str, &str, &'static str, &'static str)| {
        let own = groups
            .lines()
            .find_map(|line| Some(line.split_once(mark)?.1));
        let above = own.into_iter().flat_map(|own| Path::new(own).ancestors());
        let folder = |path: &Path| (Path::new(GROUPS).join(root).join(path), limit, taken);
        above.map(folder).collect::<Vec<_>>()
    };
    kinds.into_iter().flat_map(folders).collect()
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
        let limits = "Limit                     Soft Limit           Hard Limit           Units\n\
                      Max address space         3072000000           unlimited            bytes\n";
        assert_eq!(parse(limits, "Max address space"), Some(3_072_000_000));
        let free = limits.replace("3072000000", "unlimited ");
        assert_eq!(parse(&free, "Max address space"), None);
        assert!(memory_limit_bytes() > 0);
    }

    #[test]
    fn groups_and_those_around_them() {
        let folders = group_folders("5:memory:/old\n1:name=else:/\n0::/shop/run 7\n");
        let names = folders.iter().map(|f| f.0.to_string_lossy().into_owned());
        let all: Vec<String> = names.collect();
        let root = "/sys/fs/cgroup";
        let expected =
            ["/shop/run 7", "/shop", "/", "/memory/old", "/memory/"].map(|f| format!("{root}{f}"));
        assert_eq!(all, expected);
        assert!(group_folders("3:cpu:/old\n").is_empty());
    }
}
