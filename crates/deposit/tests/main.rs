//! Runs from the model to the answers, in one program: each of its own would be compiled with all below it.

mod anodes;
mod burning;
mod currents;
mod levers;
mod pulses;
mod repeats;
mod sensitivity;
mod supplies;
mod turns;
mod words;
