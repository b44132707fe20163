//! A network that is solved again and again while its coefficients change.

use crate::attempt::{Start, find};
use crate::conductors::Conductors;
use crate::error::FieldError;
use crate::law::{Law, Response};
use crate::network::{Conductivity, Facet, Link, Network};
use crate::preconditioner::Preconditioner;
use crate::settings::Settings;
use crate::solution::{Solution, Timings, collect};
use crate::sorted::Sorted;
use crate::system::System;
use crate::tangent::Tangent;
use crate::validate::{conducts, given, links, malformed, validate};
use ionfall_numerics::clock::Stopwatch;

/// A network and all that is worth keeping from one solve to the next.
///
/// The structure is given once: nodes, links, facets, rows. Conductances, prescribed potentials,
/// injected currents, laws and the conductivity may change between solves. What is kept, and for how
/// long:
///
/// * the parts that hang together, until a conductance becomes zero or is zero no more;
/// * numbering and sorting, until other nodes are prescribed;
/// * the coarse levels of the multigrid, until then or until [`coarsen_anew`](Self::coarsen_anew):
///   which nodes are joined was settled by the conductances of that moment, the sums over them are
///   always those of the present ones;
/// * the slopes at the last solution, for the [`tangent`](Self::tangent), until anything changes.
///
/// A solve depends on the present network and on when the levels were made, on nothing else.
///
/// Two plates with a cell of bath between them, and a coat in front of the second:
///
/// ```
/// use ionfall_field::law::{Law, Response};
/// use ionfall_field::network::{Address, Cell, Conductivity, Facet, Link, Network};
/// use ionfall_field::{Settings, Solver};
///
/// /// A plate that drops 0.01 V for each A/m2.
/// #[derive(Debug)]
/// struct Plate;
///
/// impl Law for Plate {
///     fn at_drop(&self, drop_v: f64) -> Response {
///         Response { current_a_per_m2: 100.0 * drop_v, slope_s_per_m2: 100.0 }
///     }
///     fn drop_at(&self, current_a_per_m2: f64) -> f64 {
///         current_a_per_m2 / 100.0
///     }
/// }
///
/// let cell = Cell { key: 0, level: 0 };
/// let facet = |metal| Facet {
///     cell: 0, metal, area_m2: 0.01, series_m: 0.05, depth: 0.0, law: 0,
/// };
/// let mut network = Network {
///     addresses: vec![
///         Address::electrolyte(cell),
///         Address::metal(),
///         Address::coat(cell),
///         Address::metal(),
///     ],
///     dimension: 3,
///     conductivity: Conductivity::uniform(10.0),
///     links: vec![Link { a: 2, b: 3, conductance_s: 0.5 }],
///     facets: vec![facet(1), facet(2)],
///     laws: vec![Box::new(Plate)],
///     fixed: vec![(1, 1.0), (3, 0.0)],
///     ..Network::default()
/// };
/// network.probes_mut().push([(0, 1.0)]);
/// network.probes_mut().push([(0, 1.0)]);
///
/// let mut solver = Solver::new(network)?;
/// let settings = Settings::default();
/// let thin = solver.solve(&settings, None)?;
/// // Twice 0.015 ohm m2 over 0.01 m2, and 2 ohm of coat.
/// assert!((0.01 * thin.current_density_a_per_m2[0] - 1.0 / 5.0).abs() < 1e-9);
///
/// // The coat grows: only its link changes, the rest of the setup stays.
/// solver.set_conductances(0, &[1.0])?;
/// let thick = solver.solve(&settings, Some(&thin.potential_v))?;
/// assert!((0.01 * thick.current_density_a_per_m2[0] - 1.0 / 4.0).abs() < 1e-9);
/// # Ok::<(), ionfall_field::FieldError>(())
/// ```
#[derive(Debug)]
pub struct Solver {
    form: Form,
    conductors: Option<Conductors>,
    preconditioner: Option<Box<dyn Preconditioner>>,
    /// Have links changed that the preconditioner does not know of?
    changed: bool,
    /// Facets at the last solution.
    responses: Option<Vec<Response>>,
}

/// The network as it was given, or in the solver's numbering.
#[derive(Debug)]
enum Form {
    Given(Box<Network>),
    Sorted(Box<System>),
}

impl Solver {
    /// Takes a network over.
    ///
    /// # Errors
    /// [`FieldError::Empty`] or [`FieldError::Malformed`].
    pub fn new(network: Network) -> Result<Self, FieldError> {
        validate(&network)?;
        Ok(Self::of_valid(network))
    }

    fn of_valid(network: Network) -> Self {
        Solver {
            form: Form::Given(Box::new(network)),
            conductors: None,
            preconditioner: None,
            changed: false,
            responses: None,
        }
    }

    /// Gives the network back as it is now.
    pub fn into_network(self) -> Network {
        match self.form {
            Form::Given(network) => *network,
            Form::Sorted(system) => system.network,
        }
    }

    fn network(&self) -> &Network {
        match &self.form {
            Form::Given(network) => network,
            Form::Sorted(system) => &system.network,
        }
    }

    fn network_mut(&mut self) -> &mut Network {
        self.responses = None;
        match &mut self.form {
            Form::Given(network) => network,
            Form::Sorted(system) => &mut system.network,
        }
    }

    /// Number of nodes.
    pub fn nodes(&self) -> usize {
        self.network().addresses.len()
    }

    /// The links beside those of the electrolyte.
    pub fn links(&self) -> &[Link] {
        &self.network().links
    }

    /// The facets.
    pub fn facets(&self) -> &[Facet] {
        &self.network().facets
    }

    /// The laws.
    pub fn laws(&self) -> &[Box<dyn Law>] {
        &self.network().laws
    }

    /// The nodes that are [plain](Network::plain) by now, ascending.
    pub fn plain(&self) -> &[u32] {
        &self.network().plain
    }

    /// Prescribes potentials (V) and injects currents (A), in place of all that were.
    ///
    /// # Errors
    /// [`FieldError::Malformed`]; nothing has changed then.
    pub fn supply(
        &mut self,
        fixed: Vec<(u32, f64)>,
        injected: Vec<(u32, f64)>,
    ) -> Result<(), FieldError> {
        given(&fixed, &injected)?;
        self.named(fixed.iter().chain(&injected).map(|g| g.0))?;
        let nodes = |given: &[(u32, f64)]| {
            let mut nodes: Vec<u32> = given.iter().map(|g| g.0).collect();
            nodes.sort_unstable();
            nodes
        };
        if nodes(&self.network().fixed) != nodes(&fixed) {
            self.unsort();
        }
        let network = self.network_mut();
        network.fixed = fixed;
        network.injected = injected;
        if let Form::Sorted(system) = &mut self.form {
            system.connect();
        }
        Ok(())
    }

    /// Gives the [`links`](Self::links) from number `first` on other conductances, S.
    ///
    /// # Errors
    /// [`FieldError::Malformed`]; nothing has changed then.
    pub fn set_conductances(
        &mut self,
        first: usize,
        conductances_s: &[f64],
    ) -> Result<(), FieldError> {
        let end = first.saturating_add(conductances_s.len());
        let Some(old) = self.links().get(first..end) else {
            let count = self.links().len();
            return malformed(format!(
                "links {first}..{end} are named, but there are {count}"
            ));
        };
        let both = old.iter().zip(conductances_s);
        let new = both.map(|(link, &conductance_s)| Link {
            conductance_s,
            ..*link
        });
        let joined = |link: &Link| link.conductance_s > 0.0;
        let parted = new.clone().zip(old).any(|(a, b)| joined(&a) != joined(b));
        links(new, first)?;
        if parted {
            self.conductors = None;
        }
        self.changed = true;
        self.responses = None;
        match &mut self.form {
            Form::Given(network) => {
                for (link, &g) in network.links[first..end].iter_mut().zip(conductances_s) {
                    link.conductance_s = g;
                }
            }
            Form::Sorted(system) => system.set_links(first, conductances_s),
        }
        Ok(())
    }

    /// Puts another law in the place of one.
    ///
    /// # Errors
    /// [`FieldError::Malformed`] if there is no such law.
    pub fn set_law(&mut self, law: usize, new: Box<dyn Law>) -> Result<(), FieldError> {
        let count = self.laws().len();
        match self.network_mut().laws.get_mut(law) {
            Some(old) => *old = new,
            None => return malformed(format!("law {law} is named, but there are {count}")),
        }
        Ok(())
    }

    /// Gives the electrolyte another conductivity.
    ///
    /// # Errors
    /// [`FieldError::Malformed`] if it is not positive and finite; nothing has changed then.
    pub fn set_conductivity(&mut self, conductivity: Conductivity) -> Result<(), FieldError> {
        conducts(conductivity)?;
        self.changed = true;
        self.responses = None;
        match &mut self.form {
            Form::Given(network) => network.conductivity = conductivity,
            Form::Sorted(system) => system.set_conductivity(conductivity),
        }
        Ok(())
    }

    /// Makes nodes [plain](Network::plain), besides those that are already.
    ///
    /// # Errors
    /// [`FieldError::Malformed`] if there is no such node.
    pub fn make_plain(&mut self, nodes: &[u32]) -> Result<(), FieldError> {
        self.named(nodes.iter().copied())?;
        self.responses = None;
        match &mut self.form {
            Form::Given(network) => network.make_plain(nodes.iter().copied()),
            Form::Sorted(system) => system.make_plain(nodes.iter().copied()),
        };
        Ok(())
    }

    /// Lets the next solve choose anew which nodes the coarse levels join.
    pub fn coarsen_anew(&mut self) {
        self.preconditioner = None;
    }

    fn named(&self, mut nodes: impl Iterator<Item = u32>) -> Result<(), FieldError> {
        let count = self.nodes();
        match nodes.find(|&node| node as usize >= count) {
            Some(node) => malformed(format!("node {node} is named, but there are {count}")),
            None => Ok(()),
        }
    }

    /// Back to the network as it was given: other nodes will be unknowns.
    fn unsort(&mut self) {
        let form = std::mem::replace(&mut self.form, Form::Given(Box::default()));
        self.form = match form {
            Form::Sorted(system) => Form::Given(Box::new(system.network)),
            given => given,
        };
        self.preconditioner = None;
    }

    /// Finds what hangs together, and sorts, where that is not known.
    fn sort(&mut self) {
        let unknown = self.conductors.is_none();
        let of = |network: &Network| unknown.then(|| Conductors::new(network));
        let (form, found) = match std::mem::replace(&mut self.form, Form::Given(Box::default())) {
            Form::Given(network) => {
                let (found, sorted) = rayon::join(|| of(&network), || Sorted::new(&network));
                (Box::new(System::new(*network, sorted)), found)
            }
            Form::Sorted(system) => {
                let found = of(&system.network);
                (system, found)
            }
        };
        self.form = Form::Sorted(form);
        self.conductors = found.or_else(|| self.conductors.take());
    }

    /// Finds the potentials at which the network balances, beginning from chords of the laws or from
    /// given node potentials, V, such as those of an earlier solution.
    ///
    /// Every solution keeps the maximum principle: potentials lie between those of the metals, and no
    /// current flows out of the lowest of them. Where the corrected network breaks it the nodes
    /// concerned are made [plain](Self::plain) and the solve goes on from there. If all are plain,
    /// the network is the gradient of a convex function, which has one minimum and is always found.
    ///
    /// # Errors
    /// See [`FieldError`]; a network that passes the checks has exactly one solution.
    pub fn solve(
        &mut self,
        settings: &Settings,
        start: Option<&[f64]>,
    ) -> Result<Solution, FieldError> {
        self.solve_watched(settings, start, &mut |_| ())
    }

    /// As [`solve`](Self::solve); somebody is told the imbalance, relative to the currents, before each
    /// Newton step.
    ///
    /// # Errors
    /// As of [`solve`](Self::solve).
    pub fn solve_watched(
        &mut self,
        settings: &Settings,
        start: Option<&[f64]>,
        told: &mut dyn FnMut(f64),
    ) -> Result<Solution, FieldError> {
        let clock = Stopwatch::start();
        if let Some(start) = start
            && start.len() != self.nodes()
        {
            return malformed(format!(
                "the start has {} nodes, the network {}",
                start.len(),
                self.nodes()
            ));
        }
        self.responses = None;
        self.sort();
        let (Form::Sorted(system), Some(conductors)) = (&mut self.form, &mut self.conductors)
        else {
            unreachable!("both are there once sorted");
        };
        let foreseen = conductors.check(&system.network)?;
        let preconditioner = match &mut self.preconditioner {
            Some(kept) => {
                if self.changed {
                    system.load_links(&mut **kept);
                }
                kept
            }
            none => none.insert(Box::new(system.hierarchy())),
        };
        self.changed = false;
        let setup_s = clock.seconds();
        let clock = Stopwatch::start();
        let start = Start {
            potential_v: start,
            foreseen: foreseen.as_deref(),
        };
        let (state, record) = find(system, &mut **preconditioner, settings, start, told)?;
        let mut solution = collect(system, &state, record);
        self.responses = Some(state.responses);
        solution.timings = Timings {
            setup_s,
            solve_s: clock.seconds(),
        };
        Ok(solution)
    }

    /// The network's derivative at the last solution; nothing if anything has changed since, or
    /// nothing has been solved.
    pub fn tangent(&mut self) -> Option<Tangent<'_>> {
        let (Form::Sorted(system), Some(responses), Some(preconditioner)) =
            (&self.form, &self.responses, &mut self.preconditioner)
        else {
            return None;
        };
        Some(Tangent::new(system, responses, &mut **preconditioner))
    }
}

/// Solves a network once. It comes back as it was, but for nodes that became
/// [plain](Network::plain); see [`Solver::solve`].
///
/// # Errors
/// See [`FieldError`]; a network that passes the checks has exactly one solution.
pub fn solve(
    network: &mut Network,
    settings: &Settings,
    start: Option<&[f64]>,
) -> Result<Solution, FieldError> {
    validate(network)?;
    let mut solver = Solver::of_valid(std::mem::take(network));
    let solution = solver.solve(settings, start);
    *network = solver.into_network();
    solution
}
