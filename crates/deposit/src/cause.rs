//! What a field can be asked to be followed by ([`sensitivity`](crate::sensitivity)).

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
}
