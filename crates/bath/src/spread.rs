//! A bath at the ends of its bands, for answers with a band of their own.
//!
//! One input at a time is put to its low and its high end: conductivity, exchange current density,
//! Tafel slope or cathodic transfer coefficient (whichever the law is made of: the strongest lever on evenness),
//! limiting current (film, diffusion and concentration together). That is a designed set of at most
//! eight runs beside the one in the middle. The laws of anodes that the bath knows go with those of the work, by
//! the same factors. An answer `y` then has the band
//!
//! ```text
//! y - sqrt(sum_k down_k^2)  to  y + sqrt(sum_k up_k^2)
//! down_k = max(0, y - min(y_k,low, y_k,high)),  up_k = max(0, max(y_k,low, y_k,high) - y)
//! ```
//! which holds for inputs that are independent and effects that add. What the job says is taken at its
//! word, also where it happens to equal what the bath says; each law knows whose figures it is made of
//! ([`Origin`]).

use crate::electrolyte::Electrolyte;
use crate::figure::{Figure, Origin};
use crate::kinetics::{Kinetics, Polarisation};
use crate::parameter::Parameter;
use serde::Serialize;

/// An uncertain figure of a bath.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Input {
    /// Conductivity.
    Conductivity,
    /// Exchange current density of the metal.
    Exchange,
    /// Tafel slope of the metal.
    TafelSlope,
    /// Cathodic transfer coefficient of the metal; the sum of both coefficients stays.
    CathodicTransfer,
    /// Limiting current density: diffusion film, diffusion coefficient, concentration.
    Limit,
}

impl Input {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Conductivity,
        Self::Exchange,
        Self::TafelSlope,
        Self::CathodicTransfer,
        Self::Limit,
    ];

    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::Conductivity => "conductivity",
            Self::Exchange | Self::TafelSlope | Self::CathodicTransfer => {
                self.parameter().map_or("", Parameter::name)
            }
            Self::Limit => "limiting current density (diffusion film)",
        }
    }

    /// The figure behind the law that it is.
    fn parameter(self) -> Option<Parameter> {
        match self {
            Self::Exchange => Some(Parameter::Exchange),
            Self::TafelSlope => Some(Parameter::TafelSlope),
            Self::CathodicTransfer => Some(Parameter::CathodicTransfer),
            Self::Conductivity | Self::Limit => None,
        }
    }

    /// Its figure in a bath.
    fn figure(self, bath: &Electrolyte) -> Option<Figure> {
        match self {
            Self::Conductivity => Some(bath.conductivity),
            Self::Limit => bath.limiting_current,
            Self::Exchange | Self::TafelSlope | Self::CathodicTransfer => {
                let mut figures = bath.polarisation_figures.iter();
                let found = figures.find(|(name, _)| Some(*name) == self.parameter());
                found.map(|(_, figure)| *figure)
            }
        }
    }
}

/// End of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum End {
    /// Lowest value.
    Low,
    /// Highest value.
    High,
}

/// One figure of a bath at one end of its band.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Variation {
    /// Which figure.
    pub input: Input,
    /// Which end.
    pub end: End,
    /// The figure is multiplied by this.
    pub factor: f64,
}

impl Variation {
    /// The set for a bath: two for each input that has a band.
    pub fn set(bath: &Electrolyte) -> Vec<Self> {
        let mut set = Vec::new();
        for input in Input::ALL {
            let Some(figure) = input.figure(bath).filter(|f| f.band.is_some()) else {
                continue;
            };
            let [low, high] = figure.factors();
            for (end, factor) in [(End::Low, low), (End::High, high)] {
                set.push(Self { input, end, factor });
            }
        }
        set
    }

    /// The varied bath: the figure, and the laws that rest on it.
    pub fn bath(&self, base: &Electrolyte) -> Electrolyte {
        let mut bath = base.clone();
        match self.input {
            Input::Conductivity => bath.conductivity.value *= self.factor,
            Input::Exchange | Input::TafelSlope | Input::CathodicTransfer => {
                for (parameter, figure) in &mut bath.polarisation_figures {
                    if Some(*parameter) == self.input.parameter() {
                        figure.value *= self.factor;
                    }
                }
            }
            Input::Limit => {
                if let Some(limit) = &mut bath.limiting_current {
                    limit.value *= self.factor;
                }
            }
        }
        bath.polarisation = base.polarisation.map(|law| self.law(law));
        if let Some(anode) = &mut bath.anode {
            anode.polarisation = self.law(anode.polarisation);
        }
        bath
    }

    /// The law of an electrode in that bath: it varies in what it took from the bath.
    pub fn kinetics(&self, kinetics: &Kinetics) -> Kinetics {
        match kinetics {
            Kinetics::Primary | Kinetics::Own(_) => kinetics.clone(),
            Kinetics::Law(law) => Kinetics::Law(self.law(*law)),
        }
    }

    fn law(&self, law: Polarisation) -> Polarisation {
        let own = law.transfer_from() == Origin::Bath;
        match self.input {
            Input::Exchange if own => law.with_exchange_times(self.factor),
            Input::TafelSlope if own => law.with_slope_times(self.factor),
            Input::CathodicTransfer if own => law.with_slope_times(1.0 / self.factor),
            Input::Limit if law.limit_from() == Origin::Bath => law.with_limit_times(self.factor),
            _ => law,
        }
    }
}

/// Band of an answer from its value in the middle and its values with one input at either end,
/// one pair for each input (formula of the module).
pub fn combined(middle: f64, ends: &[[f64; 2]]) -> [f64; 2] {
    let (mut down, mut up) = (0.0, 0.0);
    for [a, b] in ends {
        down += (middle - a.min(*b)).max(0.0).powi(2);
        up += (a.max(*b) - middle).max(0.0).powi(2);
    }
    [middle - down.sqrt(), middle + up.sqrt()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrolyte::{AcidCopper, CopperSalt, Given};
    use crate::kinetics::{Branch, Limit, Transfer};
    use crate::transfer::Agitation;
    use approx::assert_relative_eq;

    fn bath() -> Electrolyte {
        let amounts = AcidCopper::given(CopperSalt::Pentahydrate(200.0), 50.0);
        let given = Given {
            agitation: Some(Agitation::Air),
            ..Given::default()
        };
        Electrolyte::acid_copper(amounts, 25.0, &given).unwrap()
    }

    #[test]
    fn one_at_a_time_low_and_high() {
        let base = bath();
        let set = Variation::set(&base);
        assert_eq!(set.len(), 8);
        assert_relative_eq!(set[0].factor, 0.8);
        assert_relative_eq!(set[3].factor, 10.0, max_relative = 1e-12);
        for variation in &set {
            let varied = variation.bath(&base);
            let figure = variation.input.figure(&varied).unwrap();
            let [low, high] = variation.input.figure(&base).unwrap().band.unwrap();
            let end = match variation.end {
                End::Low => low,
                End::High => high,
            };
            assert_relative_eq!(figure.value, end, max_relative = 1e-12);
            // The law follows.
            if variation.input == Input::CathodicTransfer {
                let Transfer::ButlerVolmer {
                    alpha_a, alpha_c, ..
                } = varied.polarisation.unwrap().transfer()
                else {
                    panic!("Butler-Volmer");
                };
                assert_relative_eq!(alpha_c, end, max_relative = 1e-12);
                assert_relative_eq!(alpha_a + alpha_c, 2.0, max_relative = 1e-12);
            }
            let law = varied.polarisation.unwrap();
            assert_eq!(
                law.limit().unwrap().current_a_per_m2,
                varied.limiting_current.unwrap().value
            );
            if variation.input == Input::Exchange {
                let stiff = law.at_drop(0.0).slope_s_per_m2;
                let before = base.polarisation.unwrap().at_drop(0.0).slope_s_per_m2;
                assert!((stiff > before) == (variation.end == End::High));
            }
        }
        // Only what the bath itself says has a band.
        let given = Given {
            conductivity_s_per_m: Some(15.0),
            ..Given::default()
        };
        let custom = Electrolyte::custom(crate::metal::COPPER, 25.0, &given).unwrap();
        assert!(Variation::set(&custom).is_empty());
    }

    /// Nickel follows a Tafel line: its slope varies, and with it the overpotential in proportion.
    #[test]
    fn the_slope_of_a_tafel_line_varies() {
        let sheet = crate::sheet::Sheet::find("nickel watts").unwrap();
        let given = Given {
            agitation: Some(Agitation::Air),
            ..Given::default()
        };
        let base = Electrolyte::of_sheet(&sheet, None, &given).unwrap();
        let set = Variation::set(&base);
        let slopes: Vec<_> = (set.iter())
            .filter(|v| v.input == Input::TafelSlope)
            .collect();
        assert_eq!(slopes.len(), 2);
        assert!(set.iter().all(|v| v.input != Input::CathodicTransfer));
        let drop = |bath: &Electrolyte| bath.polarisation.unwrap().drop_at(-400.0).unwrap();
        for variation in slopes {
            let ratio = drop(&variation.bath(&base)) / drop(&base);
            assert_relative_eq!(ratio, variation.factor, max_relative = 1e-12);
        }
    }

    #[test]
    fn laws_of_the_job_are_taken_at_their_word() {
        let base = bath();
        let set = Variation::set(&base);
        let tafel = Transfer::Tafel {
            branch: Branch::Cathodic,
            exchange_a_per_m2: 1.0,
            slope_v: 0.05,
        };
        let bath_limit = base.limiting_current.unwrap().value;
        let limited = |current_a_per_m2: f64| {
            let limit = Limit {
                current_a_per_m2,
                film_voltage_v: None,
            };
            Polarisation::new(tafel, Some(limit)).unwrap()
        };
        let bare = Kinetics::Law(Polarisation::new(tafel, None).unwrap());
        let own = base.polarisation.unwrap();
        let same = Polarisation::new(own.transfer(), own.limit()).unwrap();
        let borrowed = Kinetics::Law(limited(bath_limit).with_limit_from(Origin::Bath));
        for variation in &set {
            // Equal to what the bath says, or a hair off: it is the job's own figure.
            for taken in [
                bare.clone(),
                Kinetics::Primary,
                Kinetics::Law(limited(bath_limit)),
                Kinetics::Law(limited(bath_limit * (1.0 + 1e-9))),
                Kinetics::Law(same),
            ] {
                assert_eq!(variation.kinetics(&taken), taken);
            }
            let changed = variation.kinetics(&borrowed) != borrowed;
            assert_eq!(changed, variation.input == Input::Limit);
            let expected = Kinetics::Law(variation.bath(&base).polarisation.unwrap());
            assert_eq!(variation.kinetics(&Kinetics::Law(own)), expected);
        }
        // A limiting current that the job gives the whole bath is the job's, too.
        let given = Given {
            agitation: Some(Agitation::Air),
            limiting_current_a_per_m2: Some(bath_limit),
            ..Given::default()
        };
        let amounts = AcidCopper::given(CopperSalt::Pentahydrate(200.0), 50.0);
        let told = Electrolyte::acid_copper(amounts, 25.0, &given).unwrap();
        assert_eq!(told.polarisation.unwrap().limit_from(), Origin::Job);
        assert!(
            Variation::set(&told)
                .iter()
                .all(|v| v.input != Input::Limit)
        );
    }

    #[test]
    fn answers_combine_in_quadrature() {
        let [low, high] = combined(10.0, &[[7.0, 13.0], [14.0, 10.5]]);
        assert_relative_eq!(low, 7.0);
        assert_relative_eq!(high, 15.0);
        assert_eq!(combined(10.0, &[]), [10.0, 10.0]);
    }
}
