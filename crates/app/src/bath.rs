//! `ionfall bath`: the figures of a bath, each with its band, its grade and its source.
//!
//! What was typed is written as the `[bath]` table of a job and read like one, so that the words,
//! the units and the messages are the same.

use crate::args::BathArgs;
use crate::error::AppError;
use ionfall_bath::figure::{Figure, Range};
use ionfall_bath::recipe::RECIPES;
use ionfall_bath::sheet::SHEETS;
use ionfall_bath::{Electrolyte, Grade, Quality, evenness};
use ionfall_job::JobError;
use ionfall_job::unit::Dimension;
use ionfall_numerics::number::significant;
use ionfall_report::folded;
use serde::Serialize;
use std::fmt;
use std::path::Path;

/// The baths that have a name.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Known {
    recipes: Vec<KnownBath>,
    kinds: Vec<KnownBath>,
}

#[derive(Clone, Debug, Serialize)]
struct KnownBath {
    name: &'static str,
    metal: &'static str,
    composition: Vec<(&'static str, Range)>,
    current_a_per_dm2: Option<Range>,
}

impl Known {
    /// All of them.
    pub fn all() -> Self {
        let recipe = |r: &ionfall_bath::recipe::Recipe| KnownBath {
            name: r.name,
            metal: "copper",
            composition: vec![
                ("CuSO4 5H2O", r.copper_sulfate_g_per_l),
                ("H2SO4", r.acid_g_per_l),
            ],
            current_a_per_dm2: r.current_a_per_dm2,
        };
        let kind = |s: &ionfall_bath::sheet::Sheet| KnownBath {
            name: s.name,
            metal: s.metal.name,
            composition: s.composition.to_vec(),
            current_a_per_dm2: Some(s.current_a_per_dm2),
        };
        Self {
            recipes: RECIPES.iter().map(recipe).collect(),
            kinds: SHEETS.iter().map(kind).collect(),
        }
    }
}

impl fmt::Display for Known {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "Acid copper sulfate, by recipe:")?;
        list(f, &self.recipes)?;
        writeln!(f, "\nOther baths, by kind:")?;
        list(f, &self.kinds)?;
        writeln!(
            f,
            "\nShow one:  ionfall bath \"{}\" --temperature \"25 degC\" --agitation air",
            self.recipes.first().map_or("general", |r| r.name)
        )
    }
}

fn list(f: &mut fmt::Formatter<'_>, baths: &[KnownBath]) -> fmt::Result {
    for bath in baths {
        let amounts: Vec<_> = bath
            .composition
            .iter()
            .map(|(name, range)| format!("{name} {range}"))
            .collect();
        let current = bath
            .current_a_per_dm2
            .map_or_else(String::new, |range| format!("; usually {range}"));
        let text = amounts.join(", ") + &current;
        for (n, part) in folded(&text, PAGE - LISTED).iter().enumerate() {
            let name = if n == 0 { bath.name } else { "" };
            writeln!(f, "  {name:<width$}{part}", width = LISTED - 2)?;
        }
    }
    Ok(())
}

/// A bath with what follows from it.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Shown {
    /// The bath in SI units.
    bath: Electrolyte,
    /// The figures of the table, in trade units.
    figures: Vec<Line>,
    /// What follows from the bath.
    derived: Vec<Line>,
    /// Ranges that are left, in words.
    warnings: Vec<String>,
}

/// One line of the table.
#[derive(Clone, Debug, Serialize)]
struct Line {
    name: String,
    #[serde(flatten)]
    figure: Figure,
}

impl Line {
    /// What is said of a figure that cites nothing: how it was worked out, what it stands for.
    fn remark(&self) -> Option<String> {
        let Figure { grade, source, .. } = self.figure;
        (!source.is_empty() && !grade.cites()).then(|| format!("{}: {source}", self.name))
    }
}

fn line(name: impl Into<String>, figure: Figure) -> Line {
    Line {
        name: name.into(),
        figure,
    }
}

/// Current density for the figures of evenness where none is usual, A/m2.
const DEFAULT_A_PER_M2: f64 = 100.0;

/// Reads the bath that is asked for.
///
/// # Errors
/// A job file that cannot be read; words or figures that make no bath.
pub(crate) fn show(asked: &BathArgs) -> Result<Shown, AppError> {
    let bath = match asked.name.as_deref().map(Path::new) {
        Some(path) if path.extension().is_some_and(|e| e == "toml") || path.is_file() => {
            ionfall_job::read_bath(path)?
        }
        _ => {
            known_name(asked)?;
            ionfall_job::parse_bath("the command line", &table(asked))
                .map_err(|faults| JobError::Faults(Box::new(faults)))?
        }
    };
    let current_a_per_m2 = match &asked.current_density {
        Some(text) => Dimension::CurrentDensity
            .parse(text)
            .map_err(|error| AppError::Flag {
                flag: "--current-density",
                text: text.clone(),
                error,
            })?,
        None => bath
            .usual_current
            .map_or(DEFAULT_A_PER_M2, |range| 100.0 * range.middle().value),
    };
    Ok(Shown {
        figures: bath
            .figures()
            .into_iter()
            .map(|(name, figure)| line(name, figure))
            .collect(),
        derived: derived(&bath, current_a_per_m2),
        warnings: bath.warnings.iter().map(ToString::to_string).collect(),
        bath,
    })
}

/// Is the name a recipe or a kind?
fn known_name(asked: &BathArgs) -> Result<(), AppError> {
    let Some(name) = &asked.name else {
        return Ok(());
    };
    let mut names: Vec<_> = RECIPES.iter().map(|r| r.name).collect();
    names.extend(SHEETS.iter().map(|s| s.name));
    names.push("acid copper");
    if names.contains(&name.as_str()) {
        return Ok(());
    }
    Err(AppError::UnknownBath {
        name: name.clone(),
        help: ionfall_job::suggestion(name, &names),
    })
}

/// The `[bath]` table of what was typed.
fn table(asked: &BathArgs) -> String {
    let name = asked.name.as_deref().unwrap_or_default();
    let mut lines = vec!["[bath]".to_owned()];
    if name.is_empty() {
        lines.push("kind = \"acid copper\"".into());
    } else if RECIPES.iter().any(|r| r.name == name) {
        lines.push("kind = \"acid copper\"".into());
        lines.push(format!("recipe = {}", quoted(name)));
    } else {
        lines.push(format!("kind = {}", quoted(name)));
    }
    for (key, text) in [
        ("temperature", &asked.temperature),
        ("agitation", &asked.agitation),
        ("composition", &asked.composition),
        ("conductivity", &asked.conductivity),
    ] {
        if let Some(text) = text {
            let braces = text.trim_start().starts_with('{');
            let value = if braces { text.clone() } else { quoted(text) };
            lines.push(format!("{key} = {value}"));
        }
    }
    lines.join("\n") + "\n"
}

fn quoted(text: &str) -> String {
    // JSON strings are TOML strings.
    serde_json::Value::from(text).to_string()
}

/// What follows from the bath; evenness at a current density, A/m2.
fn derived(bath: &Electrolyte, current: f64) -> Vec<Line> {
    let computed = |value, unit| Figure::new(value, unit, Grade::Computed, "");
    let with = |value, unit, source| Figure {
        source,
        ..computed(value, unit)
    };
    let mut lines = Vec::new();
    let rate = bath
        .metal
        .thickness_rate_m_per_s(100.0, bath.efficiency.value);
    lines.push(line(
        "growth at 1 A/dm2",
        with(3.6e9 * rate, "um/h", "Faraday's law"),
    ));
    if let Some(limit) = bath.limiting_current {
        let limit = limit.scaled(0.01, "A/dm2");
        for quality in [Quality::Rough, Quality::Trees] {
            let share = quality.begins();
            let figure = limit.scaled(share.value, "A/dm2");
            lines.push(line(
                format!("{} from (local)", quality.metal()),
                Figure {
                    source: share.source,
                    ..figure
                },
            ));
        }
    }
    let at = |what: &str| format!("{what} at {} A/dm2", significant(0.01 * current, 3));
    let lengths = [
        ("Wagner number on 1 cm", 0.01),
        ("Wagner number on 10 cm", 0.1),
    ];
    for (name, length_m) in lengths {
        if let Some(wagner) = bath.wagner(current, length_m) {
            lines.push(line(
                at(name),
                with(wagner, "", evenness::wagner_text(wagner)),
            ));
        }
    }
    for (name, ohm) in [
        ("reach on graphite of 100 ohm/sq", 100.0),
        ("reach on silver of 0.3 ohm/sq", 0.3),
    ] {
        if let Some(reach) = bath.reach_m(current, ohm) {
            lines.push(line(
                at(name),
                with(1e3 * reach, "mm", "from the contact, at first"),
            ));
        }
    }
    lines
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bath = &self.bath;
        let celsius = bath.temperature_k - ionfall_bath::constants::ZERO_CELSIUS_K;
        writeln!(
            f,
            "{} at {} degC, deposits {}",
            bath.name,
            significant(celsius, 4),
            bath.metal.name
        )?;
        let composition: Vec<_> = bath
            .composition
            .iter()
            .map(|(name, figure)| line(*name, *figure))
            .collect();
        let mut sources = Vec::new();
        let mut remarks = Vec::new();
        for (title, lines) in [
            ("Composition", &composition),
            ("Figures", &self.figures),
            ("What follows", &self.derived),
        ] {
            section(f, title, lines, &mut sources)?;
            remarks.extend(lines.iter().filter_map(Line::remark));
        }
        if let Some(range) = bath.usual_current {
            remarks.push(format!("Usual on the work: {range} ({})", range.grade));
        }
        if let Some(anode) = &bath.anode {
            let range = anode.usual_current;
            let material = anode.habits.material;
            remarks.push(format!(
                "Usual on the anodes, {material}: {range} ({})",
                range.grade
            ));
        }
        if let Some(wants) = bath.limit_wants() {
            remarks.push(format!("No limiting current is known: {wants}"));
        }
        remarks.extend(self.warnings.iter().map(|w| format!("Warning: {w}")));
        if !remarks.is_empty() {
            writeln!(f)?;
        }
        for remark in remarks {
            wrapped(f, &remark)?;
        }
        writeln!(f, "\nSources")?;
        for (n, source) in sources.iter().enumerate() {
            wrapped(f, &format!("  [{}] {source}", n + 1))?;
        }
        writeln!(f, "\nBeware")?;
        for caution in bath.cautions {
            wrapped(
                f,
                &format!("  {}: {} ({})", caution.about, caution.text, caution.grade),
            )?;
        }
        Ok(())
    }
}

/// Widths of the columns of a table but the last.
const NAME: usize = 46;
const VALUE: usize = 18;
const BAND: usize = 14;
/// Width of a page, and of the names in the list of baths.
const PAGE: usize = 100;
const LISTED: usize = 22;

/// A table; sources are collected and named by their number.
fn section(
    f: &mut fmt::Formatter<'_>,
    title: &str,
    lines: &[Line],
    sources: &mut Vec<&'static str>,
) -> fmt::Result {
    if lines.is_empty() {
        return Ok(());
    }
    let head = 2 + NAME + VALUE;
    writeln!(f, "\n{title:<head$}{:<BAND$}how sure", "band")?;
    for Line { name, figure } in lines {
        let value = format!("{} {}", significant(figure.value, 4), figure.unit);
        let mut origin = figure.grade.to_string();
        if !figure.source.is_empty() && figure.grade.cites() {
            let known = sources.iter().position(|s| *s == figure.source);
            let number = known.unwrap_or_else(|| {
                sources.push(figure.source);
                sources.len() - 1
            });
            origin += &format!(" [{}]", number + 1);
        }
        let mut band = figure.band_text();
        if band.len() >= BAND {
            band.push(' ');
        }
        writeln!(f, "  {name:<NAME$}{value:<VALUE$}{band:<BAND$}{origin}")?;
    }
    Ok(())
}

/// A text in lines of the page, the later ones set in.
fn wrapped(f: &mut fmt::Formatter<'_>, text: &str) -> fmt::Result {
    let indent = text.len() - text.trim_start().len();
    for (n, part) in folded(text.trim_start(), PAGE - indent - 2)
        .iter()
        .enumerate()
    {
        let more = if n == 0 { 0 } else { 2 };
        writeln!(f, "{:width$}{part}", "", width = indent + more)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::{Args, Command};
    use clap::Parser;

    fn asked(words: &[&str]) -> BathArgs {
        let args = Args::parse_from([&["ionfall", "bath"], words].concat());
        match args.command {
            Some(Command::Bath(asked)) => asked,
            other => panic!("{other:?}"),
        }
    }

    fn shown(words: &[&str]) -> String {
        show(&asked(words)).unwrap().to_string()
    }

    #[test]
    fn every_known_bath_can_be_shown() {
        let known = Known::all();
        for bath in known.recipes.iter().chain(&known.kinds) {
            let text = shown(&[bath.name, "--conductivity", "10 S/m", "--agitation", "air"]);
            assert!(text.contains("10 S/m") && text.contains("Beware"), "{text}");
            assert!(
                text.lines().all(|l| l.chars().count() <= PAGE + 12),
                "{text}"
            );
        }
    }

    #[test]
    fn words_come_as_they_are_typed() {
        let text = shown(&[
            "high throw",
            "--temperature",
            "86 degF",
            "--agitation",
            "rod",
        ]);
        assert!(
            text.contains("30 degC") && text.contains("rod movement"),
            "{text}"
        );
        let braces = "{ flow = \"0.5 m/s\", gap = \"20 mm\", length = \"100 mm\" }";
        assert!(shown(&["general", "--agitation", braces]).contains("channel flow"));
        let amounts = "{ copper = \"50 g/L\", sulfuric_acid = \"40 mL/L\" }";
        let text = shown(&["--composition", amounts]);
        assert!(text.contains("from the copper given"), "{text}");
        assert!(text.contains("70.66 g/L"), "{text}");
    }

    #[test]
    fn mistakes_are_told() {
        for words in [
            &["hgih throw"][..],
            &["custom"],
            &["general", "--temperature", "30"],
            &["general", "--agitation", "wild"],
            &["general", "--current-density", "3 V"],
            &["no-such-job.toml"],
            &["general\"\n[x]"],
        ] {
            let error = show(&asked(words)).unwrap_err();
            assert_eq!(error.exit_code(), 2, "{words:?}");
        }
    }
}
