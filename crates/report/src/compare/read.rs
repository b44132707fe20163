//! Finished results, read back from their folder.

use crate::digest::Digest;
use crate::error::ReportError;
use crate::folder::{FACETS, LINES, SUMMARY};
use crate::values::names;
use ionfall_model::Role;
use std::fs;
use std::io::{Error, ErrorKind};
use std::path::Path;

/// A run that is compared.
#[derive(Clone, Debug)]
pub struct Run {
    /// What it is called.
    pub name: String,
    /// Its key figures.
    pub digest: Digest,
    /// Facets of its works; none if its job saved none.
    pub facets: Vec<Facet>,
    /// Number of coordinates.
    pub dimension: usize,
    /// Named lines.
    pub lines: Vec<NamedLine>,
}

/// A facet of a work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facet {
    /// Middle, m.
    pub point: [f64; 3],
    /// Normal into the bath.
    pub normal: [f64; 3],
    /// Area, m2.
    pub area_m2: f64,
    /// Thickness, m; without a plan the current density, A/m2.
    pub value: f64,
}

/// Thickness along a line that the job names.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedLine {
    /// Name.
    pub name: String,
    /// Way along it in mm, thickness in um.
    pub points: Vec<[f64; 2]>,
}

impl Run {
    /// Reads a folder of results.
    ///
    /// # Errors
    /// [`ReportError::Unreadable`].
    pub fn read(folder: &Path, name: &str) -> Result<Self, ReportError> {
        let unreadable = |file: &str, source: Error| ReportError::Unreadable {
            path: folder.join(file),
            source,
        };
        let text = fs::read_to_string(folder.join(SUMMARY)).map_err(|e| unreadable(SUMMARY, e))?;
        let digest = serde_json::from_str(&text)
            .map_err(|e| unreadable(SUMMARY, Error::new(ErrorKind::InvalidData, e)))?;
        let table = |file: &str| match fs::read_to_string(folder.join(file)) {
            Ok(text) => Ok(Some(text)),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
            Err(e) => Err(unreadable(file, e)),
        };
        let (facets, dimension) = table(FACETS)?.map_or((Vec::new(), 3), |t| facets(&t));
        let lines = table(LINES)?.map_or(Vec::new(), |t| lines(&t));
        Ok(Self {
            name: name.into(),
            digest,
            facets,
            dimension,
            lines,
        })
    }
}

/// Rows of a table as fields by the name of their column.
fn rows<'a>(text: &'a str) -> (Vec<String>, impl Iterator<Item = Vec<String>> + 'a) {
    let mut lines = text.lines();
    let head = lines.next().map(fields).unwrap_or_default();
    (head, lines.map(fields))
}

/// Fields of a line, quoted or not.
fn fields(line: &str) -> Vec<String> {
    let mut fields = Vec::new();
    let mut field = String::new();
    let (mut quoted, mut last) = (false, ' ');
    for c in line.chars() {
        match c {
            '"' => {
                // A doubled quote inside of quotes is one.
                if !quoted && last == '"' {
                    field.push('"');
                }
                quoted = !quoted;
            }
            ',' if !quoted => fields.push(std::mem::take(&mut field)),
            _ => field.push(c),
        }
        last = c;
    }
    fields.push(field);
    fields
}

fn facets(text: &str) -> (Vec<Facet>, usize) {
    let (head, rows) = rows(text);
    let column = |name: &str| head.iter().position(|h| h == name);
    let dimension = head.iter().filter(|h| h.starts_with("normal_")).count();
    let role = column("role");
    let value = column(names::THICKNESS).or(column(names::CURRENT_DENSITY));
    let area = column(names::AREA);
    let found = rows
        .filter(|row| {
            let word = role.and_then(|n| row.get(n));
            word.and_then(|word| Role::find(word)) == Some(Role::Work)
        })
        .filter_map(|row| {
            let number = |n: usize| row.get(n)?.parse::<f64>().ok();
            let vector = |start: usize| -> Option<[f64; 3]> {
                let mut x = [0.0; 3];
                for (k, x) in x.iter_mut().enumerate().take(dimension) {
                    *x = number(start + k)?;
                }
                Some(x)
            };
            Some(Facet {
                point: vector(2)?,
                normal: vector(2 + dimension)?,
                area_m2: number(area?)?,
                value: number(value?)?,
            })
        });
    (found.collect(), dimension)
}

fn lines(text: &str) -> Vec<NamedLine> {
    let (head, rows) = rows(text);
    let column = |name: &str| head.iter().position(|h| h == name);
    let (way, value) = (column("way_m"), column(names::THICKNESS));
    let mut found: Vec<NamedLine> = Vec::new();
    for row in rows {
        let number = |n: Option<usize>| row.get(n?)?.parse::<f64>().ok();
        let (Some(name), Some(way), Some(value)) = (row.first(), number(way), number(value)) else {
            continue;
        };
        let point = [1e3 * way, 1e6 * value];
        match found.iter_mut().find(|l| l.name == *name) {
            Some(line) => line.points.push(point),
            None => found.push(NamedLine {
                name: name.clone(),
                points: vec![point],
            }),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quoted_fields() {
        assert_eq!(fields("a,\"b, \"\"c\"\"\",,d"), ["a", "b, \"c\"", "", "d"]);
    }

    #[test]
    fn lines_by_name() {
        let text = "line,way_m,thickness_m\na,0.001,1e-6\na,0.002,2e-6\nb,0,\nb,0.003,3e-6\n";
        let found = lines(text);
        assert_eq!(found.len(), 2);
        let close = |a: f64, b: f64| (a - b).abs() < 1e-12;
        assert!(close(found[0].points[1][0], 2.0) && close(found[0].points[1][1], 2.0));
        assert_eq!(found[1].points.len(), 1);
    }
}
