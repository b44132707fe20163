//! A tank ready to be computed: plain data in SI units, no files, no text.
//!
//! ```text
//! job file --(job)--> Model <--(Tank)-- a program
//!                       |
//!            bath, geometry, supplies, plan, what is wanted
//!                       |
//!        Model<Parts<2>> or Model<Parts<3>>, once it is known how many coordinates there are
//! ```
//!
//! ```
//! use ionfall_mesh::solid::{Cuboid, Solid};
//! use ionfall_model::{Geometry, Role, Tank};
//!
//! let slab = |x0: f64, x1: f64| Cuboid::new([x0, 0.0, 0.0], [x1, 0.1, 0.1]).map(Solid::new);
//! let tank = Tank::sized_m([0.2, 0.1, 0.1])?
//!     .conductivity_s_per_m(20.0)
//!     .anode("anode", slab(0.19, 0.2)?)
//!     .current_a(1.0);
//! // A tank that cannot be computed is refused with its reason and the way out.
//! let refused = tank.clone().model().unwrap_err();
//! assert_eq!(refused.to_string(), "the tank has no work: add one with `work`");
//! let model = tank.work("plate", slab(0.05, 0.06)?).model()?;
//! assert!(matches!(model.geometry, Geometry::Solid(_)));
//! assert_eq!(model.geometry.electrodes()[1].role, Role::Work);
//! # Ok::<(), ionfall_model::TankError>(())
//! ```

mod build;
mod cells;
mod check;
mod error;
mod flow;
mod geometry;
mod model;
mod prices;
mod resolution;
mod role;
mod supply;
mod tank;
#[cfg(test)]
mod tests;
mod wall;

pub use cells::usual_cells_m;
pub use error::TankError;
pub use flow::Flow;
pub use geometry::{
    Coat, Contact, Electrode, Face, Geometry, Line, Parts, Reading, Travel, Turn, Zone,
};
pub use model::{
    COVERED_M, Known, Model, NamedFigure, Output, Outputs, Save, Significant, USUAL_BATH_CELLS,
    Wanted,
};
pub use prices::{Cost, Prices, Used};
pub use resolution::Resolution;
pub use role::Role;
pub use supply::{Hold, Limits, Pulse, Setting, Step, Supply, Until};
pub use tank::Tank;
pub use wall::Wall;
