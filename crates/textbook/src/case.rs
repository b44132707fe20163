//! A case: a job, what is read off its answer, and what the table or a formula says.

use crate::solved::Solved;

/// An exact curve: magnitude of the current density at a point (A/m2, or over the mean), nothing
/// where it is not compared.
pub type Exact = Box<dyn Fn(&[f64; 3]) -> Option<f64> + Send + Sync>;

/// A classic case.
pub struct Case {
    /// Its name, also of its job.
    pub name: &'static str,
    /// Its job.
    pub job: &'static str,
    /// The job as it stands, and with figures changed.
    pub variants: Vec<Variant>,
    /// The profile that is drawn.
    pub profile: Option<Profile>,
}

/// A profile along a body.
pub struct Profile {
    /// The body.
    pub body: &'static str,
    /// Where a point lies on it; nothing where it is left out.
    pub along: fn(&[f64; 3]) -> Option<f64>,
    /// What that is, with unit.
    pub across: &'static str,
    /// Divided by the mean?
    pub over_mean: bool,
}

/// The job with some of its figures changed.
pub struct Variant {
    /// What sets it apart; empty where there is but one.
    pub label: &'static str,
    /// Entry of the table.
    pub id: &'static str,
    /// Texts of the job and what stands in their place.
    pub changes: Vec<(&'static str, &'static str)>,
    /// What is compared.
    pub quantities: Vec<Quantity>,
}

/// Something that is compared.
pub struct Quantity {
    /// What it is.
    pub name: String,
    /// Its unit, as printed.
    pub unit: &'static str,
    /// How it is read.
    pub reading: Reading,
    /// Reference value; of curves that at the worst place is computed.
    pub reference: f64,
    /// Difference that is allowed.
    pub tolerance: Tolerance,
    /// Least order of convergence that the tests ask for, where an order makes sense.
    pub least_order: Option<f64>,
}

/// What a difference may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tolerance {
    /// As a share of the reference value.
    Share(f64),
    /// In the unit of the quantity.
    Plain(f64),
}

/// A function that reads a number off an answer.
pub type Reader = Box<dyn Fn(&Solved) -> Option<f64> + Send + Sync>;

/// How a quantity is read off an answer.
pub enum Reading {
    /// Current density of a body at a point, A/m2.
    At(&'static str, [f64; 3]),
    /// The same over the mean of the body.
    OverMean(&'static str, [f64; 3]),
    /// Largest local difference from an exact curve, A/m2.
    Curve(&'static str, Exact),
    /// The same where the curve is over the mean.
    CurveOverMean(&'static str, Exact),
    /// Anything else.
    Other(Reader),
}

impl Case {
    /// A case without variants yet.
    pub fn new((name, job): (&'static str, &'static str)) -> Self {
        Self {
            name,
            job,
            variants: Vec::new(),
            profile: None,
        }
    }

    /// Adds a variant.
    pub fn with(mut self, variant: Variant) -> Self {
        self.variants.push(variant);
        self
    }

    /// Says what is drawn: current density along a body.
    pub fn drawn(
        mut self,
        body: &'static str,
        across: &'static str,
        along: fn(&[f64; 3]) -> Option<f64>,
    ) -> Self {
        self.profile = Some(Profile {
            body,
            along,
            across,
            over_mean: false,
        });
        self
    }

    /// Draws over the mean.
    pub fn over_mean(mut self) -> Self {
        if let Some(profile) = &mut self.profile {
            profile.over_mean = true;
        }
        self
    }

    /// What the comment in the first lines of the job says: what it shows, the formula, the source.
    pub fn told(&self) -> [&'static str; 3] {
        let mut lines = self.job.lines().map(|l| l.trim_start_matches("# "));
        std::array::from_fn(|_| lines.next().unwrap_or(""))
    }

    /// Ids of the entries of the table it stands for.
    pub fn ids(&self) -> Vec<&'static str> {
        let mut ids: Vec<_> = self.variants.iter().map(|v| v.id).collect();
        ids.dedup();
        ids
    }
}

impl Variant {
    /// The job as it stands, for an entry of the table.
    pub fn new(id: &'static str, label: &'static str) -> Self {
        Self {
            label,
            id,
            changes: Vec::new(),
            quantities: Vec::new(),
        }
    }

    /// Changes a text of the job that occurs in it once or several times.
    pub fn change(mut self, from: &'static str, to: &'static str) -> Self {
        self.changes.push((from, to));
        self
    }

    /// Compares a quantity with a reference value.
    pub fn check(
        mut self,
        name: impl Into<String>,
        unit: &'static str,
        reading: Reading,
        reference: f64,
        tolerance: Tolerance,
    ) -> Self {
        self.quantities.push(Quantity {
            name: name.into(),
            unit,
            reading,
            reference,
            tolerance,
            least_order: None,
        });
        self
    }

    /// Compares the current of the main supply, whatever it is called, in A, over `unit`.
    pub fn current(
        self,
        name: &'static str,
        unit: (&'static str, f64),
        reference: f64,
        tolerance: Tolerance,
    ) -> Self {
        let read = move |s: &Solved| Some(s.current_a() / unit.1);
        self.other(name, unit.0, read, reference, tolerance)
    }

    /// Compares current densities of a body at points (named, in planar or revolved coordinates).
    pub fn places<N: AsRef<str>>(
        self,
        body: &'static str,
        places: &[(N, [f64; 2], f64)],
        tolerance: Tolerance,
    ) -> Self {
        self.rows("A/m2", "", |at| Reading::At(body, at), places, tolerance)
    }

    /// The same over the mean of the body.
    pub fn shares<N: AsRef<str>>(
        self,
        body: &'static str,
        places: &[(N, [f64; 2], f64)],
        tolerance: Tolerance,
    ) -> Self {
        let read = |at| Reading::OverMean(body, at);
        self.rows("", "i/i_avg, ", read, places, tolerance)
    }

    fn rows<N: AsRef<str>>(
        self,
        unit: &'static str,
        what: &str,
        read: impl Fn([f64; 3]) -> Reading,
        places: &[(N, [f64; 2], f64)],
        tolerance: Tolerance,
    ) -> Self {
        places.iter().fold(self, |variant, (name, [x, y], value)| {
            let name = format!("{what}{}", name.as_ref());
            variant.check(name, unit, read([*x, *y, 0.0]), *value, tolerance)
        })
    }

    /// Compares the voltage of the main supply, whatever it is called, V.
    pub fn voltage(self, name: &'static str, reference: f64, tolerance: Tolerance) -> Self {
        let read = |s: &Solved| Some(s.voltage_v());
        self.other(name, "V", read, reference, tolerance)
    }

    /// Compares something read by a function.
    pub fn other(
        self,
        name: impl Into<String>,
        unit: &'static str,
        read: impl Fn(&Solved) -> Option<f64> + Send + Sync + 'static,
        reference: f64,
        tolerance: Tolerance,
    ) -> Self {
        self.check(
            name,
            unit,
            Reading::Other(Box::new(read)),
            reference,
            tolerance,
        )
    }

    /// Compares the whole surface of a body with an exact curve.
    pub fn curve(
        self,
        name: impl Into<String>,
        body: &'static str,
        exact: impl Fn(&[f64; 3]) -> Option<f64> + Send + Sync + 'static,
        tolerance: Tolerance,
    ) -> Self {
        let reading = Reading::Curve(body, Box::new(exact));
        self.check(name, "A/m2", reading, f64::NAN, tolerance)
    }

    /// Asks for an order of convergence of the quantity named last.
    pub fn order(mut self, least: f64) -> Self {
        if let Some(quantity) = self.quantities.last_mut() {
            quantity.least_order = Some(least);
        }
        self
    }
}
