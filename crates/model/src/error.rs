//! What can be wrong with a tank that a program builds, said so that it can be mended.

use crate::role::Role;
use ionfall_bath::BathError;
use ionfall_mesh::solid::SolidError;
use thiserror::Error;

/// Why a tank is none.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TankError {
    /// A shape that cannot be made.
    #[error(transparent)]
    Solid(#[from] SolidError),
    /// A bath that cannot be.
    #[error(transparent)]
    Bath(#[from] BathError),
    /// No bath.
    #[error("nothing is said of the bath: give it with `bath` or `conductivity_s_per_m`")]
    NoBath,
    /// No electrode of a kind that every tank needs.
    #[error("the tank has no {}: add one with `{}`", .0.word(), .0.key())]
    NoElectrode(Role),
    /// Nothing drives the current.
    #[error(
        "nothing drives the current: say `current_a`, `voltage_v` or \
         `mean_current_density_a_per_m2`"
    )]
    NoSupply,
    /// A word about the body before it, but there is none that it fits.
    #[error("`{word}` speaks of the {of} added last, and there is none: add it first")]
    Before {
        /// The word of the builder.
        word: &'static str,
        /// What it speaks of.
        of: &'static str,
    },
    /// A figure that must be positive.
    #[error("{what} is {value}; it must be a positive number")]
    NotPositive {
        /// The figure.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A figure that must not be negative.
    #[error("{what} is {value}; it must be zero or a positive number")]
    Negative {
        /// The figure.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A tank without end.
    #[error("the liquid has no end in some direction: cut it with a box")]
    Endless,
    /// Space and coordinates do not belong together.
    #[error("the space has {space} coordinates, the solids have {solids}: use `Tank::<{space}>`")]
    Coordinates {
        /// Coordinates of the space.
        space: usize,
        /// Coordinates of the solids.
        solids: usize,
    },
    /// Two bodies of one name.
    #[error("the name `{0}` is used twice: give every body a name of its own")]
    NameTwice(String),
    /// A body outside the liquid.
    #[error("`{0}` lies outside the liquid: move it into the tank")]
    Outside(String),
    /// A side of the tank that is no wall.
    #[error("there is no wall on this side of the tank: name one that its liquid touches")]
    NoWall,
    /// A point outside the liquid.
    #[error(
        "nothing can be read at `{0}`, it lies outside the liquid: move the point into the tank"
    )]
    ReadOutside(String),
    /// A name that nothing has.
    #[error("no electrode is named `{name}`; there are: {known}")]
    Unknown {
        /// The name.
        name: String,
        /// All there are.
        known: String,
    },
    /// An electrode that is not what it would have to be.
    #[error("`{name}` is {}; {must}", .role.word())]
    WrongRole {
        /// The electrode.
        name: String,
        /// What it is.
        role: Role,
        /// What would do.
        must: &'static str,
    },
    /// A Tafel law on metal that is connected to nothing.
    #[error(
        "`{0}` floats and carries current both ways, a Tafel law carries it one way only: give it a \
         linear or a Butler-Volmer law"
    )]
    OneWay(String),
    /// A coat without a contact.
    #[error("the coat of `{0}` has no contact: say where the wire touches it with `contact`")]
    NoContact(String),
    /// A contact without a coat.
    #[error("`{0}` has a contact but no coat: metal conducts everywhere, leave the contact out")]
    NoCoat(String),
    /// A supply that names an electrode that is not there.
    #[error("the supply `{supply}` names electrode {number}, and there are {count}")]
    NoSuchElectrode {
        /// The supply.
        supply: String,
        /// What it names.
        number: usize,
        /// Electrodes there are.
        count: usize,
    },
    /// A supply without a way in or out of the bath.
    #[error("the supply `{0}` has no anode: name one that no other supply names")]
    Idle(String),
    /// An electrode on two supplies.
    #[error("`{0}` hangs on two supplies: name it in one of them")]
    TwoSupplies(String),
    /// A step of the plan that cannot be carried out.
    #[error("step `{step}`: {reason}")]
    Step {
        /// The step.
        step: String,
        /// Why not, and the way out.
        reason: &'static str,
    },
}
