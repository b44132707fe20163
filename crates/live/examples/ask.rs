//! The engine of the live page without a page:
//!
//! ```sh
//! cargo run --release -p ionfall-live --example ask -- examples/plaque/plaque.toml '{"ask":"look"}'
//! ```
//! The job's text stands in every request that has none, and the files beside the job are known. Prints
//! each reply, on the other channel how far it has come and how long it took.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut words = std::env::args().skip(1);
    let job = words.next().ok_or("name a job")?;
    let folder = Path::new(&job).parent().unwrap_or(Path::new(""));
    let text = std::fs::read_to_string(&job)?;
    let mut engine = ionfall_live::Engine::default();
    for entry in std::fs::read_dir(folder)?
        .flatten()
        .filter(|e| e.path().is_file())
    {
        let name = entry.file_name().to_string_lossy().into_owned();
        let request = json!({
            "ask": "file", "name": name, "base64": STANDARD.encode(std::fs::read(entry.path())?)
        });
        engine.ask(&request.to_string(), &mut |_, _| ());
    }
    for request in words {
        let mut request: Value = serde_json::from_str(&request)?;
        if request.get("text").is_none() {
            request["text"] = json!(text);
        }
        let clock = Instant::now();
        let reply = engine.ask(&request.to_string(), &mut |share, words| {
            eprintln!(
                "{:8.3} s {:3.0} % {words}",
                clock.elapsed().as_secs_f64(),
                100.0 * share
            );
        });
        eprintln!("{:8.3} s in all", clock.elapsed().as_secs_f64());
        writeln!(std::io::stdout(), "{reply}")?;
    }
    Ok(())
}
