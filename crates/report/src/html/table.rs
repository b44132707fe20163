//! Tables: figures stand with their points under each other, and a row can be linked to.

use crate::picture::svg::text;
use crate::story::Table;
use std::fmt::Write;

/// The tables after each other.
pub(crate) fn tables(tables: &[Table]) -> String {
    tables.iter().map(|t| table(t, None)).collect()
}

/// A table; its rows after the first have the anchors `ANCHOR-0`, `ANCHOR-1` ... if there is one.
pub(super) fn table(table: &Table, anchor: Option<&str>) -> String {
    let mut html = format!(
        r#"<div class="table" tabindex="0" role="region" aria-label="{title}"><table id="{}"><caption>{title}</caption><thead><tr>"#,
        text(&table.key),
        title = text(&table.title)
    );
    for head in &table.head {
        let _ = match head.is_empty() {
            true => write!(html, "<td></td>"),
            false => write!(html, r#"<th scope="col">{}</th>"#, text(head)),
        };
    }
    html += "</tr></thead><tbody>";
    let widths: Vec<[usize; 2]> = (0..table.head.len()).map(|n| widths(table, n)).collect();
    for (k, row) in table.rows.iter().enumerate() {
        let _ = match anchor.filter(|_| k > 0) {
            Some(anchor) => write!(html, r#"<tr id="{anchor}-{}" tabindex="-1">"#, k - 1),
            None => write!(html, "<tr>"),
        };
        for (n, field) in row.iter().enumerate() {
            let _ = match n {
                0 => write!(html, r#"<th scope="row">{}</th>"#, text(field)),
                _ => write!(html, "{}", cell(field, widths[n])),
            };
        }
        html += "</tr>";
    }
    html + "</tbody></table></div>"
}

/// Whole part, fraction with its point, and what follows, of a field that is one number with its unit.
fn split(field: &str) -> Option<[&str; 3]> {
    let digits = |text: &str| {
        text.find(|c: char| !c.is_ascii_digit())
            .unwrap_or(text.len())
    };
    let sign = usize::from(field.starts_with('-'));
    let whole = sign + digits(&field[sign..]);
    if whole == sign {
        return None;
    }
    let (number, rest) = field.split_at(whole);
    let point = usize::from(rest.starts_with('.'));
    let (fraction, rest) = rest.split_at(point + digits(&rest[point..]) * point);
    let is_unit = rest.is_empty()
        || rest.strip_prefix(' ').is_some_and(|unit| {
            !unit.contains([' ', ',']) && unit.starts_with(|c: char| !c.is_ascii_digit())
        });
    is_unit.then_some([number, fraction, rest])
}

/// Letters of the widest whole part and fraction of a column.
fn widths(table: &Table, n: usize) -> [usize; 2] {
    let parts = table.rows.iter().filter_map(|row| split(row.get(n)?));
    parts.fold([0, 0], |[a, b], [whole, fraction, _]| {
        [a.max(whole.len()), b.max(fraction.len())]
    })
}

fn cell(field: &str, [whole_width, fraction_width]: [usize; 2]) -> String {
    let Some([whole, fraction, unit]) = split(field) else {
        return format!("<td>{}</td>", text(field));
    };
    format!(
        r#"<td class="n"><span style="width:{whole_width}ch">{whole}</span><span style="width:{:.1}ch">{fraction}</span>{}</td>"#,
        // A point is half as wide as a digit.
        (fraction_width as f64 - 0.4).max(0.0),
        text(unit)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_single_number_with_its_unit_is_split() {
        assert_eq!(split("342 um"), Some(["342", "", " um"]));
        assert_eq!(split("-1.47 mm"), Some(["-1", ".47", " mm"]));
        assert_eq!(split("0.3"), Some(["0", ".3", ""]));
        assert_eq!(split("2 A/dm2"), Some(["2", "", " A/dm2"]));
        for field in [
            "1.3 to 4.3 A/dm2",
            "1, 2, 3 mV",
            "about 3",
            "",
            "3e-10, 4e-9",
            "12x",
        ] {
            assert_eq!(split(field), None, "{field}");
        }
    }

    #[test]
    fn points_stand_under_each_other_and_an_empty_head_is_no_head() {
        let row = |name: &str, value: &str| vec![name.to_owned(), value.to_owned()];
        let made = Table {
            key: "t".into(),
            title: "T".into(),
            head: vec![String::new(), "value".into()],
            rows: vec![row("a", "1.47 mm"), row("b", "342 um")],
        };
        let html = table(&made, Some("body"));
        let wide = r#"<span style="width:3ch">"#;
        assert_eq!(html.matches(wide).count(), 2, "{html}");
        assert_eq!(html.matches(r#"style="width:2.6ch""#).count(), 2, "{html}");
        assert!(html.contains("<td></td>") && !html.contains("<th scope=\"col\"></th>"));
        assert!(html.contains(r#"<tr id="body-0""#));
    }
}
