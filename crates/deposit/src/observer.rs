//! Who looks on while a run goes its way.

use crate::accuracy::Laid;
use crate::state::State;

/// Stages of a run, for progress displays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stage {
    /// Tree, cut cells, probes.
    Grid,
    /// Newton on the network.
    Field,
    /// Time steps through the plan; the share of it that is done.
    Time(f64),
}

/// What an observer says after each time step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Go {
    /// Go on.
    On,
    /// Stop here.
    Stop,
}

/// Told how far a run has come, and given its state to keep. Whoever wants to know less leaves the
/// rest as it is; `()` wants to know nothing.
///
/// ```
/// # use ionfall_deposit::{Observer, Settings, Stage, run};
/// # use ionfall_mesh::solid::{Cuboid, Solid};
/// # use ionfall_model::{Model, Parts, Tank};
/// struct Stages(Vec<Stage>);
///
/// impl Observer for Stages {
///     fn begins(&mut self, stage: Stage, _what: &str) {
///         self.0.push(stage);
///     }
/// }
///
/// # let end = |x0: f64, x1: f64| Cuboid::new([x0, 0.0], [x1, 0.05]).map(Solid::new);
/// # let model = Tank::planar(end(0.0, 0.1)?, 0.1)
/// #     .conductivity_s_per_m(20.0)
/// #     .anode("anode", end(-0.01, 0.0)?)
/// #     .work("work", end(0.1, 0.11)?)
/// #     .voltage_v(1.0)
/// #     .model()?;
/// # let model = Model::<Parts<2>>::try_from(model).expect("a planar tank");
/// let mut stages = Stages(Vec::new());
/// run(&model, &Settings::default(), &mut stages)?;
/// assert_eq!(stages.0, [Stage::Grid, Stage::Field]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub trait Observer {
    /// A stage begins, or one more of several runs; `what` says it in a few words.
    fn begins(&mut self, _stage: Stage, _what: &str) {}

    /// The run on coarser cells of this number, from 0, begins: the stages that follow are its own.
    fn coarser(&mut self, _number: usize) {}

    /// One more grid of a search for an [accuracy](crate::accuracy) begins, after these: the stages that follow are its
    /// own.
    fn lays(&mut self, _before: &[Laid]) {}

    /// Imbalance of a solve before each of its Newton steps, relative to the currents.
    fn imbalance(&mut self, _imbalance: f64) {}

    /// The state after a time step.
    fn keep(&mut self, _state: &State) -> Go {
        Go::On
    }
}

impl Observer for () {}
