//! What the grid has to say, in words.

use ionfall_mesh::grid::{GridNote, NoteKind};

/// Does the note put answers in doubt, rather than tell how they were found?
pub fn is_caution<const D: usize>(note: &GridNote<D>) -> bool {
    matches!(
        note.kind,
        NoteKind::NarrowGap { .. } | NoteKind::ThinWall { .. } | NoteKind::Plain { .. }
    )
}

/// A grid note in plain words.
pub fn note_text<const D: usize>(note: &GridNote<D>) -> String {
    let place: Vec<String> = note
        .place
        .iter()
        .map(|x| format!("{:.2}", 1e3 * x))
        .collect();
    let near = place.join(", ");
    let what = match note.kind {
        NoteKind::NarrowGap {
            width_m,
            area_m2,
            cells,
        }
        | NoteKind::ThinWall {
            width_m,
            area_m2,
            cells,
        } => {
            let [width, area, cells] = [1e3 * width_m, 100.0 * area_m2, cells].map(significant);
            let narrow = if matches!(note.kind, NoteKind::NarrowGap { .. }) {
                format!(
                    "walls {width} mm apart near ({near}) mm have {cells} cells between them, and \
                     {area} dm2 of wall has too few"
                )
            } else {
                format!(
                    "a body {width} mm thick near ({near}) mm is {cells} cells thick, and {area} dm2 \
                     of surface has too few behind it"
                )
            };
            return format!("{narrow}: what is computed there is rough; {WAY_OUT}");
        }
        NoteKind::Plain { area_m2 } => {
            let area = significant(100.0 * area_m2);
            return format!(
                "{} facets ({area} dm2), one near ({near}) mm, lie where the cells are too large for what is \
                 there; their current is of the right sign, but rough; {WAY_OUT}",
                note.count
            );
        }
        NoteKind::Tangled => "cells where surfaces do not join were taken as one piece",
        NoteKind::RoughProbe => "facets in narrow places were computed to first order only",
        NoteKind::LostFacet => "facets in gaps narrower than a cell were left out",
    };
    format!("{} {what}, one near ({near}) mm", note.count)
}

/// How narrow places get more cells.
const WAY_OUT: &str = "give the body a smaller `finest`, or a [[grid.region]] there one";

/// Two significant digits.
fn significant(x: f64) -> String {
    let digits = 1 - x.abs().max(f64::MIN_POSITIVE).log10().floor() as i32;
    format!("{x:.0$}", digits.clamp(0, 9) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(kind: NoteKind) -> (String, bool) {
        let note = GridNote {
            kind,
            count: 3,
            place: [0.0125, 0.03],
        };
        (note_text(&note), is_caution(&note))
    }

    #[test]
    fn narrow_places_are_told_with_width_area_place_and_cells() {
        let (gap, caution) = told(NoteKind::NarrowGap {
            width_m: 8e-4,
            area_m2: 0.032,
            cells: 1.31,
        });
        assert!(caution);
        assert!(gap.starts_with(
            "walls 0.80 mm apart near (12.50, 30.00) mm have 1.3 cells between them, and 3.2 dm2 of \
             wall has too few:"
        ));
        assert!(gap.ends_with("a [[grid.region]] there one"));
        let (wall, caution) = told(NoteKind::ThinWall {
            width_m: 1e-3,
            area_m2: 2.2e-5,
            cells: 0.068,
        });
        assert!(caution);
        assert!(wall.starts_with(
            "a body 1.0 mm thick near (12.50, 30.00) mm is 0.068 cells thick, and 0.0022 dm2 of surface"
        ));
    }

    #[test]
    fn plain_places_are_told_with_area_and_place() {
        let (text, caution) = told(NoteKind::Plain { area_m2: 3.4e-5 });
        assert!(caution);
        assert!(text.starts_with("3 facets (0.0034 dm2), one near (12.50, 30.00) mm"));
        assert!(text.ends_with("a [[grid.region]] there one"));
    }

    #[test]
    fn other_notes_tell_how_many() {
        let (text, caution) = told(NoteKind::RoughProbe);
        assert!(!caution);
        assert!(text.starts_with("3 facets in narrow places"));
    }
}
