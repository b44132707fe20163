//! What the grid has to say, in words.

use ionfall_mesh::grid::{GridNote, NoteKind};

/// A grid note in plain words.
pub fn note_text<const D: usize>(note: &GridNote<D>) -> String {
    let place: Vec<String> = note
        .place
        .iter()
        .map(|x| format!("{:.2}", 1e3 * x))
        .collect();
    let what = match note.kind {
        NoteKind::Tangled => "cells where surfaces do not join were taken as one piece",
        NoteKind::RoughProbe => "facets in narrow places were computed to first order only",
        NoteKind::LostFacet => "facets in gaps narrower than a cell were left out",
    };
    format!("{} {what}, one near ({}) mm", note.count, place.join(", "))
}
