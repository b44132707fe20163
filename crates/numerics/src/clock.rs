//! How long something takes, s. Where the machine has no clock that the standard library knows (a page in a
//! browser), the program hands one in; without it no time passes there.

use std::sync::OnceLock;

/// Seconds since any moment.
pub type Seconds = fn() -> f64;

static HANDED_IN: OnceLock<Seconds> = OnceLock::new();

/// Hands in a clock, once and for all.
pub fn hand_in(clock: Seconds) {
    // The first one stays.
    let _ = HANDED_IN.set(clock);
}

/// A stopwatch that runs.
#[derive(Clone, Copy, Debug)]
pub struct Stopwatch {
    begun_s: f64,
}

impl Stopwatch {
    /// Starts one.
    pub fn start() -> Self {
        Self { begun_s: now_s() }
    }

    /// What has passed, s.
    pub fn seconds(&self) -> f64 {
        now_s() - self.begun_s
    }
}

/// Seconds on the machine's own clock.
#[cfg(not(target_family = "wasm"))]
fn own() -> f64 {
    static FIRST: OnceLock<std::time::Instant> = OnceLock::new();
    let first = FIRST.get_or_init(std::time::Instant::now);
    first.elapsed().as_secs_f64()
}

/// There is none.
#[cfg(target_family = "wasm")]
fn own() -> f64 {
    0.0
}

fn now_s() -> f64 {
    HANDED_IN.get().map_or_else(own, |clock| clock())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_passes() {
        let watch = Stopwatch::start();
        std::thread::sleep(std::time::Duration::from_millis(5));
        let first = watch.seconds();
        assert!(first >= 0.005);
        assert!(watch.seconds() >= first);
    }
}
