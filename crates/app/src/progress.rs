//! How far the work has come: a bar with the time left on a terminal, a line every ten seconds
//! elsewhere.

use indicatif::{ProgressBar, ProgressState, ProgressStyle};
use std::fmt;
use std::io::{IsTerminal, Write, stderr};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

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
const TEMPLATE: &str = "{spinner} {bar:12} {percent}%  {msg}  {elapsed}{left}";
/// Time between two lines where there is no terminal.
const INTERVAL: Duration = Duration::from_secs(10);
/// Least share that says something of the time left.
const LEAST_SHARE: f64 = 0.03;

/// The time left, if the rest goes on as what is done; nothing at the very beginning.
fn left(elapsed: Duration, share: f64) -> Option<Duration> {
    (share >= LEAST_SHARE).then(|| elapsed.mul_f64((1.0 - share.min(1.0)) / share))
}

fn left_text(elapsed: Duration, share: f64) -> String {
    left(elapsed, share).map_or(String::new(), |left| format!(", about {} left", span(left)))
}

/// A time span with what matters of it: `42 s`, `3 min`, `2 h 10 min`.
fn span(time: Duration) -> String {
    let seconds = time.as_secs_f64().round() as u64;
    match seconds {
        0..100 => format!("{seconds} s"),
        100..5400 => format!("{} min", (seconds + 30) / 60),
        _ => {
            let minutes = (seconds + 30) / 60;
            format!("{} h {} min", minutes / 60, minutes % 60)
        }
    }
}

/// Columns that nothing that is printed here fills.
const COLUMNS: usize = 80;
/// Columns of a bar without its message: spinner, bar, share, blanks; the times at their longest.
const BAR: usize = 24 + "100h, about 100 h 59 min left".len();

/// A text cut to a width, with dots at the end if it was longer.
fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept = text.chars().take(width.saturating_sub(3));
    kept.collect::<String>().trim_end().to_owned() + "..."
}

/// The line that is printed where there is no terminal.
fn line(elapsed: Duration, told: &Told) -> String {
    let times = format!(
        "  after {}{}",
        span(elapsed),
        left_text(elapsed, told.share)
    );
    let share = format!("{:3.0} %  ", 100.0 * told.share);
    let room = COLUMNS - 1 - share.len().min(9) - times.len().min(60);
    format!("{share}{}{times}", cut(&told.text, room))
}

/// What was told last. A solve may begin anew; the share does not go back, and only what is
/// finished is all of it.
#[derive(Debug, Default)]
pub(crate) struct Last(Mutex<Option<Told>>);

impl Last {
    fn hear(&self, mut told: Told) {
        let mut last = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let before = last.as_ref().map_or(0.0, |l| l.share);
        told.share = told.share.clamp(before, 0.999);
        *last = Some(told);
    }

    fn now(&self) -> Option<Told> {
        let last = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        last.clone()
    }
}

/// Prints a line each interval until `stop` is dropped.
fn print_lines(last: &Last, interval: Duration, stop: &Receiver<()>, to: &mut dyn Write) {
    let clock = Instant::now();
    while stop.recv_timeout(interval) == Err(RecvTimeoutError::Timeout) {
        if let Some(told) = last.now() {
            // Nobody is left to be told if this fails.
            let _ = writeln!(to, "{}", line(clock.elapsed(), &told));
        }
    }
}

/// How far the work has come, on standard error: on a terminal a bar, which vanishes when dropped,
/// elsewhere a line now and then.
#[derive(Debug)]
pub(crate) enum Bar {
    Shown(ProgressBar),
    Lines {
        last: Arc<Last>,
        /// Dropped first: that ends the thread.
        stop: Option<Sender<()>>,
        printer: Option<JoinHandle<()>>,
    },
}

impl Bar {
    /// Begins at nothing.
    pub fn new() -> Self {
        if stderr().is_terminal() {
            let bar = ProgressBar::new(STEPS);
            if let Ok(style) = ProgressStyle::with_template(TEMPLATE) {
                let left = |state: &ProgressState, to: &mut dyn fmt::Write| {
                    let text = left_text(state.elapsed(), f64::from(state.fraction()));
                    // Of no use to anybody if it cannot be shown.
                    let _ = to.write_str(&text);
                };
                bar.set_style(style.with_key("left", left));
            }
            bar.enable_steady_tick(Duration::from_millis(120));
            return Self::Shown(bar);
        }
        let last = Arc::new(Last::default());
        let (stop, stopped) = channel();
        let heard = Arc::clone(&last);
        let work = move || print_lines(&heard, INTERVAL, &stopped, &mut stderr());
        Self::Lines {
            last,
            stop: Some(stop),
            // Without a thread there are no lines, and no harm.
            printer: thread::Builder::new().spawn(work).ok(),
        }
    }

    /// What moves it.
    pub fn telling(&self) -> Telling {
        match self {
            Self::Shown(bar) => {
                let bar = bar.clone();
                let last = Last::default();
                Arc::new(move |told| {
                    last.hear(told);
                    if let Some(told) = last.now() {
                        bar.set_position((told.share * STEPS as f64) as u64);
                        bar.set_message(cut(&told.text, COLUMNS - 1 - BAR));
                    }
                })
            }
            Self::Lines { last, .. } => {
                let last = Arc::clone(last);
                Arc::new(move |told| last.hear(told))
            }
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        match self {
            Self::Shown(bar) => bar.finish_and_clear(),
            Self::Lines { stop, printer, .. } => {
                stop.take();
                if let Some(printer) = printer.take() {
                    // It prints and nothing else; if it could not, the work is done all the same.
                    let _ = printer.join();
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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

    fn told(share: f64, text: &str) -> Told {
        Told {
            share,
            text: text.into(),
        }
    }

    #[test]
    fn the_share_neither_goes_back_nor_ends_early() {
        let last = Last::default();
        assert_eq!(last.now(), None);
        last.hear(told(0.5, "a"));
        last.hear(told(0.2, "b"));
        assert_eq!(last.now(), Some(told(0.5, "b")));
        last.hear(told(1.0, "c"));
        assert_eq!(last.now(), Some(told(0.999, "c")));
        last.hear(told(f64::INFINITY, "d"));
        assert_eq!(last.now(), Some(told(0.999, "d")));
    }

    /// However long a stage stands still, the time left is of the order of the time it took.
    #[test]
    fn the_time_left_is_never_absurd() {
        let second = Duration::from_secs(1);
        assert_eq!(left(60 * second, 0.75), Some(20 * second));
        assert_eq!(left(60 * second, 0.0), None);
        assert_eq!(left(60 * second, 1.0), Some(Duration::ZERO));
        for hundredths in 0..=100 {
            let share = f64::from(hundredths) / 100.0;
            let left = left(3600 * second, share).unwrap_or_default();
            assert!(left <= 40 * 3600 * second, "{share}: {left:?}");
        }
        assert_eq!(span(42 * second), "42 s");
        assert_eq!(span(179 * second), "3 min");
        assert_eq!(span(7800 * second), "2 h 10 min");
        assert_eq!(
            line(30 * second, &told(0.25, "solving")),
            " 25 %  solving  after 30 s, about 90 s left"
        );
        assert_eq!(line(second, &told(0.0, "grid")), "  0 %  grid  after 1 s");
    }

    #[test]
    fn lines_stay_below_80_columns() {
        let long = "a name that somebody has given with great care: solving, imbalance 1e-10";
        for hours in [0, 1, 99] {
            let shown = line(Duration::from_secs(3600 * hours + 59), &told(0.35, long));
            assert!(
                shown.chars().count() < 80 && shown.contains("..."),
                "{shown}"
            );
        }
        assert_eq!(cut("short", 5), "short");
        assert_eq!(cut("a long one", 8), "a lon...");
    }

    #[test]
    fn lines_come_at_intervals_and_end_with_the_work() {
        let last = Last::default();
        last.hear(told(0.5, "halfway"));
        let (stop, stopped) = channel::<()>();
        let last = &last;
        let printed = thread::scope(|scope| {
            let printer = scope.spawn(move || {
                let mut text = Vec::new();
                print_lines(last, Duration::from_millis(20), &stopped, &mut text);
                String::from_utf8(text).unwrap()
            });
            thread::sleep(Duration::from_millis(200));
            drop(stop);
            printer.join().unwrap()
        });
        let lines = printed.lines().count();
        assert!((2..=10).contains(&lines), "{printed}");
        assert!(
            printed
                .lines()
                .all(|l| l.starts_with(" 50 %  halfway  after 0 s")),
            "{printed}"
        );
    }
}
