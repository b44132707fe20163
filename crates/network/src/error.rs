//! Why there is no network.

use ionfall_field::FieldError;
use thiserror::Error;

/// Why there is no network.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// A contact that touches no coat.
    #[error(
        "`{name}` touches no coat in the bath: move it onto the coated surface, make it larger, or \
         make the cells there smaller"
    )]
    IdleContact {
        /// The contact.
        name: String,
    },
    /// The solver refuses it.
    #[error(transparent)]
    Field(#[from] FieldError),
}
