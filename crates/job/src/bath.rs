//! The `[bath]` table.
//!
//! ```toml
//! [bath]
//! kind = "acid copper"            # or a bath known by its sheet, or "custom"
//! recipe = "high throw"           # or the amounts:
//! composition = { copper_sulfate_pentahydrate = "200 g/L", sulfuric_acid = "50 g/L" }
//! temperature = "25 degC"
//! agitation = "air"
//! stirring_radius = "3 mm"        # hollows that such a ball does not enter may stand still
//! hydrogen = true                 # count the gas beside the metal
//! ```
//! Copper is named by what was weighed: `copper_sulfate_pentahydrate` (blue crystals; plain
//! `copper_sulfate` means them too), `copper_sulfate_anhydrous`, or `copper` as metal. Measured
//! figures replace those worked out: `conductivity`, `efficiency`, `concentration`, `diffusion`,
//! `density`, `viscosity`, `density_difference`, `limiting_current_density`. The metal itself may
//! differ from the handbook as it grows: `deposit_density`, `deposit_resistivity`.

use crate::agitation::{self, Place};
use crate::document;
use crate::fault::{Faults, JobError};
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_bath::constants::ZERO_CELSIUS_K;
use ionfall_bath::electrolyte::{AcidCopper, CopperSalt, Evolution, Given};
use ionfall_bath::figure::Figure;
use ionfall_bath::kinetics::Hydrogen;
use ionfall_bath::recipe::{RECIPES, Recipe};
use ionfall_bath::sheet::{SHEETS, Sheet};
use ionfall_bath::{BathError, Electrolyte, Metal, Subject};
use std::f64::consts::LN_10;
use std::path::Path;

const DEFAULT_C: f64 = 25.0;

/// Usual conductivities of acid copper baths, and of liquids that are plated from, S/m.
const ACID_S_PER_M: [f64; 2] = [2.0, 100.0];
const LIQUID_S_PER_M: [f64; 2] = [0.01, 120.0];
/// Usual diffusion coefficients of metal ions, m2/s.
const ION_M2_PER_S: [f64; 2] = [5e-11, 1e-8];

/// The ways to name the copper of an acid copper bath.
pub(crate) const SALTS: [&str; 4] = [
    "copper_sulfate",
    "copper_sulfate_pentahydrate",
    "copper_sulfate_anhydrous",
    "copper",
];

/// Reads only the bath of a job file; whatever else the file says is left alone.
///
/// # Errors
/// A file that cannot be read, or all faults of its bath.
pub fn read_bath(path: &Path) -> Result<Electrolyte, JobError> {
    let text = std::fs::read_to_string(path).map_err(|source| JobError::Read {
        path: path.into(),
        source,
    })?;
    parse_bath(&path.display().to_string(), &text).map_err(|f| JobError::Faults(Box::new(f)))
}

/// Reads only the bath of a job from its text; `name` is for messages.
///
/// # Errors
/// All faults of the bath.
pub fn parse_bath(name: &str, text: &str) -> Result<Electrolyte, Faults> {
    let read_table = |job: &Table| {
        let item = job.need("bath", "{ kind = \"acid copper\" }")?;
        read(&item.table()?)
    };
    document::read(name, text, read_table).map(|reading| reading.found)
}

/// Reads the bath. What lies outside its range is noted.
pub(crate) fn read(table: &Table) -> Option<Electrolyte> {
    let kinds = kinds();
    let kind_item = table.need("kind", "\"acid copper\"");
    let kind = kind_item.as_ref().and_then(|item| item.choice(&kinds));
    let given = given(table);
    if let (Some(item), Some(value)) = (table.get("conductivity"), given.conductivity_s_per_m) {
        let usual = match kind {
            Some("acid copper") => ACID_S_PER_M,
            _ => LIQUID_S_PER_M,
        };
        item.usual(Dimension::Conductivity, value, usual, "S/m");
    }
    if let (Some(item), Some(value)) = (table.get("diffusion"), given.diffusion_m2_per_s) {
        item.usual(Dimension::Diffusion, value, ION_M2_PER_S, "m2/s");
    }
    let deposit = Deposit::read(table);
    let temperature_c = table
        .get("temperature")
        .and_then(|i| i.quantity(Dimension::Temperature))
        .map(|kelvin| kelvin - ZERO_CELSIUS_K);
    let Some((kind_item, kind)) = kind_item.zip(kind) else {
        // Which keys go with it cannot be said: those of every kind are known, others misspelt.
        for key in ["recipe", "composition", "metal"] {
            table.has(key);
        }
        table.finish();
        return None;
    };
    let bath = match kind {
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
    let bath = deposit.on(bath.map_err(|error| refuse(table, &error)).ok()?);
    for warning in &bath.warnings {
        kind_item.note(format!("bath: {warning}"));
    }
    Some(bath)
}

/// All kinds of bath.
pub(crate) fn kinds() -> Vec<&'static str> {
    let mut kinds = vec!["acid copper", "custom"];
    kinds.extend(SHEETS.iter().map(|s| s.name));
    kinds
}

fn given(table: &Table) -> Given {
    let positive = |key, dimension| table.get(key)?.positive(dimension);
    Given {
        agitation: table
            .get("agitation")
            .and_then(|i| agitation::read(&i, Place::Bath)),
        stirring_radius_m: positive("stirring_radius", Dimension::Length),
        conductivity_s_per_m: positive("conductivity", Dimension::Conductivity),
        efficiency: table.get("efficiency").and_then(|i| i.share()),
        concentration_mol_per_m3: positive("concentration", Dimension::Concentration),
        diffusion_m2_per_s: positive("diffusion", Dimension::Diffusion),
        density_kg_per_m3: positive("density", Dimension::Density),
        viscosity_pa_s: positive("viscosity", Dimension::Viscosity),
        density_difference: positive("density_difference", Dimension::Share),
        limiting_current_a_per_m2: positive("limiting_current_density", Dimension::CurrentDensity),
        hydrogen: table.get("hydrogen").and_then(|i| hydrogen(&i)),
    }
}

/// What was measured on the deposit, in place of the handbook's figures for its metal.
struct Deposit {
    density_kg_per_m3: Option<f64>,
    resistivity_ohm_m: Option<f64>,
}

impl Deposit {
    fn read(table: &Table) -> Self {
        let positive = |key, dimension| table.get(key)?.positive(dimension);
        Self {
            density_kg_per_m3: positive("deposit_density", Dimension::Density),
            resistivity_ohm_m: positive("deposit_resistivity", Dimension::Resistivity),
        }
    }

    fn on(&self, mut bath: Electrolyte) -> Electrolyte {
        if let Some(value) = self.density_kg_per_m3 {
            bath.metal.density = Figure::given(value, "kg/m3");
        }
        if let Some(value) = self.resistivity_ohm_m {
            bath.metal.resistivity = Figure::given(value, "ohm m");
        }
        bath
    }
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
    let salt = composition.one_of(&SALTS).and_then(|(name, item)| {
        let amount = item.positive(Dimension::Content)?;
        Some(match name {
            "copper_sulfate_anhydrous" => CopperSalt::Anhydrous(amount),
            "copper" => CopperSalt::Metal(amount),
            _ => CopperSalt::Pentahydrate(amount),
        })
    });
    let acid = composition.need_positive("sulfuric_acid", "\"50 g/L\"", Dimension::AcidContent);
    composition.finish();
    Some(AcidCopper::given(salt?, acid?))
}

/// `true` for the figures of the bath, or figures of its own.
fn hydrogen(item: &Item) -> Option<Evolution> {
    if !item.is_table() {
        return item.flag()?.then_some(Evolution::Usual);
    }
    let table = item.table()?;
    let exchange = table.need_positive(
        "exchange_current_density",
        "\"0.001 A/m2\"",
        Dimension::CurrentDensity,
    );
    let slope = table.need_positive("slope_per_decade", "\"120 mV\"", Dimension::Voltage);
    let equilibrium = table
        .need("above_metal", "\"-0.34 V\"")
        .and_then(|i| i.quantity(Dimension::Voltage));
    table.finish();
    match Hydrogen::new(exchange?, slope? / LN_10, equilibrium?) {
        Ok(hydrogen) => Some(Evolution::Law(hydrogen)),
        Err(error) => {
            item.fault(error.to_string(), "change this figure");
            None
        }
    }
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
    let (key, help) = match error {
        // It is there, and it has been told what is wrong with it.
        BathError::Missing { what }
            if *what != Subject::Hydrogen && table.has(key(*what)) && !table.is_faultless() =>
        {
            return;
        }
        BathError::Missing { what } => missing(*what),
        BathError::NotPositive { what, .. } | BathError::OutOfRange { what, .. } => (
            key(*what),
            "change this figure, or describe the bath with kind = \"custom\"",
        ),
        _ => (
            "kind",
            "change this figure, or describe the bath with kind = \"custom\"",
        ),
    };
    match table.get(key) {
        Some(item) => item.fault(error.to_string(), help),
        None => table.fault(error.to_string(), help),
    }
}

/// The key of a figure that is missing, and the way out.
fn missing(what: Subject) -> (&'static str, &'static str) {
    match what {
        Subject::Conductivity => ("conductivity", "add a line like: conductivity = \"15 S/m\""),
        Subject::Hydrogen => (
            "hydrogen",
            "write hydrogen = { exchange_current_density = \"0.001 A/m2\", slope_per_decade = \"120 \
             mV\", above_metal = \"-0.34 V\" }",
        ),
        _ => (
            "agitation",
            "give what is missing, as in diffusion = \"7e-10 m2/s\", density = \"1.1 kg/L\", \
             viscosity = \"1.2 mPa s\", density_difference = \"3 %\"; or a film of known thickness, \
             as in agitation = { film = \"0.1 mm\" }",
        ),
    }
}

/// The key of the table that says a figure.
fn key(what: Subject) -> &'static str {
    match what {
        Subject::Conductivity => "conductivity",
        Subject::Efficiency => "efficiency",
        Subject::Temperature | Subject::AbsoluteTemperature => "temperature",
        Subject::CopperSulfate | Subject::CopperSulfateByMass | Subject::SulfuricAcid => {
            "composition"
        }
        Subject::Concentration => "concentration",
        Subject::Diffusion => "diffusion",
        Subject::Density => "density",
        Subject::StirringRadius => "stirring_radius",
        Subject::DensityDifference => "density_difference",
        Subject::Viscosity => "viscosity",
        Subject::Limit => "limiting_current_density",
        Subject::Agitation
        | Subject::Film
        | Subject::GasShare
        | Subject::Rotation
        | Subject::Diameter
        | Subject::Height
        | Subject::Length
        | Subject::Movement
        | Subject::Flow
        | Subject::Gap
        | Subject::Width => "agitation",
        Subject::Hydrogen | Subject::HydrogenEquilibrium => "hydrogen",
        _ => "kind",
    }
}
