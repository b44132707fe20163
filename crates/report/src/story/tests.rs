//! Stories of small solved jobs: every number shown must agree with the run behind it.

use super::{JobText, Kind, Packed, Story};
use crate::html;
use crate::picture::write_pictures;
use crate::summary::Summary;
use crate::testing::{Case, assert_says, axisymmetric, planar, tank};
use crate::unit::Unit;
use crate::{SUMMARY, Staging};
use approx::assert_relative_eq;
use ionfall_deposit::judge::Standing;
use ionfall_model::Role;

fn told<const D: usize>(case: &Case<D>) -> (Story, Summary) {
    let summary = case.summary();
    (Story::new(&case.model, &case.outcome, &summary), summary)
}

fn finite(values: &Packed<f32>) -> impl Iterator<Item = f64> + '_ {
    values
        .0
        .iter()
        .map(|v| f64::from(*v))
        .filter(|v| v.is_finite())
}

fn check<const D: usize>(case: &Case<D>) -> Story {
    let (story, summary) = told(case);
    let body = summary.works(None).next().unwrap();
    let spread = body.thickness_m.unwrap();
    assert_eq!(story.quantities[0].label, "thickness");
    let unit = if story.quantities[0].unit == Unit::Um {
        1e6
    } else {
        1e3
    };
    for surface in &story.surfaces {
        let corners = surface.points.0.len() / 3;
        assert!(surface.triangles.0.iter().all(|&v| (v as usize) < corners));
        assert!(surface.values.iter().all(|v| v.0.len() == corners));
        let thickness: Vec<f64> = finite(&surface.values[0]).collect();
        assert!(!thickness.is_empty());
        for t in thickness {
            let metres = t / unit;
            assert!(
                metres > 0.999 * spread.min && metres < 1.001 * spread.max,
                "{metres}"
            );
        }
    }
    let section = story.section.as_ref().unwrap();
    let highest = 1e3 * case.outcome.voltage_v;
    let mut wet = 0;
    for (value, matter) in section.potential_mv.iter().zip(&section.matter) {
        assert_eq!(value.is_finite(), *matter == 0);
        if *matter == 0 {
            // Overpotentials lie between the bath and both metals.
            assert!((0.0..=highest as f32).contains(value), "{value}");
            wet += 1;
        }
    }
    assert!(wet > section.matter.len() / 4);
    assert!(section.levels.len() > 6 && section.currents.len() > 15);
    for line in &section.currents {
        // Downhill all the way: from the anodes to the work.
        let at = |p: [f64; 2]| -> f64 {
            let [i, j] = [0, 1].map(|k| ((p[k] - section.low[k]) / section.pixel) as usize);
            f64::from(section.potential_mv[j * section.size[0] + i])
        };
        let known: Vec<f64> = line
            .iter()
            .map(|p| at(*p))
            .filter(|v| v.is_finite())
            .collect();
        let step = 0.02 * highest;
        assert!(known.windows(2).all(|w| w[1] < w[0] + step), "uphill");
        assert!(known[0] > known[known.len() - 1]);
    }
    let spread_chart = &story.charts[0].lines[0].1;
    assert_relative_eq!(spread_chart[0][1], 100.0);
    assert_relative_eq!(spread_chart.last().unwrap()[1], 0.0);
    assert_relative_eq!(spread_chart[0][0] / unit, spread.min, max_relative = 1e-9);
    assert!(
        spread_chart
            .windows(2)
            .all(|w| w[0][0] <= w[1][0] && w[0][1] >= w[1][1])
    );
    story
}

#[test]
fn a_tank_is_told_truly() {
    let case = tank();
    let story = check(&case);
    let wires: Vec<_> = story.wires.iter().map(|w| w.role).collect();
    assert_eq!(wires, [Kind::Tank, Kind::Electrode(Role::Anode)]);
    // The tank is cut at the liquid, 40 mm high; the anode is drawn whole.
    assert_eq!(story.wires[0].bounds, [[0.0; 3], [60.0, 40.0, 40.0]]);
    let tank = story.wires[0].points.0.chunks(3);
    assert!(tank.into_iter().all(|p| p[2] < 40.001));
    // The back of the plate is stopped off.
    let surface = &story.surfaces[0];
    let bare = surface
        .points
        .0
        .chunks(3)
        .zip(&surface.values[0].0)
        .filter(|(p, _)| p[0] > 48.5);
    assert!(bare.into_iter().all(|(_, v)| v.is_nan()));
    let section = story.section.as_ref().unwrap();
    assert!(
        section.title.starts_with("Cut through the bath at y") || section.title.contains(" z ")
    );
    assert!(section.tube_share.is_none());
}

#[test]
fn jobs_of_two_dimensions_are_told_truly() {
    for (case, profiles) in [(planar(), 4), (axisymmetric(), 4)] {
        let story = check(&case);
        let named = story
            .charts
            .iter()
            .filter(|c| c.key.starts_with("profile-"));
        assert_eq!(named.count(), profiles);
        assert!(story.section.unwrap().tube_share.is_some());
    }
}

/// Of two like plates face to face the current lines are straight in the middle and evenly apart.
#[test]
fn current_lines_carry_equal_shares() {
    let case = planar();
    let (story, _) = told(&case);
    let section = story.section.unwrap();
    // Through the line x = 26.5 mm, half way, flows everything, evenly but for the ends.
    let mut heights: Vec<f64> = section
        .currents
        .iter()
        .filter_map(|l| {
            l.iter()
                .min_by(|a, b| (a[0] - 26.5).abs().total_cmp(&(b[0] - 26.5).abs()))
        })
        .map(|p| p[1])
        .collect();
    heights.sort_by(f64::total_cmp);
    let n = heights.len();
    let middle: Vec<f64> = heights[n / 4..3 * n / 4]
        .windows(2)
        .map(|w| w[1] - w[0])
        .collect();
    let mean = middle.iter().sum::<f64>() / middle.len() as f64;
    for gap in middle {
        assert_relative_eq!(gap, mean, max_relative = 0.25);
    }
}

#[test]
fn words_follow_the_figures() {
    let mut case = tank();
    let (story, summary) = told(&case);
    let wanted = summary.wanted.as_ref().unwrap();
    assert_eq!(story.verdict.tone, summary.verdict.state);
    assert!(story.verdict.tone >= summary.verdict.sound.state);
    let least = super::measure::thick(wanted.came.least_m.unwrap());
    assert!(story.verdict.parts[0].contains(&least));
    assert!(story.setting.rectifier[0][1].starts_with("constant current"));
    let row = |what: &str| {
        let mut rows = story.setting.rectifier.iter();
        rows.find(|r| r[0] == what).map(|r| r[1].clone()).unwrap()
    };
    let amperes = super::measure::number(summary.main.current_a);
    assert!(row("plus pole").ends_with(&format!(" {amperes} A")));
    let minus = row("minus pole");
    assert!(
        minus.starts_with(&format!("plate {amperes} A over ")),
        "{minus}"
    );
    let film = super::measure::thick(summary.bath.film.unwrap().value);
    let row = |what: &str| {
        let mut rows = story.setting.bath.iter();
        rows.find(|r| r[0] == what).map(|r| r[1].clone()).unwrap()
    };
    assert!(row("temperature").ends_with(" degC") && row("stirring").ends_with(&film));
    let lacquer = story.setting.places.last().unwrap();
    assert!(
        lacquer[0] == "stop-off" && lacquer[2].contains("what of it lies in"),
        "{lacquer:?}"
    );
    case.model.wanted = None;
    let (story, summary) = told(&case);
    assert_eq!(summary.verdict.metal.state, Standing::Unknown);
    assert!(story.verdict.tone >= Standing::Unknown);
    assert!(story.verdict.head.starts_with("No thickness was asked for"));
    assert!(story.quantities[0].marks.is_empty());
}

/// A voltage limit is advised only where all that takes volts is known.
#[test]
fn no_volts_are_advised_where_a_law_is_missing() {
    let nickel = "kind = \"nickel watts\"";
    let custom = "kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"8 S/m\"";
    for (bath, anode, known) in [
        (nickel, "law = \"bath\"", true),
        (nickel, "law = \"primary\"", false),
        (custom, "", false),
    ] {
        let case = crate::testing::planar_in(bath, anode);
        let story = told(&case).0;
        let expect = &story.setting.rectifier[1][1];
        assert_eq!(expect.contains("say "), known, "{expect}");
        assert_eq!(expect.contains("no law of anode"), !known, "{expect}");
    }
}

/// Numbers with what follows them, of all words on the first screen.
fn figures_told(story: &Story) -> Vec<String> {
    let mut words: Vec<&str> = story.first.change.iter().map(String::as_str).collect();
    for rule in &story.first.rules {
        words.extend([rule.answer.as_str(), rule.what.as_str()]);
        let ticks = rule.scale.iter().flat_map(|s| &s.ticks);
        words.extend(ticks.map(|t| t.1.as_str()));
    }
    words.extend(story.first.takes.iter().map(String::as_str));
    for marker in &story.markers {
        words.extend(marker.figures.iter().map(String::as_str));
    }
    let told = words.join(" ; ");
    let parts: Vec<&str> = told.split_whitespace().collect();
    let is_number = |w: &str| w.starts_with(|c: char| c.is_ascii_digit());
    let pairs = parts.windows(2).filter(|w| is_number(w[0]));
    pairs.map(|w| w.join(" ")).collect()
}

/// Three rules with what came of it and what is wanted, and no figure twice on the first screen.
#[test]
fn the_first_screen_tells_each_figure_once() {
    let (story, summary) = told(&tank());
    let [metal, sound, supply] = &story.first.rules[..] else {
        panic!("{:?}", story.first.rules);
    };
    let wanted = summary.wanted.as_ref().unwrap();
    let scale = metal.scale.as_ref().unwrap();
    assert_relative_eq!(scale.dot, 1e6 * wanted.came.least_m.unwrap());
    assert_relative_eq!(scale.ticks[0].0, 1e6 * wanted.thickness_m);
    assert_eq!(metal.state, summary.verdict.metal.state);
    let share = summary.verdict.sound.share.unwrap();
    let scale = sound.scale.as_ref().unwrap();
    assert_relative_eq!(scale.dot, 100.0 * share);
    assert_eq!(
        scale.ticks.iter().map(|t| t.0).collect::<Vec<_>>(),
        [40.0, 70.0]
    );
    let band = summary.verdict.sound.band_share;
    assert_eq!(scale.band, band.map(|ends| ends.map(|s| 100.0 * s)));
    assert_relative_eq!(
        supply.scale.as_ref().unwrap().dot,
        summary.verdict.supply.voltage_v
    );
    let mut figures = figures_told(&story);
    assert!(figures.len() > 5, "{figures:?}");
    figures.sort();
    let before = figures.clone();
    figures.dedup();
    assert_eq!(figures, before);
    let page = html(&story).unwrap();
    assert_eq!(page.matches("class=\"rule\"").count(), 3);
}

/// A thickness is told over what is wanted, with the true ends and the whole area.
#[test]
fn the_scale_has_the_true_ends_and_the_whole_area() {
    let (story, summary) = told(&tank());
    let quantity = &story.quantities[0];
    let spread = summary.works(None).next().unwrap().thickness_m.unwrap();
    let factor = if quantity.unit == Unit::Um { 1e6 } else { 1e3 };
    assert_relative_eq!(quantity.edges[0], factor * spread.min);
    assert_relative_eq!(*quantity.edges.last().unwrap(), factor * spread.max);
    assert_eq!(
        quantity.over,
        Some(factor * summary.wanted.unwrap().thickness_m)
    );
    for quantity in &story.quantities {
        assert_eq!(quantity.shares.len() + 1, quantity.edges.len());
        assert!(quantity.shares.len() <= 7 && quantity.edges.is_sorted());
        assert_relative_eq!(
            quantity.shares.iter().sum::<f64>(),
            1.0,
            max_relative = 1e-9
        );
    }
}

/// Charts of one quantity have one ordinate, from zero to the largest of all.
#[test]
fn charts_of_one_quantity_share_their_ordinate() {
    let (story, _) = told(&tank());
    let thick: Vec<_> = story
        .charts
        .iter()
        .filter(|c| c.up.starts_with("thickness, "))
        .collect();
    assert!(thick.len() > 1, "{}", thick.len());
    let most = thick.iter().flat_map(|c| &c.lines).flat_map(|l| &l.1);
    let most = most.map(|p| p[1]).fold(0.0, f64::max);
    for chart in &thick {
        assert_eq!(chart.up_to, thick[0].up_to);
        assert!(chart.up_to.unwrap() >= most);
        assert!(
            chart.marks_up.iter().any(|m| m.1 == "wanted"),
            "{}",
            chart.title
        );
    }
    // Volts and amperes are apart, and each curve has one quantity.
    let keys: Vec<&str> = story.charts.iter().map(|c| c.key.as_str()).collect();
    assert!(
        keys.contains(&"time-volts") && keys.contains(&"time-amperes"),
        "{keys:?}"
    );
}

/// Every body of the drawing of the tank leads to a row, and the work's place in the charts is on the work.
#[test]
fn bodies_lead_to_their_rows_and_ways_lie_on_the_work() {
    let (story, _) = told(&tank());
    let page = html(&story).unwrap();
    let links: Vec<&str> = page
        .split("href=\"#body-")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect();
    assert_eq!(links.len(), 2);
    for (link, name) in links.iter().zip(["plate", "anode"]) {
        let row = page.split(&format!("id=\"body-{link}\"")).nth(1).unwrap();
        assert!(row.split("</tr>").next().unwrap().contains(name), "{name}");
    }
    for word in ["waterline", "60 mm", "40 mm"] {
        assert!(page.contains(word), "{word}");
    }
    let chart = story
        .charts
        .iter()
        .find(|c| c.key == "profile-thickness")
        .unwrap();
    assert_eq!(chart.places.len(), chart.lines[0].1.len());
    // The plate is 1 mm beside its box at most.
    let [low, high] = story.cathodes[0].bounds;
    for place in &chart.places {
        assert!(
            (0..3).all(|k| place[k] > low[k] - 1.0 && place[k] < high[k] + 1.0),
            "{place:?}"
        );
    }
}

/// The job stands in the page letter by letter, with its name, fingerprint and day.
#[test]
fn the_job_stands_in_the_page() {
    let (mut story, _) = told(&tank());
    assert!(!html(&story).unwrap().contains("id=\"job\""));
    story.job = Some(JobText {
        name: "plate.toml".into(),
        text: "on = `<a>` & \"5 um\"".into(),
        fingerprint: 0xabc,
        date: "2026-11-27 05:21 UTC".into(),
    });
    let page = html(&story).unwrap();
    let pieces = [
        "on = `&lt;a&gt;` &amp; \"5 um\"",
        "plate.toml, fingerprint 0000000000000abc, computed 2026-11-27 05:21 UTC",
    ];
    assert_says(&page, &pieces);
}

/// Without scripts the picture shows the places, each with its number.
#[test]
fn the_still_picture_has_its_places() {
    let (story, _) = told(&tank());
    let page = html(&story).unwrap();
    let still = page.split("id=\"poster\"").nth(1).unwrap();
    let still = still.split("</svg>").next().unwrap();
    assert!(still.contains("role=\"img\"") && still.contains("data:image/png"));
    assert_eq!(
        still.matches("class=\"leader\"").count(),
        story.markers.len()
    );
    assert!(!story.markers.is_empty());
}

/// The page holds its data, asks for nothing, and has a name for all it shows.
#[test]
fn the_page_is_whole_and_alone() {
    let case = tank();
    let (story, _) = told(&case);
    let page = html(&story).unwrap();
    assert!(
        !page.contains("{{")
            && !page
                .replace("Number.isNaN", "")
                .replace("Number.NaN", "")
                .contains("NaN")
    );
    let outside = page.replace("http://www.w3.org/2000/svg", "");
    assert!(!outside.contains("http:") && !outside.contains("https:"));
    let start = page.find(r#"id="data">"#).unwrap() + 10;
    let end = start + page[start..].find("</script>").unwrap();
    let data: serde_json::Value = serde_json::from_str(&page[start..end]).unwrap();
    assert_eq!(data["surfaces"][0]["name"], "plate");
    assert_eq!(data["quantities"][0]["unit"], "\u{b5}m");
    for tag in ["section", "figure", "table", "fieldset", "svg", "dl"] {
        let opened = page.matches(&format!("<{tag}")).count();
        assert_eq!(opened, page.matches(&format!("</{tag}>")).count(), "{tag}");
    }
}

#[test]
fn a_name_cannot_break_the_page() {
    let mut case = tank();
    let evil = "</script><script>alert(1)</script>";
    case.model.title = evil.into();
    for electrode in &mut case.model.geometry.electrodes {
        electrode.name = evil.into();
    }
    for body in &mut case.outcome.bodies {
        body.name = evil.into();
    }
    let page = html(&told(&case).0).unwrap();
    assert_eq!(page.matches("</script>").count(), 2);
    assert!(!page.contains("<script>alert"));
}

#[test]
fn pictures_have_colours_and_the_sheet_says_what_to_set() {
    let case = tank();
    let (story, _) = told(&case);
    let room = tempfile::tempdir().unwrap();
    let mut staging = Staging::open(room.path()).unwrap();
    write_pictures(&staging, &story).unwrap();
    staging.write(SUMMARY, b"{}").unwrap();
    let names = staging.publish().unwrap();
    for name in [
        "picture-thickness.png",
        "picture-section.svg",
        "job-sheet.html",
    ] {
        assert!(names.iter().any(|n| n == name), "{names:?}");
    }
    let file = std::fs::File::open(room.path().join("picture-thickness.png")).unwrap();
    let mut reader = png::Decoder::new(std::io::BufReader::new(file))
        .read_info()
        .unwrap();
    let mut rgba = vec![0; reader.output_buffer_size().unwrap()];
    reader.next_frame(&mut rgba).unwrap();
    let coloured = rgba.chunks(4).filter(|p| {
        let (low, high) = (p[..3].iter().min(), p[..3].iter().max());
        p[3] == 255 && high.unwrap() - low.unwrap() > 40
    });
    assert!(coloured.count() > rgba.len() / 4 / 20, "hardly any colour");
    let sheet = std::fs::read_to_string(room.path().join("job-sheet.html")).unwrap();
    let pieces = [
        "constant current",
        "voltage limit a little above",
        "When to stop",
        "add acid to water",
    ];
    assert_says(&sheet, &pieces);
}

/// The kinds of geometry are told apart.
#[test]
fn spaces_have_their_names() {
    for (case, space) in [(planar(), "planar"), (axisymmetric(), "axisymmetric")] {
        assert_eq!(told(&case).0.space, space);
    }
}

/// In pictures the first of several copies is called by the name of all, the others have none.
#[test]
fn copies_have_one_name_in_pictures() {
    let (mut story, _) = told(&tank());
    let names = |n: std::ops::RangeInclusive<usize>| n.map(|n| format!("knob {n}")).collect();
    story.copies = vec![("knob".into(), names(1..=3))];
    assert_eq!(story.called("knob 1").as_deref(), Some("3 x knob"));
    assert_eq!(story.called("knob 3"), None);
    assert_eq!(story.called("plate").as_deref(), Some("plate"));
}

/// What a page that draws a story itself is told is what the report says.
#[test]
fn a_shown_story_says_what_the_report_says() {
    let (story, _) = told(&tank());
    let shown: serde_json::Value = serde_json::from_str(&crate::shown(&story).unwrap()).unwrap();
    let page = html(&story).unwrap();
    let head = shown["head"].as_str().unwrap();
    assert!(page.contains(head) && !head.contains('`'), "{head}");
    let rules = shown["rules"].as_array().unwrap();
    assert_eq!(rules.len(), story.first.rules.len());
    for rule in rules {
        assert!(page.contains(rule["answer"].as_str().unwrap()), "{rule}");
    }
    let scales = shown["scales"].as_array().unwrap();
    assert_eq!(scales.len(), shown["quantities"].as_array().unwrap().len());
    for (scale, quantity) in scales.iter().zip(&story.quantities) {
        assert_eq!(
            scale["edges"].as_array().unwrap().len(),
            quantity.edges.len()
        );
        assert_eq!(
            scale["shares"].as_array().unwrap().len() + 1,
            quantity.edges.len()
        );
    }
    assert!(
        crate::small_picture(&story)
            .unwrap()
            .starts_with("data:image/png;base64,")
    );
}
