//! In the place of readers that are not part of this build: they say which feature has them.

use super::error::SolidError;
use std::path::Path;

fn left_out(path: &Path, what: &'static str, feature: &'static str) -> SolidError {
    SolidError::LeftOut {
        path: path.display().to_string(),
        what,
        feature,
    }
}

/// Triangle meshes are not read in this build.
///
/// # Errors
/// [`SolidError::LeftOut`], always.
#[cfg(not(feature = "meshes"))]
pub fn read(
    path: &Path,
    _scale_m_per_unit: f64,
) -> Result<(super::TriangleMesh, super::mesh_file::MeshReport), SolidError> {
    Err(left_out(path, "triangle meshes", "meshes"))
}

/// Triangle meshes are not read in this build.
///
/// # Errors
/// [`SolidError::LeftOut`], always.
#[cfg(not(feature = "meshes"))]
pub fn parse(
    name: &Path,
    _bytes: &[u8],
    scale_m_per_unit: f64,
) -> Result<(super::TriangleMesh, super::mesh_file::MeshReport), SolidError> {
    read(name, scale_m_per_unit)
}

/// Pictures are not read in this build.
///
/// # Errors
/// [`SolidError::LeftOut`], always.
#[cfg(not(feature = "pictures"))]
pub fn heights_from_png(path: &Path) -> Result<ndarray::Array2<f32>, SolidError> {
    Err(left_out(path, "pictures", "pictures"))
}

/// Pictures are not read in this build.
///
/// # Errors
/// [`SolidError::LeftOut`], always.
#[cfg(not(feature = "pictures"))]
pub fn heights_from_bytes(name: &Path, _bytes: &[u8]) -> Result<ndarray::Array2<f32>, SolidError> {
    heights_from_png(name)
}

#[cfg(test)]
mod tests {
    #[cfg(not(feature = "meshes"))]
    #[test]
    fn the_feature_that_reads_meshes_is_named() {
        let error = super::read("part.stl".as_ref(), 1e-3)
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("part.stl") && error.contains("`meshes`"),
            "{error}"
        );
    }

    #[cfg(not(feature = "pictures"))]
    #[test]
    fn the_feature_that_reads_pictures_is_named() {
        let error = super::heights_from_png("coin.png".as_ref())
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("coin.png") && error.contains("`pictures`"),
            "{error}"
        );
    }
}
