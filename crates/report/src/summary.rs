//! `summary.json`: the answers of a run as one document.
//!
//! The serde structs here are its schema: keys are the field names, values are in SI units, and
//! every key ends in its unit (`_m`, `_a`, `_a_per_m2`, `_kg`, `_j`, `_s` ...; shares, counts,
//! names and residuals have none). What does not apply is `null`. Distributions are weighted by
//! area; their quantiles and extremes, `thinnest_m`, `thickest_m` and `limit_share` are read in
//! patches of about a cell (the means are those of all facets). At a sharp edge the place of a
//! largest value has an `edge`: `figure` says whether its value is the mean over a strip of `strip_m`
//! (`strip_mean`: no kinetics, no finite value), a least value (`at_least`: cells too large for the
//! Wagner length; `end_of_metal`: the strip beside an insulator) or the value at the edge (`resolved`).

mod doubts;

use crate::facets::axes;
use crate::films::{FilmSummary, unknown_way};
use crate::story::measure::{hours, percent, place};
use crate::verdict::{bath_band, guide, parts};
use doubts::{
    anode_doubts, insoluble_text, left_out, pulse_text, recess_text, travelled_text, turned_text,
    unknown_volts,
};
use ionfall_bath::islands::{POWDER_ISLANDS, POWDER_OHM};
use ionfall_bath::solution::SULFURIC_ACID_G_PER_MOL;
use ionfall_bath::{Electrolyte, Quality, double_layer};
use ionfall_deposit::accuracy::AccuracyReached;
use ionfall_deposit::islands::Covering;
use ionfall_deposit::judge::{Answers, Bounds, Standing, Verdict, judge};
use ionfall_deposit::ledger::{Ledger, MOLAR_VOLUME_M3};
use ionfall_deposit::levers::Levers;
use ionfall_deposit::recess::Recesses;
use ionfall_deposit::repeat::{RepeatOutcome, repeats};
use ionfall_deposit::spread::Spread;
use ionfall_deposit::uncertainty::{BodyUncertainty, Uncertainty};
use ionfall_deposit::{
    BodyOutcome, ContactOutcome, Moment, Named, Outcome, SupplyOutcome, VoltsAmps, is_caution,
    note_text,
};
use ionfall_model::{Cost, Hold, Model, Parts, Pulse, Role, Used, Wanted};
use ionfall_numerics::number::significant;
use serde::Serialize;

/// Version of this schema.
const SCHEMA: u32 = 2;

/// Current densities that differ by less than this share are the same.
const SAME: f64 = 0.01;

/// The whole document.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// Version of the schema, raised when a key changes its meaning.
    pub schema: u32,
    /// Version of ionfall.
    pub ionfall: &'static str,
    /// Title of the job.
    pub title: String,
    /// The bath: every figure with value, unit, grade and source; its cautions.
    pub bath: Electrolyte,
    /// What the main supply is told to hold constant outside the plan's own steps.
    pub supply: SupplySummary,
    /// Time the plan took, s.
    pub time_s: Option<f64>,
    /// Enough metal, sound metal, can the supply do it: each with its state, figure, margin,
    /// plus-minus and band.
    pub verdict: Verdict,
    /// What was wanted of the deposit, and whether it was met.
    pub wanted: Option<WantedSummary>,
    /// The main supply at the end.
    #[serde(flatten)]
    pub main: VoltsAmps<f64>,
    /// Energy taken over the plating time, J.
    pub energy_j: Option<f64>,
    /// What metal, energy, time and acid cost over the plan, if the job gives prices.
    pub cost: Option<Cost>,
    /// Anodic and cathodic currents differ by this share.
    pub balance_error: f64,
    /// The supplies, the main one first.
    pub supplies: Vec<SupplyOutcome>,
    /// What makes moulds conduct.
    #[serde(flatten)]
    pub coating: Coating,
    /// Where charge, metal and energy went over the plan.
    pub ledger: Option<LedgerSummary>,
    /// History of the plan: one entry at least at the ends of each step.
    pub history: Vec<Moment>,
    /// The electrodes: areas, currents, thickness, metal. Magnitudes, except `current_a`, which is
    /// negative at cathodes.
    pub bodies: Vec<BodyOutcome>,
    /// From part to part: what the copies of a body get, and how far apart they are.
    pub repeats: Vec<RepeatOutcome>,
    /// Faces and points that the job names.
    #[serde(flatten)]
    pub named: Named,
    /// The grid.
    pub grid: GridSummary,
    /// The solver.
    pub solver: SolverSummary,
    /// Time and memory that it took.
    #[serde(flatten)]
    pub effort: Effort,
    /// Films that vary over the faces of cathodes.
    pub local_films: Vec<FilmSummary>,
    /// When powder coats are covered if their first metal grows in islands.
    pub covering: Vec<Covering>,
    /// Sheltered places, and the answers if the liquid there stands still.
    pub recesses: Option<Recesses>,
    /// What other runs tell of the answers.
    #[serde(flatten)]
    pub beside: Beside,
    /// Cautions about this result.
    pub cautions: Vec<String>,
    /// What was mended in the input or is worth knowing about the grid.
    pub notes: Vec<String>,
}

/// What makes moulds conduct.
#[derive(Clone, Debug, Serialize)]
pub struct Coating {
    /// Conducting coats.
    pub coats: Vec<CoatSummary>,
    /// Contacts of coats.
    pub contacts: Vec<ContactOutcome>,
}

/// Time and memory that a run took.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Effort {
    /// Time spent on the grid, s.
    pub grid_s: f64,
    /// Time spent on the field, s.
    pub field_s: f64,
    /// Largest memory of the process, bytes, where the system tells.
    pub peak_memory_bytes: Option<u64>,
}

/// What other runs of a job tell of its answers.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Beside {
    /// Bands of the answers from the bands of the bath's figures, if they were asked for.
    pub spread: Option<Spread>,
    /// What changes make of the answers, if that was worked out.
    pub levers: Option<Levers>,
    /// Plus-minus of the answers from coarser grids, if it was worked out.
    pub uncertainty: Option<Uncertainty>,
    /// What came of an accuracy that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accuracy: Option<AccuracyReached>,
}

/// What the supply held constant.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SupplySummary {
    /// Current, A.
    CurrentA(f64),
    /// Voltage, V.
    VoltageV(f64),
    /// Mean current density on the work, A/m2.
    MeanCurrentDensityAPerM2(f64),
}

/// A conducting coat.
#[derive(Clone, Debug, Serialize)]
pub struct CoatSummary {
    /// Electrode it lies on.
    pub on: String,
    /// Resistance of a square, ohm.
    pub sheet_resistance_ohm_per_square: f64,
    /// Deposit that grows in islands before it conducts, m.
    pub islands_m: f64,
}

impl CoatSummary {
    fn all<const D: usize>(parts: &Parts<D>) -> Vec<Self> {
        let coats = parts.coats.iter();
        coats
            .map(|coat| Self {
                on: parts.electrodes[coat.electrode].name.clone(),
                sheet_resistance_ohm_per_square: coat.sheet_resistance_ohm,
                islands_m: coat.islands_m,
            })
            .collect()
    }

    /// What is left out where metal is taken to conduct from the first on a coat that conducts badly, and nothing is
    /// known of what that makes of its cover.
    fn islands_text(&self, covering: &[Covering]) -> Option<String> {
        let is_powder = self.sheet_resistance_ohm_per_square >= POWDER_OHM && self.islands_m == 0.0;
        let told = covering.iter().any(|c| c.on == self.on);
        (is_powder && !told).then(|| {
            let [low, high] = [POWDER_ISLANDS.low, POWDER_ISLANDS.high];
            format!(
                "the metal on the coat of `{}` is taken to conduct from the first; on graphite and metal powders {low} to \
                 {high} um of it ({}) grow in islands that do not touch, and covering then takes several to many times as \
                 long: say islands = \"0.3 um\" in the coat to see",
                self.on, POWDER_ISLANDS.grade
            )
        })
    }
}

/// What was wanted, and how it went.
#[derive(Clone, Debug, Serialize)]
pub struct WantedSummary {
    /// Least thickness wanted, m.
    pub thickness_m: f64,
    /// Largest thickness allowed, m.
    pub at_most_m: Option<f64>,
    /// On which work, or on all copies of which; `null` is all of it.
    pub on: Option<String>,
    /// Only this face of it needs the least thickness.
    pub face: Option<String>,
    /// What came of it.
    #[serde(flatten)]
    pub came: Came,
}

/// What came of a wish.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Came {
    /// Is the thinnest place thick enough, and none too thick? `null` without a plating time.
    pub met: Option<bool>,
    /// Least thickness reached there, m.
    pub least_m: Option<f64>,
    /// Time after which it was reached everywhere, or would be at the rates of the end, s.
    pub reached_after_s: Option<f64>,
}

/// Where everything went over the plan. Lists are in the order of `bodies`.
#[derive(Clone, Debug, Serialize)]
pub struct LedgerSummary {
    /// Metal deposited, kg.
    pub deposited_kg: Vec<f64>,
    /// Metal dissolved, kg.
    pub dissolved_kg: Vec<f64>,
    /// Metal the bath gains, kg (negative: it loses).
    pub bath_gain_kg: f64,
    /// Hydrogen evolved, at 25 degC and 101 325 Pa, m3.
    pub hydrogen_m3: f64,
    /// Energy spent in the electrolyte, J.
    pub bath_j: f64,
    /// Energy spent in the polarisation of each electrode, J.
    pub polarisation_j: Vec<f64>,
    /// Energy spent in coats, J.
    pub coat_j: f64,
    /// Energy spent in contacts, J.
    pub contact_j: f64,
    /// Energy spent in leads, J.
    pub lead_j: f64,
    /// Difference of energy given and spent over the larger.
    pub energy_error: f64,
    /// Difference of anodic and cathodic charge over the larger.
    pub charge_error: f64,
}

impl LedgerSummary {
    fn new(ledger: &Ledger) -> Self {
        Self {
            deposited_kg: ledger.deposited_kg.clone(),
            dissolved_kg: ledger.dissolved_kg.clone(),
            bath_gain_kg: ledger.bath_gain_kg(),
            hydrogen_m3: MOLAR_VOLUME_M3 * ledger.hydrogen_mol.iter().sum::<f64>(),
            bath_j: ledger.bath_j,
            polarisation_j: ledger.polarisation_j.clone(),
            coat_j: ledger.coat_j,
            contact_j: ledger.contact_j.iter().sum(),
            lead_j: ledger.lead_j.iter().sum(),
            energy_error: ledger.energy_error(),
            charge_error: ledger.charge_error(),
        }
    }
}

/// The grid.
#[derive(Clone, Debug, Serialize)]
pub struct GridSummary {
    /// Names of the coordinates of places.
    pub axes: &'static [&'static str],
    /// Cells of electrolyte.
    pub cells: usize,
    /// Facets of electrodes.
    pub facets: usize,
    /// Edge of the finest cells, m.
    pub finest_m: f64,
    /// Edge of the coarsest cells, m.
    pub coarsest_m: f64,
}

/// How the field was solved.
#[derive(Clone, Debug, Serialize)]
pub struct SolverSummary {
    /// Time steps taken.
    pub time_steps: usize,
    /// Time steps refused as too inexact.
    pub refused_steps: usize,
    /// Solves of the network.
    pub solves: usize,
    /// Newton steps of all solves.
    pub newton_steps: usize,
    /// Multigrid cycles of all solves.
    pub multigrid_cycles: usize,
    /// Imbalance of the nodes relative to the currents in the last solve, before the first Newton
    /// step and after each.
    pub residual_history: Vec<f64>,
}

/// What a run costs at the job's prices.
fn cost<const D: usize>(model: &Model<Parts<D>>, outcome: &Outcome<D>) -> Option<Cost> {
    let cathodes = outcome.bodies.iter().filter(|b| b.role.is_cathode());
    let metal_kg: Option<f64> = cathodes.map(|b| b.metal_kg).sum();
    let prices = model.prices.as_ref()?;
    let hydrogen_mol: f64 = outcome.ledger.hydrogen_mol.iter().sum();
    Some(prices.cost(Used {
        metal_kg: metal_kg?,
        energy_j: outcome.energy_j?,
        time_s: outcome.time_s?,
        acid_kg: 1e-3 * SULFURIC_ACID_G_PER_MOL * hydrogen_mol,
    }))
}

impl Summary {
    /// Of a finished run. `ionfall` is the version of the program.
    pub fn new<const D: usize>(
        model: &Model<Parts<D>>,
        outcome: &Outcome<D>,
        ionfall: &'static str,
        peak_memory_bytes: Option<u64>,
    ) -> Self {
        let grid = &outcome.grid;
        let sizes = (0..grid.len()).map(|n| grid.size_m(n));
        let solution = &outcome.solution;
        let mut notes = model.notes.clone();
        let (doubts, remarks): (Vec<_>, Vec<_>) = grid.notes.iter().partition(|n| is_caution(n));
        notes.extend(remarks.into_iter().map(note_text));
        notes.extend(outcome.pulse.as_ref().map(pulse_text));
        let mut summary = Self {
            schema: SCHEMA,
            ionfall,
            title: model.title.clone(),
            bath: model.bath.clone(),
            supply: match model.supplies[0].hold {
                Hold::Current(i) => SupplySummary::CurrentA(i),
                Hold::Voltage(v) => SupplySummary::VoltageV(v),
                Hold::MeanCurrentDensity(i) => SupplySummary::MeanCurrentDensityAPerM2(i),
            },
            supplies: outcome.supplies.clone(),
            coating: Coating {
                coats: CoatSummary::all(&model.geometry),
                contacts: outcome.contacts.clone(),
            },
            ledger: outcome.time_s.map(|_| LedgerSummary::new(&outcome.ledger)),
            history: outcome.history.moments.clone(),
            time_s: outcome.time_s,
            verdict: judge(model, Answers::of(outcome), Bounds::default()),
            wanted: None,
            main: VoltsAmps {
                voltage_v: outcome.voltage_v,
                current_a: outcome.current_a,
            },
            energy_j: outcome.energy_j,
            cost: cost(model, outcome),
            balance_error: outcome.balance_error,
            bodies: outcome.bodies.clone(),
            repeats: repeats(&outcome.bodies),
            named: outcome.named.clone(),
            grid: GridSummary {
                axes: axes(grid.space),
                cells: grid.len(),
                facets: grid.facets.len(),
                finest_m: sizes.clone().fold(f64::INFINITY, f64::min),
                coarsest_m: sizes.fold(0.0, f64::max),
            },
            solver: SolverSummary {
                time_steps: outcome.time_steps[0],
                refused_steps: outcome.time_steps[1],
                solves: outcome.work[0],
                newton_steps: outcome.work[1],
                multigrid_cycles: outcome.work[2],
                residual_history: solution.record.history.clone(),
            },
            effort: Effort {
                grid_s: outcome.grid_s,
                field_s: outcome.field_s,
                peak_memory_bytes,
            },
            covering: outcome.covering.clone(),
            local_films: FilmSummary::all(model, outcome),
            recesses: outcome.recesses.clone(),
            beside: Beside::default(),
            cautions: Vec::new(),
            notes,
        };
        summary.wanted = model.wanted.as_ref().map(|wanted| summary.met(wanted));
        summary.cautions = summary.strains();
        (summary.cautions).extend(doubts.into_iter().map(note_text));
        summary.cautions.extend(anode_doubts(model, outcome));
        summary.cautions.extend(insoluble_text(model, outcome));
        summary
            .cautions
            .extend(smoothed(&summary, outcome.pulse.as_ref()));
        summary.notes.extend(left_out(model, grid.len()));
        summary.notes.extend(unknown_volts(&model.geometry));
        let films: Vec<_> = summary.local_films.iter().map(FilmSummary::text).collect();
        summary.notes.extend(films);
        summary.notes.extend(unknown_way(model, outcome));
        let islands = summary
            .coating
            .coats
            .iter()
            .filter_map(|c| c.islands_text(&outcome.covering));
        summary.notes.extend(islands.collect::<Vec<_>>());
        summary
            .notes
            .extend(outcome.travelled.as_ref().map(travelled_text));
        let (exact, estimates): (Vec<_>, Vec<_>) =
            outcome.turned.iter().partition(|t| t.is_exact());
        summary.notes.extend(exact.into_iter().map(turned_text));
        summary
            .cautions
            .extend(estimates.into_iter().map(turned_text));
        summary
    }

    /// Plus-minus of an electrode's answers.
    pub(crate) fn uncertainty_of(&self, body: &str) -> Option<&BodyUncertainty> {
        let all = self.beside.uncertainty.as_ref()?;
        all.bodies.iter().find(|b| b.name == body)
    }

    /// What the bath's figures make of an electrode's largest share of the limiting current, in words
    /// that follow the share; nothing if it was not worked out.
    pub(crate) fn limit_band(&self, body: &str) -> String {
        let bodies = self.beside.spread.iter().flat_map(|s| &s.bodies);
        let own = bodies.filter(|b| b.name == body);
        (own.filter_map(|b| b.limit_share).next()).map_or(String::new(), bath_band)
    }

    /// The works, or those of a name.
    pub(crate) fn works(&self, on: Option<&str>) -> impl Iterator<Item = &BodyOutcome> {
        self.bodies
            .iter()
            .filter(move |b| b.role == Role::Work && on.is_none_or(|name| b.answers_to(name)))
    }

    /// The same with what other runs tell of its answers.
    pub fn bounded<const D: usize>(
        self,
        model: &Model<Parts<D>>,
        outcome: &Outcome<D>,
        beside: Beside,
    ) -> Self {
        let bounds = Bounds {
            uncertainty: beside.uncertainty.as_ref(),
            spread: beside.spread.as_ref(),
            levers: beside.levers.as_ref(),
        };
        let mut cautions = self.cautions.clone();
        let doubts = cautions.split_off(self.strains().len());
        let mut summary = Self {
            verdict: judge(model, Answers::of(outcome), bounds),
            beside,
            ..self
        };
        summary.cautions = summary.strains();
        summary.cautions.extend(doubts);
        summary
    }

    fn met(&self, wanted: &Wanted) -> WantedSummary {
        let places = self.works(wanted.on.as_deref()).filter_map(|b| b.thinnest);
        let metal = &self.verdict.metal;
        WantedSummary {
            thickness_m: wanted.thickness_m,
            at_most_m: wanted.at_most_m,
            on: wanted.on.clone(),
            face: wanted.face.as_ref().map(|face| face.name.clone()),
            came: Came {
                met: (metal.margin_m).map(|margin_m| margin_m >= 0.0 && !metal.is_too_thick()),
                least_m: places.map(|p| p.value).reduce(f64::min),
                reached_after_s: metal.reached_after_s,
            },
        }
    }

    /// Works that get more than is usual in this bath.
    fn unusual(&self) -> impl Iterator<Item = String> + '_ {
        let usual = self.bath.usual_current;
        self.works(None).filter_map(move |body| {
            let mean = 0.01 * body.current_density_a_per_m2.mean;
            let range = usual.filter(|range| mean > (1.0 + SAME) * range.high)?;
            Some(format!(
                "`{}` gets {} A/dm2 on average; {range} are usual in this bath ({}): expect burnt metal sooner than the \
                 limiting current says",
                body.name,
                significant(mean, 3),
                range.grade
            ))
        })
    }

    /// Cautions that say more than the verdict does.
    pub(crate) fn cautions_beside_verdict(&self) -> &[String] {
        &self.cautions[self.told_by_verdict().len()..]
    }

    /// Cautions that say in full what parts of the verdict say in short.
    fn told_by_verdict(&self) -> Vec<String> {
        let mut cautions: Vec<String> = Vec::new();
        let on = self.verdict.sound.on.as_ref();
        let judged = self.bodies.iter().filter(|b| Some(&b.name) == on);
        cautions.extend(judged.filter_map(|b| self.roughness(b)));
        if self.verdict.supply.state > Standing::Unknown {
            let [_, _, supply] = parts(&self.verdict, self.grid.axes);
            cautions.push(format!("the supply: {}", supply.words));
        }
        if self.bodies.iter().all(|b| b.limit_share.is_none()) {
            let [_, sound, _] = parts(&self.verdict, self.grid.axes);
            cautions.push(sound.words);
        }
        cautions
    }

    /// What metal to expect where a cathode comes near the limiting current.
    fn roughness(&self, body: &BodyOutcome) -> Option<String> {
        let place = body.limit_share.filter(|_| body.role != Role::Anode)?;
        let quality = Quality::of(place.value);
        (quality > Quality::Sound).then(|| {
            format!(
                "`{}` reaches {:.0} %{} of the limiting current: expect {} there ({})",
                body.name,
                100.0 * place.value,
                self.limit_band(&body.name),
                quality.metal(),
                guide()
            )
        })
    }

    /// Assumptions this run strains; those that the verdict tells first.
    fn strains(&self) -> Vec<String> {
        let mut cautions = self.told_by_verdict();
        let verdict = &self.verdict;
        if verdict.metal.still_m.is_some() || verdict.sound.still_share.is_some() {
            cautions.extend(self.recesses.as_ref().and_then(recess_text));
        }
        let on = verdict.sound.on.as_ref();
        let others = self.bodies.iter().filter(|b| Some(&b.name) != on);
        cautions.extend(others.filter_map(|b| self.roughness(b)));
        cautions.extend(self.unusual());
        for body in self.bodies.iter().filter(|b| b.role == Role::Floating) {
            cautions.push(format!(
                "`{}` is connected to nothing: {:.3} A enter it on {:.3} dm2, where metal grows, \
                 and leave it on {:.3} dm2, which dissolves; stop it off or take it out",
                body.name,
                body.anodic.current_a,
                100.0 * (body.area_m2 - body.anodic.area_m2),
                100.0 * body.anodic.area_m2,
            ));
        }
        if let Some(ledger) = self.ledger.as_ref().filter(|l| l.hydrogen_m3 > 0.0) {
            cautions.push(format!(
                "{} L of hydrogen come off over the plan, which burns in air from 4 % on: \
                 ventilate, keep flames and sparks away",
                significant(1e3 * ledger.hydrogen_m3, 2)
            ));
        }
        for body in &self.bodies {
            let Some(crowding) = body.crowding else {
                continue;
            };
            let when = match crowding.met_after_s {
                Some(time_s) => format!("; there the two sides meet after about {}", hours(time_s)),
                None => String::new(),
            };
            cautions.push(format!(
                "`{}`: on {} of the area the deposit is thick for the gap in front of it, worst {} \
                 in a gap of {} mm{when}; the shape was kept as it was at the start, in truth such \
                 places close up sooner and stay thinner inside",
                body.name,
                percent(crowding.area_share),
                place(self.grid.axes, &crowding.worst),
                significant(1e3 * crowding.gap_m, 2),
            ));
        }
        cautions
    }
}

/// Pulses or pauses too short for the double layer of the works.
fn smoothed(summary: &Summary, pulse: Option<&Pulse>) -> Option<String> {
    let pulse = pulse?;
    let densities = summary.works(None).map(|b| b.current_density_a_per_m2.mean);
    let [charge_s, discharge_s] = double_layer::times_s(densities.reduce(f64::min)?);
    let pause = pulse.off_s > 0.0 && pulse.off_s < discharge_s;
    let text = |s: f64| format!("{} ms", significant(1e3 * s, 2));
    (pulse.on_s < charge_s || pause).then(|| {
        format!(
            "the double layer of the work takes about {} to charge and {} to discharge at this current ({}, {}, a factor of \
             two): pulses or pauses shorter than that arrive smoothed, and the answers of the peak do not hold; make them longer",
            text(charge_s),
            text(discharge_s),
            double_layer::CHARGE.source,
            double_layer::CHARGE.grade
        )
    })
}

#[cfg(test)]
mod tests;
