//! Named acid copper sulfate recipes.

use crate::figure::{Grade, Range};
use serde::Serialize;

/// A recipe: amounts as ranges, of which the middle is used.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Recipe {
    /// Name in the job file.
    pub name: &'static str,
    /// CuSO4 5H2O.
    pub copper_sulfate_g_per_l: Range,
    /// H2SO4.
    pub acid_g_per_l: Range,
    /// Chloride, ppm.
    pub chloride_ppm: Option<Range>,
    /// Usual cathode current density, A/dm2.
    pub current_a_per_dm2: Option<Range>,
}

const GUIDEBOOK: &str =
    "Metal Finishing Guidebook 2011-2012, p. 206, Tables VIII and IX (acid copper sulfate)";
const GRAVURE: &str = "supplier's data sheet for a gravure-cylinder acid copper bath, undated";
const ENCYCLOPAEDIA: &str = "Encyclopaedia Britannica, 11th ed. (1911), vol. 9, Electrotyping";

const fn g_per_l(low: f64, high: f64, grade: Grade, source: &'static str) -> Range {
    Range::new(low, high, "g/L", grade, source)
}

/// The recipes. The 1911 figures were 1.5 lb and 0.5 lb per gallon (read as imperial) and
/// 10 A per square foot.
pub const RECIPES: [Recipe; 6] = [
    Recipe {
        name: "electroforming",
        copper_sulfate_g_per_l: g_per_l(180.0, 240.0, Grade::Memory, ""),
        acid_g_per_l: g_per_l(45.0, 75.0, Grade::Memory, ""),
        chloride_ppm: Some(Range::new(0.0, 60.0, "ppm", Grade::Memory, "")),
        current_a_per_dm2: Some(Range::new(1.0, 6.0, "A/dm2", Grade::Memory, "")),
    },
    Recipe {
        name: "general",
        copper_sulfate_g_per_l: g_per_l(195.0, 248.0, Grade::Seen, GUIDEBOOK),
        acid_g_per_l: g_per_l(30.0, 75.0, Grade::Seen, GUIDEBOOK),
        chloride_ppm: Some(Range::new(50.0, 120.0, "ppm", Grade::Seen, GUIDEBOOK)),
        current_a_per_dm2: Some(Range::new(2.2, 10.8, "A/dm2", Grade::Seen, GUIDEBOOK)),
    },
    Recipe {
        name: "high throw",
        copper_sulfate_g_per_l: g_per_l(60.0, 75.0, Grade::Seen, GUIDEBOOK),
        acid_g_per_l: g_per_l(187.0, 225.0, Grade::Seen, GUIDEBOOK),
        chloride_ppm: Some(Range::new(50.0, 100.0, "ppm", Grade::Seen, GUIDEBOOK)),
        current_a_per_dm2: None,
    },
    Recipe {
        name: "semi-bright",
        copper_sulfate_g_per_l: g_per_l(248.0, 248.0, Grade::Seen, GUIDEBOOK),
        acid_g_per_l: g_per_l(11.0, 11.0, Grade::Seen, GUIDEBOOK),
        chloride_ppm: Some(Range::new(50.0, 120.0, "ppm", Grade::Seen, GUIDEBOOK)),
        current_a_per_dm2: None,
    },
    Recipe {
        name: "gravure",
        copper_sulfate_g_per_l: g_per_l(220.0, 220.0, Grade::Uncited, GRAVURE),
        acid_g_per_l: g_per_l(60.0, 60.0, Grade::Uncited, GRAVURE),
        chloride_ppm: None,
        current_a_per_dm2: None,
    },
    Recipe {
        name: "electrotyping 1911",
        copper_sulfate_g_per_l: g_per_l(150.0, 150.0, Grade::Seen, ENCYCLOPAEDIA),
        acid_g_per_l: g_per_l(50.0, 50.0, Grade::Seen, ENCYCLOPAEDIA),
        chloride_ppm: None,
        current_a_per_dm2: Some(Range::new(1.08, 1.08, "A/dm2", Grade::Seen, ENCYCLOPAEDIA)),
    },
];

impl Recipe {
    /// Finds a recipe by name.
    pub fn find(name: &str) -> Option<Recipe> {
        RECIPES.into_iter().find(|r| r.name == name)
    }
}
