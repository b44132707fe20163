//! Still pictures of a [`Story`](crate::story::Story): the part in space, the section, the charts,
//! and the job sheet that gathers them.
//!
//! ```text
//! view    camera and z-buffer: triangles and lines to pixels
//! part    the cathodes in one quantity (PNG, and SVG around it)
//! leaders where the numbers of places stand
//! scale   steps of colour and the area in each (SVG)
//! rule    a part of the verdict on its scale (SVG)
//! tank    what hangs where, solid and with its lengths (PNG, and SVG around it)
//! plan    what hangs where along an axis, with chains of lengths (SVG)
//! section the cut through the bath (SVG around a PNG)
//! chart   lines over numbers (SVG)
//! sheet   one page for the tank side (HTML)
//! ```

pub(crate) mod chart;
pub(crate) mod colour;
mod leaders;
pub(crate) mod part;
pub(crate) mod pixels;
mod plan;
pub(crate) mod rule;
pub(crate) mod scale;
pub(crate) mod section;
mod sheet;
pub(crate) mod stripes;
pub(crate) mod svg;
pub(crate) mod tank;
pub(crate) mod view;

use crate::error::ReportError;
use crate::folder::Staging;
use crate::story::Story;

/// Writes every picture and the job sheet.
///
/// # Errors
/// [`ReportError`].
pub fn write_pictures(staging: &Staging, story: &Story) -> Result<(), ReportError> {
    for (n, quantity) in story.quantities.iter().enumerate() {
        let name = format!("picture-{}", quantity.label.replace(' ', "-"));
        let png = part::png(story, n)?;
        staging.write(&format!("{name}.png"), &png)?;
        staging.write(&format!("{name}.svg"), part::svg(story, n, &png).as_bytes())?;
    }
    if let Some(section) = &story.section {
        let svg = section::svg(section)?;
        staging.write("picture-section.svg", svg.as_bytes())?;
    }
    for chart in &story.charts {
        let svg = chart::svg(chart);
        staging.write(&format!("picture-{}.svg", chart.key), svg.as_bytes())?;
    }
    staging.write("job-sheet.html", sheet::html(story)?.as_bytes())
}
