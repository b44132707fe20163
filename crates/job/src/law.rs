//! Electrode laws in the job file.
//!
//! `law = "primary"` (no polarisation), `law = "bath"` (what the bath knows), or one of
//! `law.linear`, `law.tafel`, `law.butler_volmer` with their figures. Cathodic laws take the
//! limiting current density of the bath unless they name their own, and evolve hydrogen beside the
//! metal if the bath says so. Anodes that do not dissolve are `insoluble` instead ([`insoluble`]).

use crate::insoluble;
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_bath::constants::thermal_voltage_v;
use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::transfer::Agitation;
use ionfall_bath::{BathError, Electrolyte, Kinetics, Origin, Polarisation};
use ionfall_model::Role;
use std::f64::consts::LN_10;

const EXAMPLE: &str = "law.tafel = { exchange_current_density = \"0.5 A/m2\", slope = \"51 mV\" }";

/// The bath behind the laws; of a faulty bath, something to go on reading with.
#[derive(Clone, Copy)]
pub(crate) struct Background<'a>(Option<&'a Electrolyte>);

impl<'a> Background<'a> {
    /// Of a bath, or of a faulty one.
    pub fn of(bath: Option<&'a Electrolyte>) -> Self {
        Self(bath)
    }

    fn temperature_k(&self) -> f64 {
        self.0.map_or(298.15, |b| b.temperature_k)
    }

    /// The bath's own law for an electrode.
    fn law(&self, role: Role) -> Option<Polarisation> {
        match role {
            Role::Anode => self.0?.anode.map(|a| a.polarisation),
            Role::Floating => self.0?.floating_law(),
            Role::Work | Role::Thief => self.0?.polarisation,
        }
    }

    /// Limiting current under another agitation over that of the bath.
    pub fn limit_factor(&self, agitation: &Agitation) -> Result<f64, BathError> {
        self.0.map_or(Ok(1.0), |b| b.limit_factor(agitation))
    }
}

/// The law of an electrode: as written, else the bath's, of anodes that of the usual dissolving ones, else none
/// at all.
pub(crate) fn read(electrode: &Table, role: Role, bath: &Background) -> Option<Kinetics> {
    let cathode = role.is_cathode();
    if role == Role::Anode
        && let Some(item) = electrode.get(insoluble::KEY)
    {
        return insoluble::read(&item, electrode, bath.0);
    }
    let known = bath.law(role);
    let from_bath = || known.map_or(Kinetics::Primary, Kinetics::Law);
    let Some(item) = electrode.get("law") else {
        return Some(from_bath());
    };
    if item.is_text() {
        return match item.choice(&["primary", "bath"])? {
            "bath" if known.is_none() => {
                item.fault(
                    "this bath has no polarisation law of its own",
                    format!("write the law, for example: {EXAMPLE}"),
                );
                None
            }
            "bath" => Some(from_bath()),
            _ => Some(Kinetics::Primary),
        };
    }
    let (kind, item) = item
        .table()?
        .choose(&["linear", "tafel", "butler_volmer"], EXAMPLE)?;
    let figures = item.table()?;
    if kind == "tafel" && role == Role::Floating {
        item.fault(
            "a Tafel law carries current one way only, a floating metal carries it both ways",
            "use law.butler_volmer or law.linear",
        );
        return None;
    }
    let transfer = match kind {
        "linear" => linear(&figures),
        "tafel" => tafel(&figures, cathode),
        _ => butler_volmer(&figures, bath.temperature_k()),
    };
    let limit = if cathode { limit(&figures, bath) } else { None };
    figures.finish();
    let (limit, limit_from) = limit.unzip();
    let law = Polarisation::new(transfer?, limit)
        .map(|law| law.with_limit_from(limit_from.unwrap_or(Origin::Job)));
    let gassing = bath.0.and_then(|b| b.hydrogen).filter(|_| cathode);
    match law.and_then(|law| gassing.map_or(Ok(law), |h| law.with_hydrogen(h))) {
        Ok(law) => Some(Kinetics::Law(law)),
        Err(error) => {
            item.fault(error.to_string(), "change this figure");
            None
        }
    }
}

/// Usual slopes of Tafel lines, V for a factor e, and of linear laws, ohm m2.
const SLOPE_V: [f64; 2] = [5e-3, 0.3];
const LINEAR_OHM_M2: [f64; 2] = [1e-7, 10.0];

fn linear(figures: &Table) -> Option<Transfer> {
    let item = figures.need("resistance", "\"0.002 ohm m2\"")?;
    let resistance_ohm_m2 = item.positive(Dimension::AreaResistance)?;
    item.usual(
        Dimension::AreaResistance,
        resistance_ohm_m2,
        LINEAR_OHM_M2,
        "ohm cm2",
    );
    Some(Transfer::Linear { resistance_ohm_m2 })
}

fn exchange(figures: &Table) -> Option<f64> {
    figures.need_positive(
        "exchange_current_density",
        "\"0.5 A/m2\"",
        Dimension::CurrentDensity,
    )
}

fn tafel(figures: &Table, cathode: bool) -> Option<Transfer> {
    let exchange = exchange(figures);
    let slope = figures
        .one_of(&["slope", "slope_per_decade"])
        .and_then(|(key, item)| {
            let volts = item.positive(Dimension::Voltage)?;
            let factor = if key == "slope" { 1.0 } else { LN_10 };
            item.usual(Dimension::Voltage, volts, SLOPE_V.map(|v| factor * v), "mV");
            Some(volts / factor)
        });
    Some(Transfer::Tafel {
        branch: if cathode {
            Branch::Cathodic
        } else {
            Branch::Anodic
        },
        exchange_a_per_m2: exchange?,
        slope_v: slope?,
    })
}

fn butler_volmer(figures: &Table, temperature_k: f64) -> Option<Transfer> {
    let exchange = exchange(figures);
    let alpha = |key, example| {
        figures
            .need(key, example)
            .and_then(|i: Item| i.positive_number())
    };
    let (alpha_a, alpha_c) = (alpha("alpha_a", "1.5"), alpha("alpha_c", "0.5"));
    Some(Transfer::ButlerVolmer {
        exchange_a_per_m2: exchange?,
        alpha_a: alpha_a?,
        alpha_c: alpha_c?,
        temperature_k,
    })
}

/// The limiting current, and who says it.
fn limit(figures: &Table, bath: &Background) -> Option<(Limit, Origin)> {
    let own = figures
        .get("limiting_current_density")
        .map(|item| Some((item.positive(Dimension::CurrentDensity)?, Origin::Job)));
    let film = figures
        .get("concentration_overpotential")
        .and_then(|item| item.flag())
        .unwrap_or(false);
    let known = bath.0.and_then(|b| b.limiting_current);
    let (current_a_per_m2, origin) = own.unwrap_or(known.map(|f| (f.value, f.origin())))?;
    let electrons = bath.0.map_or(2.0, |b| b.metal.electrons_per_atom.value);
    let limit = Limit {
        current_a_per_m2,
        film_voltage_v: film.then(|| thermal_voltage_v(bath.temperature_k()) / electrons),
    };
    Some((limit, origin))
}
