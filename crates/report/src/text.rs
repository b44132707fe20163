//! The summary in plain words and trade units, for the terminal: what was asked first, then what
//! it takes, then how it was computed.

use crate::cover::islands_words;
use crate::edge;
use crate::faces;
use crate::folder::REPORT;
use crate::levers;
use crate::look::Look;
use crate::page::Page;
use crate::readings;
use crate::repeats;
use crate::story::measure::{hours, hours_off, number, percent, place, thick, thick_off};
use crate::summary::{LedgerSummary, Summary};
use crate::verdict::{change, in_a_line, parts};
use ionfall_deposit::spread::Spread;
use ionfall_deposit::{BodyOutcome, ContactOutcome, SupplyOutcome, Thicknesses};
use ionfall_model::{Cost, Role};
use ionfall_numerics::number::grouped;
use ionfall_numerics::number::significant;
use std::path::Path;

/// The words. `folder` is where `files` lie, if any were written.
pub fn text(summary: &Summary, folder: &Path, files: &[String], look: Look<'_>) -> String {
    let mut page = Page::new(look.width, summary.bodies.iter().map(|b| b.name.as_str()));
    verdict(summary, look, &mut page);
    if !summary.title.is_empty() {
        page.text(&summary.title);
    }
    for body in repeats::told_in_full(summary).filter(|b| b.role != Role::Anode) {
        cathode(summary, body, &mut page);
    }
    for repeat in &summary.repeats {
        for (n, line) in repeats::lines(summary, repeat).iter().enumerate() {
            page.entry(if n == 0 { &repeat.name } else { "" }, line);
        }
    }
    let alone = |b: &&BodyOutcome| b.role == Role::Anode && b.copy_of.is_none();
    for body in summary.bodies.iter().filter(alone) {
        page.entry(&body.name, &anode(body));
    }
    for (n, contact) in summary.coating.contacts.iter().enumerate() {
        page.entry(
            if n == 0 { "contacts" } else { "" },
            &self::contact(contact, summary.time_s.is_some()),
        );
    }
    let told: Vec<&str> = (repeats::told_in_full(summary))
        .map(|b| b.name.as_str())
        .collect();
    for face in summary
        .named
        .faces
        .iter()
        .filter(|f| told.contains(&f.on.as_str()))
    {
        page.entry(&face.name, &faces::line(face));
    }
    for reading in &summary.named.readings {
        page.entry(&reading.name, &readings::line(summary.grid.axes, reading));
    }
    page.entry("supply", &supply(summary));
    if let Some(ledger) = &summary.ledger {
        page.entry("", &energy(summary, ledger));
    }
    if let Some(cost) = &summary.cost {
        page.entry("cost", &self::cost(cost));
    }
    page.entry("bath", &bath(summary));
    if let Some(spread) = &summary.beside.spread {
        for line in bands(spread) {
            page.entry("bands", &line);
        }
    }
    for (n, line) in (summary.beside.levers.iter())
        .flat_map(levers::on_a_terminal)
        .enumerate()
    {
        page.entry(if n == 0 { "levers" } else { "" }, &line);
    }
    page.entry("computed", &computed(summary));
    if let Some(accuracy) = &summary.beside.accuracy {
        page.entry("accuracy", &crate::accuracy::line(accuracy));
    }
    page.entry("files", &self::files(folder, files));
    page.line("");
    for (word, list) in [("note", &summary.notes), ("caution", &summary.cautions)] {
        for (n, item) in list.iter().enumerate() {
            page.entry(if n == 0 { word } else { "" }, item);
        }
    }
    safety(summary, look, &mut page);
    page.into_text()
}

/// Folder and count, and the file to begin with.
fn files(folder: &Path, files: &[String]) -> String {
    let first = match files.iter().any(|f| f == REPORT) {
        true => format!("; open {REPORT} in a browser"),
        false => String::new(),
    };
    let word = if files.len() == 1 { "file" } else { "files" };
    format!("{} {word} in {}{first}", files.len(), folder.display())
}

/// What to beware of: in a line, or, if it is asked for, all of it.
fn safety(summary: &Summary, look: Look<'_>, page: &mut Page) {
    let cautions = &summary.bath.cautions;
    if look.safety {
        for (n, c) in cautions.iter().enumerate() {
            let name = if n == 0 { "safety" } else { "" };
            page.entry(name, &format!("{}: {}", c.about, c.text));
        }
    } else if !cautions.is_empty() {
        let about: Vec<&str> = cautions.iter().map(|c| c.about).collect();
        page.entry("safety", &format!("{}: see --safety", about.join(", ")));
    }
}

/// A table in columns: the first to the left, the others to the right. A row may be short; its last
/// field then needs no room.
pub(crate) fn aligned(table: &[Vec<String>]) -> String {
    let columns = table.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        let whole = table.iter().filter(|row| row.len() == columns);
        let fields = whole.map(|row| row[column].chars().count());
        fields.max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    for row in table {
        let fields = row.iter().zip(&widths).enumerate();
        let fields: Vec<String> = fields
            .map(|(n, (field, width))| match n {
                0 => format!("{field:<width$}"),
                _ => format!("{field:>width$}"),
            })
            .collect();
        text += fields.join("  ").trim_end();
        text.push('\n');
    }
    text
}

/// The verdict: the whole in a line, then its parts, whose places are told with the bodies, and the way
/// out.
fn verdict(summary: &Summary, look: Look<'_>, page: &mut Page) {
    page.line(&in_a_line(&summary.verdict, look.colour));
    for part in parts(&summary.verdict, &[]) {
        page.entry(
            part.label,
            &format!("{}: {}", part.state.word(), part.words),
        );
    }
    if let Some(way) = change(&summary.verdict, look.job) {
        page.entry("Change:", &format!("{way}."));
    }
    page.line("");
}

fn cathode(summary: &Summary, body: &BodyOutcome, page: &mut Page) {
    let axes = summary.grid.axes;
    let mut name = body.name.as_str();
    if let (Some(spread), Some(thin), Some(thickest)) =
        (body.thickness_m, body.thinnest, body.thickest)
    {
        let off = summary.uncertainty_of(&body.name);
        let off = off.map_or_else(Thicknesses::default, |o| o.thickness);
        let below = thick(spread.p01);
        let at_thinnest = format!("{}, 1 % of the area below {below}", place(axes, &thin));
        let (at, above) = (place(axes, &thickest), thick(spread.p99));
        let at_thickest = format!(
            "{at}{}; 1 % of the area above {above}",
            edge::after(&thickest)
        );
        let lines = [
            ("thinnest", thin.value, off.thinnest_m, at_thinnest),
            ("mean", spread.mean, off.mean_m, evenness(body)),
            ("thickest", thickest.value, off.thickest_m, at_thickest),
        ];
        for (what, value_m, off_m, at) in lines {
            let off = off_m.map_or(String::new(), |m| format!(" +- {:>6}", thick_off(m)));
            let line = format!("{what:<8}  {:>8}{off}  {at}", thick(value_m));
            page.entry(std::mem::take(&mut name), &line);
        }
    }
    if let Some(line) = still(summary, body) {
        page.entry(std::mem::take(&mut name), &line);
    }
    if let Some(covered) = body.cover.share.filter(|_| body.coat_drop_v.is_some()) {
        let line = match body.cover.after_s {
            Some(time_s) => {
                let islands = islands_words(summary, &body.name);
                format!("covered everywhere after {}{islands}", hours(time_s))
            }
            None => format!("covered on {} of the area only", percent(covered)),
        };
        let drop = body.coat_drop_v.unwrap_or(0.0);
        page.entry(
            name,
            &format!("{line}; {} V lost in the coat at the end", number(drop)),
        );
        name = "";
    }
    let i = body.current_density_a_per_m2;
    let mut line = format!(
        "{} dm2, {} A",
        number(100.0 * body.area_m2),
        number(body.current_a.abs()),
    );
    if let Some(kg) = body.metal_kg {
        line += &format!(", {} g of {}", number(1e3 * kg), summary.bath.metal.name);
    }
    page.entry(name, &line);
    let [mean, min, p01, p99, max] = [i.mean, i.min, i.p01, i.p99, i.max].map(|i| number(0.01 * i));
    page.entry(
        "",
        &format!("{mean} A/dm2 on average ({min} to {max}; 98 % of the area {p01} to {p99})"),
    );
    if let Some(limit) = body.limit_share {
        let off = summary.uncertainty_of(&body.name);
        let off = off
            .and_then(|o| o.limit_share)
            .map_or(String::new(), |share| format!(" +- {}", percent(share)));
        page.entry(
            "",
            &format!(
                "{} {}{off}{} of the limiting current, {}",
                match edge::before(&limit) {
                    "" => "at most",
                    _ => "at the worst place at least",
                },
                percent(limit.value),
                summary.limit_band(&body.name),
                place(axes, &limit),
            ),
        );
    }
}

/// The thinnest place if the liquid in the recesses stands still, where that is another answer.
fn still(summary: &Summary, body: &BodyOutcome) -> Option<String> {
    let still = summary.recesses.as_ref()?.still.as_ref()?;
    let thin = still.body(&body.name)?.thinnest?;
    let open_m = body.thinnest?.value;
    let off = summary.uncertainty_of(&body.name);
    let off_m = off.and_then(|o| o.thickness.thinnest_m).unwrap_or(0.0);
    (thin.value < open_m - off_m.max(0.01 * open_m)).then(|| {
        let at = place(summary.grid.axes, &thin);
        format!(
            "{:<8}  {:>8}  {at}, the thinnest if the liquid in the recesses stands still",
            "still",
            thick(thin.value)
        )
    })
}

/// How far apart the thin and the thick tenth are.
fn evenness(body: &BodyOutcome) -> String {
    body.thickness_m.map_or(String::new(), |t| {
        format!("nine tenths between {} and {}", thick(t.p05), thick(t.p95))
    })
}

fn anode(body: &BodyOutcome) -> String {
    let mut line = format!(
        "{} dm2, {} A, {} A/dm2 on average",
        number(100.0 * body.area_m2),
        number(body.current_a.abs()),
        number(0.01 * body.current_density_a_per_m2.mean)
    );
    match body.metal_kg {
        Some(kg) if kg == 0.0 && body.current_a != 0.0 => line += ", does not dissolve",
        Some(kg) => line += &format!(", loses {} g if it dissolves", number(1e3 * kg)),
        None => {}
    }
    line
}

fn supply(summary: &Summary) -> String {
    let mut lines = Vec::new();
    for supply in &summary.supplies {
        let all = summary.beside.uncertainty.as_ref();
        let own = all.and_then(|u| u.supplies.iter().find(|s| s.name == supply.name));
        let off = all.filter(|_| lines.is_empty());
        let plus_minus = |v: Option<f64>| match v.map(|v| significant(v, 2)) {
            Some(v) => format!(" +- {v}"),
            None => String::new(),
        };
        let mut line = format!(
            "{}{} V, {}{} A",
            number(supply.voltage_v),
            plus_minus(own.and_then(|o| o.given.voltage_v)),
            number(supply.current_a),
            plus_minus(own.and_then(|o| o.given.current_a))
        );
        line += &resistance(supply).map_or(String::new(), |words| format!(", tank {words}"));
        if summary.supplies.len() > 1 {
            line = format!("{}: {line}", supply.name);
        }
        if supply.limited {
            line += match supply.current_limit_a {
                Some(_) => " (at its current limit)",
                None => " (at its voltage limit)",
            };
        }
        if let Some(time_s) = summary.time_s {
            if !summary.history.is_empty() && summary.history.len() > 2 {
                line += " at the end";
            }
            let off = off.and_then(|o| o.time_s);
            line += &format!(
                "; {} A h in {}{}, {} kWh",
                number(supply.charge_c / 3600.0),
                hours(time_s),
                off.map_or(String::new(), |s| format!(" +- {}", hours_off(s))),
                number(supply.energy_j / 3.6e6)
            );
        }
        lines.push(line);
    }
    lines.join(". ")
}

/// What stands between the poles, and how much of it is not at the surfaces.
pub(crate) fn resistance(supply: &SupplyOutcome) -> Option<String> {
    let whole = number(supply.resistance_ohm?);
    Some(match supply.ohmic_resistance_ohm.map(number) {
        Some(ohmic) if ohmic != whole => format!("{whole} ohm, {ohmic} of it ohmic"),
        _ => format!("{whole} ohm"),
    })
}

fn contact(contact: &ContactOutcome, plated: bool) -> String {
    if !plated {
        return format!("{}: {} A", contact.name, number(contact.current_a));
    }
    format!(
        "{}: at most {} A, {} A at the end, {} A h",
        contact.name,
        number(contact.peak_a),
        number(contact.current_a),
        number(contact.charge_c / 3600.0)
    )
}

/// How far the answers may be off, and what does most.
pub(crate) fn bands(spread: &Spread) -> Vec<String> {
    // Without a plan nothing has a thickness.
    let plated = spread.bodies.iter();
    let plated = plated.filter(|b| b.thickness.thinnest_m[0].is_finite());
    let mut lines: Vec<String> = plated
        .map(|b| {
            let [a, c] = [b.thickness.thinnest_m, b.thickness.thickest_m]
                .map(|[low, high]| format!("{} to {}", thick(low), thick(high)));
            format!("{}: thinnest place {a}, thickest {c}", b.name)
        })
        .collect();
    // A voltage that is held has no band.
    let [low, high] = spread.voltage_v;
    if low < high {
        lines.push(format!("voltage {} to {} V", number(low), number(high)));
    }
    for influence in &spread.influences {
        let what = format!(
            "{} times {}",
            influence.variation.input.text(),
            number(influence.variation.factor)
        );
        lines.push(match (influence.thinnest_m, &influence.failure) {
            (Some(least), _) => format!("{what}: thinnest place {}", thick(least)),
            (None, Some(failure)) => format!("{what}: not possible ({failure})"),
            (None, None) => match influence.voltage_v {
                Some(volts) => format!("{what}: {} V", number(volts)),
                None => continue,
            },
        });
    }
    lines
}

/// Smallest share of the energy worth a word.
const LEAST_SHARE: f64 = 1e-6;

/// Where the energy went.
fn energy(summary: &Summary, ledger: &LedgerSummary) -> String {
    let total = summary.energy_j.unwrap_or(0.0);
    let share = |joules: f64| percent(joules / total);
    let of = |anodes: bool| -> f64 {
        let bodies = summary.bodies.iter().zip(&ledger.polarisation_j);
        bodies
            .filter(|(b, _)| (b.role == Role::Anode) == anodes)
            .map(|(_, j)| j)
            .sum()
    };
    let parts = [
        ("bath", ledger.bath_j),
        ("cathodes", of(false)),
        ("anodes", of(true)),
        ("coat", ledger.coat_j),
        ("contacts and leads", ledger.contact_j + ledger.lead_j),
    ];
    let parts: Vec<String> = parts
        .iter()
        .filter(|(_, joules)| *joules > LEAST_SHARE * total)
        .map(|(what, joules)| format!("{what} {}", share(*joules)))
        .collect();
    format!("energy: {}", parts.join(", "))
}

fn cost(cost: &Cost) -> String {
    let parts = [
        ("metal", cost.metal),
        ("energy", cost.energy),
        ("time", cost.time),
        ("acid", cost.acid),
    ];
    let parts: Vec<String> = parts
        .iter()
        .filter_map(|(what, part)| Some(format!("{what} {}", number((*part)?))))
        .collect();
    let total = format!("{} {}", number(cost.total), cost.currency);
    format!("{}: {}", total.trim_end(), parts.join(", "))
}

fn bath(summary: &Summary) -> String {
    let bath = &summary.bath;
    let mut line = format!("{}, conductivity {}", bath.name, bath.conductivity);
    if let Some(limit) = bath.limiting_current {
        line += &format!(
            ", limiting current {} A/dm2 ({})",
            number(0.01 * limit.value),
            limit.grade
        );
    }
    line
}

fn computed(summary: &Summary) -> String {
    let grid = &summary.grid;
    let residual = summary
        .solver
        .residual_history
        .last()
        .copied()
        .unwrap_or(f64::NAN);
    format!(
        "{} cells of {} to {} mm, {} facets; {} Newton steps, residual {residual:.0e}; anodic and \
         cathodic current differ by {:.0e}; {} s",
        grouped(grid.cells),
        number(1e3 * grid.finest_m),
        number(1e3 * grid.coarsest_m),
        grouped(grid.facets),
        summary.solver.newton_steps,
        summary.balance_error,
        number(summary.effort.grid_s + summary.effort.field_s),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::tank;

    #[test]
    fn answers_come_first_and_fit_a_screen() {
        let case = tank();
        let summary = case.summary();
        let files = ["summary.json".into(), REPORT.into()];
        let folder = Path::new("plate-result");
        let text = |look| super::text(&summary, folder, &files, look);
        for width in [100, 80, 60] {
            let look = Look {
                width,
                ..Look::default()
            };
            let all = text(look);
            let long = all.lines().find(|l| l.chars().count() > width);
            assert_eq!(long, None, "{width}");
        }
        let coloured = text(Look {
            colour: true,
            ..Look::default()
        });
        let plain = text(Look::default());
        assert!(coloured.starts_with("\u{1b}[1;") && !plain.contains('\u{1b}'));
        assert_eq!(coloured.lines().nth(1), plain.lines().nth(1));
        let safe = text(Look {
            safety: true,
            ..Look::default()
        });
        for c in summary.bath.cautions {
            assert!(plain.contains(c.about) && safe.contains(&format!("{}: ", c.about)));
        }
        assert!(safe.contains("add acid to water") && !plain.contains("add acid to water"));
        let text = plain;
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines.len() < 30, "{} lines:\n{text}", lines.len());
        assert_eq!(lines[0], in_a_line(&summary.verdict, false));
        assert!(lines.contains(&"plate"), "{text}");
        let least = thick(summary.wanted.as_ref().unwrap().came.least_m.unwrap());
        assert!(
            lines[1].starts_with("metal")
                && lines[1].contains(&least)
                && text.contains("200 um wanted"),
            "{text}"
        );
        let grams = number(1e3 * summary.bodies[1].metal_kg.unwrap());
        for piece in [
            &format!("{grams} g of copper"),
            "2 A/dm2 on average",
            " V, ",
            " kWh",
            "of the limiting current, at x ",
            "Newton steps, residual",
            "2 files in plate-result; open report.html in a browser",
            ": see --safety",
        ] {
            assert!(text.contains(piece), "no {piece:?} in\n{text}");
        }
    }

    #[test]
    fn without_a_plating_time_the_way_out_is_named() {
        let mut case = tank();
        case.model.plan.clear();
        for body in &mut case.outcome.bodies {
            (body.thickness_m, body.thinnest, body.thickest) = (None, None, None);
        }
        let summary = case.summary();
        assert_eq!(summary.wanted.as_ref().unwrap().came.met, None);
        let text = text(&summary, Path::new("r"), &[], Look::default());
        assert!(text.contains("add [plan] time"), "{text}");
        assert!(
            !text.contains("thinnest") && !text.contains("NaN"),
            "{text}"
        );
    }
}
