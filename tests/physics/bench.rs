//! The bench of the physical tests: builds a domain, runs it, compares local current densities.

use ionfall_bath::electrolyte::Given;
use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::{Electrolyte, Kinetics, Polarisation};
use ionfall_deposit::{DepositError, Outcome, Settings, run};
use ionfall_mesh::grid::narrow::ACROSS;
use ionfall_mesh::grid::{Body, BodyKind, Domain, Space};
use ionfall_mesh::solid::{Point, Solid};
use ionfall_model::{
    COVERED_M, Coat, Contact, Electrode, Geometry, Hold, Model, Parts, Role, Save, Setting, Step,
    Supply, Until,
};
use ionfall_textbook::local::{self, Local};

/// A tank in the making.
pub struct Bench<const D: usize> {
    pub domain: Domain<D>,
    pub electrodes: Vec<Electrode>,
    pub kappa: f64,
    pub coats: Vec<Coat<D>>,
    pub contacts: Vec<Contact<D>>,
    /// Main supply first; anodes that no other supply names are put on it.
    pub supplies: Vec<Supply>,
    pub plan: Vec<Step>,
    /// Deposit that does not conduct yet, on coats added from here on, m.
    pub islands_m: f64,
    /// Resistivity of the deposit instead of copper's, ohm m.
    pub resistivity_ohm_m: Option<f64>,
    /// When surfaces are kept, s.
    pub save_s: Vec<f64>,
}

/// A supply that holds something.
pub fn supply(hold: Hold) -> Supply {
    Supply {
        name: "supply".into(),
        hold,
        voltage_limit_v: None,
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
        pulse: None,
        until,
        at_most_s,
    }
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
        Self {
            domain,
            electrodes: Vec::new(),
            kappa,
            coats: Vec::new(),
            contacts: Vec::new(),
            supplies: vec![supply(Hold::Voltage(1.0))],
            plan: Vec::new(),
            islands_m: 0.0,
            resistivity_ohm_m: None,
            save_s: Vec::new(),
        }
    }

    pub fn hold(mut self, hold: Hold) -> Self {
        self.supplies[0].hold = hold;
        self
    }

    pub fn volts(self, v: f64) -> Self {
        self.hold(Hold::Voltage(v))
    }

    pub fn amps(self, i: f64) -> Self {
        self.hold(Hold::Current(i))
    }

    /// Coats the electrode added last.
    pub fn coat(mut self, sheet_resistance_ohm: f64) -> Self {
        self.coats.push(Coat {
            electrode: self.electrodes.len() - 1,
            region: None,
            sheet_resistance_ohm,
            islands_m: self.islands_m,
        });
        self
    }

    /// A contact to the coat of the electrode added last.
    pub fn contact(mut self, region: Solid<D>, resistance_ohm: f64) -> Self {
        self.contacts.push(Contact {
            electrode: self.electrodes.len() - 1,
            name: format!("contact {}", self.contacts.len() + 1),
            region,
            resistance_ohm,
        });
        self
    }

    /// Gives the electrode added last a lead.
    pub fn lead(mut self, ohm: f64) -> Self {
        if let Some(e) = self.electrodes.last_mut() {
            e.lead_ohm = ohm;
        }
        self
    }

    pub fn body(mut self, name: &str, solid: Solid<D>, kind: BodyKind, h: f64, edge: f64) -> Self {
        self.domain.bodies.push(Body {
            name: name.into(),
            solid,
            kind,
            finest_m: h,
            edge_m: edge,
            across: 0.0,
        });
        self
    }

    /// Leaves the sizes of all bodies so far to the program where they are narrow.
    pub fn free(mut self) -> Self {
        for body in &mut self.domain.bodies {
            body.across = ACROSS;
        }
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
        self.electrodes.push(Electrode {
            body,
            name: name.clone(),
            role,
            kinetics,
            lead_ohm: 0.0,
        });
        self.body(&name, solid, BodyKind::Electrode, h, edge)
    }

    /// Runs; everything must balance.
    pub fn run(self) -> Outcome<D>
    where
        Geometry: From<Parts<D>>,
    {
        let outcome = self.attempt().unwrap_or_else(|e| panic!("{e}"));
        assert!(
            outcome.balance_error < 1e-8,
            "balance {:e}",
            outcome.balance_error
        );
        outcome
    }

    /// Runs, or says why not.
    pub fn attempt(self) -> Result<Outcome<D>, DepositError>
    where
        Geometry: From<Parts<D>>,
    {
        let given = Given {
            conductivity_s_per_m: Some(self.kappa),
            ..Given::default()
        };
        let mut bath =
            Electrolyte::custom(ionfall_bath::metal::COPPER, 25.0, &given).expect("a plain bath");
        if let Some(resistivity_ohm_m) = self.resistivity_ohm_m {
            bath.metal.resistivity.value = resistivity_ohm_m;
        }
        let parts = Parts {
            domain: self.domain,
            electrodes: self.electrodes,
            coats: self.coats,
            contacts: self.contacts,
            zones: Vec::new(),
            lines: Vec::new(),
        };
        let mut supplies = self.supplies;
        let free: Vec<usize> = (0..parts.electrodes.len())
            .filter(|n| parts.electrodes[*n].role == Role::Anode)
            .filter(|n| supplies.iter().all(|s| !s.anodes.contains(n)))
            .collect();
        supplies[0].anodes.extend(free);
        // A coat would grow: its tests say themselves for how long.
        let plan = if self.plan.is_empty() && parts.coats.is_empty() {
            vec![step(supplies[0].hold, Until::Time(3600.0))]
        } else {
            self.plan
        };
        let model = Model {
            title: String::new(),
            bath,
            geometry: Geometry::from(parts.clone()),
            supplies,
            plan,
            covered_m: COVERED_M,
            wanted: None,
            save: Save {
                what: Vec::new(),
                folder: None,
                at_s: self.save_s,
            },
            notes: Vec::new(),
            fingerprint: 0,
        };
        run(&model, &parts, &Settings::default(), &mut |_, _| {})
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
