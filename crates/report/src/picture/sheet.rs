//! The job sheet: one page for the tank side. What to set, where things hang, when to look, when
//! to stop, what to be careful with.

use super::stripes::stripe_words;
use super::svg::{text, tick_text, ticks};
use super::{colour, part, scale, section};
use crate::error::ReportError;
use crate::html::{filled, items, list, safety};
use crate::picture::pixels;
use crate::story::{Kind, Story, Wire};
use crate::verdict::{class, sign};
use ionfall_model::Role;
use ionfall_numerics::number::round_step;
use std::fmt::Write;

const FRAME: &str = concat!(
    include_str!("../html/head.html"),
    include_str!("sheet.html")
);

/// The page.
pub(crate) fn html(story: &Story) -> Result<String, ReportError> {
    let setting = &story.setting;
    let sketch = if story.space == "tank" {
        format!(
            "{}{}",
            plan(story, [0, 1], "from above"),
            plan(story, [0, 2], "from the side (y)")
        )
    } else {
        let drawing = story.section.as_ref().map(section::svg).transpose()?;
        format!("<figure>{}</figure>", drawing.unwrap_or_default())
    };
    let values = [
        ("scripts_allowed", String::new()),
        ("window", format!("Job sheet: {}", text(&story.title))),
        ("title", text(&story.title)),
        ("verdict", text(&story.verdict.head)),
        ("tone", class(story.verdict.tone).to_owned()),
        ("sign", sign(story.verdict.tone).to_string()),
        ("verdict_parts", items("p", &story.verdict.parts)),
        ("rectifier", rows(&setting.rectifier)),
        ("places", rows(&setting.places)),
        ("sketch", sketch),
        ("looks", rows(&setting.looks)),
        ("stop", list(&setting.stop)),
        ("picture", pixels::address(&part::png(story, 0)?)),
        ("picture_words", picture_words(story)),
        ("cautions", list(&story.cautions)),
        ("safety", safety(story)),
    ];
    Ok(filled(FRAME, &values))
}

/// Rows of a table.
fn rows<const N: usize>(rows: &[[String; N]]) -> String {
    let cell = |c: &String| format!("<td>{}</td>", text(c));
    let row = |row: &[String; N]| format!("<tr>{}</tr>", row.iter().map(cell).collect::<String>());
    rows.iter().map(row).collect()
}

fn picture_words(story: &Story) -> String {
    let quantity = &story.quantities[0];
    let [least, most] =
        [0, quantity.shares.len()].map(|n| scale::told(quantity, quantity.edges[n]));
    let stripes = stripe_words(quantity).map_or(String::new(), |w| format!("; {w}"));
    text(&format!(
        "{}, dark to light: {least} to {most}{stripes}",
        scale::words(quantity).join(" "),
    ))
}

/// Width of a sketch, and room around it for the axes.
const WIDTH: f64 = 330.0;
const ROOM: f64 = 40.0;

/// Wires and works seen along an axis, with millimetres at the sides.
fn plan(story: &Story, along: [usize; 2], words: &str) -> String {
    let Some(tank) = story.wires.first() else {
        return String::new();
    };
    let [low, high] = tank.bounds;
    let span = along.map(|k| high[k] - low[k]);
    let scale = WIDTH / span[0].max(span[1]);
    let size = span.map(|s| s * scale);
    let place = |p: [f64; 3]| {
        [
            ROOM + scale * (p[along[0]] - low[along[0]]),
            8.0 + size[1] - scale * (p[along[1]] - low[along[1]]),
        ]
    };
    let mut svg = format!(
        r##"<figure><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0} {:.0}" font-family="sans-serif" font-size="11" fill="#1d2733">"##,
        size[0] + ROOM + 14.0,
        size[1] + ROOM
    );
    let box_of = |wire: &Wire, fill: &str, svg: &mut String| {
        let [a, b] = [place(wire.bounds[0]), place(wire.bounds[1])];
        let _ = write!(
            svg,
            r##"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="{fill}" stroke="{}"/>"##,
            a[0],
            b[1],
            (b[0] - a[0]).max(1.5),
            (a[1] - b[1]).max(1.5),
            colour::hex(colour::of_role(wire.role))
        );
    };
    box_of(tank, "#f3f7fa", &mut svg);
    for wire in story.wires.iter().skip(1).chain(&story.cathodes) {
        let fill = match wire.role {
            Kind::Electrode(Role::Anode) => "#d9a47a",
            Kind::Shield | Kind::Contact => "none",
            _ => "#9aa0a6",
        };
        box_of(wire, fill, &mut svg);
        let [x, y] = place(wire.bounds[1]);
        let _ = write!(
            svg,
            r##"<text x="{:.1}" y="{:.1}" text-anchor="{}" paint-order="stroke" stroke="#fff" stroke-width="3">{}</text>"##,
            x,
            (y - 3.0).max(11.0),
            if x > 0.6 * WIDTH { "end" } else { "start" },
            text(&wire.name)
        );
    }
    for k in [0, 1] {
        for tick in ticks(low[along[k]], high[along[k]], 5.0) {
            let mut p = low;
            p[along[k]] = tick;
            let [x, y] = place(p);
            let step = round_step(span[k], 5.0);
            let _ = write!(
                svg,
                r#"<text x="{:.1}" y="{:.1}" text-anchor="{}">{}</text>"#,
                if k == 0 { x } else { x - 5.0 },
                if k == 0 { y + 13.0 } else { y + 4.0 },
                if k == 0 { "middle" } else { "end" },
                tick_text(tick, step)
            );
        }
    }
    let names = along.map(|k| story.axes[k]);
    let _ = write!(
        svg,
        "</svg><figcaption>{words}: {} to the right, {} upwards, mm</figcaption></figure>",
        names[0], names[1]
    );
    svg
}
