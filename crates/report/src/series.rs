//! `series.pvd`: names the surface at its time, for viewers that play a series.

/// The file. Time in seconds.
pub(crate) fn series(time_s: f64) -> String {
    format!(
        "<?xml version=\"1.0\"?>\n\
         <VTKFile type=\"Collection\" version=\"0.1\" byte_order=\"LittleEndian\">\n  \
         <Collection>\n    \
         <DataSet timestep=\"{time_s}\" group=\"\" part=\"0\" file=\"surface.vtp\"/>\n  \
         </Collection>\n\
         </VTKFile>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_the_surface_and_its_time() {
        let text = series(36_000.0);
        assert!(text.contains("timestep=\"36000\""), "{text}");
        assert!(text.contains("file=\"surface.vtp\""), "{text}");
        assert_eq!(text.matches('<').count(), text.matches('>').count());
    }
}
