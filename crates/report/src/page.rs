//! A page of words: lines with a column of names, folded to a width.

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Width of the column of names, at least and at most.
const COLUMN: (usize, usize) = (8, 20);

/// Lines, with a column of names.
pub(crate) struct Page {
    width: usize,
    column: usize,
    text: String,
}

impl Page {
    /// An empty page; its column has room for the names.
    pub fn new<'a>(width: usize, names: impl Iterator<Item = &'a str>) -> Self {
        let longest = names.map(|name| name.chars().count()).max();
        Self {
            width,
            column: longest.unwrap_or(0).clamp(COLUMN.0, COLUMN.1),
            text: String::new(),
        }
    }

    /// A line as it is.
    pub fn line(&mut self, line: &str) {
        self.text += line;
        self.text.push('\n');
    }

    /// A text of its own, folded.
    pub fn text(&mut self, what: &str) {
        for line in folded(what, self.width) {
            self.line(&line);
        }
    }

    /// A name and what there is to say, folded beside it.
    pub fn entry(&mut self, name: &str, what: &str) {
        let column = self.column;
        // A name that is wider than the column takes a line of its own.
        let mut name = match name.chars().count() > column {
            true => {
                self.line(name);
                ""
            }
            false => name,
        };
        for line in folded(what, self.width.saturating_sub(column + 1)) {
            let line = format!("{:column$} {line}", std::mem::take(&mut name));
            self.line(line.trim_end());
        }
    }

    /// All of it.
    pub fn into_text(self) -> String {
        self.text
    }
}

/// The lines of a text that are no longer than a width, as far as its words allow.
pub fn folded(text: &str, width: usize) -> Vec<String> {
    let options = Options::new(width)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    let lines = textwrap::wrap(text, options);
    lines.into_iter().map(Into::into).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_folded_between_words() {
        assert_eq!(folded("one two three", 7), ["one two", "three"]);
        assert_eq!(folded("one two three", 3), ["one", "two", "three"]);
        // Columns within a text stay, a word that is too long stands alone.
        assert_eq!(folded("a  b", 9), ["a  b"]);
        assert_eq!(
            folded("a incomprehensible b", 5),
            ["a", "incomprehensible", "b"]
        );
        assert_eq!(folded("", 5), [""]);
    }

    #[test]
    fn entries_hang_beside_their_names() {
        let mut page = Page::new(20, ["name"].into_iter());
        page.entry("name", "one two three four");
        page.entry("a rather long name", "five");
        page.text("a text of its own, folded");
        assert_eq!(
            page.into_text(),
            "name     one two\n         three four\na rather long name\n         five\na text of its own,\nfolded\n"
        );
    }
}
