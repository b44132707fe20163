//! Words about single things of a run: anodes, volts that are not counted, work that moves, recesses, pulses.

use crate::story::measure::{number, percent, pulse_times};
use ionfall_bath::constants::FARADAY_C_PER_MOL;
use ionfall_bath::solution::SULFURIC_ACID_G_PER_MOL;
use ionfall_deposit::ledger::MOLAR_VOLUME_M3;
use ionfall_deposit::positions::Travelled;
use ionfall_deposit::recess::Recesses;
use ionfall_deposit::turn::Turned;
use ionfall_deposit::{BodyOutcome, Outcome};
use ionfall_model::{Model, Output, Outputs, Parts, Pulse, Role, USUAL_BATH_CELLS};
use ionfall_numerics::number::{grouped, significant};

/// Dissolving anodes that are driven harder or less hard than is good for them.
pub(super) fn anode_doubts<const D: usize>(
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
) -> Vec<String> {
    let dissolves = |b: &&BodyOutcome| {
        let mut electrodes = model.geometry.electrodes.iter();
        let own = electrodes.find(|e| e.name == b.name);
        own.is_some_and(|e| e.role == Role::Anode && e.kinetics.dissolves())
    };
    let doubt = |body: &BodyOutcome| {
        let density = body.current_density_a_per_m2;
        let doubt = model
            .bath
            .anode?
            .doubt(density.mean, body.passivation_share.map(|p| p.value))?;
        Some(format!("`{}`: {doubt}", body.name))
    };
    let anodes = outcome.bodies.iter().filter(dissolves);
    anodes.filter_map(doubt).collect()
}

/// What is left out of the files of a large result.
pub(super) fn left_out<G>(model: &Model<G>, cells: usize) -> Option<String> {
    let usual = model.save.what == Outputs::Usual;
    (usual && !model.save.what.hold(Output::Bath, cells)).then(|| {
        format!(
            "bath.vtu is left out of results with more than {} cells: to have the potential in each cell say \
             --all-files, or name \"bath\" among `what` in [save]",
            grouped(USUAL_BATH_CELLS)
        )
    })
}

/// What insoluble anodes do to the bath over the plan.
pub(super) fn insoluble_text<const D: usize>(
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
) -> Option<String> {
    outcome.time_s?;
    let ledger = &outcome.ledger;
    let electrodes = &model.geometry.electrodes;
    let own = electrodes.iter().zip(&ledger.charge_c);
    let gassing: Vec<_> = own.filter(|(e, _)| !e.kinetics.dissolves()).collect();
    let charge_c: f64 = gassing.iter().map(|(_, charge)| charge.max(0.0)).sum();
    let names: Vec<String> = gassing
        .iter()
        .map(|(e, _)| format!("`{}`", e.name))
        .collect();
    let hydrogen_mol: f64 = ledger.hydrogen_mol.iter().sum();
    // Each mole of electrons sets one of acid free at the anode, and hydrogen takes two a mole at the work.
    let acid_mol = (charge_c / FARADAY_C_PER_MOL - 2.0 * hydrogen_mol).max(0.0);
    (charge_c > 0.0).then(|| {
        format!(
            "{} does not dissolve: over the plan the bath loses {} g of {} and gains {} mol of acid ({} g as sulfuric \
             acid), and {} L of oxygen carry mist along",
            names.join(" and "),
            significant(-1e3 * ledger.bath_gain_kg(), 3),
            model.bath.metal.name,
            significant(acid_mol, 3),
            significant(0.5 * SULFURIC_ACID_G_PER_MOL * acid_mol, 3),
            significant(1e3 * MOLAR_VOLUME_M3 * charge_c / (4.0 * FARADAY_C_PER_MOL), 2),
        )
    })
}

/// Whose volts are not counted, because nothing is known of them.
pub(super) fn unknown_volts<const D: usize>(parts: &Parts<D>) -> Option<String> {
    let lacking = parts.without_polarisation();
    let names: Vec<String> = lacking.iter().map(|name| format!("`{name}`")).collect();
    (!names.is_empty()).then(|| {
        format!(
            "no law of {} is known: what it takes is not in the volts",
            names.join(" and ")
        )
    })
}

/// What the metal of bodies that travel is.
pub(super) fn travelled_text(travelled: &Travelled) -> String {
    let names: Vec<String> = travelled.names.iter().map(|n| format!("`{n}`")).collect();
    format!(
        "{} travels: thickness, metal, charge and energy are means over {} positions; volts, current densities and shares \
         of the limiting current are those of the position that is drawn",
        names.join(", "),
        travelled.positions
    )
}

/// What the metal of a body that turns is.
pub(super) fn turned_text(turned: &Turned) -> String {
    let mut text = format!(
        "{} turns: its metal is the mean over the turn; current densities and shares of the limiting current are those \
         of a moment, which a film sees whole only if a turn takes longer than it needs to form",
        turned.name
    );
    if turned.sideways_share > 0.0 {
        text += &format!(
            "; {} of it is no surface of revolution about its axis, so that this mean is an estimate",
            percent(turned.sideways_share)
        );
    }
    if turned.coated {
        text += "; its coat is computed as standing still, so that the mean is an estimate";
    }
    text
}

/// What recesses that stand still would do, and what to do about it; nothing where they would do nothing.
pub(super) fn recess_text(recesses: &Recesses) -> Option<String> {
    let still = recesses.still.as_ref()?;
    let fate = match &still.failure {
        Some(reason) => format!("if it does, the current cannot flow: {reason}"),
        None => "both answers are told where they differ, and the truth lies between".into(),
    };
    let usual = recesses.radius_band_m.map_or(String::new(), |band| {
        let [low, high] = band.map(|m| significant(1e3 * m, 2));
        format!(
            " (the usual radius of stirring, {low} to {high} mm, from memory; say stirring_radius in the bath if you know it)"
        )
    });
    Some(format!(
        "hollows that a ball of {} mm radius{usual} does not enter may stand still whatever is done outside: then as \
         little as {} of the limiting current is left there; {fate}. Stir into them, or turn the work",
        significant(1e3 * recesses.radius_m, 2),
        percent(recesses.least_share),
    ))
}

/// Which figures are those of the peak of pulses.
pub(super) fn pulse_text(pulse: &Pulse) -> String {
    format!(
        "pulses of {}: volts, amperes and current densities are those of the forward time, {} times the \
         average; thickness, charge and energy are those of whole cycles",
        pulse_times(pulse),
        number(pulse.peak_factor())
    )
}
