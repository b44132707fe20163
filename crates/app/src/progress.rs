//! A line that tells what is being done, on terminals only.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};
use std::time::Duration;

/// The line; it vanishes when dropped.
#[derive(Debug)]
pub(crate) struct Spinner(Option<ProgressBar>);

impl Spinner {
    /// Shown if standard error is a terminal.
    pub fn new() -> Self {
        Self(stderr().is_terminal().then(|| {
            let bar = ProgressBar::new_spinner();
            if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}  {elapsed}") {
                bar.set_style(style);
            }
            bar.enable_steady_tick(Duration::from_millis(120));
            bar
        }))
    }

    /// Tells.
    pub fn say(&self, text: &str) {
        if let Some(bar) = &self.0 {
            bar.set_message(text.to_owned());
        }
    }

    /// Tells how many of all are done, with the time left.
    pub fn count(&self, done: usize, all: usize, text: &str) {
        if let Some(bar) = &self.0 {
            if all > 0 && bar.length() != Some(all as u64) {
                bar.set_length(all as u64);
                bar.set_style(counting());
            }
            bar.set_position(done as u64);
            bar.set_message(text.to_owned());
        }
    }
}

fn counting() -> ProgressStyle {
    let template = "{spinner} {pos} of {len} {wide_bar} {msg}  {elapsed}, {eta} left";
    ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar())
}

impl Drop for Spinner {
    fn drop(&mut self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
