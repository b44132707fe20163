//! The requests of a page, and who answers them.

use crate::begin::{Answers, begin};
use crate::course;
use crate::edit;
use crate::files::Files;
use crate::look::look;
use crate::refusal::Refusal;
use crate::solve::{Wish, solve};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::collections::BTreeMap;

/// Told how far an answer has come: share and words.
pub(crate) type Told<'a> = &'a mut dyn FnMut(f64, &str);

/// A request, by its word under `ask`.
#[derive(Debug, Deserialize)]
#[serde(tag = "ask", rename_all = "lowercase")]
enum Request {
    About,
    File {
        name: String,
        base64: String,
    },
    Drop {
        name: String,
    },
    Look {
        text: String,
    },
    Set {
        text: String,
        values: Vec<(String, String)>,
    },
    Unset {
        text: String,
        path: String,
    },
    Move {
        text: String,
        body: String,
        by: Vec<f64>,
    },
    Turn {
        text: String,
        body: String,
        about: Option<String>,
        deg: f64,
    },
    Size {
        text: String,
        body: String,
        #[serde(rename = "box")]
        filled: [Vec<f64>; 2],
    },
    Add {
        text: String,
        #[serde(flatten)]
        new: edit::New,
    },
    Copy {
        text: String,
        body: String,
    },
    Remove {
        text: String,
        body: String,
    },
    Solve {
        text: String,
        cells: Option<u64>,
        #[serde(rename = "what")]
        wish: Wish,
    },
    New {
        answers: Answers,
    },
    Textbook {
        id: Option<String>,
        #[serde(default)]
        values: BTreeMap<String, f64>,
    },
}

/// Answers requests about jobs, and keeps the files that they name.
#[derive(Debug, Default)]
pub struct Engine {
    files: Files,
}

impl Engine {
    /// Answers a request: `{"ok": …}`, `{"faults": […]}` of a job's text, or `{"error": "…"}`. `told` is told how
    /// far a long answer has come: share and words.
    pub fn ask(&mut self, request: &str, told: &mut dyn FnMut(f64, &str)) -> String {
        let answer = match serde_json::from_str(request) {
            Ok(request) => self.answer(request, told),
            Err(error) => Err(Refusal::plain(format!("no request: {error}"))),
        };
        let written = answer.map(|json| format!("{{\"ok\":{json}}}"));
        written.unwrap_or_else(|refusal| serde_json::to_string(&refusal).unwrap_or_default())
    }

    fn answer(&mut self, request: Request, told: Told) -> Result<String, Refusal> {
        match request {
            Request::About => written(&json!({ "version": env!("CARGO_PKG_VERSION") })),
            Request::File { name, base64 } => {
                let bytes = STANDARD.decode(base64);
                let bytes = bytes.map_err(|error| Refusal::plain(format!("{name}: {error}")))?;
                self.files.put(name, bytes);
                written(&true)
            }
            Request::Drop { name } => {
                self.files.drop(&name);
                written(&true)
            }
            Request::Look { text } => written(&look(&text, &self.files)?),
            Request::Set { text, values } => changed(edit::set(&text, &values)?),
            Request::Unset { text, path } => changed(edit::unset(&text, &path)?),
            Request::Move { text, body, by } => changed(edit::shift(&text, &body, &by)?),
            Request::Turn {
                text,
                body,
                about,
                deg,
            } => {
                let about = about.as_deref().unwrap_or("z");
                changed(edit::turn(&text, &self.files, &body, about, deg)?)
            }
            Request::Size { text, body, filled } => {
                let corner =
                    |x: Vec<f64>| std::array::from_fn(|k| x.get(k).copied().unwrap_or(0.0));
                changed(edit::fill(&text, &self.files, &body, &filled.map(corner))?)
            }
            Request::Add { text, new } => written(&edit::add(&text, &self.files, &new)?),
            Request::Copy { text, body } => written(&edit::copy(&text, &self.files, &body)?),
            Request::Remove { text, body } => changed(edit::remove(&text, &body)?),
            Request::New { answers } => changed(begin(&answers, &self.files)?),
            Request::Textbook { id: None, .. } => written(&course::cases()),
            Request::Textbook {
                id: Some(id),
                values,
            } => written(&course::case(&id, &values, told)?),
            Request::Solve { text, cells, wish } => solve(&text, &self.files, cells, wish, told),
        }
    }
}

/// An answer as JSON.
pub(crate) fn written(answer: &impl Serialize) -> Result<String, Refusal> {
    serde_json::to_string(answer).map_err(|error| Refusal::of(&error))
}

/// A text that was edited.
fn changed(text: String) -> Result<String, Refusal> {
    written(&json!({ "text": text }))
}
