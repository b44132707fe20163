//! The bench of the physical tests: runs a tank, compares local current densities.

use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::{Kinetics, Polarisation};
use ionfall_deposit::{DepositError, Outcome, Settings, run};
use ionfall_mesh::grid::narrow::ACROSS;
use ionfall_mesh::grid::{Domain, Space};
use ionfall_mesh::solid::{Point, Solid};
use ionfall_model::{
    Geometry, Hold, Limits, Model, Parts, Role, Setting, Step, Supply, Tank, Until,
};
use ionfall_textbook::local::{self, Local};

/// A supply that holds something.
pub fn supply(hold: Hold) -> Supply {
    Supply {
        name: "supply".into(),
        hold,
        limits: Limits::default(),
        ammeter_share: None,
        anodes: Vec::new(),
        thieves: Vec::new(),
    }
}

/// A step that holds something until something.
pub fn step(hold: Hold, until: Until) -> Step {
    let at_most_s = match until {
        Until::Time(time_s) => time_s,
        _ => 1e9,
    };
    Step {
        name: "step".into(),
        setting: Setting::Hold(hold),
        off: Vec::new(),
        pulse: None,
        until,
        at_most_s,
    }
}

/// What the tests ask of a tank.
pub trait Bench<const D: usize>: Sized {
    /// With cells of `h` everywhere that asks for none, coarse cells up to `coarsest`; a volt.
    fn bench(space: Space, liquid: Solid<D>, kappa: f64, h: f64, coarsest: f64) -> Self;

    /// An electrode with its law, cells of `h`, and of `edge` at its edges.
    fn put(self, role: Role, solid: Solid<D>, law: Kinetics, h: f64, edge: f64) -> Self;

    /// Leaves the sizes of all bodies to the program where they are narrow.
    fn free(self) -> Self;

    /// What the grid is built from.
    fn domain(self) -> Domain<D>;

    /// Runs; everything must balance.
    fn run(self) -> Outcome<D>;

    /// Runs, or says why not. Without a plan: an hour, if nothing is coated. A coat would grow: its
    /// tests say themselves for how long.
    fn attempt(self) -> Result<Outcome<D>, DepositError>;
}

impl<const D: usize> Bench<D> for Tank<D>
where
    Geometry: From<Parts<D>>,
    Parts<D>: TryFrom<Geometry, Error = Geometry>,
{
    fn bench(space: Space, liquid: Solid<D>, kappa: f64, h: f64, coarsest: f64) -> Self {
        Tank::in_space(space, liquid)
            .conductivity_s_per_m(kappa)
            .wall_cells_m(h)
            .coarsest_m(coarsest)
            .voltage_v(1.0)
    }

    fn put(self, role: Role, solid: Solid<D>, law: Kinetics, h: f64, edge: f64) -> Self {
        let name = format!("{} {}", role.word(), self.bodies());
        self.electrode(role, &name, solid).law(law).cells_m(h, edge)
    }

    fn free(self) -> Self {
        self.cells_across(ACROSS)
    }

    fn domain(self) -> Domain<D> {
        let model = self.model().unwrap_or_else(|e| panic!("{e}"));
        Parts::try_from(model.geometry)
            .expect("as many coordinates")
            .domain
    }

    fn run(self) -> Outcome<D> {
        let outcome = self.attempt().unwrap_or_else(|e| panic!("{e}"));
        assert!(
            outcome.balance_error < 1e-8,
            "balance {:e}",
            outcome.balance_error
        );
        outcome
    }

    fn attempt(self) -> Result<Outcome<D>, DepositError> {
        let model = self.model().unwrap_or_else(|e| panic!("{e}"));
        let mut model = Model::<Parts<D>>::try_from(model).expect("as many coordinates");
        if model.plan.is_empty() && model.geometry.coats.is_empty() {
            model
                .plan
                .push(step(model.supplies[0].hold, Until::Time(3600.0)));
        }
        run(&model, &Settings::default(), &mut ())
    }
}

pub const PRIMARY: Kinetics = Kinetics::Primary;

pub fn linear(resistance_ohm_m2: f64) -> Kinetics {
    Kinetics::Law(Polarisation::new(Transfer::Linear { resistance_ohm_m2 }, None).unwrap())
}

pub fn tafel(exchange_a_per_m2: f64, slope_v: f64, limit: Option<f64>) -> Kinetics {
    let transfer = Transfer::Tafel {
        branch: Branch::Cathodic,
        exchange_a_per_m2,
        slope_v,
    };
    let limit = limit.map(|current_a_per_m2| Limit {
        current_a_per_m2,
        film_voltage_v: None,
    });
    Kinetics::Law(Polarisation::new(transfer, limit).unwrap())
}

/// Butler-Volmer with both branches, at 25 degC.
pub fn butler_volmer(exchange_a_per_m2: f64, alpha_a: f64, alpha_c: f64) -> Kinetics {
    let transfer = Transfer::ButlerVolmer {
        exchange_a_per_m2,
        alpha_a,
        alpha_c,
        temperature_k: 298.15,
    };
    Kinetics::Law(Polarisation::new(transfer, None).unwrap())
}

/// An anodic Tafel law.
pub fn anodic_tafel(exchange_a_per_m2: f64, slope_v: f64) -> Kinetics {
    let transfer = Transfer::Tafel {
        branch: Branch::Anodic,
        exchange_a_per_m2,
        slope_v,
    };
    Kinetics::Law(Polarisation::new(transfer, None).unwrap())
}

/// Current of a body, magnitude, A.
pub fn current_of<const D: usize>(outcome: &Outcome<D>, body: usize) -> f64 {
    outcome
        .grid
        .facets
        .iter()
        .zip(&outcome.solution.current_density_a_per_m2)
        .filter(|(f, _)| usize::from(f.body) == body)
        .map(|(f, i)| f.area_m2 * i)
        .sum::<f64>()
        .abs()
}

/// Current density magnitude of a body at a surface point, A/m2.
pub fn at<const D: usize>(outcome: &Outcome<D>, body: usize, x: &Point<D>) -> f64 {
    local::at(outcome, body, x).expect("the body has facets near the point")
}

/// Compares the current density magnitude on a body with `exact`, where that is known.
pub fn local<const D: usize>(
    outcome: &Outcome<D>,
    body: usize,
    exact: impl Fn(&Point<D>) -> Option<f64>,
) -> Local<D> {
    local::local(outcome, body, exact).expect("something to compare")
}
