//! The first screen: the verdict with its rules, what to change, what it takes, the places, and the scales
//! beside the part.

use super::lists::items;
use crate::picture::{rule, scale, stripes, svg::text};
use crate::story::{Rule, Story, Verdict};
use crate::verdict::{class, sign};

/// Height of a scale, pixels.
const HEIGHT: f64 = 400.0;

/// The verdict in a few words; `given` is a sign in place of that of how it stands.
pub(super) fn head(verdict: &Verdict, given: Option<char>) -> [(&'static str, String); 3] {
    [
        ("tone", class(verdict.tone).to_owned()),
        ("sign", given.unwrap_or(sign(verdict.tone)).to_string()),
        ("verdict", text(&verdict.head)),
    ]
}

/// What is judged, and what else there is to say.
pub(super) fn verdict_lines(verdict: &Verdict) -> String {
    items("p", &verdict.parts) + &items("p", &verdict.lines)
}

pub(super) fn rules(story: &Story) -> String {
    story.first.rules.iter().map(rule).collect()
}

fn rule(rule: &Rule) -> String {
    format!(
        r#"<div class="part {}"><h3><span class="sign" aria-hidden="true">{}</span> {} <span class="word">{}</span></h3><p><b>{}</b> {}</p>{}</div>"#,
        class(rule.state),
        sign(rule.state),
        rule.label,
        rule.state.word(),
        text(&rule.answer),
        text(&rule.what),
        drawn(rule)
    )
}

/// A rule on a scale of its own.
fn drawn(rule: &Rule) -> String {
    let scale = rule.scale.as_ref();
    scale.map_or(String::new(), |s| rule::svg(s, rule::end(s)))
}

pub(super) fn change(story: &Story) -> String {
    let change = story.first.change.iter();
    change
        .map(|way| format!(r#"<p id="change"><b>Change: </b>{}.</p>"#, text(way)))
        .collect()
}

pub(super) fn takes(story: &Story) -> String {
    match story.first.takes.is_empty() {
        true => String::new(),
        false => format!("<p>It takes {}.</p>", text(&story.first.takes.join(", "))),
    }
}

/// The numbered places.
pub(super) fn places(story: &Story) -> String {
    let places = story.markers.iter().map(|m| {
        let figures = match m.figures.is_empty() {
            true => String::new(),
            false => format!(" {}", m.figures.join(", ")),
        };
        format!(
            r#"<li><b>{}</b>{} <span class="soft">{}</span></li>"#,
            text(&m.label),
            text(&figures),
            text(&m.place)
        )
    });
    places.collect()
}

pub(super) fn quantities(story: &Story) -> String {
    let choice = story.quantities.iter().enumerate().map(|(n, q)| {
        format!(
            r#"<label><input type="radio" name="quantity" value="{n}"{}>{}</label>"#,
            if n == 0 { " checked" } else { "" },
            text(q.label)
        )
    });
    choice.collect()
}

/// A scale for each quantity; the page shows the one in use.
pub(super) fn scales(story: &Story) -> String {
    let scales = story.quantities.iter().enumerate().map(|(n, q)| {
        let words = stripes::stripe_words(q).map_or(String::new(), |w| format!("{w}; "));
        format!(
            r#"<div class="legend" data-quantity="{n}"{}>{}<p class="note">{}grey: not plated</p></div>"#,
            if n == 0 { "" } else { " hidden" },
            scale::svg(q, HEIGHT),
            text(&words)
        )
    });
    scales.collect()
}

pub(super) fn still_words(story: &Story) -> String {
    let quantity = story.quantities.first().map_or("", |q| q.label);
    let places = story.markers.iter().enumerate();
    let places: Vec<String> = places
        .map(|(n, m)| format!("{}: {}", n + 1, m.label))
        .collect();
    text(&format!(
        "The work straight on, coloured by {quantity}. {}",
        places.join(", ")
    ))
}
