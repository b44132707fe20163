//! A bath ready for use, and baths known by their sheet or wholly given.
//!
//! The limiting current takes the bands of its factors in quadrature of their logarithms,
//! `ln(band)^2 = sum ln(band_k)^2`, because some are known only to within a factor.

use super::amounts::Made;
use super::given::{Evolution, Given};
use crate::anode::Anode;
use crate::anode::insoluble::back_voltage;
use crate::caution::{Caution, ELECTRICAL};
use crate::constants::ZERO_CELSIUS_K;
use crate::error::{BathError, positive, within};
use crate::figure::{Figure, Grade, Origin, Range};
use crate::kinetics::{Hydrogen, Limit, Polarisation, Transfer};
use crate::metal::Metal;
use crate::parameter::{self, Parameter};
use crate::sheet::Sheet;
use crate::sheet::kind::Dissolving;
use crate::subject::Subject;
use crate::transfer::stirring::usual_stirring_radius;
use crate::transfer::{Agitation, Film, Liquid, LocalFilm, limiting_current_a_per_m2};
use crate::warning::Warning;
use serde::Serialize;

/// A bath ready for use.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Electrolyte {
    /// What it is called.
    pub name: String,
    /// Metal deposited.
    pub metal: Metal,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Constituents, most in g/L.
    pub composition: Vec<(&'static str, Figure)>,
    /// Usual cathode current density, A/dm2, where one is known.
    pub usual_current: Option<Range>,
    /// Current efficiency of deposition well under the limiting current, fraction.
    pub efficiency: Figure,
    /// Conductivity, S/m.
    pub conductivity: Figure,
    /// What it weighs and how thick it flows.
    #[serde(flatten)]
    pub fluid: Fluid,
    /// Concentration of the metal, mol/m3.
    pub concentration: Option<Figure>,
    /// Diffusion coefficient of the metal ion, m2/s.
    pub diffusion: Option<Figure>,
    /// What the diffusion film depends on.
    pub liquid: Liquid,
    /// Diffusion film on the work, m.
    pub film: Option<Figure>,
    /// How that film varies over a face, where something is known of it.
    pub local_film: Option<LocalFilm>,
    /// Radius of stirring, m: hollows that such a ball does not enter may stand still. None in a still bath.
    pub stirring_radius: Option<Figure>,
    /// Limiting current density of deposition, A/m2; none where the agitation is unknown.
    pub limiting_current: Option<Figure>,
    /// Polarisation of the work, where one is known.
    pub polarisation: Option<Polarisation>,
    /// Figures behind the polarisation.
    pub polarisation_figures: Vec<(Parameter, Figure)>,
    /// Hydrogen evolved beside the metal, if it is to be counted.
    pub hydrogen: Option<Hydrogen>,
    /// Anodes that dissolve in this bath, where something is known of them.
    pub anode: Option<Anode>,
    /// Equilibrium of oxygen above that of the metal, V: what stands at insoluble anodes before current flows.
    pub back_voltage: Option<Figure>,
    /// What insoluble anodes do to this bath beside taking its metal.
    pub insoluble_caution: Option<&'static str>,
    /// Ranges that are left.
    pub warnings: Vec<Warning>,
    /// Cautions.
    pub cautions: &'static [Caution],
    /// What it was made of, where it is known how it follows that.
    #[serde(skip)]
    pub(super) made_of: Option<Made>,
}

/// What a bath weighs and how thick it flows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Fluid {
    /// Density, kg/m3.
    pub density: Option<Figure>,
    /// Dynamic viscosity, Pa s.
    pub viscosity: Option<Figure>,
}

/// What a kind of bath knows of its surfaces, before film and limits are added.
#[derive(Default)]
pub(super) struct Surfaces {
    pub transfer: Option<Transfer>,
    pub hydrogen: Option<Hydrogen>,
}

impl Electrolyte {
    /// A bath known only by its sheet, at the middle of its ranges.
    ///
    /// # Errors
    /// A figure that makes no sense.
    pub fn of_sheet(
        sheet: &Sheet,
        temperature_c: Option<f64>,
        given: &Given,
    ) -> Result<Self, BathError> {
        let temperature_c = temperature_c.unwrap_or(sheet.temperature_c.middle().value);
        let to_molar = 1e3 / sheet.metal.atomic_weight.value;
        let properties = sheet.properties(temperature_c);
        let viscosity_pa_s = given.viscosity_pa_s.unwrap_or(properties.viscosity.value);
        let bath = Self {
            name: sheet.name.into(),
            composition: sheet
                .composition
                .iter()
                .map(|(name, range)| (*name, range.middle()))
                .collect(),
            usual_current: Some(sheet.current_a_per_dm2),
            concentration: Some(sheet.metal_g_per_l.middle().scaled(to_molar, "mol/m3")),
            fluid: Fluid {
                density: Some(properties.density),
                viscosity: Some(properties.viscosity),
            },
            diffusion: Some(sheet.diffusion(temperature_c, viscosity_pa_s)),
            liquid: Liquid {
                density_difference: Some(properties.density_difference),
                ..Liquid::default()
            },
            back_voltage: Some(back_voltage(temperature_c, sheet.ph, sheet.metal_v)),
            insoluble_caution: sheet.insoluble_caution,
            polarisation_figures: sheet.transfer_figures.to_vec(),
            warnings: Warning::unless_within(
                "temperature",
                temperature_c,
                sheet.temperature_c,
                "outside the working range of this bath",
            )
            .into_iter()
            .collect(),
            cautions: sheet.cautions,
            ..Self::bare(
                sheet.metal,
                temperature_c,
                given,
                Some(sheet.efficiency.middle()),
                Some(sheet.conductivity_s_per_m.middle()),
            )?
        };
        let transfer = parameter::transfer(sheet.transfer_figures, bath.temperature_k);
        let surfaces = Surfaces {
            transfer,
            hydrogen: None,
        };
        let bath = bath.finished(given, surfaces)?;
        Ok(Self {
            anode: bath.dissolving(&sheet.anode)?,
            ..bath
        })
    }

    /// The usual anodes of a sheet in this bath.
    fn dissolving(&self, sheet: &Dissolving) -> Result<Option<Anode>, BathError> {
        let celsius = self.temperature_k - ZERO_CELSIUS_K;
        let viscosity = self.fluid.viscosity.map(|mu| mu.value);
        let Some(transfer) = parameter::transfer(sheet.figures, self.temperature_k) else {
            return Ok(None);
        };
        Ok(Some(Anode {
            habits: sheet.habits,
            polarisation: Polarisation::new(transfer, None)?.with_transfer_from(Origin::Bath),
            usual_current: sheet.usual_current,
            passivation: sheet.passivation.at(celsius, viscosity, self.film),
            passivates_by_film: sheet.passivation.goes_by_film(),
            figures: sheet.figures,
        }))
    }

    /// A bath of which everything is given: at least the conductivity. Without an efficiency the
    /// deposit is taken to use all the current.
    ///
    /// # Errors
    /// No conductivity; a figure that makes no sense.
    pub fn custom(metal: Metal, temperature_c: f64, given: &Given) -> Result<Self, BathError> {
        let full = Figure::new(1.0, "", Grade::Computed, "assumed: nothing given");
        let bath = Self {
            name: "custom".into(),
            ..Self::bare(metal, temperature_c, given, Some(full), None)?
        };
        bath.finished(given, Surfaces::default())
    }

    /// The diffusion film under another agitation of the same bath, as in a corner that is stiller
    /// than the rest.
    ///
    /// # Errors
    /// Figures that make no sense, or a liquid of which too little is known.
    pub fn film_under(&self, agitation: &Agitation) -> Result<Film, BathError> {
        agitation.film(&self.liquid)
    }

    /// Limiting current under another agitation over that of the bath: the inverse ratio of the
    /// films.
    ///
    /// # Errors
    /// As [`Electrolyte::film_under`]; a bath whose own agitation is unknown.
    pub fn limit_factor(&self, agitation: &Agitation) -> Result<f64, BathError> {
        let what = Subject::Agitation;
        let film = self.film.ok_or(BathError::Missing { what })?;
        Ok(film.value / self.film_under(agitation)?.thickness.value)
    }

    /// The law of metal that is connected to nothing and carries current both ways: that of the work if it has
    /// an anodic side, else that of the anodes.
    pub fn floating_law(&self) -> Option<Polarisation> {
        let both_ways = |law: &Polarisation| {
            let (low, high) = law.range_a_per_m2();
            low < 0.0 && high > 0.0
        };
        let work = self.polarisation.filter(both_ways);
        work.or(self.anode.map(|a| a.polarisation).filter(both_ways))
    }

    /// What has to be said so that a limiting current is known, in words; nothing where one is.
    pub fn limit_wants(&self) -> Option<String> {
        if self.limiting_current.is_some() {
            return None;
        }
        let figures = [
            ("diffusion coefficient", self.diffusion.is_none()),
            ("concentration", self.concentration.is_none()),
        ];
        let lacking: Vec<&str> = (figures.into_iter())
            .filter_map(|(name, lacks)| lacks.then_some(name))
            .collect();
        let lacking = lacking.join(" and ");
        let metal = self.metal.name;
        Some(match (self.film.is_some(), lacking.is_empty()) {
            (false, true) => "say how the bath is agitated".into(),
            (false, false) => {
                format!("say how the bath is agitated, and the {lacking} of its {metal}")
            }
            (true, _) => format!("say the {lacking} of the {metal} in the bath"),
        })
    }

    /// The part common to all baths, other fields empty.
    pub(super) fn bare(
        metal: Metal,
        temperature_c: f64,
        given: &Given,
        efficiency: Option<Figure>,
        conductivity: Option<Figure>,
    ) -> Result<Self, BathError> {
        within(Subject::Temperature, temperature_c, 0.0, 120.0)?;
        let required = |figure: Option<Figure>, what| figure.ok_or(BathError::Missing { what });
        let efficiency = required(
            given_or(Subject::Efficiency, given.efficiency, efficiency)?,
            Subject::Efficiency,
        )?;
        if efficiency.value > 1.0 {
            within(Subject::Efficiency, efficiency.value, 0.0, 1.0)?;
        }
        let conductivity = required(
            given_or(
                Subject::Conductivity,
                given.conductivity_s_per_m,
                conductivity,
            )?,
            Subject::Conductivity,
        )?;
        Ok(Self {
            name: String::new(),
            metal,
            temperature_k: temperature_c + ZERO_CELSIUS_K,
            composition: Vec::new(),
            usual_current: None,
            efficiency,
            conductivity,
            fluid: Fluid::default(),
            concentration: None,
            diffusion: None,
            liquid: Liquid::default(),
            film: None,
            local_film: None,
            stirring_radius: None,
            limiting_current: None,
            polarisation: None,
            polarisation_figures: Vec::new(),
            hydrogen: None,
            anode: None,
            back_voltage: None,
            insoluble_caution: None,
            warnings: Vec::new(),
            cautions: &[ELECTRICAL],
            made_of: None,
        })
    }

    /// Adds what follows from the rest: film, limiting current, polarisation.
    pub(super) fn finished(mut self, given: &Given, surfaces: Surfaces) -> Result<Self, BathError> {
        self.concentration = given_or(
            Subject::Concentration,
            given.concentration_mol_per_m3,
            self.concentration,
        )?;
        self.diffusion = given_or(Subject::Diffusion, given.diffusion_m2_per_s, self.diffusion)?;
        let Fluid { density, viscosity } = &mut self.fluid;
        *density = given_or(Subject::Density, given.density_kg_per_m3, *density)?;
        *viscosity = given_or(Subject::Viscosity, given.viscosity_pa_s, *viscosity)?;
        let viscosity_and_density = viscosity.zip(*density);
        let kinematic = |(mu, rho): (Figure, Figure)| mu.value / rho.value;
        self.liquid = Liquid {
            diffusion_m2_per_s: self.diffusion.map(|d| d.value),
            viscosity_m2_per_s: viscosity_and_density.map(kinematic),
            density_difference: given.density_difference.or(self.liquid.density_difference),
        };
        if let Some(agitation) = given.agitation {
            let film = agitation.film(&self.liquid)?;
            self.film = Some(film.thickness);
            // A limit that was measured wins.
            if given.limiting_current_a_per_m2.is_none() {
                self.local_film = LocalFilm::new(&agitation, &self.liquid);
            }
            self.warnings.extend(film.warnings);
        }
        self.stirring_radius = given_or(
            Subject::StirringRadius,
            given.stirring_radius_m,
            match given.agitation {
                Some(agitation) => agitation.stirring_radius(),
                None => Some(usual_stirring_radius()),
            },
        )?;
        self.limiting_current = given_or(
            Subject::Limit,
            given.limiting_current_a_per_m2,
            self.film_limit(),
        )?;
        self.hydrogen = match given.hydrogen {
            None => None,
            Some(Evolution::Law(hydrogen)) => Some(hydrogen),
            Some(Evolution::Usual) => Some(surfaces.hydrogen.ok_or(BathError::Missing {
                what: Subject::Hydrogen,
            })?),
        };
        let limit = self.limiting_current.map(|figure| Limit {
            current_a_per_m2: figure.value,
            film_voltage_v: None,
        });
        self.polarisation = match surfaces.transfer {
            Some(transfer) => {
                let limit_from = self.limiting_current.map_or(Origin::Bath, |f| f.origin());
                let law = Polarisation::new(transfer, limit)?
                    .with_transfer_from(Origin::Bath)
                    .with_limit_from(limit_from);
                Some(match self.hydrogen {
                    Some(hydrogen) => law.with_hydrogen(hydrogen)?,
                    None => law,
                })
            }
            None => None,
        };
        Ok(self)
    }

    /// Limiting current of the film, with the bands of its factors.
    fn film_limit(&self) -> Option<Figure> {
        let (concentration, diffusion, film) = (self.concentration?, self.diffusion?, self.film?);
        let value = limiting_current_a_per_m2(
            self.metal.electrons_per_atom.value,
            diffusion.value,
            concentration.value,
            film.value,
        );
        let figure = Figure::new(value, "A/m2", Grade::Computed, "z F D c / film");
        let [thin, thick] = film.factors();
        let factors = [
            concentration.factors(),
            diffusion.factors(),
            [1.0 / thick, 1.0 / thin],
        ];
        if factors.iter().all(|f| *f == [1.0, 1.0]) {
            return Some(figure);
        }
        let [low, high] = [0, 1].map(|end| {
            let squares: f64 = factors.iter().map(|f| f[end].ln().powi(2)).sum();
            squares.sqrt()
        });
        Some(figure.between(value * (-low).exp(), value * high.exp()))
    }
}

/// The given figure if there is one (and it is positive), else the built-in one.
pub(super) fn given_or(
    what: Subject,
    given: Option<f64>,
    builtin: Option<Figure>,
) -> Result<Option<Figure>, BathError> {
    match given {
        Some(value) => Ok(Some(Figure::given(positive(what, value)?, what.unit()))),
        None => Ok(builtin),
    }
}
