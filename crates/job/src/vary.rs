//! Other values in a job: edits its text where a key stands, so that everything else, and every
//! line number in a message, stays as it is.
//!
//! ```text
//! distance                     the figure of that name, or a key of the job
//! plan.time                    a key in a table
//! anode.left anode.lead        the anode of that name       anode.2.lead  the second one
//! anode.*.shape.box.from.x     x (or 1) of a place, of every anode
//! ```
//! A list with a single member may be passed over: `shield.finest`.

use crate::figures;
use crate::suggest;
use crate::unit::split;
use std::ops::Range;
use thiserror::Error;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Why a value could not be put into a job.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum VaryError {
    /// The job is no TOML; reading it tells more.
    #[error("the job file is not TOML")]
    NoDocument,
    /// No such key.
    #[error("the job has no `{path}`: there is no `{word}` in {within}")]
    NoKey {
        /// The whole path.
        path: String,
        /// The part that is not there.
        word: String,
        /// Where it was looked for.
        within: String,
        /// The way out.
        help: String,
    },
    /// A table, which cannot be replaced by a value.
    #[error("`{path}` is a table; name one of its keys")]
    Table {
        /// The path.
        path: String,
        /// The way out.
        help: String,
    },
    /// Two paths lead to one place.
    #[error("`{path}` is set twice")]
    Twice {
        /// The later path.
        path: String,
    },
}

impl VaryError {
    /// The way out, where the message has none.
    pub fn help(&self) -> Option<&str> {
        match self {
            Self::NoKey { help, .. } | Self::Table { help, .. } => Some(help),
            _ => None,
        }
    }
}

/// The text of a job with other values: pairs of path and value. A value is written as in a job
/// file; quotes around a text may be left out.
///
/// # Errors
/// [`VaryError`].
pub fn with_values(text: &str, values: &[(String, String)]) -> Result<String, VaryError> {
    let document = DeTable::parse(text).map_err(|_| VaryError::NoDocument)?;
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    for (path, value) in values {
        let search = Search { text, path };
        for edit in search.edits(document.get_ref(), value)? {
            if edits.iter().any(|(span, _)| overlap(span, &edit.0)) {
                return Err(VaryError::Twice { path: path.clone() });
            }
            edits.push(edit);
        }
    }
    edits.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    let mut text = text.to_owned();
    for (span, value) in edits {
        text.replace_range(span, &value);
    }
    Ok(text)
}

/// The value of a key as it stands in the text of a job.
///
/// # Errors
/// [`VaryError`].
pub fn value_of(text: &str, path: &str) -> Result<String, VaryError> {
    let document = DeTable::parse(text).map_err(|_| VaryError::NoDocument)?;
    let edits = Search { text, path }.edits(document.get_ref(), "0")?;
    let first = edits.first().map(|(span, _)| &text[span.clone()]);
    Ok(first.unwrap_or_default().to_owned())
}

fn overlap(a: &Range<usize>, b: &Range<usize>) -> bool {
    a.start < b.end && b.start < a.end
}

type Value<'a> = Spanned<DeValue<'a>>;

struct Search<'a> {
    text: &'a str,
    path: &'a str,
}

impl<'a> Search<'a> {
    fn edits(&self, job: &DeTable, value: &str) -> Result<Vec<(Range<usize>, String)>, VaryError> {
        let mut words: Vec<&str> = self.path.split('.').map(str::trim).collect();
        let is_figure = job
            .get(figures::KEY)
            .and_then(|t| t.get_ref().as_table())
            .is_some_and(|t| t.contains_key(words[0]));
        if words.len() == 1 && is_figure {
            words.insert(0, figures::KEY);
        }
        let mut found = Vec::new();
        self.table(job, &words, "the job", value, &mut found)?;
        Ok(found)
    }

    fn table(
        &self,
        table: &DeTable,
        words: &[&str],
        within: &str,
        value: &str,
        found: &mut Vec<(Range<usize>, String)>,
    ) -> Result<(), VaryError> {
        let Some(inner) = table.get(words[0]) else {
            // A single table may be called by its name.
            let name = table.get("name").and_then(|n| n.get_ref().as_str());
            if words.len() > 1 && name == Some(words[0]) {
                return self.table(table, &words[1..], words[0], value, found);
            }
            let mut keys: Vec<String> = table.keys().map(|k| k.get_ref().to_string()).collect();
            if within == "the job" {
                let figures = table.get(figures::KEY).and_then(|t| t.get_ref().as_table());
                let names = figures.into_iter().flat_map(|t| t.keys());
                keys.extend(names.map(|k| k.get_ref().to_string()));
            }
            return Err(self.nothing(words[0], within, &keys, &[]));
        };
        self.value(inner, &words[1..], words[0], value, found)
    }

    fn value(
        &self,
        at: &Value,
        words: &[&str],
        within: &str,
        value: &str,
        found: &mut Vec<(Range<usize>, String)>,
    ) -> Result<(), VaryError> {
        let Some(word) = words.first() else {
            let span = at.span();
            // The span of a table with a head of its own is the head.
            let has_head = |table: &Value| !self.text[table.span()].starts_with('{');
            let keys: Vec<_> = match at.get_ref() {
                DeValue::Table(keys) if has_head(at) => keys.keys().collect(),
                DeValue::Array(list) => match list.iter().next() {
                    Some(first) if has_head(first) => {
                        let keys = first.get_ref().as_table();
                        keys.into_iter().flat_map(|t| t.keys()).collect()
                    }
                    _ => Vec::new(),
                },
                _ => Vec::new(),
            };
            if !keys.is_empty() {
                let keys: Vec<_> = keys.iter().map(|k| format!("`{}`", k.get_ref())).collect();
                return Err(VaryError::Table {
                    path: self.path.into(),
                    help: format!("in it are {}", keys.join(", ")),
                });
            }
            found.push((span, literal(value, at.get_ref())));
            return Ok(());
        };
        match at.get_ref() {
            DeValue::Table(table) => self.table(table, words, within, value, found),
            DeValue::Array(list) => {
                let rest = &words[1..];
                if *word == "*" {
                    for item in list {
                        self.value(item, rest, within, value, found)?;
                    }
                    return Ok(());
                }
                let name_of = |item: &Value| -> Option<String> {
                    Some(item.get_ref().get("name")?.get_ref().as_str()?.to_owned())
                };
                let member = number(word, list.len())
                    .and_then(|n| list.get(n))
                    .or_else(|| list.iter().find(|i| name_of(i).as_deref() == Some(word)));
                match (member, list.iter().next()) {
                    (Some(item), _) => self.value(item, rest, word, value, found),
                    (None, Some(only)) if list.len() == 1 => {
                        self.value(only, words, within, value, found)
                    }
                    _ => {
                        let names: Vec<String> = list.iter().filter_map(name_of).collect();
                        let also = ["*".to_owned(), format!("1 to {}", list.len())];
                        Err(self.nothing(word, within, &names, &also))
                    }
                }
            }
            DeValue::String(row) => {
                let pieces: Vec<&str> = row.split(" x ").collect();
                match number(word, pieces.len()).filter(|_| words.len() == 1 && pieces.len() > 1) {
                    Some(n) => {
                        let row = format!("\"{}\"", replaced(&pieces, n, value));
                        let span = at.span();
                        match found.iter_mut().find(|(other, _)| *other == span) {
                            Some(_) => Err(VaryError::Twice {
                                path: self.path.into(),
                            }),
                            None => {
                                found.push((span, row));
                                Ok(())
                            }
                        }
                    }
                    None => Err(self.nothing(word, within, &[], &[])),
                }
            }
            _ => Err(self.nothing(word, within, &[], &[])),
        }
    }

    /// Nothing of that word; `known` words may be meant, `also` others would do.
    fn nothing(&self, word: &str, within: &str, known: &[String], also: &[String]) -> VaryError {
        let near = suggest::nearest(word, known.iter().map(String::as_str));
        let all: Vec<&str> = known.iter().chain(also).map(String::as_str).collect();
        let only = "only what stands in the job file can be varied";
        let help = match near {
            Some(near) => format!("did you mean `{near}`? {only}"),
            None if all.is_empty() => only.into(),
            None => format!("known here: {}; {only}", all.join(", ")),
        };
        VaryError::NoKey {
            path: self.path.into(),
            word: word.into(),
            within: match within {
                "the job" => within.into(),
                _ => format!("`{within}`"),
            },
            help,
        }
    }
}

/// A member of a list of so many: counted from one, or a coordinate.
fn number(word: &str, of: usize) -> Option<usize> {
    let coordinates: &[&str] = if of == 2 {
        &["x", "y"]
    } else {
        &["x", "y", "z"]
    };
    let named = coordinates.iter().position(|c| *c == word);
    let revolved = ["r", "z"].iter().position(|c| *c == word);
    let counted = || word.parse::<usize>().ok()?.checked_sub(1);
    named
        .or(revolved.filter(|_| of == 2))
        .or_else(counted)
        .filter(|n| *n < of)
}

/// A row with another member; the others keep their unit.
fn replaced(pieces: &[&str], n: usize, value: &str) -> String {
    let unit = split(pieces[pieces.len() - 1]).map_or("", |(_, unit)| unit);
    let pieces: Vec<String> = pieces
        .iter()
        .enumerate()
        .map(|(k, piece)| match piece.trim() {
            _ if k == n => value.trim().to_owned(),
            // Not if it is a sum or a figure.
            bare if bare.parse::<f64>().is_ok() => format!("{bare} {unit}").trim().to_owned(),
            own => own.to_owned(),
        })
        .collect();
    pieces.join(" x ")
}

/// A value as TOML: as it is where it is TOML and no bare word, else in quotes.
fn literal(value: &str, old: &DeValue) -> String {
    let value = value.trim();
    let structured = value.starts_with(['{', '[', '"', '\'']);
    let plain = matches!(value, "true" | "false") || value.parse::<f64>().is_ok();
    // A bare number in place of a text: the reader asks for its unit.
    if structured || (plain && !matches!(old, DeValue::String(_))) {
        return value.to_owned();
    }
    format!("\"{}\"", value.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    const JOB: &str = r#"title = "t"
[figures]
gap = "1 mm"
[bath]
agitation = "air" # stirred
[[anode]]
name = "left anode"
shape.box = { from = "1 x 2 x 3 mm", to = ["4 mm", "5 mm", "6 mm"] }
[[anode]]
name = "right anode"
shape.box = { from = "7 x 8 x gap", to = ["4 mm", "5 mm", "6 mm"] }
[[shield]]
name = "frame"
open = 0.5
"#;

    fn set(path: &str, value: &str) -> String {
        with_values(JOB, &[(path.into(), value.into())]).unwrap()
    }

    #[test]
    fn values_are_put_in_place() {
        for (path, value, old, new) in [
            ("gap", "2 mm", "gap = \"1 mm\"", "gap = \"2 mm\""),
            ("bath.agitation", "still", "\"air\" #", "\"still\" #"),
            ("shield.open", "0.25", "open = 0.5", "open = 0.25"),
            ("shield.frame.open", "0.25", "open = 0.5", "open = 0.25"),
            ("shield.1.open", "5 %", "open = 0.5", "open = \"5 %\""),
            (
                "bath.agitation",
                "{ film = \"9 um\" }",
                "agitation = \"air\"",
                "agitation = { film = \"9 um\" }",
            ),
            (
                "anode.left anode.shape.box.from.x",
                "9 cm",
                "1 x 2 x 3 mm",
                "9 cm x 2 mm x 3 mm",
            ),
            (
                "anode.1.shape.box.from.z",
                "9 cm",
                "1 x 2 x 3 mm",
                "1 mm x 2 mm x 9 cm",
            ),
        ] {
            assert_eq!(set(path, value), JOB.replacen(old, new, 1), "{path}");
        }
        let all = set("anode.*.shape.box.to.y", "9 cm");
        assert_eq!(all, JOB.replace("\"5 mm\"", "\"9 cm\""));
        let all = set("anode.*.shape.box.from.x", "9 cm");
        assert!(
            all.contains("\"9 cm x 2 mm x 3 mm\"") && all.contains("\"9 cm x 8 x gap\""),
            "{all}"
        );
    }

    #[test]
    fn what_is_not_there_is_said_with_a_way_out() {
        let error = |path: &str| with_values(JOB, &[(path.into(), "1 mm".into())]).unwrap_err();
        for (path, message, help) in [
            ("gpa", "no `gpa` in the job", "did you mean `gap`"),
            ("bath.agitatoin", "no `agitatoin` in `bath`", "`agitation`"),
            ("anode.lift anode.lead", "`lift anode`", "`left anode`"),
            ("anode.3.lead", "no `3` in `anode`", "1 to 2"),
            ("title.more", "no `more` in `title`", "only what stands"),
            ("bath", "is a table", "`agitation`"),
            ("anode", "is a table", "`shape`"),
        ] {
            let error = error(path);
            assert!(error.to_string().contains(message), "{error}");
            assert!(error.help().unwrap().contains(help), "{:?}", error.help());
        }
        let twice = [("gap", "1 mm"), ("figures.gap", "2 mm")];
        let twice = twice.map(|(p, v)| (p.to_owned(), v.to_owned()));
        assert!(matches!(
            with_values(JOB, &twice),
            Err(VaryError::Twice { .. })
        ));
        assert_eq!(with_values("a = = 1", &[]), Err(VaryError::NoDocument));
    }
}
