//! Random scenes like the parts of the trade, and what physics says of every one of them.
//!
//! A scene is a tank with work and anodes, made from a seed: hollow, thin-walled, notched, lettered
//! bodies, cut by walls and the liquid level, turned and moved by fractions of a cell. Asserted is
//! what holds in every solution and needs no reference ([`check`]), what a mirror and a quarter turn
//! must leave as it is ([`symmetry`]), and, where asked for, agreement with finer cells
//! ([`reference`]). The long tables are printed by the ignored tests:
//!
//! ```text
//! SCENES=0..200 cargo test --test scenes -- --ignored --nocapture table
//! ```

mod check;
mod dice;
mod laws;
mod reference;
mod scene;
mod shapes;
mod symmetry;
mod table;
