//! What makes a tank one that can be computed, whoever put it together.

use crate::error::TankError;
use crate::geometry::{Electrode, Parts};
use crate::model::Wanted;
use crate::role::Role;
use crate::supply::{Hold, Setting, Step, Supply, Until};
use ionfall_bath::Kinetics;
use ionfall_bath::kinetics::{Law, Transfer};
use ionfall_mesh::grid::Space;

/// A figure that must be above zero.
fn positive(what: &'static str, value: f64) -> Result<(), TankError> {
    if value > 0.0 && value.is_finite() {
        return Ok(());
    }
    Err(TankError::NotPositive { what, value })
}

/// A figure that must not be below zero.
fn not_negative(what: &'static str, value: f64) -> Result<(), TankError> {
    if value >= 0.0 && value.is_finite() {
        return Ok(());
    }
    Err(TankError::Negative { what, value })
}

/// The number of the electrode of a name.
pub(crate) fn number(name: &str, electrodes: &[Electrode]) -> Result<usize, TankError> {
    electrodes
        .iter()
        .position(|e| e.name == name)
        .ok_or_else(|| {
            let names: Vec<_> = electrodes.iter().map(|e| e.name.as_str()).collect();
            TankError::Unknown {
                name: name.into(),
                known: names.join(", "),
            }
        })
}

fn is_work(name: Option<&String>, electrodes: &[Electrode]) -> Result<(), TankError> {
    let Some(name) = name else {
        return Ok(());
    };
    let electrode = &electrodes[number(name, electrodes)?];
    role(electrode, electrode.role == Role::Work, "name a work")
}

fn role(electrode: &Electrode, fits: bool, must: &'static str) -> Result<(), TankError> {
    if fits {
        return Ok(());
    }
    Err(TankError::WrongRole {
        name: electrode.name.clone(),
        role: electrode.role,
        must,
    })
}

/// Everything that has a place.
pub(crate) fn parts<const D: usize>(parts: &Parts<D>) -> Result<(), TankError> {
    let domain = &parts.domain;
    let space = match domain.space {
        Space::Tank => 3,
        Space::Axisymmetric => 2,
        Space::Planar { depth_m } => {
            positive("the depth", depth_m)?;
            2
        }
    };
    if space != D {
        return Err(TankError::Coordinates { space, solids: D });
    }
    positive("the largest cell", domain.coarsest_m)?;
    positive("the largest cell at the walls", domain.wall_m)?;
    let room = domain.tank.bounds();
    for (n, body) in domain.bodies.iter().enumerate() {
        if domain.bodies[..n].iter().any(|b| b.name == body.name) {
            return Err(TankError::NameTwice(body.name.clone()));
        }
        let common = room.intersection(&body.solid.bounds());
        if (0..D).any(|k| common.low[k] > common.high[k]) {
            return Err(TankError::Outside(body.name.clone()));
        }
        positive("the largest cell at a body", body.finest_m)?;
        positive("the largest cell at the edges of a body", body.edge_m)?;
        not_negative("the number of cells across narrow places", body.across)?;
    }
    for sheet in &domain.sheets {
        positive("the largest cell at a sheet", sheet.finest_m)?;
        positive("the largest cell at the rim of a sheet", sheet.edge_m)?;
    }
    for region in &domain.regions {
        positive("the largest cell in a region", region.finest_m)?;
    }
    for zone in &parts.zones {
        positive(
            "the share of the limiting current in a zone",
            zone.limit_factor,
        )?;
    }
    for reading in &parts.readings {
        if !reading.lies_in(&domain.tank) {
            return Err(TankError::ReadOutside(reading.name.clone()));
        }
    }
    electrodes(parts)?;
    for (n, face) in parts.faces.iter().enumerate() {
        if parts.faces[..n].iter().any(|f| f.name == face.name) {
            return Err(TankError::NameTwice(face.name.clone()));
        }
        if face.side.is_some_and(|side| side.axis >= D) {
            return Err(TankError::NoWall);
        }
    }
    for line in &parts.lines {
        if let Some(n) = line.on {
            let on = &parts.electrodes[n];
            role(
                on,
                on.role != Role::Anode,
                "nothing grows there: name a work",
            )?;
        }
        let pieces = line.points.windows(2).map(|ends| {
            let squares = (0..D).map(|k| (ends[1][k] - ends[0][k]).powi(2));
            squares.sum::<f64>().sqrt()
        });
        positive("the length of a line", pieces.sum())?;
    }
    Ok(())
}

fn electrodes<const D: usize>(parts: &Parts<D>) -> Result<(), TankError> {
    for needed in [Role::Anode, Role::Work] {
        if parts.electrodes.iter().all(|e| e.role != needed) {
            return Err(TankError::NoElectrode(needed));
        }
    }
    for electrode in &parts.electrodes {
        not_negative("the resistance of a lead", electrode.lead_ohm)?;
        not_negative("the resistance of a film", electrode.film_ohm_m2)?;
        let one_way = |law: &Kinetics| match law {
            Kinetics::Primary => false,
            Kinetics::Law(law) => matches!(law.transfer(), Transfer::Tafel { .. }),
            Kinetics::Own(law) => {
                let (low, high) = law.range_a_per_m2();
                low >= 0.0 || high <= 0.0
            }
        };
        if electrode.role == Role::Floating && one_way(&electrode.kinetics) {
            return Err(TankError::OneWay(electrode.name.clone()));
        }
    }
    for coat in &parts.coats {
        let on = &parts.electrodes[coat.electrode];
        role(
            on,
            on.role.is_cathode(),
            "only a work or a thief can have a coat",
        )?;
        positive("the sheet resistance of a coat", coat.sheet_resistance_ohm)?;
        not_negative("the thickness of islands", coat.islands_m)?;
        if parts.contacts.iter().all(|c| c.electrode != coat.electrode) {
            return Err(TankError::NoContact(on.name.clone()));
        }
    }
    for contact in &parts.contacts {
        not_negative("the resistance of a contact", contact.resistance_ohm)?;
        if parts.coats.iter().all(|c| c.electrode != contact.electrode) {
            let on = &parts.electrodes[contact.electrode];
            return Err(TankError::NoCoat(on.name.clone()));
        }
    }
    Ok(())
}

fn held(hold: Hold) -> Result<(), TankError> {
    match hold {
        Hold::Current(a) => positive("the current of a supply", a),
        Hold::Voltage(v) => positive("the voltage of a supply", v),
        Hold::MeanCurrentDensity(mean) => positive("the mean current density", mean),
    }
}

/// All supplies, the main one first.
pub(crate) fn supplies(supplies: &[Supply], electrodes: &[Electrode]) -> Result<(), TankError> {
    for (n, supply) in supplies.iter().enumerate() {
        held(supply.hold)?;
        if let Some(limit) = supply.limits.voltage_v {
            positive("the voltage limit of a supply", limit)?;
        }
        if let Some(limit) = supply.limits.current_a {
            positive("the current limit of a supply", limit)?;
        }
        let lists = [
            (&supply.anodes, Role::Anode, "name an anode"),
            (&supply.thieves, Role::Thief, "name a thief"),
        ];
        for (members, wanted, must) in lists {
            for &number in members {
                let Some(electrode) = electrodes.get(number) else {
                    return Err(TankError::NoSuchElectrode {
                        supply: supply.name.clone(),
                        number,
                        count: electrodes.len(),
                    });
                };
                role(electrode, electrode.role == wanted, must)?;
                let earlier = supplies[..n].iter();
                if earlier
                    .flat_map(|s| s.anodes.iter().chain(&s.thieves))
                    .any(|e| *e == number)
                {
                    return Err(TankError::TwoSupplies(electrode.name.clone()));
                }
            }
        }
        if n > 0 && supply.anodes.is_empty() && supply.thieves.is_empty() {
            return Err(TankError::Idle(supply.name.clone()));
        }
    }
    Ok(())
}

/// All steps.
pub(crate) fn plan(
    plan: &[Step],
    supplies: usize,
    electrodes: &[Electrode],
) -> Result<(), TankError> {
    for step in plan {
        positive("the longest time of a step", step.at_most_s)?;
        let wrong = |reason| {
            Err(TankError::Step {
                step: step.name.clone(),
                reason,
            })
        };
        if step.off.iter().any(|n| *n == 0 || *n >= supplies) {
            return wrong("what is off is a supply beside the main one, 1 or more");
        }
        match step.setting {
            Setting::Hold(hold) => held(hold)?,
            Setting::Ramp(from, to) => {
                held(from)?;
                held(to)?;
                if std::mem::discriminant(&from) != std::mem::discriminant(&to) {
                    return wrong(
                        "a ramp ends in what it began with: both currents, or both voltages",
                    );
                }
                if !matches!(step.until, Until::Time(_)) {
                    return wrong("a ramp needs the time it takes: end it with `Until::Time`");
                }
            }
            Setting::Rest => {}
        }
        if let Some(pulse) = step.pulse {
            positive("the forward time of a pulse", pulse.on_s)?;
            not_negative("the time without current of a pulse", pulse.off_s)?;
            not_negative("the reverse time of a pulse", pulse.reverse_s)?;
            not_negative("the reverse share of a pulse", pulse.reverse_share)?;
            if pulse.on_s <= pulse.reverse_share * pulse.reverse_s {
                return wrong("the reverse current takes away all that the forward current brings");
            }
        }
        match &step.until {
            Until::Time(time_s) => positive("the time of a step", *time_s)?,
            Until::Charge(charge_c) => positive("the charge of a step", *charge_c)?,
            Until::LeastThickness(thickness_m, on) | Until::MeanThickness(thickness_m, on) => {
                positive("the thickness that ends a step", *thickness_m)?;
                is_work(on.as_ref(), electrodes)?;
            }
        }
    }
    Ok(())
}

/// What is asked of the deposit, and when it is looked at.
pub(crate) fn asked(
    wanted: Option<&Wanted>,
    covered_m: f64,
    save_s: &[f64],
    electrodes: &[Electrode],
) -> Result<(), TankError> {
    positive("the thickness that counts as covered", covered_m)?;
    save_s
        .iter()
        .try_for_each(|s| not_negative("a time at which surfaces are kept", *s))?;
    if let Some(wanted) = wanted {
        positive("the thickness wanted", wanted.thickness_m)?;
        is_work(wanted.on.as_ref(), electrodes)?;
    }
    Ok(())
}
