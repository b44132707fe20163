//! Lengths as a job writes them, made longer or shorter: in the unit in which they stand, in the first plain term of a
//! sum, else as one more term.

use ionfall_job::unit::Dimension;

/// Digits behind the point that a number keeps: of a millimetre a millionth.
const KEPT: f64 = 1e6;
/// A number as it is written.
pub(super) fn number(value: f64) -> String {
    let rounded = (value * KEPT).round() / KEPT;
    // No minus before a nought.
    format!("{}", rounded + 0.0)
}

/// A place or sides, mm.
pub(super) fn row(values_mm: &[f64]) -> String {
    let numbers: Vec<String> = values_mm.iter().map(|v| number(*v)).collect();
    format!("{} mm", numbers.join(" x "))
}

/// A unit of length, in metres.
fn metres(unit: &str) -> Option<f64> {
    Dimension::Length.parse(&format!("1 {unit}")).ok()
}

/// The number and the unit (perhaps none) of a plain quantity.
fn plain(term: &str) -> Option<(f64, &str)> {
    let end = term.find(|c: char| c.is_alphabetic() && c != 'e' && c != 'E');
    let (value, unit) = term.split_at(end.unwrap_or(term.len()));
    let unit = unit.trim();
    let is_plain = unit.is_empty() || metres(unit).is_some();
    Some((value.trim().parse().ok().filter(|_| is_plain)?, unit))
}

/// One length by so much more; `unit` is that of its row, for numbers without one.
fn longer(text: &str, by_mm: f64, unit: &str) -> Option<String> {
    let mut terms: Vec<String> = text.split(' ').map(str::to_owned).collect();
    // Signs stand between blanks, so terms are what lies between them.
    let mut start = 0;
    while start < terms.len() {
        let sign = terms[start..].iter().position(|t| t == "+" || t == "-");
        let end = sign.map_or(terms.len(), |n| start + n);
        let minus = start > 0 && terms[start - 1] == "-";
        let term = terms[start..end].join(" ");
        if let Some((value, own)) = plain(&term) {
            let by = 1e-3 * by_mm / metres(if own.is_empty() { unit } else { own })?;
            let value = number(if minus { value - by } else { value + by });
            let written = format!("{value} {own}").trim().to_owned();
            terms.splice(start..end, [written]);
            return Some(terms.join(" "));
        }
        start = end + 1;
    }
    let sign = if by_mm < 0.0 { "-" } else { "+" };
    Some(format!("{text} {sign} {} mm", number(by_mm.abs())))
}

/// A place or a length by so much more along each coordinate; nothing if it is not one.
pub(super) fn moved(text: &str, by_mm: &[f64]) -> Option<String> {
    let pieces: Vec<&str> = text.split(" x ").collect();
    if pieces.len() != by_mm.len() {
        return None;
    }
    let units = pieces
        .iter()
        .rev()
        .flat_map(|piece| piece.split([' ', '+']));
    let unit = units.map(str::trim).find(|word| metres(word).is_some());
    let last = pieces.last().and_then(|piece| Some(plain(piece)?.1));
    let unit = last.filter(|u| !u.is_empty()).or(unit).unwrap_or("mm");
    let one = |(piece, by): (&&str, &f64)| match *by == 0.0 {
        true => Some((*piece).to_owned()),
        false => longer(piece.trim(), *by, unit),
    };
    let pieces: Option<Vec<String>> = pieces.iter().zip(by_mm).map(one).collect();
    Some(pieces?.join(" x "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_keep_their_units_and_figures() {
        for (text, by, made) in [
            ("1 x 2 x 3 mm", [5.0, 0.0, -1.0], "6 x 2 x 2 mm"),
            ("1 x 2 x 3 cm", [5.0, 0.0, -1.0], "1.5 x 2 x 2.9 cm"),
            (
                "50 mm + distance x 30 x 30 mm",
                [10.0, 0.1, 0.0],
                "60 mm + distance x 30.1 x 30 mm",
            ),
            (
                "180 x 180 mm - 1.5 * gap x 150 mm - gap",
                [1.0, 2.0, 3.0],
                "181 x 182 mm - 1.5 * gap x 153 mm - gap",
            ),
            (
                "gap x gap - 2 mm x 0 mm",
                [-1.0, 1.0, 0.0],
                "gap - 1 mm x gap - 1 mm x 0 mm",
            ),
            ("2in x 1 x 0.1 m", [25.4, 1000.0, 0.0], "3 in x 2 x 0.1 m"),
        ] {
            assert_eq!(moved(text, &by).as_deref(), Some(made), "{text}");
        }
        assert_eq!(moved("1 x 2 mm", &[1.0; 3]), None);
        assert_eq!(moved("0.1 mm", &[0.2]).as_deref(), Some("0.3 mm"));
        assert_eq!(row(&[-0.0, 1.0 / 3.0, 2.0]), "0 x 0.333333 x 2 mm");
    }
}
