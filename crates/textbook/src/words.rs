//! The rows as words for the terminal.

use crate::case::Case;
use crate::compare::{Report, Row};
use std::fmt::Write as _;

/// Width of a printed line.
const WIDTH: usize = 100;

/// The list of cases: name and what each shows.
pub fn list(cases: &[Case]) -> String {
    let widest = cases.iter().map(|c| c.name.len()).max().unwrap_or(0);
    let mut text = String::from("The textbook: classic cases with reference answers.\n\n");
    for case in cases {
        let told = wrapped(case.told()[0], WIDTH - widest - 4);
        for (n, line) in told.iter().enumerate() {
            let name = if n == 0 { case.name } else { "" };
            let _ = writeln!(text, "  {name:widest$}  {line}");
        }
    }
    text.push_str(
        "\nRun one:  ionfall textbook eccentric-cylinders\n\
         All:      ionfall textbook --all\n\
         The three current distributions on one cell:  ionfall textbook course\n\
         A job to start from:  ionfall textbook eccentric-cylinders --job > my.toml\n",
    );
    text
}

/// Breaks a text into lines.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && lines[last].len() + 1 + word.len() > width {
            lines.push(word.into());
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines
}

/// A number as printed: six digits, or fewer.
pub(crate) fn number(value: f64) -> String {
    let size = value.abs();
    if value == 0.0 {
        return "0".into();
    }
    if !(1e-3..1e6).contains(&size) {
        return format!("{value:.4e}");
    }
    let places = (5 - size.log10().floor() as i32).clamp(0, 8) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').into()
    } else {
        text
    }
}

/// A difference in percent, or plain.
pub(crate) fn difference(value: f64, plain: bool) -> String {
    if plain {
        return number(value);
    }
    let percent = 100.0 * value;
    if percent.abs() < 5e-7 {
        return "0 %".into();
    }
    if percent.abs() < 1e-3 {
        return format!("{percent:.0e} %");
    }
    let places = (1 - percent.abs().log10().floor() as i32).clamp(0, 4) as usize;
    format!("{percent:.places$} %")
}

fn cells(row: &Row) -> [String; 9] {
    let name = if row.unit.is_empty() || row.unit == "1" {
        row.quantity.clone()
    } else {
        format!("{}, {}", row.quantity, row.unit)
    };
    [
        name,
        row.kind.word().into(),
        number(row.reference),
        number(row.computed),
        difference(row.difference, row.plain),
        difference(row.allowed, row.plain),
        row.order.map_or("-".into(), |o| format!("{o:.1}")),
        difference(row.plus_minus, row.plain),
        if row.inside { "yes" } else { "no" }.into(),
    ]
}

const HEAD: [&str; 9] = [
    "quantity",
    "by",
    "reference",
    "computed",
    "difference",
    "allowed",
    "order",
    "+-",
    "inside",
];

/// The reports as tables, with a verdict at the end.
pub fn text(reports: &[Report]) -> String {
    let mut text = String::new();
    let mut widths = HEAD.map(str::len);
    for row in reports.iter().flat_map(|r| &r.rows) {
        for (width, cell) in widths.iter_mut().zip(cells(row)) {
            *width = (*width).max(cell.chars().count());
        }
    }
    for report in reports {
        let _ = writeln!(text, "{} ({})", report.name, report.ids.join(", "));
        for told in [report.shows, report.formula, report.source] {
            for line in wrapped(told, WIDTH - 2) {
                let _ = writeln!(text, "  {line}");
            }
        }
        line(&mut text, HEAD.map(String::from), &widths, "");
        let mut variant = "";
        for row in &report.rows {
            if row.variant != variant {
                variant = row.variant;
                let _ = writeln!(text, "  {variant}:");
            }
            let flag = if row.within { "" } else { "  OUT" };
            line(&mut text, cells(row), &widths, flag);
        }
        let _ = writeln!(
            text,
            "  up to {} cells on the finest of three grids, {:.1} s\n",
            report.cells, report.seconds
        );
    }
    text.push_str(&verdict(reports));
    text
}

fn line(text: &mut String, cells: [String; 9], widths: &[usize; 9], flag: &str) {
    for (n, (cell, width)) in cells.iter().zip(widths).enumerate() {
        if n == 0 {
            let _ = write!(text, "  {cell:width$}");
        } else {
            let _ = write!(text, "  {cell:>width$}");
        }
    }
    let _ = writeln!(text, "{flag}");
}

/// How many quantities are as the reference says, and what the words of the table mean.
fn verdict(reports: &[Report]) -> String {
    let rows = || reports.iter().flat_map(|r| &r.rows);
    let (all, inside) = (rows().count(), rows().filter(|r| r.inside).count());
    let out = rows().filter(|r| !r.within).count();
    let mut text = match out {
        0 => format!("All {all} quantities are within what is allowed."),
        _ => format!("{out} of {all} quantities are OUT of what is allowed."),
    };
    let _ = writeln!(
        text,
        " Of {inside} the reference value lies within the\nplus-minus that three grids give.\n\n\
         by: a published number; worked out here from a formula; computed here by another method. The\n\
         source of each stands above its rows.",
    );
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_a_student_reads_them() {
        assert_eq!(number(29.45061535), "29.4506");
        assert_eq!(number(1e-7), "1.0000e-7");
        assert_eq!(number(0.5), "0.5");
        assert_eq!(number(0.0), "0");
        assert_eq!(difference(0.00123, false), "0.12 %");
        assert_eq!(difference(0.005, false), "0.50 %");
        assert_eq!(difference(-3e-11, false), "0 %");
        assert_eq!(difference(0.01, true), "0.01");
    }

    #[test]
    fn words_are_broken_between_them() {
        assert_eq!(wrapped("a bc def", 4), ["a bc", "def"]);
    }
}
