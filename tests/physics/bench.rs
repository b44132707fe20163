//! The bench of the physical tests: builds a domain, runs it, compares local current densities.

use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::electrolyte::Given;
use ionfall_bath::{Electrolyte, Kinetics, Metal, Polarisation};
use ionfall_deposit::{Outcome, Settings, run};
use ionfall_job::{Electrode, Geometry, Model, Parts, Role, Save, Supply};
use ionfall_mesh::grid::{Body, BodyKind, Domain, Space};
use ionfall_mesh::solid::{Point, Solid};

/// A tank in the making.
pub struct Bench<const D: usize> {
    pub domain: Domain<D>,
    pub electrodes: Vec<Electrode>,
    pub kappa: f64,
    pub supply: Supply,
}

impl<const D: usize> Bench<D> {
    /// A tank with cells of `h` everywhere that asks for none, coarse cells up to `coarsest`.
    pub fn new(space: Space, tank: Solid<D>, kappa: f64, h: f64, coarsest: f64) -> Self {
        let domain = Domain {
            space,
            tank,
            bodies: Vec::new(),
            stop_offs: Vec::new(),
            sheets: Vec::new(),
            regions: Vec::new(),
            wall_m: h,
            coarsest_m: coarsest,
        };
        Self { domain, electrodes: Vec::new(), kappa, supply: Supply::Voltage(1.0) }
    }

    pub fn volts(mut self, v: f64) -> Self {
        self.supply = Supply::Voltage(v);
        self
    }

    pub fn amps(mut self, i: f64) -> Self {
        self.supply = Supply::Current(i);
        self
    }

    pub fn body(mut self, name: &str, solid: Solid<D>, kind: BodyKind, h: f64, edge: f64) -> Self {
        self.domain.bodies.push(Body {
            name: name.into(),
            solid,
            kind,
            finest_m: h,
            edge_m: edge,
        });
        self
    }

    pub fn electrode(
        mut self,
        role: Role,
        solid: Solid<D>,
        kinetics: Kinetics,
        h: f64,
        edge: f64,
    ) -> Self {
        let body = self.domain.bodies.len();
        let name = format!("{} {body}", role.word());
        self.electrodes.push(Electrode { body, name: name.clone(), role, kinetics });
        self.body(&name, solid, BodyKind::Electrode, h, edge)
    }

    pub fn run(self) -> Outcome<D>
    where
        Geometry: From<Parts<D>>,
    {
        let given = Given { conductivity_s_per_m: Some(self.kappa), ..Given::default() };
        let bath = Electrolyte::custom(Metal::COPPER, 25.0, &given).expect("a plain bath");
        let parts = Parts { domain: self.domain, electrodes: self.electrodes };
        let model = Model {
            title: String::new(),
            bath,
            geometry: Geometry::from(parts.clone()),
            supply: self.supply,
            time_s: Some(3600.0),
            wanted: None,
            save: Save { what: Vec::new(), folder: None },
        };
        let outcome = run(&model, &parts, &Settings::default(), &mut |_, _| {})
            .unwrap_or_else(|e| panic!("{e}"));
        assert!(outcome.balance_error < 1e-8, "balance {:e}", outcome.balance_error);
        outcome
    }
}

pub const PRIMARY: Kinetics = Kinetics::Primary;

pub fn linear(resistance_ohm_m2: f64) -> Kinetics {
    Kinetics::Law(Polarisation::new(Transfer::Linear { resistance_ohm_m2 }, None).unwrap())
}

pub fn tafel(exchange_a_per_m2: f64, slope_v: f64, limit: Option<f64>) -> Kinetics {
    let transfer = Transfer::Tafel { branch: Branch::Cathodic, exchange_a_per_m2, slope_v };
    let limit = limit.map(|current_a_per_m2| Limit { current_a_per_m2, film_voltage_v: None });
    Kinetics::Law(Polarisation::new(transfer, limit).unwrap())
}

/// Local errors of the current density on one body, relative to the exact local value.
#[derive(Clone, Copy, Debug)]
pub struct Local {
    /// Largest.
    pub max: f64,
    /// Area-weighted root mean square over that of the exact value.
    pub rms: f64,
    /// Facets compared.
    pub facets: usize,
}

/// Compares the current density magnitude on a body with `exact`, where that is known.
pub fn local<const D: usize>(
    outcome: &Outcome<D>,
    body: usize,
    exact: impl Fn(&Point<D>) -> Option<f64>,
) -> Local {
    let (mut max, mut error2, mut exact2, mut facets) = (0.0f64, 0.0, 0.0, 0);
    for (f, i) in outcome.grid.facets.iter().zip(&outcome.solution.current_density_a_per_m2) {
        if usize::from(f.body) != body {
            continue;
        }
        let Some(ex) = exact(&f.point) else { continue };
        let error = i.abs() - ex;
        max = max.max(error.abs() / ex);
        error2 += f.area_m2 * error * error;
        exact2 += f.area_m2 * ex * ex;
        facets += 1;
    }
    assert!(facets > 0, "nothing to compare");
    Local { max, rms: (error2 / exact2).sqrt(), facets }
}
