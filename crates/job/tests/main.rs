//! Jobs from their text to the model, in one program.

mod bad;
mod bath;
mod good;
mod insoluble;
mod plan;
mod repeats;
mod wanted;
mod words;
