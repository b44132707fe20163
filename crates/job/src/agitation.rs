//! Agitation in the job file: a word, or the figures of the set-up.
//!
//! ```toml
//! agitation = "air"                                      # still, rod, air, pumped, jet, ultrasonic
//! agitation = { still = "300 mm" }                       # height of the face
//! agitation = { rod = "3 m/min", length = "100 mm" }     # length of the face along the movement
//! agitation = { air = "2 %" }                            # share of gas in the bath
//! agitation = { flow = "0.5 m/s", gap = "20 mm", length = "100 mm", width = "200 mm" }
//! agitation = { jet = "2 m/s", nozzle = "5 mm", distance = "30 mm", radius = "30 mm" }
//! agitation = { rotating_cylinder = "500 rev/min", diameter = "20 mm" }
//! agitation = { rotating_disk = "500 rev/min", diameter = "10 mm" }
//! agitation = { film = "50 um" }
//! ```
//! Which way the liquid moves along the faces, so that films can vary over them, says [`flow`](crate::flow).

use crate::flow;
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_bath::transfer::Agitation;
use ionfall_bath::transfer::correlation::Channel;
use ionfall_bath::transfer::jet::Jet;

/// The key that says which set-up it is.
pub(crate) const WAYS: [&str; 8] = [
    "still",
    "rod",
    "air",
    "flow",
    "jet",
    "rotating_cylinder",
    "rotating_disk",
    "film",
];

/// Usual speeds of a cathode rod and of a flow, m/s.
const ROD_M_PER_S: [f64; 2] = [0.1 / 60.0, 1.0];
const FLOW_M_PER_S: [f64; 2] = [1e-4, 30.0];
/// Usual diffusion films, m.
const FILM_M: [f64; 2] = [1e-6, 2e-3];

/// The words.
pub(crate) fn words() -> Vec<&'static str> {
    Agitation::NAMED.iter().map(|(name, ..)| *name).collect()
}

/// What is stirred.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Place {
    /// The bath.
    Bath,
    /// A part of it.
    Zone,
}

/// Reads an agitation.
pub(crate) fn read(item: &Item, place: Place) -> Option<Agitation> {
    if item.is_text() {
        return item.choice(&words()).and_then(Agitation::find);
    }
    let table = item.table()?;
    if matches!(place, Place::Zone) {
        for key in flow::KEYS {
            if let Some(item) = table.get(key) {
                item.fault(
                    "the film of a zone is the same all over it",
                    "leave this out, or say it in the agitation of the bath",
                );
            }
        }
    }
    let agitation = table
        .one_of(&WAYS)
        .and_then(|(way, figure)| by_figures(&table, way, &figure));
    table.finish();
    agitation
}

fn by_figures(table: &Table, way: &str, figure: &Item) -> Option<Agitation> {
    match way {
        "still" => {
            table.has("up");
            Some(Agitation::StillFace {
                height_m: figure.positive(Dimension::Length)?,
            })
        }
        "rod" => {
            table.has("along");
            let length = table.need_length("length");
            let speed_m_per_s = figure.positive(Dimension::Speed)?;
            figure.usual(Dimension::Speed, speed_m_per_s, ROD_M_PER_S, "m/min");
            Some(Agitation::MovedFace {
                speed_m_per_s,
                length_m: length?,
            })
        }
        "air" => Some(Agitation::Sparged {
            gas_share: figure.positive(Dimension::Share)?,
        }),
        "flow" => {
            table.has("along");
            let (gap, length) = (table.need_length("gap"), table.need_length("length"));
            let width_m = match table.get("width") {
                Some(item) => Some(item.positive(Dimension::Length)?),
                None => None,
            };
            let velocity_m_per_s = figure.positive(Dimension::Speed)?;
            figure.usual(Dimension::Speed, velocity_m_per_s, FLOW_M_PER_S, "m/s");
            Some(Agitation::Channel(Channel {
                velocity_m_per_s,
                gap_m: gap?,
                width_m,
                length_m: length?,
            }))
        }
        "jet" => {
            table.has("along");
            table.has("at");
            let lengths = ["nozzle", "distance", "radius"].map(|key| table.need_length(key));
            let speed_m_per_s = figure.positive(Dimension::Speed)?;
            figure.usual(Dimension::Speed, speed_m_per_s, FLOW_M_PER_S, "m/s");
            let [nozzle, distance, radius] = lengths;
            Some(Agitation::Impinging(Jet {
                speed_m_per_s,
                nozzle_m: nozzle?,
                distance_m: distance?,
                radius_m: radius?,
            }))
        }
        "rotating_cylinder" => {
            let diameter = table.need_length("diameter");
            Some(Agitation::RotatingCylinder {
                speed_rad_per_s: figure.positive(Dimension::Rotation)?,
                diameter_m: diameter?,
            })
        }
        "rotating_disk" => {
            let diameter_m = match table.get("diameter") {
                Some(item) => Some(item.positive(Dimension::Length)?),
                None => None,
            };
            Some(Agitation::RotatingDisk {
                speed_rad_per_s: figure.positive(Dimension::Rotation)?,
                diameter_m,
            })
        }
        _ => {
            let film_m = figure.positive(Dimension::Length)?;
            figure.usual(Dimension::Length, film_m, FILM_M, "um");
            Some(Agitation::Film(film_m))
        }
    }
}
