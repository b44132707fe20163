//! How far the work has come: a bar with the time left, on terminals only.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};
use std::sync::Arc;
use std::time::Duration;

/// What is being done.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Share of all the work that is done.
    pub share: f64,
    /// What is done now.
    pub text: String,
}

/// Told of every step.
pub type Telling = Arc<dyn Fn(Told) + Send + Sync>;

/// Nobody is told.
pub fn silent() -> Telling {
    Arc::new(|_| ())
}

/// Tells a share and a text.
pub(crate) fn tell(telling: &Telling, share: f64, text: impl Into<String>) {
    telling(Told {
        share,
        text: text.into(),
    });
}

/// The part of the work from one share of it to another, as work of its own.
pub(crate) fn part(telling: &Telling, from: f64, to: f64, before: String) -> Telling {
    let telling = Arc::clone(telling);
    Arc::new(move |told: Told| {
        let share = from + (to - from) * told.share;
        tell(&telling, share, format!("{before}{}", told.text));
    })
}

/// Steps of the bar.
const STEPS: u64 = 1000;
const TEMPLATE: &str = "{spinner} {bar:30} {percent}%  {msg}  {elapsed}, {eta} left";

/// The bar; it vanishes when dropped.
#[derive(Debug)]
pub(crate) struct Bar(Option<ProgressBar>);

impl Bar {
    /// Shown if standard error is a terminal.
    pub fn new() -> Self {
        Self(stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(STEPS);
            if let Ok(style) = ProgressStyle::with_template(TEMPLATE) {
                bar.set_style(style);
            }
            bar.enable_steady_tick(Duration::from_millis(120));
            bar
        }))
    }

    /// What moves it.
    pub fn telling(&self) -> Telling {
        let Some(bar) = self.0.clone() else {
            return silent();
        };
        Arc::new(move |told| {
            let at = (told.share.clamp(0.0, 1.0) * STEPS as f64) as u64;
            // A solve may begin anew; the bar does not go back.
            bar.set_position(at.max(bar.position()));
            bar.set_message(told.text);
        })
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    #[test]
    fn parts_lie_within_the_whole() {
        let heard = Arc::new(Mutex::new(Vec::new()));
        let ear = Arc::clone(&heard);
        let whole: Telling = Arc::new(move |told| ear.lock().unwrap().push(told));
        let second = part(&whole, 0.5, 1.0, "b: ".into());
        tell(&second, 0.5, "half");
        let expected = Told {
            share: 0.75,
            text: "b: half".into(),
        };
        assert_eq!(*heard.lock().unwrap(), [expected]);
    }
}
