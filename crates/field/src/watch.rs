//! Somebody who wants to know how far a solve has come.

use std::fmt;
use std::sync::Arc;

/// Told the imbalance, relative to the currents, before each Newton step. Two of them count as the
/// same settings.
#[derive(Clone, Default)]
pub struct Watch(Option<Arc<dyn Fn(f64) + Send + Sync>>);

impl Watch {
    /// Calls a function.
    pub fn new(told: impl Fn(f64) + Send + Sync + 'static) -> Self {
        Self(Some(Arc::new(told)))
    }

    pub(crate) fn tell(&self, imbalance: f64) {
        if let Some(told) = &self.0 {
            told(imbalance);
        }
    }
}

impl fmt::Debug for Watch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.0.is_some() {
            "watched"
        } else {
            "unwatched"
        })
    }
}

impl PartialEq for Watch {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}
