//! The job sheet: one page for the tank side. What to set, where things hang, when to look, when
//! to stop, what to be careful with.

use super::stripes::stripe_words;
use super::svg::text;
use super::{part, plan, scale};
use crate::error::ReportError;
use crate::html::{filled, items, list, safety};
use crate::picture::pixels;
use crate::story::Story;
use crate::verdict::{class, sign};

const FRAME: &str = concat!(
    include_str!("../html/head.html"),
    include_str!("sheet.html")
);

/// The page.
pub(crate) fn html(story: &Story) -> Result<String, ReportError> {
    let setting = &story.setting;
    let sketch = match story.space {
        "tank" => {
            let side = "from the side (y), up to the waterline";
            let above = plan::svg(story, [0, 1], "from above");
            above + &plan::svg(story, [0, 2], side)
        }
        "planar" => plan::svg(story, [0, 1], "the section"),
        _ => plan::svg(story, [0, 1], "half of the section, the axis at the left"),
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
        ("bath", rows(&setting.bath)),
        ("places", rows(&setting.hangs)),
        ("sketch", sketch),
        ("looks", rows(&setting.looks)),
        ("stop", list(&setting.stop)),
        ("picture", pixels::address(&part::png(story, 0)?)),
        ("picture_words", picture_words(story)),
        ("cautions", cautions(&setting.cautions)),
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

/// Cautions under their heading.
fn cautions(cautions: &[String]) -> String {
    match cautions {
        [] => String::new(),
        some => format!("<h2>Cautions about the result</h2>{}", list(some)),
    }
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
