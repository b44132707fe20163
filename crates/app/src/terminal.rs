//! How words look on standard output: as wide as the terminal, coloured only there.

use ionfall_report::Look;
use std::env;
use std::io::{IsTerminal, stdout};

/// Narrowest that texts are folded to.
const NARROWEST: usize = 40;

/// The look of words for what standard output is.
pub(crate) fn look() -> Look<'static> {
    let terminal = stdout().is_terminal();
    let size = terminal_size::terminal_size_of(stdout());
    let said = |name: &str| env::var(name).ok().filter(|text| !text.is_empty());
    Look {
        width: width(size.map(|(w, _)| w.0.into()), said("COLUMNS").as_deref()),
        colour: terminal && said("NO_COLOR").is_none() && said("TERM").as_deref() != Some("dumb"),
        ..Look::default()
    }
}

/// Columns of the terminal, else those that the environment says, within reason.
fn width(terminal: Option<usize>, said: Option<&str>) -> usize {
    let columns = terminal.or_else(|| said?.parse().ok());
    columns
        .unwrap_or(Look::WIDEST)
        .clamp(NARROWEST, Look::WIDEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_width_is_that_of_the_terminal_within_reason() {
        assert_eq!(width(None, None), 100);
        assert_eq!(width(Some(80), Some("60")), 80);
        assert_eq!(width(None, Some("60")), 60);
        assert_eq!(width(None, Some("wide")), 100);
        assert_eq!(width(Some(300), None), 100);
        assert_eq!(width(Some(1), None), 40);
    }
}
