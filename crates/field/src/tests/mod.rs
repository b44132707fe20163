//! Tests of the whole solver, and the small laws and networks they are made of.

mod bounds;
mod laws;
mod linear;
mod networks;
mod newton;
mod refusals;
mod solver;
mod tangent;
