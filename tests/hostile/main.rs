//! Damaged input of every kind, made from sound input by a seeded mutator: nothing may panic, hang, or give
//! answers that are no numbers, and every refusal has a reason and a way out.
//!
//! Each kind takes about a second in ordinary tests. Longer, and from another seed:
//!
//! ```text
//! HOSTILE_SECONDS=600 HOSTILE_SEED=7 cargo test --test hostile -- --nocapture --test-threads 1
//! ```
//! The mutant that is being looked at lies in a file, whose path is printed first: what ends the process
//! itself (a stack that overflows, memory that is refused) leaves it there.

mod jobs;
mod meshes;
mod mutate;
mod pictures;
mod results;
mod trial;
