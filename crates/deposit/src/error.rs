//! Why a run fails.

use ionfall_field::FieldError;
use ionfall_mesh::grid::GridError;
use ionfall_network::NetworkError;
use thiserror::Error;

/// Why a run failed.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DepositError {
    /// The grid could not be built.
    #[error(transparent)]
    Grid(#[from] GridError),
    /// The field could not be solved.
    #[error(transparent)]
    Field(#[from] FieldError),
    /// The peak of pulses cannot flow.
    #[error(
        "at the peak of the pulses {demand_a:.3} A are asked for, {times:.3} times the average, but no \
         more than {largest_a:.3} A can flow: there the metal in the bath no longer reaches the work fast \
         enough (limiting current of pulses); make them shorter, their pauses shorter, or their average less"
    )]
    AbovePeakLimit {
        /// Current asked for, A.
        demand_a: f64,
        /// Peak over average.
        times: f64,
        /// Largest possible current, A.
        largest_a: f64,
    },
    /// The reverse current of pulses cannot flow.
    #[error(
        "the reverse current of the pulses cannot flow: an electrode carries current one way only, as by \
         a Tafel law; use law.butler_volmer or law.linear"
    )]
    OneWay,
    /// The supplies could not be brought to what they should hold.
    #[error(
        "the supplies did not come to rest: the current on the work stayed {off_percent:.2} % off \
         what was asked for; give the main supply's current or voltage instead"
    )]
    MeanNotMet {
        /// Remaining difference, %.
        off_percent: f64,
    },
    /// The other supplies leave nothing for the one that should see to the mean.
    #[error(
        "the other supplies alone give the work {others_a:.4} A, its mean current density takes \
         {wanted_a:.4} A: let them give less, or set the current of each supply"
    )]
    OthersGiveAll {
        /// What the others give, A.
        others_a: f64,
        /// What the mean takes, A.
        wanted_a: f64,
    },
    /// There is no network of the tank.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// The time steps shrank to nothing.
    #[error("after {time_s:.3} s the deposit changes too fast to be followed")]
    StepTooSmall {
        /// Time since the start, s.
        time_s: f64,
    },
    /// A body that travels meets something.
    #[error(
        "in one of its positions the surface of `{name}` differs by {off_percent:.1} %: on its way it leaves the liquid or \
         touches something; make the way shorter"
    )]
    OffItsWay {
        /// The electrode.
        name: String,
        /// Difference of its surface, %.
        off_percent: f64,
    },
    /// Stopped from outside.
    #[error("stopped")]
    Stopped,
    /// A state of another job or another version.
    #[error("the saved state does not belong to this job")]
    ForeignState,
}
