//! Finished runs side by side: every key figure with its differences, distributions and lines over
//! each other, where the metal moved, and what the change bought and cost.
//!
//! ```text
//! read   folders of results back      words  the sentence
//! map    differences on the works     table  figures and differences, for the terminal and JSON
//!                                     page   compare.html
//! ```

#[cfg(feature = "pages")]
mod map;
#[cfg(feature = "pages")]
mod page;
mod read;
mod table;
mod words;

#[cfg(feature = "pages")]
pub use page::{Dots, Prelude, compare_html};
pub use read::{Facet, NamedLine, Run};
pub use table::Comparison;

#[cfg(test)]
pub(crate) mod tests {
    use super::table::difference;
    use super::*;
    use crate::digest::{
        BathDigest, BodyDigest, Digest, FigureDigest, MetalDigest, PlaceDigest, PlacesDigest,
        WantedDigest,
    };
    use crate::look::Look;
    use ionfall_deposit::VoltsAmps;
    use ionfall_model::Role;

    /// A run with two facets on one work.
    pub(crate) fn run(name: &str) -> Run {
        let place = |value| {
            Some(PlaceDigest {
                at_m: [0.0; 3],
                value,
            })
        };
        let facet = |y: f64, value: f64| Facet {
            point: [0.0, y, 0.0],
            normal: [1.0, 0.0, 0.0],
            area_m2: 1e-4,
            value,
        };
        Run {
            name: name.into(),
            digest: Digest {
                title: "job".into(),
                bath: BathDigest {
                    metal: MetalDigest {
                        name: "copper".into(),
                    },
                    conductivity: FigureDigest { value: 10.0 },
                    limiting_current: None,
                },
                verdict: None,
                time_s: Some(3600.0),
                wanted: Some(WantedDigest {
                    thickness_m: 1e-4,
                    on: None,
                    met: Some(true),
                    reached_after_s: Some(3600.0),
                }),
                main: VoltsAmps {
                    voltage_v: 1.0,
                    current_a: 2.0,
                },
                energy_j: None,
                cost: None,
                history: Vec::new(),
                bodies: vec![BodyDigest {
                    name: "work".into(),
                    copy_of: None,
                    role: Role::Work,
                    area_m2: 2e-4,
                    current_density_a_per_m2: None,
                    metal_kg: Some(1e-3),
                    volume_m3: None,
                    covered_after_s: None,
                    coat_drop_v: None,
                    places: PlacesDigest {
                        thinnest_m: place(1e-4),
                        thickest_m: place(2e-4),
                        limit_share: place(0.3),
                    },
                }],
                repeats: Vec::new(),
            },
            facets: vec![facet(0.0, 1e-4), facet(0.01, 2e-4)],
            dimension: 3,
            lines: Vec::new(),
        }
    }

    #[test]
    fn differences_are_signed() {
        assert_eq!(difference(100.0, 134.0), "+34 (+34 %)");
        assert_eq!(difference(2.0, 1.0), "-1 (-50 %)");
        assert_eq!(difference(2.0, 2.0001), "0");
        assert_eq!(difference(0.0, 3.0), "+3");
    }

    #[test]
    fn the_table_has_every_known_figure() {
        let comparison = Comparison {
            runs: vec![run("a"), run("b")],
            failed: vec![("c".into(), "no anode".into())],
        };
        let text = comparison.text(Look::default());
        assert!(text.starts_with("c failed: no anode\n"), "{text}");
        // Too wide for a terminal: the changes come below.
        let narrow = comparison.text(Look {
            width: 40,
            ..Look::default()
        });
        assert!(narrow.lines().all(|l| l.chars().count() <= 60), "{narrow}");
        let changes = narrow.split("\n\n").nth(2).unwrap();
        assert!(changes.trim_start().starts_with("change to b"), "{narrow}");
        assert_eq!(comparison.json()["failed"][0]["name"], "c");
        assert!(
            text.contains("thinnest, um") && text.contains("change to b"),
            "{text}"
        );
        assert!(!text.contains("energy"), "{text}");
        assert_eq!(comparison.json()["runs"][1]["figures"]["voltage_V"], 1.0);
    }
}
