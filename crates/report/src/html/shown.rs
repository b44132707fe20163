//! A story for a page that draws it itself: what the scripts of the report read, and the words of its first
//! screen as plain text with the units as they are printed. Such a page puts them there as text, never as HTML.

use super::drawn::Drawn;
use crate::error::ReportError;
use crate::picture::{part, pixels, rule, scale, stripes};
use crate::story::{Marker, Quantity, Rule, Story};
use crate::unit::printed;
use ionfall_deposit::judge::Standing;
use serde::Serialize;

#[derive(Serialize)]
struct Shown<'a> {
    #[serde(flatten)]
    drawn: Drawn<'a>,
    title: &'a str,
    state: Standing,
    head: String,
    rules: Vec<ShownRule>,
    change: Option<String>,
    takes: Vec<String>,
    /// Label, figures and place of each marker.
    places: Vec<[String; 3]>,
    scales: Vec<ShownScale>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct ShownRule {
    label: &'static str,
    state: Standing,
    answer: String,
    what: String,
    scale: Option<ShownFigure>,
}

/// A figure on a scale from nothing to `end`.
#[derive(Serialize)]
struct ShownFigure {
    end: f64,
    ticks: Vec<(f64, String)>,
    dot: f64,
    off: Option<f64>,
    band: Option<[f64; 2]>,
}

/// The scale of a quantity: what its numbers are, the number at each border of its steps, and the share of
/// the area in each step.
#[derive(Serialize)]
struct ShownScale {
    words: String,
    sentence: String,
    edges: Vec<String>,
    shares: Vec<f64>,
    striped: Option<String>,
}

/// The story as JSON.
///
/// # Errors
/// [`ReportError`] if it cannot be written as JSON.
pub fn shown(story: &Story) -> Result<String, ReportError> {
    let shown = Shown {
        drawn: Drawn::of(story),
        title: &story.title,
        state: story.verdict.tone,
        head: plain(&story.verdict.head),
        rules: story.first.rules.iter().map(rule).collect(),
        change: story.first.change.as_deref().map(plain),
        takes: story.first.takes.iter().map(|t| plain(t)).collect(),
        places: story.markers.iter().map(place).collect(),
        scales: story.quantities.iter().map(scale).collect(),
        cautions: story.cautions.iter().map(|c| plain(c)).collect(),
    };
    Ok(serde_json::to_string(&shown)?)
}

/// The part straight on in its first quantity, as the address of a PNG.
///
/// # Errors
/// [`ReportError::Picture`] if it cannot be drawn.
pub fn small_picture(story: &Story) -> Result<String, ReportError> {
    Ok(pixels::address(&part::png(story, 0)?))
}

/// Text with the signs of units, without the marks around names.
fn plain(text: &str) -> String {
    printed(&text.replace('`', ""))
}

fn rule(rule: &Rule) -> ShownRule {
    ShownRule {
        label: rule.label,
        state: rule.state,
        answer: plain(&rule.answer),
        what: plain(&rule.what),
        scale: rule.scale.as_ref().map(|s| ShownFigure {
            end: rule::end(s),
            ticks: s.ticks.iter().map(|(v, l)| (*v, plain(l))).collect(),
            dot: s.dot,
            off: s.off,
            band: s.band,
        }),
    }
}

fn place(marker: &Marker) -> [String; 3] {
    [
        plain(&marker.label),
        plain(&marker.figures.join(", ")),
        plain(&marker.place),
    ]
}

fn scale(quantity: &Quantity) -> ShownScale {
    ShownScale {
        words: scale::words(quantity).join(" "),
        sentence: plain(&scale::sentence(quantity)),
        edges: quantity
            .edges
            .iter()
            .map(|e| scale::told(quantity, *e))
            .collect(),
        shares: quantity.shares.clone(),
        striped: stripes::stripe_words(quantity).map(|w| plain(&w)),
    }
}
