//! `--free KEY=A|B|C`: a key of the job, and what it may be.

use super::error::ImproveError;
use std::fmt;

/// A key with some values.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Choice {
    pub key: String,
    /// As they stand in a job, without quotes; that of the job first.
    pub values: Vec<String>,
}

impl Choice {
    /// Reads one; nothing if it is none.
    pub fn new(text: &str) -> Result<Option<Self>, ImproveError> {
        let Some((key, values)) = text.split_once('=').filter(|(_, v)| v.contains('|')) else {
            return Ok(None);
        };
        let values = values.split('|').map(|v| v.trim().to_owned());
        let choice = Self {
            key: key.trim().into(),
            values: values.collect(),
        };
        let is_bad = choice.key.is_empty() || choice.values.iter().any(String::is_empty);
        match is_bad {
            true => Err(ImproveError::NoRange(text.to_owned())),
            false => Ok(Some(choice)),
        }
    }

    /// The same with the job's own value first; each value once.
    pub fn beginning_with(mut self, value: &str, asked: &str) -> Result<Self, ImproveError> {
        let Some(own) = self.values.iter().position(|v| v == value) else {
            return Err(ImproveError::NotAmong {
                choice: asked.to_owned(),
                key: self.key,
                value: value.to_owned(),
            });
        };
        self.values.swap(0, own);
        let mut seen = Vec::new();
        self.values.retain(|v| {
            let is_new = !seen.contains(v);
            seen.push(v.clone());
            is_new
        });
        Ok(self)
    }
}

impl fmt::Display for Choice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.key, self.values.join(" or "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_as_people_type_them() {
        let choice = Choice::new("bath.agitation = still | air|air")
            .unwrap()
            .unwrap();
        let choice = choice.beginning_with("air", "asked").unwrap();
        assert_eq!(choice.values, ["air", "still"]);
        assert_eq!(choice.to_string(), "bath.agitation air or still");
        assert_eq!(Choice::new("distance=100..200 mm").unwrap(), None);
        assert!(Choice::new("a=|").is_err());
        let error = choice.beginning_with("rod", "asked").unwrap_err();
        assert!(error.to_string().contains("rod in the job"), "{error}");
    }
}
