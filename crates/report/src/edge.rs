//! What a largest value at a sharp edge is worth, in words.

use crate::story::measure::thick;
use ionfall_deposit::{Edge, EdgeFigure, Place};

/// What stands before the value: it is a least one.
pub(crate) fn before(place: &Place) -> &'static str {
    match place.edge.map(|e| e.figure) {
        Some(EdgeFigure::AtLeast | EdgeFigure::EndOfMetal) => "at least ",
        _ => "",
    }
}

/// What there is to say of the edge after the place, with a comma before it.
pub(crate) fn after(place: &Place) -> String {
    place.edge.map_or(String::new(), |edge| words(&edge))
}

fn words(edge: &Edge) -> String {
    match edge.figure {
        EdgeFigure::StripMean => format!(
            ", at a sharp edge: no finite value without kinetics, this is the mean over {} \
             beside it; give the edge's radius, or a law",
            thick(edge.strip_m)
        ),
        EdgeFigure::AtLeast => format!(
            ", at a sharp edge: at least this (cells of {}, {} would tell)",
            thick(edge.cell_m),
            thick(edge.resolving_cell_m())
        ),
        EdgeFigure::EndOfMetal => format!(
            ", where the metal ends at an insulator: at least this, the mean over {} beside it",
            thick(edge.strip_m)
        ),
        EdgeFigure::Resolved => ", at a sharp edge".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sharp_edge_is_told_for_what_it_is() {
        let place = |figure, wagner_length_m| Place {
            at_m: [0.0; 3],
            value: 1e-3,
            edge: Some(Edge {
                figure,
                cell_m: 5e-4,
                strip_m: 4e-4,
                wagner_length_m,
            }),
        };
        let strip = place(EdgeFigure::StripMean, 0.0);
        assert_eq!(before(&strip), "");
        assert!(after(&strip).contains("no finite value") && after(&strip).contains("400 um"));
        let least = place(EdgeFigure::AtLeast, 8e-4);
        assert_eq!(before(&least), "at least ");
        assert!(
            after(&least).contains("160 um would tell"),
            "{}",
            after(&least)
        );
        let end = place(EdgeFigure::EndOfMetal, 8e-4);
        assert_eq!(before(&end), "at least ");
        assert!(after(&end).contains("where the metal ends") && after(&end).contains("400 um"));
        let plain = Place {
            edge: None,
            ..least
        };
        assert_eq!((before(&plain), after(&plain).as_str()), ("", ""));
    }
}
