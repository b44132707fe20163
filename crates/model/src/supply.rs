//! What drives the current: supplies, and the plan of what they do one after another.

/// A rectifier.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Name.
    pub name: String,
    /// What it holds constant.
    pub hold: Hold,
    /// The most that it can give.
    pub limits: Limits,
    /// By what share its ammeter may be off.
    pub ammeter_share: Option<f64>,
    /// Anodes on its positive side: numbers in [`Parts::electrodes`](crate::Parts::electrodes).
    pub anodes: Vec<usize>,
    /// Thieves on its negative side, numbers in [`Parts::electrodes`](crate::Parts::electrodes); without any, the works and
    /// the other thieves hang there.
    pub thieves: Vec<usize>,
}

/// The most that a supply can give.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    /// Volts; it falls to that voltage where more would be needed.
    pub voltage_v: Option<f64>,
    /// Amperes, where it holds a voltage; it falls to that current where more would flow. Where the current is
    /// pulsed, those of the forward time.
    pub current_a: Option<f64>,
}

/// What a supply holds constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// Constant current, A (planar jobs: through the whole depth; axisymmetric: whole turn).
    Current(f64),
    /// Constant voltage between its poles, V.
    Voltage(f64),
    /// Constant mean current density on the work, A/m2.
    MeanCurrentDensity(f64),
}

impl Hold {
    /// The same with its current times `factor`; a voltage stays.
    pub fn with_current_times(self, factor: f64) -> Self {
        match self {
            Self::Current(i) => Self::Current(factor * i),
            Self::Voltage(v) => Self::Voltage(v),
            Self::MeanCurrentDensity(i) => Self::MeanCurrentDensity(factor * i),
        }
    }
}

/// A step of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Name.
    pub name: String,
    /// What the main supply does.
    pub setting: Setting,
    /// Supplies that are off beside it, by number: no current passes through them.
    pub off: Vec<usize>,
    /// Shape of the current in time; a current of the setting is its average, a voltage that of the
    /// forward time.
    pub pulse: Option<Pulse>,
    /// When the step ends.
    pub until: Until,
    /// Longest time, s; the step ends then in any case.
    pub at_most_s: f64,
}

/// What the main supply does in a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Setting {
    /// Holds this.
    Hold(Hold),
    /// Rises or falls evenly over the time of the step, from the one to the other value (both of
    /// one kind).
    Ramp(Hold, Hold),
    /// All supplies are off.
    Rest,
}

/// Pulses, or forward and reverse current in turn, of all supplies together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// Forward time of a cycle, s.
    pub on_s: f64,
    /// Time without current in a cycle, s.
    pub off_s: f64,
    /// Reverse time of a cycle, s.
    pub reverse_s: f64,
    /// Reverse current over the forward current; it may be more than one.
    pub reverse_share: f64,
}

impl Pulse {
    /// Forward current over average current.
    ///
    /// ```
    /// let pulse = ionfall_model::Pulse {
    ///     on_s: 0.02,
    ///     off_s: 0.06,
    ///     reverse_s: 0.0,
    ///     reverse_share: 1.0,
    /// };
    /// assert!((pulse.peak_factor() - 4.0).abs() < 1e-12);
    /// ```
    pub fn peak_factor(&self) -> f64 {
        1.0 / (self.duty() - self.reverse_share * self.reverse_duty())
    }

    /// Forward time over the time of a cycle.
    pub fn duty(&self) -> f64 {
        self.on_s / self.cycle_s()
    }

    /// Reverse time over the time of a cycle.
    pub fn reverse_duty(&self) -> f64 {
        self.reverse_s / self.cycle_s()
    }

    fn cycle_s(&self) -> f64 {
        self.on_s + self.off_s + self.reverse_s
    }
}

/// When a step ends.
#[derive(Clone, Debug, PartialEq)]
pub enum Until {
    /// After a time, s.
    Time(f64),
    /// After the main supply has given a charge in this step, C.
    Charge(f64),
    /// When the thinnest place of a work (all works, if none is named) has a thickness, m.
    LeastThickness(f64, Option<String>),
    /// When the mean thickness of a work (all works, if none is named) has a value, m.
    MeanThickness(f64, Option<String>),
}
