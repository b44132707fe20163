//! The `[bath]` table.

use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_bath::constants::ZERO_CELSIUS_K;
use ionfall_bath::electrolyte::{AcidCopper, Given};
use ionfall_bath::recipe::{RECIPES, Recipe};
use ionfall_bath::sheet::{SHEETS, Sheet};
use ionfall_bath::transfer::Agitation;
use ionfall_bath::{BathError, Electrolyte, Metal};

const DEFAULT_C: f64 = 25.0;

/// Reads the bath.
pub(crate) fn read(table: &Table) -> Option<Electrolyte> {
    let mut kinds = vec!["acid copper", "custom"];
    kinds.extend(SHEETS.iter().map(|s| s.name));
    let kind = table.need("kind", "\"acid copper\"")?.choice(&kinds);
    let given = Given {
        agitation: table.get("agitation").and_then(|i| agitation(&i)),
        conductivity_s_per_m: positive(table, "conductivity", Dimension::Conductivity),
        efficiency: table.get("efficiency").and_then(|i| i.share()),
        concentration_mol_per_m3: positive(table, "concentration", Dimension::Concentration),
        diffusion_m2_per_s: positive(table, "diffusion", Dimension::Diffusion),
        limiting_current_a_per_m2: positive(
            table,
            "limiting_current_density",
            Dimension::CurrentDensity,
        ),
    };
    let temperature_c = table
        .get("temperature")
        .and_then(|i| i.quantity(Dimension::Temperature))
        .map(|kelvin| kelvin - ZERO_CELSIUS_K);
    let bath = match kind? {
        "acid copper" => {
            let amounts = amounts(table);
            table.finish();
            Electrolyte::acid_copper(amounts?, temperature_c.unwrap_or(DEFAULT_C), &given)
        }
        "custom" => {
            let metal = table.need("metal", "\"copper\"").and_then(|i| metal(&i));
            table.finish();
            Electrolyte::custom(metal?, temperature_c.unwrap_or(DEFAULT_C), &given)
        }
        name => {
            table.finish();
            Electrolyte::of_sheet(&Sheet::find(name)?, temperature_c, &given)
        }
    };
    bath.map_err(|error| refuse(table, &error)).ok()
}

fn positive(table: &Table, key: &'static str, dimension: Dimension) -> Option<f64> {
    table.get(key)?.positive(dimension)
}

/// A named recipe or amounts; the electroforming recipe if nothing is said.
fn amounts(table: &Table) -> Option<AcidCopper> {
    let recipe = table.get("recipe");
    let Some(composition) = table.table("composition") else {
        let names: Vec<_> = RECIPES.iter().map(|r| r.name).collect();
        let name = match recipe {
            Some(item) => item.choice(&names)?,
            None => names[0],
        };
        return Recipe::find(name).map(|r| AcidCopper::of_recipe(&r));
    };
    if let Some(item) = recipe {
        item.fault(
            "the bath has both a recipe and a composition",
            "keep one of them",
        );
    }
    let salt = composition
        .need("copper_sulfate", "\"200 g/L\"")
        .and_then(|i| i.positive(Dimension::Content));
    let acid = composition
        .need("sulfuric_acid", "\"50 g/L\"")
        .and_then(|i| i.positive(Dimension::AcidContent));
    composition.finish();
    Some(AcidCopper::given(salt?, acid?))
}

/// A named setting, or a film of known thickness.
fn agitation(item: &Item) -> Option<Agitation> {
    if item.is_text() {
        let names: Vec<_> = Agitation::NAMED.iter().map(|(name, ..)| *name).collect();
        let name = item.choice(&names)?;
        return Agitation::NAMED
            .iter()
            .find(|(n, ..)| *n == name)
            .map(|(_, setting, _)| *setting);
    }
    let table = item.table()?;
    let film = table.need_length("film");
    table.finish();
    film.map(Agitation::Film)
}

fn metal(item: &Item) -> Option<Metal> {
    let names: Vec<_> = Metal::ALL.iter().map(|m| m.name).collect();
    match Metal::find(item.text()?) {
        Some(metal) => Some(metal),
        // Reports the unknown word.
        None => item.choice(&names).and_then(Metal::find),
    }
}

/// Puts a refusal of the bath at the line it is about.
fn refuse(table: &Table, error: &BathError) {
    let message = error.to_string();
    let about = [
        ("conductivity", "conductivity"),
        ("efficiency", "efficiency"),
        ("temperature", "temperature"),
        ("copper sulfate", "composition"),
        ("sulfuric acid", "composition"),
    ];
    let key = about
        .iter()
        .find(|(word, _)| message.contains(word))
        .map_or("kind", |(_, key)| key);
    let help = match error {
        BathError::Missing { .. } => "add a line like: conductivity = \"15 S/m\"",
        _ if message.contains("estimate") => {
            "measure the conductivity and give it: conductivity = \"15 S/m\""
        }
        _ => "change this figure, or describe the bath with kind = \"custom\"",
    };
    match table.get(key) {
        Some(item) => item.fault(message, help),
        None => table.fault(message, help),
    }
}
