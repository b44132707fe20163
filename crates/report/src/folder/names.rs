//! Names of the files of a result.

/// The file that makes a folder of results whole.
pub const SUMMARY: &str = "summary.json";

/// The report.
pub const REPORT: &str = "report.html";

/// The table of facets.
pub(crate) const FACETS: &str = "facets.csv";

/// The table of facets at a time on the way, counted from one.
pub(crate) fn facets_name(number: usize) -> String {
    format!("facets-{number:04}.csv")
}

/// The table of named lines.
pub(crate) const LINES: &str = "lines.csv";

/// Fixed names of result files; parts are called `part-NAME.vtp`, pictures
/// `picture-NAME.png` or `.svg`.
const NAMES: [&str; 8] = [
    SUMMARY,
    REPORT,
    "job-sheet.html",
    "surface.vtp",
    "bath.vtu",
    "series.pvd",
    FACETS,
    LINES,
];

/// Could a result have a file of that name?
pub(super) fn is_of_a_result(name: &str) -> bool {
    let part = ["part-", "surface-"].iter().any(|p| name.starts_with(p)) && name.ends_with(".vtp");
    let picture =
        name.starts_with("picture-") && (name.ends_with(".png") || name.ends_with(".svg"));
    let table = name.starts_with("facets-") && name.ends_with(".csv");
    part || picture || table || NAMES.contains(&name)
}
