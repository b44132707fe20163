//! `series.pvd`: names the surfaces and their times, for viewers that play a series.

use std::fmt::Write;

/// Name of the surface at the end.
pub(crate) const LAST: &str = "surface.vtp";

/// Name of a surface saved on the way, counted from one.
pub(crate) fn name(number: usize) -> String {
    format!("surface-{number:04}.vtp")
}

/// The file, for surfaces saved at `saved_s` and the last one at `end_s`. Times in seconds.
pub(crate) fn series(saved_s: &[f64], end_s: f64) -> String {
    let mut text = "<?xml version=\"1.0\"?>\n\
         <VTKFile type=\"Collection\" version=\"0.1\" byte_order=\"LittleEndian\">\n  \
         <Collection>\n"
        .to_owned();
    let mut entry = |time_s: f64, file: &str| {
        // Writing into a string does not fail.
        let _ = writeln!(
            text,
            "    <DataSet timestep=\"{time_s}\" group=\"\" part=\"0\" file=\"{file}\"/>"
        );
    };
    for (n, &time_s) in saved_s.iter().enumerate() {
        entry(time_s, &name(n + 1));
    }
    entry(end_s, LAST);
    text + "  </Collection>\n</VTKFile>\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_the_surfaces_and_their_times() {
        let text = series(&[60.0, 3600.0], 36_000.0);
        for piece in [
            "timestep=\"60\" group=\"\" part=\"0\" file=\"surface-0001.vtp\"",
            "timestep=\"3600\" group=\"\" part=\"0\" file=\"surface-0002.vtp\"",
            "timestep=\"36000\" group=\"\" part=\"0\" file=\"surface.vtp\"",
        ] {
            assert!(text.contains(piece), "{text}");
        }
        assert_eq!(text.matches('<').count(), text.matches('>').count());
    }
}
