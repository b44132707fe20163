//! The version of the program, as it stands in what it writes.

/// Version of the program.
pub(crate) const VERSION: &str = env!("CARGO_PKG_VERSION");
