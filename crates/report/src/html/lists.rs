//! Lines as paragraphs and lists.

use crate::picture::svg::text;

/// Each line in a tag.
pub(crate) fn items(tag: &str, lines: &[String]) -> String {
    lines
        .iter()
        .map(|line| format!("<{tag}>{}</{tag}>", text(line)))
        .collect()
}

/// A list, or that there is nothing in it.
pub(crate) fn list(lines: &[String]) -> String {
    if lines.is_empty() {
        return "<p>None.</p>".into();
    }
    format!("<ul>{}</ul>", items("li", lines))
}
