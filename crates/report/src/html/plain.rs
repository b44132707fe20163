//! A page without scripts in the look of the report: a verdict, sections, a footer.

use super::{STYLE, filled, verdict_lines};
use crate::picture::svg::text;
use crate::story::Verdict;
use crate::verdict;

const FRAME: &str = include_str!("plain.html");

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
    let sign = sign.unwrap_or(verdict::sign(verdict.tone)).to_string();
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
    filled(
        FRAME,
        &[
            ("title", text(title)),
            ("style", STYLE.to_owned()),
            ("tone", verdict::class(verdict.tone).to_owned()),
            ("sign", sign),
            ("verdict", text(&verdict.head)),
            ("verdict_lines", verdict_lines(verdict)),
            ("sections", sections),
            ("computed", text(computed)),
        ],
    )
}
