//! What came of an accuracy that was asked for, in words.

use crate::story::measure::percent;
use ionfall_deposit::accuracy::{AccuracyReached, Ending};
use ionfall_numerics::number::grouped;

/// In a line: asked, reached, and why it ended where it was not reached.
pub(crate) fn line(accuracy: &AccuracyReached) -> String {
    let grids = match accuracy.grids.len() {
        1 => "1 grid".into(),
        n => format!("{n} grids"),
    };
    let cells = accuracy.grids.last().map_or(0, |last| last.cells);
    let with = format!("with {} cells after {grids}", grouped(cells));
    let reached = match (accuracy.share(), &accuracy.worst) {
        (Some(share), Some(worst)) => format!("{} ({worst})", percent(share)),
        _ => "a plus-minus that is not known".into(),
    };
    let asked = percent(accuracy.asked_share);
    let why = match &accuracy.ending {
        Ending::Met => return format!("asked {asked}: {reached} {with}"),
        Ending::Memory => "the memory is spent; a finer grid does not fit".into(),
        Ending::SmallestCells => "the cells are as small as `finest` in [grid] allows".into(),
        Ending::Grids => "it did not get there".into(),
        Ending::Failed(reason) => format!("a finer grid could not be solved: {reason}"),
    };
    format!("asked {asked}: stopped at {reached} {with}: {why}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_deposit::accuracy::Laid;

    #[test]
    fn met_or_why_not() {
        let laid = |cells, share| Laid { cells, share };
        let met = AccuracyReached {
            asked_share: 0.02,
            worst: Some("thinnest of plate".into()),
            grids: vec![laid(1000, Some(0.1)), laid(61_000, Some(0.017))],
            ending: Ending::Met,
        };
        assert_eq!(
            line(&met),
            "asked 2 %: 1.7 % (thinnest of plate) with 61,000 cells after 2 grids"
        );
        let spent = AccuracyReached {
            grids: vec![laid(1000, Some(0.1))],
            ending: Ending::Memory,
            ..met.clone()
        };
        assert_eq!(
            line(&spent),
            "asked 2 %: stopped at 10 % (thinnest of plate) with 1,000 cells after 1 grid: the memory is spent; a finer \
             grid does not fit"
        );
        let unknown = AccuracyReached {
            worst: None,
            grids: vec![laid(1000, None)],
            ending: Ending::SmallestCells,
            ..met
        };
        assert!(line(&unknown).contains("not known"));
    }
}
