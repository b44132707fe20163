//! From part to part: what the copies of a body get, in words and as a table.

use crate::story::Table;
use crate::story::measure::{number, percent, thick};
use crate::summary::Summary;
use ionfall_deposit::BodyOutcome;
use ionfall_deposit::repeat::{Apart, RepeatOutcome};
use ionfall_model::Role;

/// Most copies with a line of their own on a terminal.
const MOST_LINES: usize = 24;

/// How far apart the copies are, in a sentence.
pub(crate) fn sentence(repeat: &RepeatOutcome) -> String {
    let words = |apart: &Apart, least: String, most: String, what: &str| {
        format!(
            "{} copies: from {least} ({}) to {most} ({}) {what}, {} of the mean apart",
            repeat.copies,
            apart.least_on,
            apart.most_on,
            percent(apart.share)
        )
    };
    match (
        &repeat.mean_thickness_m,
        &repeat.mean_current_density_a_per_m2,
    ) {
        (Some(apart), _) if repeat.role.is_cathode() => words(
            apart,
            thick(apart.least),
            thick(apart.most),
            "of mean thickness",
        ),
        (_, Some(apart)) => {
            let [least, most] =
                [apart.least, apart.most].map(|i| format!("{} A/dm2", number(0.01 * i)));
            words(apart, least, most, "of mean current density")
        }
        _ => format!("{} copies", repeat.copies),
    }
}

/// The sentence and, of cathodes, a line for each copy; of many copies only those that get least.
pub(crate) fn lines(summary: &Summary, repeat: &RepeatOutcome) -> Vec<String> {
    if !repeat.role.is_cathode() {
        return vec![sentence(repeat)];
    }
    let mut copies = copies(summary, repeat);
    let left_out = copies.len().saturating_sub(MOST_LINES);
    if left_out > 0 {
        copies.sort_by(|a, b| mean(a).total_cmp(&mean(b)));
        copies.truncate(MOST_LINES);
    }
    let width = copies
        .iter()
        .map(|b| b.name.chars().count())
        .max()
        .unwrap_or(0);
    let line = |body: &&BodyOutcome| format!("{:<width$}  {}", body.name, told(body));
    let mut lines = vec![sentence(repeat)];
    lines.extend(copies.iter().map(line));
    if left_out > 0 {
        lines.push(format!("and {left_out} more that get more: see the report"));
    }
    lines
}

fn copies<'a>(summary: &'a Summary, repeat: &RepeatOutcome) -> Vec<&'a BodyOutcome> {
    let own = |b: &&BodyOutcome| b.copy_of.as_ref() == Some(&repeat.name);
    summary.bodies.iter().filter(own).collect()
}

/// The name of each body that is repeated, and those of its copies.
pub(crate) fn copies_by_name(summary: &Summary) -> Vec<(String, Vec<String>)> {
    let names = |repeat: &RepeatOutcome| {
        copies(summary, repeat)
            .iter()
            .map(|b| b.name.clone())
            .collect()
    };
    let repeats = summary.repeats.iter();
    repeats
        .map(|repeat| (repeat.name.clone(), names(repeat)))
        .collect()
}

/// What the figure of a part is: metal over area, or current over area.
fn mean(body: &BodyOutcome) -> f64 {
    body.volume_m3.unwrap_or(body.current_a.abs()) / body.area_m2
}

fn told(body: &BodyOutcome) -> String {
    let mut parts = Vec::new();
    if let (Some(spread), true) = (body.thickness_m, body.role.is_cathode()) {
        parts.push(format!("mean {:>7}", thick(spread.mean)));
        parts.extend(
            body.thinnest
                .map(|p| format!("thinnest {:>7}", thick(p.value))),
        );
    }
    parts.push(format!("{} A", number(body.current_a.abs())));
    parts.push(format!(
        "{} A/dm2",
        number(0.01 * body.current_density_a_per_m2.mean)
    ));
    if let Some(share) = body.limit_share {
        parts.push(format!("{} of the limit", percent(share.value)));
    }
    parts.join(", ")
}

/// A table for each body that is repeated: its copies in rows.
pub(crate) fn tables(summary: &Summary) -> Vec<Table> {
    let cathodes = summary.repeats.iter().filter(|r| r.role.is_cathode());
    cathodes
        .enumerate()
        .map(|(n, repeat)| table(summary, repeat, n))
        .collect()
}

fn table(summary: &Summary, repeat: &RepeatOutcome, n: usize) -> Table {
    let all = repeat.mean_thickness_m.as_ref().map(|apart| apart.mean);
    let row = |body: &&BodyOutcome| {
        let over = body
            .thickness_m
            .zip(all)
            .map(|(t, all)| percent(t.mean / all));
        vec![
            body.name.clone(),
            body.thickness_m.map_or(String::new(), |t| thick(t.mean)),
            over.unwrap_or_default(),
            body.thinnest.map_or(String::new(), |p| thick(p.value)),
            body.thickest.map_or(String::new(), |p| thick(p.value)),
            body.share_below_wanted.map_or(String::new(), percent),
            format!("{} A", number(body.current_a.abs())),
            format!(
                "{} A/dm2",
                number(0.01 * body.current_density_a_per_m2.mean)
            ),
            body.metal_kg
                .map_or(String::new(), |kg| format!("{} g", number(1e3 * kg))),
            body.limit_share.map_or(String::new(), |p| percent(p.value)),
        ]
    };
    let head = [
        "part",
        "mean thickness",
        "of the mean of all",
        "thinnest place",
        "thickest place",
        "area thinner than wanted",
        "current",
        "mean current density",
        "metal",
        "of the limiting current at most",
    ];
    Table {
        key: format!("parts-{}", n + 1),
        title: format!("From part to part: {}, {}", repeat.name, sentence(repeat)),
        head: head.map(String::from).to_vec(),
        rows: copies(summary, repeat).iter().map(row).collect(),
    }
}

/// Of the bodies of a run those that are told in full: of copies only the one with the thinnest place (without a
/// plan the one with the least current density).
pub(crate) fn told_in_full(summary: &Summary) -> impl Iterator<Item = &BodyOutcome> {
    let figure = |b: &BodyOutcome| b.thinnest.map_or_else(|| mean(b), |p| p.value);
    summary.bodies.iter().filter(move |b| {
        let Some(of) = &b.copy_of else { return true };
        let own = summary
            .bodies
            .iter()
            .filter(|o| o.copy_of.as_ref() == Some(of));
        let least = own.min_by(|x, y| figure(x).total_cmp(&figure(y)));
        least.is_some_and(|least| least.name == b.name)
    })
}

/// A body, or all copies of one.
pub(crate) struct Together {
    /// Its name, with how many there are.
    pub name: String,
    /// Current of all, A, without a sign.
    pub current_a: f64,
    /// Area of all, m2.
    pub area_m2: f64,
}

/// The bodies of some roles, copies together.
pub(crate) fn together(summary: &Summary, is_meant: impl Fn(Role) -> bool) -> Vec<Together> {
    let mut found: Vec<(&str, usize, Together)> = Vec::new();
    for body in summary.bodies.iter().filter(|b| is_meant(b.role)) {
        let name = body.copy_of.as_deref().unwrap_or(&body.name);
        let (current_a, area_m2) = (body.current_a.abs(), body.area_m2);
        match found.iter_mut().find(|(known, ..)| *known == name) {
            Some((_, copies, all)) => {
                *copies += 1;
                all.name = format!("{copies} x {name}");
                all.current_a += current_a;
                all.area_m2 += area_m2;
            }
            None => found.push((
                name,
                1,
                Together {
                    name: name.into(),
                    current_a,
                    area_m2,
                },
            )),
        }
    }
    found.into_iter().map(|(.., together)| together).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::digest::{Digest, KeyFigure};
    use crate::testing::{assert_says, tank};
    use crate::{Look, text};
    use approx::assert_relative_eq;
    use std::path::Path;

    /// The plate three times, with 1, 1.2 and 0.9 times its metal.
    fn rack() -> Summary {
        let mut case = tank();
        let bodies = &mut case.outcome.bodies;
        let plate = bodies.pop().unwrap();
        for (n, factor) in [1.0, 1.2, 0.9].into_iter().enumerate() {
            let mut copy = plate.clone();
            copy.name = format!("plate {}", n + 1);
            copy.copy_of = Some("plate".into());
            copy.volume_m3 = plate.volume_m3.map(|v| factor * v);
            copy.thinnest = plate.thinnest.map(|mut p| {
                p.value *= factor;
                p
            });
            bodies.push(copy);
        }
        case.summary()
    }

    #[test]
    fn the_figure_of_a_rack_stands_everywhere() {
        let summary = rack();
        let [repeat] = &summary.repeats[..] else {
            panic!("one body is repeated");
        };
        // 30 % of the plate's metal, over 3.1 thirds of it.
        let share = 0.3 / (3.1 / 3.0);
        let apart = repeat.mean_thickness_m.as_ref().unwrap();
        assert_relative_eq!(apart.share, share, max_relative = 1e-12);
        let digest = Digest::of(&summary).unwrap();
        let figure = KeyFigure::Apart.of(&digest).unwrap();
        assert_relative_eq!(figure, 100.0 * share, max_relative = 1e-12);
        let words = sentence(repeat);
        assert_says(
            &words,
            &[
                "3 copies",
                "(plate 3)",
                "(plate 2)",
                "29 % of the mean apart",
            ],
        );
        let [table] = &tables(&summary)[..] else {
            panic!("one table");
        };
        assert_eq!(table.rows.len(), 3);
        assert!(table.title.contains(&words));
        // Results of older versions have none.
        let mut older = serde_json::to_value(&summary).unwrap();
        older.as_object_mut().unwrap().remove("repeats");
        for body in older["bodies"].as_array_mut().unwrap() {
            body.as_object_mut().unwrap().remove("copy_of");
        }
        let older: Digest = serde_json::from_value(older).unwrap();
        assert_eq!(KeyFigure::Apart.of(&older), None);
    }

    /// On the terminal each copy has a line and only the worst one a block.
    #[test]
    fn one_copy_is_told_in_full_and_each_in_a_line() {
        let summary = rack();
        let told: Vec<&str> = told_in_full(&summary).map(|b| b.name.as_str()).collect();
        assert_eq!(told, ["anode", "plate 3"]);
        let text = text(&summary, Path::new("r"), &[], Look::default());
        assert_says(
            &text,
            &[
                "plate    3 copies: from",
                "plate 1  mean",
                "plate 2  mean",
                "plate 3  mean",
            ],
        );
        assert_eq!(text.matches("A/dm2 on average (").count(), 1, "{text}");
        let names = copies_by_name(&summary);
        assert_eq!(names.len(), 1);
        assert_eq!(names[0].1, ["plate 1", "plate 2", "plate 3"]);
        let poles = together(&summary, Role::is_cathode);
        assert_eq!(poles.len(), 1);
        assert_eq!(poles[0].name, "3 x plate");
        let area: f64 = summary
            .bodies
            .iter()
            .filter(|b| b.role == Role::Work)
            .map(|b| b.area_m2)
            .sum();
        assert_relative_eq!(poles[0].area_m2, area);
    }

    /// Of a large rack those that get least.
    #[test]
    fn of_many_copies_those_that_get_least_have_a_line() {
        let mut summary = rack();
        let plate = summary.bodies.last().unwrap().clone();
        for n in 3..40 {
            let mut copy = plate.clone();
            copy.name = format!("plate {}", n + 1);
            copy.volume_m3 = plate.volume_m3.map(|v| (1.0 + 0.01 * f64::from(n)) * v);
            summary.bodies.push(copy);
        }
        summary.repeats = ionfall_deposit::repeat::repeats(&summary.bodies);
        let lines = lines(&summary, &summary.repeats[0]);
        assert_eq!(lines.len(), 2 + MOST_LINES);
        assert!(lines[0].starts_with("40 copies"), "{}", lines[0]);
        assert!(lines[1].starts_with("plate 3 "), "{}", lines[1]);
        assert!(lines[1 + MOST_LINES].starts_with("and 16 more"));
    }
}
