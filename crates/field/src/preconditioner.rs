//! What the Krylov methods ask of whatever points them in the right direction.
//!
//! A preconditioner belongs to the plain graph of a network: symmetric, every conductance positive.
//! The corrected operator and its transpose share it. The solver's own is one cycle of the multigrid
//! ([`Hierarchy`](crate::hierarchy::Hierarchy)).

use crate::graph::Graph;
use crate::hierarchy::Coarse;
use std::fmt::Debug;

/// About the inverse of a graph. It need not be linear; the methods around it are flexible.
pub(crate) trait Preconditioner: Debug + Send + Sync {
    /// The graph. Its conductances may be changed; [`refresh`](Self::refresh) must follow.
    fn graph(&mut self) -> &mut Graph<Coarse>;

    /// Takes notice of new conductances: `cells_too` if those between cells have changed, and not
    /// just those to hubs and to the ground.
    fn refresh(&mut self, cells_too: bool);

    /// About `A^-1 r`, the entries of `r` being of a size that single precision holds. The vector
    /// may be swapped for another of any length.
    fn apply(&mut self, r: &[Coarse]) -> &mut Vec<Coarse>;
}
