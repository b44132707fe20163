//! `report.html`: the whole story in one file that opens without a network.
//!
//! `page.html` (behind `head.html` and `top.html`, which other pages have too) is the frame with places
//! to be filled, `page.css` its look. The scripts are plain
//! functions without libraries, put together in one closure:
//!
//! ```text
//! data.js    unpacks the numbers of the page
//! camera.js  turning, zooming, projection
//! scene.js   WebGL: surfaces in colour, wires, section
//! hover.js   which place is under the pointer, and its values
//! page.js    controls, keys, printing
//! ```
//! Legends, charts, the section and the tables are made here as plain HTML and SVG; without
//! scripts or WebGL, and on paper, a still picture stands for the view. A content policy in the
//! page forbids every request.

pub(crate) mod plain;

use crate::error::ReportError;
use crate::picture::svg::{text, tick_text, ticks};
use crate::picture::{chart, colour, part, section};
use crate::story::measure::number;
use crate::story::{Chart, Map, Mark, Marker, Quantity, Story, Table, Verdict};
use crate::unit::printed;
use crate::verdict::{class, sign};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use ionfall_numerics::number::round_step;
use serde::Serialize;
use std::fmt::Write;

const FRAME: &str = concat!(
    include_str!("head.html"),
    include_str!("top.html"),
    include_str!("page.html")
);
const STYLE: &str = include_str!("page.css");
const SCRIPTS: [&str; 5] = [
    include_str!("data.js"),
    include_str!("camera.js"),
    include_str!("scene.js"),
    include_str!("hover.js"),
    include_str!("page.js"),
];
/// Steps of the colours given to the page.
const STEPS: usize = 64;

/// What the scripts read.
#[derive(Serialize)]
struct Data<'a> {
    story: Drawn<'a>,
    viridis: Vec<String>,
    cividis: Vec<String>,
}

/// The parts of the story that are drawn; the rest is in the page already.
#[derive(Serialize)]
struct Drawn<'a> {
    space: &'a str,
    axes: &'a [&'a str],
    front: f64,
    view: [f64; 2],
    quantities: Vec<PrintedQuantity<'a>>,
    surfaces: &'a [crate::story::Surface],
    wires: &'a [crate::story::Wire],
    markers: Vec<PrintedMarker<'a>>,
    section: Option<&'a crate::story::Section>,
}

/// A quantity with its unit as it is printed.
#[derive(Serialize)]
struct PrintedQuantity<'a> {
    label: &'a str,
    unit: String,
    map: Map,
    low: f64,
    high: f64,
    marks: &'a [Mark],
}

impl<'a> PrintedQuantity<'a> {
    fn of(quantity: &'a Quantity) -> Self {
        Self {
            label: quantity.label,
            unit: quantity.unit.printed(),
            map: quantity.map,
            low: quantity.low,
            high: quantity.high,
            marks: &quantity.marks,
        }
    }
}

/// A place with the units of its words as they are printed.
#[derive(Serialize)]
struct PrintedMarker<'a> {
    kind: &'a str,
    label: String,
    at: [f64; 3],
}

impl<'a> PrintedMarker<'a> {
    fn of(marker: &'a Marker) -> Self {
        Self {
            kind: marker.kind,
            label: printed(&marker.label),
            at: marker.at,
        }
    }
}

/// The file.
///
/// # Errors
/// [`ReportError::Picture`] if a chart or picture cannot be drawn.
pub fn html(story: &Story) -> Result<String, ReportError> {
    let data = Data {
        story: Drawn {
            space: story.space,
            axes: story.axes,
            front: story.front,
            view: story.view,
            quantities: story.quantities.iter().map(PrintedQuantity::of).collect(),
            surfaces: &story.surfaces,
            wires: &story.wires,
            markers: story.markers.iter().map(PrintedMarker::of).collect(),
            section: story.section.as_ref(),
        },
        viridis: colour::stops(Map::Viridis, STEPS),
        cividis: colour::stops(Map::Cividis, STEPS),
    };
    // No tag can begin inside of the data.
    let data = serde_json::to_string(&data)?.replace('<', "\\u003c");
    let poster = STANDARD.encode(part::png(story, 0)?);
    let script = format!("\"use strict\";(() => {{\n{}\n}})();", SCRIPTS.join("\n"));
    let values = [
        ("scripts_allowed", "script-src 'unsafe-inline'; ".to_owned()),
        ("headlines", headlines(story)),
        ("quantities", quantities(story)),
        ("legends", legends(story)),
        ("markers", markers(story)),
        ("poster", poster),
        ("poster_alt", poster_words(story)),
        ("section", section_figure(story)?),
        ("charts", charts(&story.charts)?),
        ("tables", tables(&story.tables)),
        ("cautions", list(&story.cautions)),
        ("bands", list(&story.bands)),
        ("levers", list(&story.levers)),
        ("assumptions", list(&story.assumptions)),
        ("notes", notes(story)),
        ("safety", safety(story)),
        ("computed", text(&story.computed)),
        ("data", data),
        ("script", script),
    ];
    let sign = sign(story.verdict.tone);
    let top = top(&story.title, &story.verdict, sign);
    Ok(filled(FRAME, &[&top[..], &values].concat()))
}

/// Puts values into the places `{{name}}` of a frame.
pub(crate) fn filled(frame: &str, values: &[(&str, String)]) -> String {
    let mut pieces = frame.split("{{");
    let mut page = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (name, rest) = piece.split_once("}}").unwrap_or((piece, ""));
        let value = values.iter().find(|(key, _)| *key == name);
        debug_assert!(value.is_some(), "nothing to put into {name}");
        page += value.map_or("", |(_, value)| value);
        page += rest;
    }
    page
}

/// What `head.html` and `top.html` of a page want, but for what its scripts may do.
fn top(title: &str, verdict: &Verdict, sign: char) -> [(&'static str, String); 7] {
    [
        ("window", text(title)),
        ("title", text(title)),
        ("style", STYLE.to_owned()),
        ("tone", class(verdict.tone).to_owned()),
        ("sign", sign.to_string()),
        ("verdict", text(&verdict.head)),
        ("verdict_lines", verdict_lines(verdict)),
    ]
}

/// What is judged, and what else there is to say.
fn verdict_lines(verdict: &Verdict) -> String {
    items("p", &verdict.parts) + &items("p", &verdict.lines)
}

pub(crate) fn items(tag: &str, lines: &[String]) -> String {
    lines
        .iter()
        .map(|line| format!("<{tag}>{}</{tag}>", text(line)))
        .collect()
}

pub(crate) fn list(lines: &[String]) -> String {
    if lines.is_empty() {
        return "<p>None.</p>".into();
    }
    format!("<ul>{}</ul>", items("li", lines))
}

fn headlines(story: &Story) -> String {
    story
        .headlines
        .iter()
        .map(|h| {
            format!(
                "<div><dt>{}</dt><dd>{}<small>{}</small></dd></div>",
                text(&h.label),
                text(&h.value),
                text(&h.note)
            )
        })
        .collect()
}

fn quantities(story: &Story) -> String {
    story
        .quantities
        .iter()
        .enumerate()
        .map(|(n, q)| {
            format!(
                r#"<label><input type="radio" name="quantity" value="{n}"{}>{}</label>"#,
                if n == 0 { " checked" } else { "" },
                text(q.label)
            )
        })
        .collect()
}

/// A colour bar for each quantity; the page shows the one in use.
fn legends(story: &Story) -> String {
    story
        .quantities
        .iter()
        .enumerate()
        .map(|(n, q)| legend(q, n))
        .collect()
}

fn legend(quantity: &Quantity, n: usize) -> String {
    let share = |value: f64| 100.0 * (value - quantity.low) / (quantity.high - quantity.low);
    let mut bar = format!(
        r#"<div class="legend" data-quantity="{n}"{}><p>{}, {}</p><div class="bar" style="background:linear-gradient(to right,{})">"#,
        if n == 0 { "" } else { " hidden" },
        text(quantity.label),
        quantity.unit.printed(),
        colour::stops(quantity.map, 16).join(",")
    );
    let step = round_step(quantity.high - quantity.low, 5.0);
    for tick in ticks(quantity.low, quantity.high, 5.0) {
        let _ = write!(
            bar,
            r#"<span class="tick" style="left:{:.2}%">{}</span>"#,
            share(tick),
            tick_text(tick, step)
        );
    }
    for mark in &quantity.marks {
        let at = share(mark.value);
        if (0.0..=100.0).contains(&at) {
            let _ = write!(
                bar,
                r#"<span class="mark" style="left:{at:.2}%">{} {}</span>"#,
                text(&mark.label),
                number(mark.value)
            );
        }
    }
    bar += "</div>";
    let words = part::stripe_words(quantity);
    let _ = write!(
        bar,
        r#"<p class="note">{}grey: not plated. The ends of the colours hold what lies beyond.</p></div>"#,
        words.map_or(String::new(), |w| format!("{}; ", text(&w)))
    );
    bar
}

fn markers(story: &Story) -> String {
    let spots = story.markers.iter().map(|m| {
        format!(
            r#"<span class="marker {}">{}</span>"#,
            m.kind,
            text(&m.label)
        )
    });
    let names = story.wires.iter().map(|w| {
        format!(
            r#"<span class="name {}" hidden>{}</span>"#,
            w.role.word(),
            text(&w.name)
        )
    });
    spots.chain(names).collect()
}

fn poster_words(story: &Story) -> String {
    let quantity = story.quantities.first().map_or("", |q| q.label);
    let places: Vec<&str> = story.markers.iter().map(|m| m.label.as_str()).collect();
    text(&format!(
        "The work coloured by {quantity}. {}",
        places.join(", ")
    ))
}

fn section_figure(story: &Story) -> Result<String, ReportError> {
    let Some(section) = &story.section else {
        return Ok(String::new());
    };
    let lines = match section.tube_share {
        Some(share) => format!(
            "between two neighbouring ones flow {} of the current",
            crate::story::measure::percent(share)
        ),
        None => "what of the current lies in the plane".into(),
    };
    Ok(format!(
        r#"<section id="section"><h2>{}</h2><figure><div class="drawing" role="img" aria-label="{}">{}</div><figcaption>Colours: potential against the negative pole of the main supply, mV; their borders are equipotentials. White lines: current, from the anodes to the work ({lines}). Crowded lines on the work mean thick metal.{}</figcaption></figure></section>"#,
        text(&section.title),
        text(&format!(
            "{} with equipotentials and current lines",
            section.title
        )),
        section::svg(section)?,
        if section.ends.is_empty() {
            ""
        } else {
            " Letters: ends of the ways along the surface in the charts below."
        }
    ))
}

pub(crate) fn charts(charts: &[Chart]) -> Result<String, ReportError> {
    charts
        .iter()
        .map(|c| {
            Ok(format!(
                r#"<figure class="chart" id="{}"><h3>{}</h3><div class="drawing" role="img" aria-label="{}">{}</div><figcaption>{}.</figcaption></figure>"#,
                text(&c.key),
                text(&c.title),
                text(&c.title),
                chart::svg(c)?,
                text(&c.words)
            ))
        })
        .collect()
}

pub(crate) fn tables(tables: &[Table]) -> String {
    tables.iter().map(table).collect()
}

fn table(table: &Table) -> String {
    let mut html = format!(
        r#"<div class="table" tabindex="0" role="region" aria-label="{title}"><table id="{}"><caption>{title}</caption><thead><tr>"#,
        text(&table.key),
        title = text(&table.title)
    );
    for head in &table.head {
        let _ = write!(html, r#"<th scope="col">{}</th>"#, text(head));
    }
    html += "</tr></thead><tbody>";
    for row in &table.rows {
        html += "<tr>";
        for (n, field) in row.iter().enumerate() {
            let _ = if n == 0 {
                write!(html, r#"<th scope="row">{}</th>"#, text(field))
            } else {
                write!(html, "<td>{}</td>", text(field))
            };
        }
        html += "</tr>";
    }
    html + "</tbody></table></div>"
}

fn notes(story: &Story) -> String {
    if story.notes.is_empty() {
        return String::new();
    }
    format!(
        "<h3>Notes on the input and the grid</h3>{}",
        list(&story.notes)
    )
}

pub(crate) fn safety(story: &Story) -> String {
    story
        .safety
        .iter()
        .map(|[about, what]| format!("<li><strong>{}</strong>: {}</li>", text(about), text(what)))
        .collect()
}
