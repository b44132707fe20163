//! What may move an operating point.

use ionfall_bath::electrolyte::Adjustment;

/// What moves an operating point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// All that the supplies hold as currents, together.
    Currents,
    /// What one supply holds: its current, its voltage, its share of the mean.
    Supply(usize),
    /// The conductivity of the bath.
    Conductivity,
    /// The limiting currents of the cathodes.
    Limit,
    /// The exchange currents of the cathodes.
    Exchange,
    /// The sheet resistance of the coats.
    Coat,
    /// The resistance of the contacts.
    Contact,
    /// The resistance of the leads.
    Lead,
    /// How warm the bath is, in kelvin, or how much there is of something in it: all that follows from it.
    Bath(Adjustment),
}
