//! The command line of ionfall.
use std::process::ExitCode;

/// Parses the arguments, runs the command, and turns its outcome into an exit code.
pub fn main() -> ExitCode {
    ExitCode::SUCCESS
}
