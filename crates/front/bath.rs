//! Baths in a line each; everything else on [`Electrolyte`] itself.

pub use ionfall_bath::electrolyte::{AcidCopper, CopperSalt, Given};
pub use ionfall_bath::metal::{self, Metal};
pub use ionfall_bath::transfer::Agitation;
pub use ionfall_bath::{BathError, Electrolyte, Figure};

/// Temperature where none is said, degrees Celsius.
const ROOM_C: f64 = 25.0;

/// Acid copper sulfate at 25 degC from what was weighed: blue crystals and sulfuric acid, g/L.
///
/// # Errors
/// Amounts beyond which nothing can be worked out.
///
/// ```
/// use ionfall::bath::{Agitation, acid_copper_g_per_l};
///
/// let still = acid_copper_g_per_l(200.0, 60.0, Agitation::Still)?;
/// let air = acid_copper_g_per_l(200.0, 60.0, Agitation::Air)?;
/// let limit = |bath: &ionfall::Electrolyte| bath.limiting_current.map(|f| f.value);
/// assert!(limit(&air) > limit(&still));
/// # Ok::<(), ionfall::bath::BathError>(())
/// ```
pub fn acid_copper_g_per_l(
    copper_sulfate: f64,
    acid: f64,
    agitation: Agitation,
) -> Result<Electrolyte, BathError> {
    let amounts = AcidCopper::given(CopperSalt::Pentahydrate(copper_sulfate), acid);
    let given = Given {
        agitation: Some(agitation),
        ..Given::default()
    };
    Electrolyte::acid_copper(amounts, ROOM_C, &given)
}

/// Copper of which only the conductivity is known.
///
/// # Errors
/// A conductivity that is not positive.
pub fn copper_s_per_m(conductivity: f64) -> Result<Electrolyte, BathError> {
    let given = Given {
        conductivity_s_per_m: Some(conductivity),
        ..Given::default()
    };
    Electrolyte::custom(metal::COPPER, ROOM_C, &given)
}
