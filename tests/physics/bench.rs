//! The bench of the physical tests: builds a domain, runs it, compares local current densities.

use ionfall_bath::electrolyte::Given;
use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::{Electrolyte, Kinetics, Polarisation};
use ionfall_deposit::{DepositError, Outcome, Settings, run};
use ionfall_job::{
    COVERED_M, Coat, Contact, Electrode, Geometry, Hold, Model, Parts, Role, Save, Setting, Step,
    Supply, Until,
};
use ionfall_mesh::grid::{Body, BodyKind, Domain, Space};
use ionfall_mesh::solid::{Point, Solid};

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

/// Current density magnitude of a body at a surface point, A/m2: quadratic least squares over the
/// facets around that face the same way.
pub fn at<const D: usize>(outcome: &Outcome<D>, body: usize, x: &Point<D>) -> f64 {
    let apart = |a: &Point<D>, b: &Point<D>| -> Point<D> { std::array::from_fn(|k| a[k] - b[k]) };
    let dot = |a: &Point<D>, b: &Point<D>| -> f64 { (0..D).map(|k| a[k] * b[k]).sum() };
    let grid = &outcome.grid;
    let own = || (0..grid.facets.len()).filter(|&f| usize::from(grid.facets[f].body) == body);
    let far = |f: usize| {
        let d = apart(&grid.facets[f].point, x);
        dot(&d, &d).sqrt()
    };
    let nearest = own()
        .min_by(|&a, &b| far(a).total_cmp(&far(b)))
        .expect("the body has facets");
    let h = grid.size_m(grid.facet_node[nearest] as usize);
    assert!(far(nearest) < 1.5 * h, "no facet near the point");
    let normal = grid.facets[nearest].normal;
    let mut rows: Vec<(Vec<f64>, f64, f64)> = Vec::new();
    for f in own().filter(|&f| far(f) < 3.0 * h) {
        let facet = &grid.facets[f];
        if dot(&facet.normal, &normal) < 0.5 {
            continue;
        }
        let d = apart(&facet.point, x);
        let along: Point<D> = std::array::from_fn(|k| (d[k] - dot(&d, &normal) * normal[k]) / h);
        // Tangential monomials; the normal direction is taken out by the projection.
        let mut m = vec![1.0];
        let skip = (0..D)
            .max_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs()))
            .unwrap();
        let t: Vec<f64> = (0..D).filter(|&k| k != skip).map(|k| along[k]).collect();
        m.extend(&t);
        for a in 0..t.len() {
            for b in a..t.len() {
                m.push(t[a] * t[b]);
            }
        }
        let weight = facet.area_m2 / (1.0 + dot(&along, &along));
        rows.push((
            m,
            outcome.solution.current_density_a_per_m2[f].abs(),
            weight,
        ));
    }
    let n = rows[0].0.len();
    let mut a = vec![vec![0.0; n + 1]; n];
    let scale: f64 = rows.iter().map(|r| r.2).sum();
    for (m, value, w) in &rows {
        for i in 0..n {
            for j in 0..n {
                a[i][j] += w / scale * m[i] * m[j];
            }
            a[i][n] += w / scale * m[i] * value;
        }
    }
    solve_dense(&mut a)[0]
}

/// Gaussian elimination with pivoting of an n x (n + 1) system.
pub fn solve_dense(a: &mut [Vec<f64>]) -> Vec<f64> {
    let n = a.len();
    for c in 0..n {
        let pivot = (c..n)
            .max_by(|&p, &q| a[p][c].abs().total_cmp(&a[q][c].abs()))
            .unwrap();
        a.swap(c, pivot);
        for r in c + 1..n {
            let f = a[r][c] / a[c][c];
            for k in c..=n {
                a[r][k] -= f * a[c][k];
            }
        }
    }
    let mut x = vec![0.0; n];
    for r in (0..n).rev() {
        let s: f64 = (r + 1..n).map(|k| a[r][k] * x[k]).sum();
        x[r] = (a[r][n] - s) / a[r][r];
    }
    x
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
    for (f, i) in outcome
        .grid
        .facets
        .iter()
        .zip(&outcome.solution.current_density_a_per_m2)
    {
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
    Local {
        max,
        rms: (error2 / exact2).sqrt(),
        facets,
    }
}
