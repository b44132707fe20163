//! From the words of a [`Tank`] to a [`Model`]: what was left open is filled in, then all is judged.

use crate::cells::usual_cells_m;
use crate::check;
use crate::error::TankError;
use crate::flow::Flow;
use crate::geometry::{Electrode, Geometry, Line, Parts};
use crate::model::{Model, Outputs, Save};
use crate::resolution::Resolution;
use crate::role::Role;
use crate::supply::{Hold, Setting, Step, Supply};
use crate::tank::{Bath, Cells, Pending, Planned, Tank};
use ionfall_bath::electrolyte::Given;
use ionfall_bath::metal::COPPER;
use ionfall_bath::transfer::{Course, LocalFilm};
use ionfall_bath::{Electrolyte, Kinetics};
use ionfall_mesh::grid::narrow::{ACROSS, KEPT};
use ionfall_mesh::grid::{Body, BodyKind, Domain, PlacedSheet};

/// Temperature of a bath of which only the conductivity is given, degrees Celsius.
const ROOM_C: f64 = 25.0;

impl<const D: usize> Tank<D> {
    /// The model, if all is well.
    ///
    /// # Errors
    /// The first thing that is missing or wrong.
    pub fn model(self) -> Result<Model, TankError>
    where
        Geometry: From<Parts<D>>,
    {
        if let Some((word, of)) = self.stray {
            return Err(TankError::Before { word, of });
        }
        let bath = self.known_bath()?;
        let hold = self.hold.ok_or(TankError::NoSupply)?;
        let parts = self.parts(&bath)?;
        check::parts(&parts)?;
        let mut supplies = vec![Supply {
            name: "supply".into(),
            hold,
            limits: self.limits,
            ammeter_share: None,
            anodes: Vec::new(),
            thieves: Vec::new(),
        }];
        supplies.extend(self.supplies);
        check::supplies(&supplies, &parts.electrodes)?;
        let free: Vec<usize> = (0..parts.electrodes.len())
            .filter(|n| parts.electrodes[*n].role == Role::Anode)
            .filter(|n| supplies.iter().all(|s| !s.anodes.contains(n)))
            .collect();
        supplies[0].anodes = free;
        if supplies[0].anodes.is_empty() {
            return Err(TankError::Idle(supplies.swap_remove(0).name));
        }
        let plan: Vec<Step> = self
            .plan
            .into_iter()
            .enumerate()
            .map(|(n, planned)| planned.step(n, hold))
            .collect();
        check::plan(&plan, supplies.len(), &parts.electrodes)?;
        check::asked(
            self.wanted.as_ref(),
            self.covered_m,
            &self.save_s,
            &parts.electrodes,
        )?;
        Ok(Model {
            title: self.title,
            bath,
            geometry: Geometry::from(parts),
            supplies,
            plan,
            wanted: self.wanted,
            covered_m: self.covered_m,
            prices: None,
            resolution: Resolution {
                accuracy: None,
                smallest_m: self.cells.finest_m,
            },
            save: Save {
                what: Outputs::These(Vec::new()),
                folder: None,
                at_s: self.save_s,
            },
            figures: Vec::new(),
            notes: Vec::new(),
            fingerprint: 0,
        })
    }

    fn known_bath(&self) -> Result<Electrolyte, TankError> {
        match &self.bath {
            Bath::Unsaid => Err(TankError::NoBath),
            Bath::Whole(bath) => Ok(bath.as_ref().clone()),
            Bath::Conductivity(conductivity) => {
                let given = Given {
                    conductivity_s_per_m: Some(*conductivity),
                    ..Given::default()
                };
                Ok(Electrolyte::custom(COPPER, ROOM_C, &given)?)
            }
        }
    }

    fn parts(&self, bath: &Electrolyte) -> Result<Parts<D>, TankError> {
        let bounds = self.liquid.bounds();
        let longest_m = (0..D)
            .map(|k| bounds.high[k] - bounds.low[k])
            .fold(0.0, f64::max);
        if !longest_m.is_finite() {
            return Err(TankError::Endless);
        }
        let [finest_m, coarsest_m] = usual_cells_m::<D>(longest_m);
        let finest_m = self.cells.finest_m.unwrap_or(finest_m);
        let coarsest_m = self.coarsest_m.unwrap_or(coarsest_m.max(finest_m));
        let bodies = self.bodies.iter().enumerate().map(|(n, hung)| {
            let (finest_m, edge_m) = hung.cells.sizes_m(&self.cells, finest_m);
            let said = hung.cells.finest_m.or(self.cells.finest_m).is_some();
            let electrode = self.electrodes.iter().any(|e| e.body == n);
            Body {
                name: hung.name.clone(),
                solid: hung.solid.clone(),
                kind: match electrode {
                    true => BodyKind::Electrode,
                    false => BodyKind::Insulator,
                },
                finest_m,
                edge_m,
                across: self.across.unwrap_or(if said { KEPT } else { ACROSS }),
            }
        });
        let sheets = self.sheets.iter().map(|(name, sheet, cells)| {
            let (finest_m, edge_m) = cells.sizes_m(&self.cells, finest_m);
            PlacedSheet {
                name: name.clone(),
                sheet: sheet.clone(),
                finest_m,
                edge_m,
            }
        });
        let electrodes: Vec<Electrode> = self
            .electrodes
            .iter()
            .map(|e| e.finished(&self.bodies[e.body].name, bath))
            .collect();
        let lines = self.lines.iter().map(|(on, line)| {
            let number = |name: &String| check::number(name, &electrodes);
            Ok(Line {
                on: on.as_ref().map(number).transpose()?,
                ..line.clone()
            })
        });
        let lines = lines.collect::<Result<_, TankError>>()?;
        Ok(Parts {
            domain: Domain {
                space: self.space,
                tank: self.liquid.clone(),
                bodies: bodies.collect(),
                stop_offs: self.stop_offs.clone(),
                sheets: sheets.collect(),
                regions: self.regions.clone(),
                wall_m: self.wall_m.unwrap_or(coarsest_m),
                coarsest_m,
            },
            electrodes,
            coats: self.coats.clone(),
            contacts: self.contacts.clone(),
            turns: self.turns.clone(),
            travels: self.travels.clone(),
            flow: self.flow.or_else(|| usual_flow(bath)),
            zones: self.zones.clone(),
            faces: self.faces.clone(),
            readings: self.readings.clone(),
            lines,
        })
    }
}

/// In space the last coordinate points up.
fn usual_flow<const D: usize>(bath: &Electrolyte) -> Option<Flow<D>> {
    let rises = |film: &LocalFilm| D == 3 && film.course == Course::Rising;
    bath.local_film.filter(rises).map(|_| Flow::up())
}

impl Cells {
    /// At a surface and at its edges: as said here, else for all, else the usual.
    fn sizes_m(&self, all: &Self, usual_m: f64) -> (f64, f64) {
        let finest_m = self.finest_m.unwrap_or(usual_m);
        let edge_m = self.edge_m.or(all.edge_m).unwrap_or(finest_m);
        (finest_m, finest_m.min(edge_m))
    }
}

impl Pending {
    fn finished(&self, name: &str, bath: &Electrolyte) -> Electrode {
        let known = match self.role {
            Role::Anode => bath.anode.map(|anode| anode.polarisation),
            Role::Floating => bath.floating_law(),
            Role::Work | Role::Thief => bath.polarisation,
        };
        let usual = known.map_or(Kinetics::Primary, Kinetics::Law);
        Electrode {
            body: self.body,
            name: name.into(),
            copy_of: None,
            role: self.role,
            kinetics: self.law.clone().unwrap_or(usual),
            lead_ohm: self.lead_ohm,
            film_ohm_m2: self.film_ohm_m2,
        }
    }
}

impl Planned {
    fn step(self, n: usize, hold: Hold) -> Step {
        match self {
            Self::Whole(step) => step,
            Self::AsSupplied { until, at_most_s } => Step {
                name: format!("step {}", n + 1),
                setting: Setting::Hold(hold),
                off: Vec::new(),
                pulse: None,
                until,
                at_most_s,
            },
        }
    }
}
