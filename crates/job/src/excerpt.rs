//! The text of a job as faults show it: of long lines only what is around the faults, and nothing that
//! moves the cursor of a terminal.
//!
//! Signs are replaced byte for byte, so a place of the text is moved only by what was left out before it:
//!
//! ```text
//! place shown = place in the text - begin of its stretch + begin of the stretch as shown
//! ```

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use std::ops::Range;

/// Longest line that is shown whole, bytes.
const LONGEST: usize = 240;
/// What is shown of a longer one before and after each end of a fault, bytes.
const AROUND: usize = 80;
/// In place of what is left out.
const LEFT_OUT: &str = " ... ";

/// A piece of the text that is shown as it stands.
#[derive(Clone, Debug)]
struct Stretch {
    /// Where it begins in the text, where as shown.
    from: [usize; 2],
    length: usize,
    /// Begin of its line in the text, if parts of the line are left out.
    cut_line: Option<usize>,
}

/// A text as it is shown.
#[derive(Debug)]
pub(crate) struct Excerpt {
    name: String,
    shown: String,
    stretches: Vec<Stretch>,
}

impl Excerpt {
    /// Of a text with faults at some places.
    pub fn new(name: &str, text: &str, faults: &[Range<usize>]) -> Self {
        let mut excerpt = Self {
            name: printable(name),
            shown: String::new(),
            stretches: Vec::new(),
        };
        let mut at = 0;
        for line in text.split_inclusive('\n') {
            excerpt.line(text, at..at + line.len(), faults);
            at += line.len();
        }
        excerpt
    }

    fn line(&mut self, text: &str, line: Range<usize>, faults: &[Range<usize>]) {
        if line.len() <= LONGEST {
            return self.push(text, line, None);
        }
        let body = line.start..line.start + text[line.clone()].trim_end().len();
        let inside = |at: &usize| (line.start..=line.end).contains(at);
        let ends = faults.iter().flat_map(|f| [f.start, f.end]).filter(inside);
        let mut kept: Vec<Range<usize>> = ends
            .map(|end| whole_signs(text, end.saturating_sub(AROUND), end + AROUND, &body))
            .collect();
        if kept.is_empty() {
            kept.push(whole_signs(text, body.start, body.start + LONGEST, &body));
        }
        kept.sort_by_key(|r| (r.start, r.end));
        let mut end = body.start;
        for piece in kept {
            let from = piece.start.max(end);
            if from > end {
                self.shown.push_str(LEFT_OUT);
            }
            if piece.end > from {
                self.push(text, from..piece.end, Some(line.start));
                end = piece.end;
            }
        }
        if end < body.end {
            self.shown.push_str(LEFT_OUT);
        }
        // The end of the line, so that lines keep their numbers.
        let tail = if text[line.clone()].ends_with('\n') {
            1
        } else {
            0
        };
        self.push(text, line.end - tail..line.end, Some(line.start));
    }

    fn push(&mut self, text: &str, piece: Range<usize>, cut_line: Option<usize>) {
        self.stretches.push(Stretch {
            from: [piece.start, self.shown.len()],
            length: piece.len(),
            cut_line,
        });
        self.shown.push_str(&printable(&text[piece]));
    }

    /// The stretch that holds a place of the text (`side` 0) or of what is shown (1), or the last before it.
    fn stretch(&self, side: usize, at: usize) -> Option<&Stretch> {
        let after = self.stretches.partition_point(|s| s.from[side] <= at);
        self.stretches.get(after.checked_sub(1)?)
    }

    /// Where a place of the text is shown.
    fn place(&self, at: usize) -> usize {
        self.stretch(0, at)
            .map_or(0, |s| s.from[1] + (at - s.from[0]).min(s.length))
    }

    /// Where a stretch of the text is shown.
    pub fn span(&self, span: &Range<usize>) -> Range<usize> {
        let from = self.place(span.start);
        from..self.place(span.end).max(from)
    }
}

/// As far as whole signs go, and not beyond the bounds.
fn whole_signs(text: &str, from: usize, to: usize, bounds: &Range<usize>) -> Range<usize> {
    let nearest = |at: usize| {
        let at = at.clamp(bounds.start, bounds.end);
        (bounds.start..=at)
            .rev()
            .find(|n| text.is_char_boundary(*n))
            .unwrap_or(bounds.start)
    };
    nearest(from)..nearest(to)
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let found = self.shown.read_span(span, before, after)?;
        let whole_column = || {
            let stretch = self.stretch(1, span.offset())?;
            let in_text = stretch.from[0] + (span.offset() - stretch.from[1]).min(stretch.length);
            Some(in_text - stretch.cut_line?)
        };
        // With lines around it, the column is that of the first of them.
        let alone = before == 0 && after == 0;
        let column = alone.then(whole_column).flatten();
        Ok(Box::new(
            MietteSpanContents::new_named(
                self.name.clone(),
                found.data(),
                *found.span(),
                found.line(),
                column.unwrap_or(found.column()),
                found.line_count(),
            )
            .with_language("TOML"),
        ))
    }
}

/// Signs that move the cursor, ring the bell, or turn the direction of writing.
pub(crate) fn is_unprintable(sign: char) -> bool {
    sign.is_control() || matches!(sign, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A text with a `?` for each byte of a sign that is not to be printed; ends of lines and tabs stay.
pub(crate) fn printable(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for sign in text.chars() {
        if is_unprintable(sign) && !matches!(sign, '\n' | '\r' | '\t') {
            shown.extend(std::iter::repeat_n('?', sign.len_utf8()));
        } else {
            shown.push(sign);
        }
    }
    shown
}

/// Longest message, in signs.
const LONGEST_MESSAGE: usize = 600;

/// A message without what is not to be printed, and without the middle of what is too long.
pub(crate) fn message(text: &str) -> String {
    let clean = printable(text);
    let count = clean.chars().count();
    if count <= LONGEST_MESSAGE {
        return clean;
    }
    let (head, tail) = (LONGEST_MESSAGE / 2, LONGEST_MESSAGE / 4);
    let head: String = clean.chars().take(head).collect();
    let tail: String = clean.chars().skip(count - tail).collect();
    format!("{head}{LEFT_OUT}{tail}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn long_lines_are_shown_around_their_faults() {
        let text = format!(
            "a = 1\nb = \"{}x{}\" # c\nd = 2\n",
            "y".repeat(5000),
            "z".repeat(5000)
        );
        let at = text.find('x').unwrap();
        let excerpt = Excerpt::new("job", &text, std::slice::from_ref(&(at..at + 1)));
        assert!(excerpt.shown.len() < 400, "{}", excerpt.shown);
        assert_eq!(excerpt.shown.lines().count(), 3);
        assert_eq!(&excerpt.shown[excerpt.span(&(at..at + 1))], "x");
        let whole = at - text.find('b').unwrap();
        let shown = SourceSpan::from(excerpt.span(&(at..at + 1)));
        let contents = excerpt.read_span(&shown, 0, 0).unwrap();
        assert_eq!((contents.line(), contents.column()), (1, whole));
    }

    #[test]
    fn nothing_moves_the_cursor() {
        let text = "a = \u{1b}[31m\u{7}\u{202e}b\u{9b}\n";
        let excerpt = Excerpt::new("job\u{1b}", text, &[]);
        assert_eq!(excerpt.shown, "a = ?[31m????b??\n");
        assert_eq!(excerpt.name, "job?");
        assert!(message(&"\u{1b}\u{fc}".repeat(9000)).chars().count() < 700);
    }

    proptest! {
        #[test]
        fn places_stay_in_order_and_inside(
            text in "([a\\u{fc}\\u{1b}]{0,300}\n?){0,6}",
            faults in prop::collection::vec((0_usize..2000, 0_usize..500), 0..4),
        ) {
            let whole = |at: usize| whole_signs(&text, at, at, &(0..text.len())).start;
            let faults: Vec<_> = faults.into_iter().map(|(a, n)| whole(a)..whole(a + n)).collect();
            let excerpt = Excerpt::new("job", &text, &faults);
            let mut last = 0;
            for at in 0..=text.len() {
                let shown = excerpt.place(at);
                prop_assert!(shown >= last && shown <= excerpt.shown.len());
                last = shown;
            }
            for fault in &faults {
                let span = SourceSpan::from(excerpt.span(fault));
                prop_assert!(excerpt.read_span(&span, 1, 1).is_ok());
            }
            prop_assert_eq!(excerpt.shown.matches('\n').count(), text.matches('\n').count());
        }
    }
}
