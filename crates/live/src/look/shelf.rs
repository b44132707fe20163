//! The shelf of baths, and the figures of the job's own with their bands and where they come from.

use ionfall_bath::Electrolyte;
use ionfall_bath::recipe::RECIPES;
use ionfall_bath::sheet::SHEETS;
use ionfall_numerics::number::significant;
use serde::Serialize;

/// Baths to choose from, and what the chosen one is.
#[derive(Debug, Serialize)]
pub(crate) struct Shelf {
    baths: Vec<Choice>,
    own: Vec<Row>,
    warnings: Vec<String>,
}

/// A bath by its words in a job.
#[derive(Debug, Serialize)]
struct Choice {
    kind: &'static str,
    recipe: Option<&'static str>,
    label: String,
    current: Option<String>,
}

/// A figure of the job's bath.
#[derive(Debug, Serialize)]
struct Row {
    name: String,
    text: String,
    band: String,
    grade: String,
    source: String,
}

/// The kind of bath that recipes are of.
const BY_RECIPE: &str = "acid copper";

pub(super) fn shelf(bath: &Electrolyte) -> Shelf {
    let recipes = RECIPES.iter().map(|recipe| Choice {
        kind: BY_RECIPE,
        recipe: Some(recipe.name),
        label: format!("{BY_RECIPE}, {}", recipe.name),
        current: recipe.current_a_per_dm2.map(|range| range.to_string()),
    });
    let sheets = SHEETS.iter().map(|sheet| Choice {
        kind: sheet.name,
        recipe: None,
        label: sheet.name.into(),
        current: Some(sheet.current_a_per_dm2.to_string()),
    });
    let figures = bath.composition.iter().map(|(n, f)| ((*n).to_string(), *f));
    let others = bath.figures().into_iter().map(|(n, f)| (n.to_string(), f));
    let row = |(name, figure): (String, ionfall_bath::Figure)| Row {
        name,
        text: format!("{} {}", significant(figure.value, 4), figure.unit),
        band: figure.band_text(),
        grade: figure.grade.to_string(),
        source: figure.source.to_string(),
    };
    Shelf {
        baths: recipes.chain(sheets).collect(),
        own: figures.chain(others).map(row).collect(),
        warnings: bath.warnings.iter().map(ToString::to_string).collect(),
    }
}
