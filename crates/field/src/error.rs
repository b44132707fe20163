//! What can be wrong with a network, or go wrong while it is solved.

use thiserror::Error;

/// Why a network has no solution, or none was found.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum FieldError {
    /// There are no nodes.
    #[error("the network has no nodes")]
    Empty,
    /// Arrays of different length, a node number out of range, a negative conductance or the like.
    #[error("the network is malformed: {0}")]
    Malformed(String),
    /// A part of the network in which no node has a prescribed potential, so that its level is
    /// undetermined. Every part that hangs together by links and facets needs one.
    #[error("node {node} belongs to a part that is not connected to any prescribed potential")]
    Floating {
        /// One node of that part (the first).
        node: u32,
    },
    /// The supplies ask electrodes for more than their limiting current.
    #[error(
        "a current of {demand_a} A is asked of electrodes that can carry no more than {largest_a} A"
    )]
    DemandAboveLimit {
        /// What is asked, A (anodic positive).
        demand_a: f64,
        /// The limiting current of the facets concerned, A, same sign.
        largest_a: f64,
    },
    /// A law, a conductance or a potential became infinite or not a number.
    #[error("the balance of node {node} is not a finite number")]
    NotFinite {
        /// First node concerned.
        node: u32,
    },
    /// Newton's method ran out of steps or could not reduce the imbalance any more.
    #[error(
        "no solution after {} Newton steps: the imbalance is still {:.3e} of the currents",
        residual_history.len().saturating_sub(1),
        residual_history.last().copied().unwrap_or(f64::NAN)
    )]
    NotConverged {
        /// Imbalance relative to the currents, before the first and after every step.
        residual_history: Vec<f64>,
    },
    /// A linear system with the derivative of a network could not be solved as closely as asked.
    #[error(
        "after {cycles} cycles the residual of the linear system is still {residual:.3e}: ask for less"
    )]
    LinearNotConverged {
        /// Cycles spent.
        cycles: usize,
        /// Residual relative to the right-hand side.
        residual: f64,
    },
}
