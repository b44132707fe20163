//! What a search may change: ranges that it walks through, choices that it tries one after the other, and
//! currents of supplies, which each case finds by itself ([`ionfall_deposit::currents`]).
//!
//! ```text
//! --free "distance=100..200 mm"             a range
//! --free "bath.agitation=still|air|rod"     a choice
//! --free "supply.inner.current=0..4 A"      a current, where the goal is one of the field alone
//! ```

use super::choice::Choice;
use super::error::ImproveError;
use super::free::Free;
use super::goal::Goal;
use super::options::ImproveOptions;
use crate::error::AppError;
use ionfall_deposit::currents::{FreeCurrent, Task};
use ionfall_deposit::small::causes;
use ionfall_job::{VaryError, value_of};
use ionfall_model::{Hold, Known, Model};

/// Most free ranges: with more, the search needs more cases than anybody waits for.
const MOST_RANGES: usize = 6;
/// Most choices, all of them together.
const MOST_CHOICES: usize = 12;

/// A key that may be changed.
#[derive(Clone, Debug)]
pub(super) enum Item {
    Range(Free),
    Choice(Choice),
    /// The current of the supply of this number.
    Current(Free, usize),
}

impl Item {
    pub fn key(&self) -> &str {
        match self {
            Self::Range(free) | Self::Current(free, _) => &free.key,
            Self::Choice(choice) => &choice.key,
        }
    }

    /// What was asked.
    pub fn text(&self) -> String {
        match self {
            Self::Range(free) | Self::Current(free, _) => free.to_string(),
            Self::Choice(choice) => choice.to_string(),
        }
    }
}

/// All that may be changed, in the order in which it was asked for.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    pub items: Vec<Item>,
    /// What the currents are to serve, if any are free.
    pub task: Option<Task>,
}

impl Asked {
    /// Reads what was asked of a job.
    pub fn new(options: &ImproveOptions, job: &Model, text: &str) -> Result<Self, AppError> {
        let said = |key: &str| value_of(text, key);
        let currents = can_find_currents(job, options.goal);
        let mut items: Vec<Item> = Vec::new();
        for asked in &options.free {
            let item = item(asked, job, currents, said)?;
            if items.iter().any(|i| i.key() == item.key()) {
                return Err(ImproveError::Twice(asked.clone()).into());
            }
            items.push(item);
        }
        let mut all = Self { items, task: None };
        all.task = all.task(options);
        let ranges = all.ranges().count();
        if ranges > MOST_RANGES {
            return Err(ImproveError::TooMany { most: MOST_RANGES }.into());
        }
        if all.combinations().len() > MOST_CHOICES {
            return Err(ImproveError::TooManyChoices { most: MOST_CHOICES }.into());
        }
        Ok(all)
    }

    /// The ranges of the search.
    pub fn ranges(&self) -> impl Iterator<Item = &Free> {
        self.items.iter().filter_map(|item| match item {
            Item::Range(free) => Some(free),
            _ => None,
        })
    }

    fn currents(&self) -> impl Iterator<Item = (&Free, usize)> {
        self.items.iter().filter_map(|item| match item {
            Item::Current(free, supply) => Some((free, *supply)),
            _ => None,
        })
    }

    /// All combinations of the choices, that of the job first.
    pub fn combinations(&self) -> Vec<Vec<String>> {
        let mut all = vec![Vec::new()];
        for item in &self.items {
            let Item::Choice(choice) = item else { continue };
            all = (all.into_iter())
                .flat_map(|before| {
                    let longer =
                        move |value: &String| [before.clone(), vec![value.clone()]].concat();
                    choice.values.iter().map(longer)
                })
                .collect();
        }
        all
    }

    /// The values of a case, one for each item. Without currents those of the job.
    pub fn values(
        &self,
        shares: &[f64],
        choices: &[String],
        currents_a: Option<&[f64]>,
    ) -> Vec<String> {
        let mut shares = shares.iter();
        let mut choices = choices.iter();
        let mut currents_a = currents_a.unwrap_or_default().iter();
        let value = |item: &Item| match item {
            Item::Range(free) => shares.next().map(|share| free.text(*share)),
            Item::Choice(_) => choices.next().cloned(),
            Item::Current(free, _) => Some(match currents_a.next() {
                Some(current_a) => free.text_of(*current_a),
                None => free.text(free.start()),
            }),
        };
        self.items.iter().filter_map(value).collect()
    }

    /// The task of the currents, if any are free.
    fn task(&self, options: &ImproveOptions) -> Option<Task> {
        let free = self.currents().map(|(free, supply)| FreeCurrent {
            supply,
            range_a: [free.from.min(free.to), free.from.max(free.to)],
            step_a: free.step(),
        });
        let free: Vec<FreeCurrent> = free.collect();
        let aim = options.goal.aim().filter(|_| !free.is_empty())?;
        Some(Task {
            free,
            aim,
            most_share: Some(options.most_share),
            most_v: options.most_v,
            most_anode_a_per_m2: options.most_anode.map(|density| 100.0 * density),
        })
    }
}

/// Can the currents of a job be found from the sensitivities of its field, for such a goal?
fn can_find_currents(job: &Model, goal: Goal) -> bool {
    let known = match job.clone().known() {
        Known::Flat(model) => causes(&model),
        Known::Solid(model) => causes(&model),
    };
    goal.aim().is_some() && !known.is_empty()
}

fn item(
    asked: &str,
    job: &Model,
    currents: bool,
    said: impl Fn(&str) -> Result<String, VaryError>,
) -> Result<Item, AppError> {
    if let Some(choice) = Choice::new(asked)? {
        let value = said(&choice.key)?;
        return Ok(Item::Choice(
            choice.beginning_with(value.trim_matches('"'), asked)?,
        ));
    }
    let free = Free::new(asked)?;
    let value = said(&free.key)?;
    let free = free.beginning_with(value.trim_matches('"'), asked)?;
    let supply = supply_of(&free.key, job).filter(|n| {
        let holds_current = matches!(job.supplies[*n].hold, Hold::Current(_));
        holds_current && currents && free.unit == "A"
    });
    Ok(match supply {
        Some(supply) => Item::Current(free, supply),
        None => Item::Range(free),
    })
}

/// The supply whose current a key is, by its name or its number.
fn supply_of(key: &str, job: &Model) -> Option<usize> {
    let who = key.strip_prefix("supply.")?.strip_suffix(".current")?;
    let by_name = job.supplies.iter().position(|s| s.name == who);
    let by_number = who.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    by_name.or(by_number.filter(|n| *n < job.supplies.len()))
}
