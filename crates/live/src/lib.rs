//! The live page: an engine that answers questions about the text of a job, and the page around it.
//!
//! ```text
//! page (HTML, CSS, scripts) --request, JSON--> engine --reply, JSON--> page
//!
//! ask     the requests, and who answers them
//! files   the meshes and pictures that a job names, in memory
//! look    what a job says: bodies as outlines, forms, faults
//! edit    a job's text with something moved, added, taken away; comments stay
//! begin   the text of a new job, from a few answers
//! solve   the answers of a job, as the report tells them
//! course  the textbook's cases with figures to play with
//! door    how a page gets in (WebAssembly only)
//! page    puts the one file together that opens in a browser
//! ```
//! The engine knows nothing of HTML, the page nothing of physics. Requests and replies are plain data; the
//! same [`Engine`] answers natively, where it is tested.
//!
//! ```
//! let mut engine = ionfall_live::Engine::default();
//! let reply = engine.ask(r#"{ "ask": "about" }"#, &mut |_, _| ());
//! assert!(reply.contains("version"), "{reply}");
//! ```

#![warn(clippy::too_many_lines)]

mod ask;
mod begin;
mod boxes;
mod coarse;
mod course;
#[cfg(target_family = "wasm")]
mod door;
mod drawn;
mod edit;
mod files;
mod look;
#[cfg(not(target_family = "wasm"))]
mod page;
mod refusal;
mod reply;
mod schema;
mod solve;
#[cfg(test)]
mod testing;

pub use ask::Engine;
#[cfg(not(target_family = "wasm"))]
pub use page::{Start, page};
