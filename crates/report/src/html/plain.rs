//! A page without scripts in the look of the report: a verdict, sections, a footer.

use super::{filled, first, top};
use crate::picture::svg::text;
use crate::story::Verdict;

const FRAME: &str = concat!(
    include_str!("head.html"),
    include_str!("top.html"),
    include_str!("plain.html")
);

/// A part of the page.
pub(crate) struct Section {
    /// Short name: letters, digits, dashes.
    pub key: &'static str,
    /// Heading.
    pub heading: String,
    /// What is in it, as HTML.
    pub content: String,
}

/// The page. `sign` stands before the verdict; without one that of how it stands.
pub(crate) fn page(
    title: &str,
    verdict: &Verdict,
    sign: Option<char>,
    sections: &[Section],
    computed: &str,
) -> String {
    let sections: String = sections
        .iter()
        .map(|s| {
            format!(
                "<section id=\"{}\"><h2>{}</h2>{}</section>",
                s.key,
                text(&s.heading),
                s.content
            )
        })
        .collect();
    let values = [
        ("scripts_allowed", String::new()),
        ("sections", sections),
        ("verdict_lines", first::verdict_lines(verdict)),
        ("computed", text(computed)),
    ];
    let head = first::head(verdict, sign);
    filled(FRAME, &[&top(title)[..], &head, &values].concat())
}
