//! How words for a terminal look.

/// How the words look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look<'a> {
    /// Columns that texts are folded to.
    pub width: usize,
    /// Is the verdict coloured?
    pub colour: bool,
    /// Are the cautions of the bath told in full?
    pub safety: bool,
    /// What the job is called in a command.
    pub job: &'a str,
}

impl Look<'_> {
    /// Widest that is read with ease.
    pub const WIDEST: usize = 100;
}

impl Default for Look<'_> {
    /// As wide as is read with ease, without colours.
    fn default() -> Self {
        Self {
            width: Self::WIDEST,
            colour: false,
            safety: false,
            job: "JOB",
        }
    }
}
