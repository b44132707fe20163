//! The derivative of a network at a solution, and what its transpose is good for.
//!
//! In the numbering of the network, with prescribed nodes `c` and all others `f`,
//!
//! ```text
//! A = [ A_ff  A_fc ]      (A x)_f: currents to be injected so that the potentials change by x
//!     [  0     I   ]      (A x)_c: changes of the prescribed potentials
//! ```
//! `A_ff` is not symmetric, because of probes and flux corrections. How a figure `J(phi, p)` of the
//! solution follows a parameter `p` of the imbalance `F(phi, p)` (currents that leave each node, less
//! what is injected; at prescribed nodes potential less what it should be) may be found by one solve
//! for each parameter, or by one solve for each figure:
//!
//! ```text
//! dJ/dp = J_p + J_phi x,   A x = -F_p          tangent
//!       = J_p - y F_p,     A^T y = J_phi       adjoint
//! ```

use crate::error::FieldError;
use crate::krylov::{MinimalResiduals, Operation};
use crate::law::Response;
use crate::preconditioner::Preconditioner;
use crate::real::Real;
use crate::system::{Operator, System};
use crate::vector::norm;
use sprs::{CsMat, TriMat};

/// Directions GMRES keeps before it restarts.
const RESTART: usize = 30;
/// Cycles after which a linear solve is given up.
const MOST_CYCLES: usize = 500;

/// The derivative of a network at its last solution, in the numbering of the network: `A x` is what has
/// to be injected so that the potentials change by `x`; at prescribed nodes `A` is the identity.
///
/// ```
/// # use ionfall_field::law::{Law, Response};
/// # use ionfall_field::network::{Address, Cell, Coupling, Facet, Network};
/// # use ionfall_field::{Settings, Solver};
/// # #[derive(Debug)]
/// # struct Plate;
/// # impl Law for Plate {
/// #     fn at_drop(&self, drop_v: f64) -> Response {
/// #         Response { current_a_per_m2: 100.0 * drop_v.sinh(), slope_s_per_m2: 100.0 * drop_v.cosh() }
/// #     }
/// #     fn drop_at(&self, current_a_per_m2: f64) -> f64 {
/// #         (current_a_per_m2 / 100.0).asinh()
/// #     }
/// # }
/// # let cell = |key| Address::electrolyte(Cell { key, level: 1 });
/// # let facet = |cell, metal| Facet {
/// #     cell, metal, area_m2: 0.01, series_m: 0.005, depth: 0.0, law: 0,
/// # };
/// // Two cells between two plates; the second plate's probe takes in both cells.
/// let mut network = Network {
///     addresses: vec![
///         cell(0),
///         cell(1),
///         Address::metal(),
///         Address::metal(),
///     ],
///     dimension: 3,
///     facets: vec![facet(0, 2), facet(1, 3)],
///     laws: vec![Box::new(Plate)],
///     fixed: vec![(2, 1.0), (3, 0.0)],
///     ..Network::default()
/// };
/// network.couplings_mut().links.push(Coupling { a: 0, b: 1, metres: 2.0 });
/// network.probes_mut().push([(0, 1.0)]);
/// network.probes_mut().push([(1, 0.8), (0, 0.2)]);
///
/// let mut solver = Solver::new(network)?;
/// solver.solve(&Settings::default(), None)?;
/// let mut tangent = solver.tangent().expect("just solved");
///
/// // As a sparse matrix: four nodes, not symmetric.
/// let matrix = tangent.matrix();
/// assert_eq!(matrix.shape(), (4, 4));
/// assert_ne!(matrix.get(0, 1), matrix.get(1, 0));
///
/// // The potentials follow the first plate's voltage; its own by just as much.
/// let x = tangent.solve(&[0.0, 0.0, 1.0, 0.0], 1e-10)?;
/// assert!((x[2] - 1.0).abs() < 1e-12 && 0.0 < x[1] && x[1] < x[0] && x[0] < 1.0);
/// let back = &matrix * &ndarray::Array1::from(x);
/// assert!((back[0].abs() + back[1].abs() + back[3].abs()) < 1e-8);
/// # Ok::<(), ionfall_field::FieldError>(())
/// ```
#[derive(Debug)]
pub struct Tangent<'a> {
    system: &'a System,
    responses: &'a [Response],
    preconditioner: &'a mut dyn Preconditioner,
    /// Does the preconditioner know the slopes?
    loaded: bool,
}

impl<'a> Tangent<'a> {
    pub(crate) fn new(
        system: &'a System,
        responses: &'a [Response],
        preconditioner: &'a mut dyn Preconditioner,
    ) -> Self {
        Tangent {
            system,
            responses,
            preconditioner,
            loaded: false,
        }
    }

    /// `A x`.
    ///
    /// # Panics
    /// Unless there is one number a node; as in all that follows.
    pub fn apply(&self, x: &[f64]) -> Vec<f64> {
        let x = self.placed(x);
        let mut y = vec![0.0; x.len()];
        (self.system).derivative(Operator::Corrected, self.responses, &x, &mut y);
        let unknowns = self.system.unknowns();
        for (node, other, g) in self.system.grounded() {
            y[node] -= g * x[other];
        }
        y[unknowns..].copy_from_slice(&x[unknowns..]);
        self.named(&y)
    }

    /// `A^T y`.
    pub fn apply_transposed(&self, y: &[f64]) -> Vec<f64> {
        let mut y = self.placed(y);
        let unknowns = self.system.unknowns();
        let prescribed = y.split_off(unknowns);
        y.resize(unknowns + prescribed.len(), 0.0);
        let mut x = vec![0.0; y.len()];
        (self.system).derivative_transposed(self.responses, &y, &mut x);
        for (x, y) in x[unknowns..].iter_mut().zip(prescribed) {
            *x += y;
        }
        self.named(&x)
    }

    /// Solves `A x = b` to a residual of `tolerance` relative to the right-hand side.
    ///
    /// # Errors
    /// [`FieldError::LinearNotConverged`].
    pub fn solve(&mut self, b: &[f64], tolerance: f64) -> Result<Vec<f64>, FieldError> {
        let mut b = self.placed(b);
        let unknowns = self.system.unknowns();
        // What the prescribed nodes do is known; take it to the right.
        let mut known = b.clone();
        known[..unknowns].fill(0.0);
        let mut by_known = vec![0.0; b.len()];
        (self.system).derivative(Operator::Corrected, self.responses, &known, &mut by_known);
        for (node, other, g) in self.system.grounded() {
            by_known[node] -= g * known[other];
        }
        for (b, k) in b[..unknowns].iter_mut().zip(by_known) {
            *b -= k;
        }
        b[unknowns..].fill(0.0);
        let derivative = Derivative {
            system: self.system,
            operator: Operator::Corrected,
            responses: self.responses,
        };
        let mut x = self.invert(&derivative, &b, tolerance)?;
        x[unknowns..].copy_from_slice(&known[unknowns..]);
        Ok(self.named(&x))
    }

    /// Solves `A^T y = b` to a residual of `tolerance` relative to the right-hand side.
    ///
    /// # Errors
    /// [`FieldError::LinearNotConverged`].
    pub fn solve_transposed(&mut self, b: &[f64], tolerance: f64) -> Result<Vec<f64>, FieldError> {
        let mut b = self.placed(b);
        let unknowns = self.system.unknowns();
        let prescribed = b[unknowns..].to_vec();
        b[unknowns..].fill(0.0);
        let transposed = Transposed {
            system: self.system,
            responses: self.responses,
        };
        let mut y = self.invert(&transposed, &b, tolerance)?;
        let mut by_unknowns = vec![0.0; y.len()];
        (self.system).derivative_transposed(self.responses, &y, &mut by_unknowns);
        for (k, b) in (unknowns..).zip(prescribed) {
            y[k] = b - by_unknowns[k];
        }
        Ok(self.named(&y))
    }

    /// How the current densities of the facets (A/m2) follow a change of the potentials.
    pub fn current_densities(&self, x: &[f64]) -> Vec<f64> {
        let x = self.placed(x);
        let facets = self.responses.iter().enumerate();
        facets
            .map(|(f, r)| r.slope_s_per_m2 * self.system.drive(Operator::Corrected, f, &x))
            .collect()
    }

    /// The transpose of that: how a sum of the current densities with these weights follows the
    /// potential of each node; the right-hand side of an adjoint.
    pub fn by_potential(&self, weights: &[f64]) -> Vec<f64> {
        let mut x = vec![0.0; self.system.nodes()];
        for (f, (response, w)) in self.responses.iter().zip(weights).enumerate() {
            self.system
                .add_drive(f, w * response.slope_s_per_m2, &mut x);
        }
        self.named(&x)
    }

    /// `A` as a matrix, in compressed rows.
    pub fn matrix(&self) -> CsMat<f64> {
        let nodes = self.system.nodes();
        let unknowns = self.system.unknowns();
        let mut names = vec![0; nodes];
        for (name, &place) in self.system.places().iter().enumerate() {
            names[place as usize] = name;
        }
        let mut triplets = TriMat::new((nodes, nodes));
        (self.system).each_entry(self.responses, &mut |row, column, value| {
            if row < unknowns {
                triplets.add_triplet(names[row], names[column], value);
            }
        });
        for &name in &names[unknowns..] {
            triplets.add_triplet(name, name, 1.0);
        }
        triplets.to_csr()
    }

    fn invert(
        &mut self,
        operation: &impl Operation,
        b: &[f64],
        tolerance: f64,
    ) -> Result<Vec<f64>, FieldError> {
        if !self.loaded {
            self.system.load(self.responses, self.preconditioner);
            self.loaded = true;
        }
        let mut x = vec![0.0; b.len()];
        let whole = norm(b);
        let outcome = MinimalResiduals::new(RESTART).solve(
            operation,
            self.preconditioner,
            b,
            &mut x,
            tolerance * whole,
            MOST_CYCLES,
        );
        if outcome.residual <= tolerance * whole {
            return Ok(x);
        }
        Err(FieldError::LinearNotConverged {
            cycles: outcome.iterations,
            residual: outcome.residual / whole,
        })
    }

    /// A vector in the solver's numbering.
    fn placed(&self, x: &[f64]) -> Vec<f64> {
        let places = self.system.places();
        assert_eq!(x.len(), places.len(), "one number a node");
        let mut y = vec![0.0; x.len()];
        for (&place, x) in places.iter().zip(x) {
            y[place as usize] = *x;
        }
        y
    }

    /// A vector in the network's numbering.
    fn named(&self, x: &[f64]) -> Vec<f64> {
        let places = self.system.places().iter();
        places.map(|&place| x[place as usize]).collect()
    }
}

/// The derivative among the unknowns.
pub(crate) struct Derivative<'a> {
    pub system: &'a System,
    pub operator: Operator,
    pub responses: &'a [Response],
}

impl Operation for Derivative<'_> {
    fn apply<X: Real>(&self, x: &[X], y: &mut [f64]) {
        self.system.derivative(self.operator, self.responses, x, y);
    }
}

/// The transpose of the corrected derivative among the unknowns.
struct Transposed<'a> {
    system: &'a System,
    responses: &'a [Response],
}

impl Operation for Transposed<'_> {
    fn apply<X: Real>(&self, x: &[X], y: &mut [f64]) {
        (self.system).derivative_transposed(self.responses, x, y);
        y[self.system.unknowns()..].fill(0.0);
    }
}
