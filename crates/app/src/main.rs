//! Entry point: everything is in the library `ionfall_app`.
fn main() -> std::process::ExitCode {
    ionfall_app::main()
}
