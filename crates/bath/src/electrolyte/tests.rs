use super::*;
use crate::error::BathError;
use crate::figure::{Figure, Grade};
use crate::metal::SILVER;
use crate::recipe::RECIPES;
use crate::sheet::{SHEETS, Sheet};
use crate::subject::Subject;
use crate::transfer::Agitation;
use approx::assert_relative_eq;

fn standard(given: &Given) -> Electrolyte {
    bath(200.0, 50.0, 25.0, given)
}

fn bath(salt: f64, acid: f64, temperature_c: f64, given: &Given) -> Electrolyte {
    let amounts = AcidCopper::given(CopperSalt::Pentahydrate(salt), acid);
    Electrolyte::acid_copper(amounts, temperature_c, given).unwrap()
}

fn stirred(agitation: Agitation) -> Given {
    Given {
        agitation: Some(agitation),
        ..Given::default()
    }
}

#[test]
fn still_acid_copper_has_a_limit_and_a_law() {
    let bath = standard(&stirred(Agitation::Film(1.67e-4)));
    let limit = bath.limiting_current.unwrap();
    // The film of laminar free convection on 0.3 m gives 381 A/m2 (worked out independently).
    assert_relative_eq!(limit.value, 381.0, max_relative = 5e-3);
    // The band is that of the diffusion coefficient.
    let [low, high] = limit.factors();
    assert_relative_eq!(low, 0.75, max_relative = 1e-12);
    assert_relative_eq!(high, 1.25, max_relative = 1e-12);
    let law = bath.polarisation.unwrap();
    assert_eq!(law.limit().unwrap().current_a_per_m2, limit.value);
    assert!(law.at_drop(-0.1).current_a_per_m2 < 0.0);
}

#[test]
fn bands_add_in_quadrature() {
    let limit = standard(&stirred(Agitation::Air)).limiting_current.unwrap();
    let [low, high] = limit.factors();
    let film = (0.1_f64 / 0.03).sqrt().ln();
    assert_relative_eq!(high.ln(), film.hypot(1.25_f64.ln()), max_relative = 1e-12);
    assert_relative_eq!(low.ln(), -film.hypot(0.75_f64.ln()), max_relative = 1e-12);
}

#[test]
fn no_agitation_no_limit() {
    let bath = standard(&Given::default());
    assert_eq!(bath.limiting_current, None);
    assert_eq!(bath.polarisation.unwrap().limit(), None);
    assert_eq!(bath.anode.unwrap().passivation, None);
}

#[test]
fn given_figures_win() {
    let bath = standard(&Given {
        conductivity_s_per_m: Some(15.5),
        efficiency: Some(0.97),
        ..Given::default()
    });
    assert_eq!(bath.conductivity, Figure::given(15.5, "S/m"));
    assert_eq!(bath.efficiency.grade, Grade::Given);
}

#[test]
fn every_recipe_and_sheet_can_be_used() {
    for recipe in RECIPES {
        let amounts = AcidCopper::of_recipe(&recipe);
        let bath = Electrolyte::acid_copper(amounts, 25.0, &Given::default()).unwrap();
        assert_eq!(bath.usual_current, recipe.current_a_per_dm2);
    }
    let measured = Given {
        conductivity_s_per_m: Some(10.0),
        ..Given::default()
    };
    for sheet in SHEETS {
        let bath = Electrolyte::of_sheet(&sheet, None, &measured).unwrap();
        assert!(bath.warnings.is_empty());
        assert!(bath.concentration.unwrap().value > 50.0);
        let hot = Electrolyte::of_sheet(&sheet, Some(90.0), &measured).unwrap();
        assert!(hot.warnings[0].to_string().contains("outside the working"));
    }
}

/// Every sheet has its law, its limit under any agitation, its anodes, and oxygen above its metal.
#[test]
fn every_sheet_is_whole() {
    for sheet in SHEETS {
        for agitation in [Agitation::Air, Agitation::StillFace { height_m: 0.3 }] {
            let bath = Electrolyte::of_sheet(&sheet, None, &stirred(agitation)).unwrap();
            let limit = bath.limiting_current.unwrap();
            let law = bath.polarisation.unwrap();
            assert_eq!(law.limit().unwrap().current_a_per_m2, limit.value);
            // The usual current densities lie below the limit of an air-stirred bath, at its high end.
            if agitation == Agitation::Air {
                let usual = 100.0 * sheet.current_a_per_dm2.middle().value;
                assert!(usual < limit.band.unwrap()[1], "{}: {limit}", sheet.name);
                let drop = law.drop_at(-usual.min(0.5 * limit.value)).unwrap();
                assert!((-0.9..-0.05).contains(&drop), "{}: {drop} V", sheet.name);
            }
            let anode = bath.anode.unwrap();
            let drop = anode.polarisation.drop_at(100.0).unwrap();
            assert!((0.01..0.4).contains(&drop), "{}: {drop} V", sheet.name);
            assert!(anode.doubt(1e4, None).is_some());
            assert!((0.5..2.0).contains(&bath.back_voltage.unwrap().value));
            for (name, figure) in bath.figures() {
                let told = figure.band.is_some() || !figure.source.is_empty();
                assert!(figure.grade != Grade::Memory || told, "{name}: {figure}");
            }
        }
    }
}

/// Watts nickel at 52.5 degC under air: z F D c / film is 25 A/dm2 (worked out by hand: 2 x 96485 x
/// 6.13e-10 x 1156 / 5.48e-5 = 2.50e3, with D = 6.61e-10 x 325.65/298.15 x 0.8902/1.0465).
#[test]
fn limit_of_watts_nickel() {
    let watts = Sheet::find("nickel watts").unwrap();
    let bath = Electrolyte::of_sheet(&watts, None, &stirred(Agitation::Air)).unwrap();
    let d = 6.605e-10 * 325.65 / 298.15 * 0.8902 / 1.0465;
    assert_relative_eq!(bath.diffusion.unwrap().value, d, max_relative = 2e-3);
    let limit = 2.0 * 96_485.0 * d * 1156.0 / (1e-4 * 0.3_f64.sqrt());
    assert_relative_eq!(
        bath.limiting_current.unwrap().value,
        limit,
        max_relative = 5e-3
    );
}

#[test]
fn the_cyanide_bath_warns_first_of_cyanide() {
    let silver = Sheet::find("silver cyanide").unwrap();
    let bath = Electrolyte::of_sheet(&silver, None, &Given::default()).unwrap();
    assert!(bath.cautions[0].text.contains("Never acidify"));
}

#[test]
fn custom_baths_need_a_conductivity_and_sense() {
    assert!(Electrolyte::custom(SILVER, 25.0, &Given::default()).is_err());
    let given = |efficiency| Given {
        conductivity_s_per_m: Some(12.0),
        efficiency: Some(efficiency),
        ..Given::default()
    };
    assert!(Electrolyte::custom(SILVER, 25.0, &given(1.2)).is_err());
    assert!(Electrolyte::custom(SILVER, 25.0, &given(0.98)).is_ok());
}

/// A custom bath with everything given has its limit by the correlation of its agitation.
#[test]
fn a_custom_bath_can_be_agitated() {
    let disk = Agitation::RotatingDisk {
        speed_rad_per_s: 52.35987756,
        diameter_m: Some(0.01),
    };
    let given = Given {
        conductivity_s_per_m: Some(12.0),
        concentration_mol_per_m3: Some(250.0),
        diffusion_m2_per_s: Some(6e-10),
        density_kg_per_m3: Some(1000.0),
        viscosity_pa_s: Some(1.1e-3),
        ..stirred(disk)
    };
    let bath = Electrolyte::custom(crate::metal::COPPER, 25.0, &given).unwrap();
    // Levich, worked out independently.
    let limit = bath.limiting_current.unwrap();
    assert_relative_eq!(limit.value, 1515.3897795, max_relative = 1e-6);
    let unknown = Given {
        viscosity_pa_s: None,
        ..given
    };
    let error = Electrolyte::custom(crate::metal::COPPER, 25.0, &unknown);
    assert_eq!(
        error,
        Err(BathError::Missing {
            what: Subject::Viscosity
        })
    );
}

/// 200 g/L of blue crystals are 127.85 g/L of anhydrous salt and 50.90 g/L of copper.
#[test]
fn the_salt_by_each_of_its_names() {
    let given = Given::default();
    let by = |salt| {
        let amounts = AcidCopper::given(salt, 50.0);
        Electrolyte::acid_copper(amounts, 25.0, &given).unwrap()
    };
    let crystals = by(CopperSalt::Pentahydrate(200.0));
    let [_, powder, copper, acid] = crystals.composition[..] else {
        panic!("four lines");
    };
    assert_relative_eq!(powder.1.value, 127.85, max_relative = 1e-4);
    assert_relative_eq!(copper.1.value, 50.90, max_relative = 1e-4);
    assert_eq!(acid.1.value, 50.0);
    for same in [
        by(CopperSalt::Anhydrous(powder.1.value)),
        by(CopperSalt::Metal(copper.1.value)),
    ] {
        assert_relative_eq!(
            same.fluid.density.unwrap().value,
            crystals.fluid.density.unwrap().value,
            max_relative = 1e-12
        );
        assert_eq!(same.composition[0].1.grade, Grade::Computed);
    }
    // Taken for each other they would be a quarter off in copper or more.
    let confused = by(CopperSalt::Anhydrous(200.0));
    let ratio = confused.concentration.unwrap().value / crystals.concentration.unwrap().value;
    assert_relative_eq!(ratio, 1.5644, max_relative = 1e-4);
}

#[test]
fn leaving_a_range_is_told_with_the_range() {
    let told = |salt, acid, t| {
        let warnings = bath(salt, acid, t, &Given::default()).warnings;
        let lines: Vec<_> = warnings.iter().map(ToString::to_string).collect();
        lines.join("\n")
    };
    assert_eq!(told(200.0, 50.0, 25.0), "");
    assert!(told(200.0, 50.0, 50.0).contains("outside 18 to 40"));
    assert!(told(200.0, 50.0, 70.0).contains("outside 15 to 60"));
    assert!(told(200.0, 10.0, 25.0).contains("outside 30 to 250"));
    assert!(told(280.0, 50.0, 25.0).contains("outside 0 to 250"));
    assert!(told(30.0, 50.0, 25.0).contains("outside 60 to 248"));
    let measured = Given {
        conductivity_s_per_m: Some(5.0),
        ..Given::default()
    };
    assert!(bath(200.0, 12.0, 25.0, &measured).warnings.is_empty());
}

/// A recess under air agitation has the film, and so the limit, of a still bath.
#[test]
fn a_recess_has_the_limit_of_its_film() {
    let bath = standard(&stirred(Agitation::Air));
    let factor = bath.limit_factor(&Agitation::Still).unwrap();
    let expected = (0.03_f64 * 0.1).sqrt() / (0.15_f64 * 0.5).sqrt();
    assert_relative_eq!(factor, expected, max_relative = 1e-12);
    let unknown = standard(&Given::default());
    assert!(unknown.limit_factor(&Agitation::Still).is_err());
}

#[test]
fn hydrogen_is_counted_if_asked_for() {
    let given = Given {
        hydrogen: Some(Evolution::Usual),
        ..stirred(Agitation::Air)
    };
    let law = standard(&given).polarisation.unwrap();
    let limit = law.limit().unwrap().current_a_per_m2;
    let drop = law.drop_at(-1.5 * limit).unwrap();
    assert_relative_eq!(law.metal_share(drop), 1.0 / 1.5, max_relative = 1e-6);
    assert!(law.metal_share(law.drop_at(-0.5 * limit).unwrap()) > 0.999_999);
    let nickel = Sheet::find("nickel sulfamate").unwrap();
    let error = Electrolyte::of_sheet(&nickel, None, &given);
    assert_eq!(
        error,
        Err(BathError::Missing {
            what: Subject::Hydrogen
        })
    );
}

/// What is missing for a limiting current is named; what was said is not asked for again.
#[test]
fn a_limit_wants_what_was_not_said() {
    let wants = |given: &Given| {
        let given = Given {
            conductivity_s_per_m: Some(12.0),
            ..*given
        };
        let bath = Electrolyte::custom(SILVER, 25.0, &given).unwrap();
        bath.limit_wants().unwrap_or_default()
    };
    let air = stirred(Agitation::Air);
    assert_eq!(
        wants(&Given::default()),
        "say how the bath is agitated, and the diffusion coefficient and concentration of its silver"
    );
    assert!(
        wants(&air).starts_with("say the diffusion coefficient and concentration of the silver")
    );
    let half = Given {
        concentration_mol_per_m3: Some(300.0),
        ..air
    };
    assert_eq!(
        wants(&half),
        "say the diffusion coefficient of the silver in the bath"
    );
    let told = Given {
        diffusion_m2_per_s: Some(1e-9),
        ..half
    };
    assert_eq!(wants(&told), "");
    let copper = standard(&Given::default());
    assert_eq!(
        copper.limit_wants().unwrap(),
        "say how the bath is agitated"
    );
}

/// A Tafel line carries current one way only: floating metal in nickel has the law of the anodes.
#[test]
fn floating_metal_carries_current_both_ways() {
    for sheet in SHEETS {
        let bath = Electrolyte::of_sheet(&sheet, None, &Given::default()).unwrap();
        let law = bath.floating_law().unwrap();
        assert!(law.drop_at(-10.0).unwrap() < 0.0 && law.drop_at(10.0).unwrap() > 0.0);
    }
    let copper = standard(&Given::default());
    assert_eq!(copper.floating_law(), copper.polarisation);
}
