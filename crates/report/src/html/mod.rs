//! `report.html`: the whole story in one file that opens without a network.
//!
//! `page.html` (behind `head.html` and `top.html`, which other pages have too) is the frame with places
//! to be filled, `page.css` its look (that of the view in space stands in `view.css`). On the first screen stand the verdict, each part on its rule, and the
//! part straight on; no figure stands there twice. The scripts are plain functions without libraries, put
//! together in one closure:
//!
//! ```text
//! unpack.js   unpacks the numbers of a story    \
//! camera.js   turning, zooming, projection       |
//! scene.js    WebGL: surfaces in colour, wires   |  the live page has them too
//! hover.js    which place is under the pointer   |  (VIEW_SCRIPTS)
//! leaders.js  numbers of places beside the part  |
//! pointer.js  mouse, fingers, wheel, keys       /
//! data.js     the story of the page
//! charts.js   pointer in the charts, and the same place in the view
//! page.js     controls, tables to be copied, printing
//! ```
//! Scales, charts, the section, the tank and the tables are made here as plain HTML and SVG; without
//! scripts or WebGL, and on paper, a still picture with its places stands for the view. A content policy in the
//! page forbids every request.

mod drawn;
mod first;
mod lists;
pub(crate) mod plain;
mod shown;
mod table;

pub(crate) use lists::{items, list};
pub use shown::{shown, small_picture};
pub(crate) use table::tables;

use crate::error::ReportError;
use crate::picture::svg::text;
use crate::picture::{chart, part, section, tank};
use crate::story::{Chart, JobText, Story, Table};
use drawn::Drawn;

const FRAME: &str = concat!(
    include_str!("head.html"),
    include_str!("top.html"),
    include_str!("page.html")
);
const STYLE: &str = include_str!("page.css");
/// The look of a story's view in space.
pub const VIEW_STYLE: &str = include_str!("view.css");
/// The view of a story in space; who has it in a page has `story`, `ofPart`, `ofAll`, `partBall`, `wholeBall`,
/// `redraw`, `LOOKS` and what stands in the page beside the view.
pub const VIEW_SCRIPTS: [&str; 6] = [
    include_str!("unpack.js"),
    include_str!("camera.js"),
    include_str!("scene.js"),
    include_str!("hover.js"),
    include_str!("leaders.js"),
    include_str!("pointer.js"),
];
const SCRIPTS: [&str; 3] = [
    include_str!("data.js"),
    include_str!("charts.js"),
    include_str!("page.js"),
];

/// The file.
///
/// # Errors
/// [`ReportError::Picture`] if a chart or picture cannot be drawn.
pub fn html(story: &Story) -> Result<String, ReportError> {
    // No tag can begin inside of the data.
    let data = serde_json::to_string(&Drawn::of(story))?.replace('<', "\\u003c");
    let script = format!(
        "\"use strict\";(() => {{\n{}\n}})();",
        [&VIEW_SCRIPTS[..], &SCRIPTS].concat().join("\n")
    );
    let still = part::marked(story, &part::png(story, 0)?);
    let words = [
        &story.verdict.parts[..],
        &story.verdict.lines,
        &notes_of_places(story),
    ]
    .concat();
    let values = [
        ("scripts_allowed", "script-src 'unsafe-inline'; ".to_owned()),
        ("rules", first::rules(story)),
        ("change", first::change(story)),
        ("takes", first::takes(story)),
        ("places", first::places(story)),
        ("quantities", first::quantities(story)),
        ("scales", first::scales(story)),
        ("still_box", part::view_box()),
        ("still", still),
        ("still_alt", first::still_words(story)),
        ("tank", tank_figure(story)?),
        ("section", section_figure(story)?),
        ("charts", charts(&story.charts)),
        ("tables", tables(&story.tables)),
        ("words", list(&words)),
        ("cautions", list(&story.cautions)),
        ("bands", list(&story.said.bands)),
        ("levers", list(&story.said.levers)),
        ("assumptions", list(&story.said.assumptions)),
        ("notes", notes(story)),
        ("safety", safety(story)),
        ("job", story.job.as_ref().map_or(String::new(), job)),
        ("computed", text(&computed(story))),
        ("data", data),
        ("script", script),
    ];
    let verdict = first::head(&story.verdict, None);
    let top = top(&story.title);
    Ok(filled(FRAME, &[&top[..], &verdict, &values].concat()))
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
fn top(title: &str) -> [(&'static str, String); 3] {
    [
        ("window", text(title)),
        ("title", text(title)),
        ("style", [VIEW_STYLE, STYLE].concat()),
    ]
}

/// What hangs where: a drawing whose bodies lead to their rows, and the rows.
fn tank_figure(story: &Story) -> Result<String, ReportError> {
    let rows = story.setting.places.iter().map(|p| p.to_vec()).collect();
    let places = Table {
        key: "hang".into(),
        title: "Where things are".into(),
        head: ["body", "what", "from where to where"]
            .map(String::from)
            .to_vec(),
        rows,
    };
    let bare = story.surfaces.iter().any(|s| {
        let known = s.values.first();
        known.is_some_and(|q| q.0.iter().any(|v| v.is_nan()))
    });
    let lacquer = if bare {
        " Hatched on the work: lacquered, or dry."
    } else {
        ""
    };
    Ok(format!(
        r#"<section id="tank"><h2>In the tank</h2><div class="beside"><figure><div class="drawing" role="group" aria-label="The tank from beside, with its lengths">{}</div><figcaption>Anodes and shields are seen through; a click on a body finds its row.{lacquer}</figcaption></figure>{}</div></section>"#,
        tank::svg(story)?,
        table::table(&places, Some("body"))
    ))
}

/// What the figures at places are worth.
fn notes_of_places(story: &Story) -> Vec<String> {
    let noted = story.markers.iter().filter(|m| !m.note.is_empty());
    noted
        .map(|m| format!("{} ({}): {}.", m.label, m.place, m.note))
        .collect()
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

pub(crate) fn charts(charts: &[Chart]) -> String {
    charts.iter().map(|c| figure(c, &[])).collect()
}

/// A chart with named points beside its lines.
pub(crate) fn figure(c: &Chart, dots: &[(String, Vec<[f64; 2]>)]) -> String {
    format!(
        r#"<figure class="chart" id="{}"><h3>{}</h3><div class="drawing" role="img" aria-label="{}">{}</div><figcaption>{}.</figcaption></figure>"#,
        text(&c.key),
        text(&c.title),
        text(&format!("{}. {}", c.title, c.words)),
        chart::with_dots(c, dots),
        text(&c.words)
    )
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

/// How and when it was computed.
fn computed(story: &Story) -> String {
    match &story.job {
        Some(job) => format!(
            "{} {} Job {:016x}.",
            story.computed, job.date, job.fingerprint
        ),
        None => story.computed.clone(),
    }
}

/// The text of the job.
fn job(job: &JobText) -> String {
    format!(
        r#"<section id="job"><h2>The job</h2><p>{}, fingerprint {:016x}, computed {}.</p><details><summary>Its text</summary><pre tabindex="0">{}</pre></details></section>"#,
        text(&job.name),
        job.fingerprint,
        text(&job.date),
        escaped(&job.text)
    )
}

/// A text between tags, letter by letter as it is.
fn escaped(plain: &str) -> String {
    plain
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
