//! Triangle meshes from STL, OBJ and PLY files, looked over and mended.
//!
//! Files carry no unit: the caller says how long one unit is. Reading is the feature `meshes`, mending
//! what a program hands in is always there.

mod mend;
mod merge;
#[cfg(feature = "meshes")]
mod obj;
#[cfg(feature = "meshes")]
mod ply;
mod raw;
mod report;
mod shells;
mod small_holes;
#[cfg(feature = "meshes")]
mod stl;

pub use mend::mend;
pub use raw::RawMesh;
pub use report::{MeshReport, Repair, RepairKind};

#[cfg(not(feature = "meshes"))]
pub use super::left_out::{parse, read};
#[cfg(feature = "meshes")]
use super::{SolidError, TriangleMesh};
#[cfg(feature = "meshes")]
use std::path::Path;

/// Reads a mesh; the kind of file follows from its ending (.stl, .obj, .ply). One unit of the file
/// is `scale_m_per_unit` metres (1e-3 for a file in millimetres).
///
/// # Errors
/// [`SolidError::Io`], and those of [`parse`].
#[cfg(feature = "meshes")]
pub fn read(path: &Path, scale_m_per_unit: f64) -> Result<(TriangleMesh, MeshReport), SolidError> {
    parser(path)?;
    let bytes = std::fs::read(path).map_err(|source| SolidError::Io {
        path: path.display().to_string(),
        source,
    })?;
    parse(path, &bytes, scale_m_per_unit)
}

/// As [`read`], of what a file of that name holds.
///
/// # Errors
/// [`SolidError::UnknownFormat`], [`SolidError::Malformed`], and all that [`mend()`] refuses; nothing but
/// [`SolidError::LeftOut`] without the feature `meshes`.
#[cfg(feature = "meshes")]
pub fn parse(
    name: &Path,
    bytes: &[u8],
    scale_m_per_unit: f64,
) -> Result<(TriangleMesh, MeshReport), SolidError> {
    mend(parser(name)?(without_mark(bytes))?, scale_m_per_unit)
}

/// Reads what a file holds.
#[cfg(feature = "meshes")]
type Parser = fn(&[u8]) -> Result<RawMesh, SolidError>;

/// The parser for files of an ending.
#[cfg(feature = "meshes")]
fn parser(name: &Path) -> Result<Parser, SolidError> {
    let ending = name.extension().unwrap_or_default().to_string_lossy();
    match ending.to_lowercase().as_str() {
        "stl" => Ok(stl::parse),
        "obj" => Ok(obj::parse),
        "ply" => Ok(ply::parse),
        _ => Err(SolidError::UnknownFormat {
            path: name.display().to_string(),
        }),
    }
}

/// What follows the mark of byte order that some editors put in front of a text.
#[cfg(feature = "meshes")]
fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}

#[cfg(all(test, feature = "meshes"))]
mod tests {
    use super::super::testing::fineness;
    use super::super::{Ball, Cuboid, Primitive};
    use super::*;
    use std::fmt::Write;

    /// A unit cube in each format; OBJ and PLY with quadrilaterals.
    pub(super) fn samples() -> [(&'static str, Vec<u8>); 5] {
        let cube = Cuboid::sized([1.0; 3]).unwrap();
        let soup = cube.tessellate(&fineness(&cube, 1.0));
        let quads = [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ];
        let mut ascii = String::from("solid cube\n");
        let mut facets = Vec::new();
        for e in 0..soup.elements.len() {
            let vertices = soup
                .corners(e)
                .map(|p| stl_io::Vertex::new(p.map(|x| x as f32)));
            facets.push(stl_io::Triangle {
                normal: stl_io::Normal::new([0.0; 3]),
                vertices,
            });
            ascii += "facet normal 0 0 0\nouter loop\n";
            for p in soup.corners(e) {
                writeln!(ascii, "vertex {} {} {}", p[0], p[1], p[2]).unwrap();
            }
            ascii += "endloop\nendfacet\n";
        }
        ascii += "endsolid cube\n";
        let mut binary = Vec::new();
        stl_io::write_stl(&mut binary, facets.iter()).unwrap();
        let mut obj = String::from("o cube\nusemtl none\n");
        let mut ply = String::from(
            "ply\nformat ascii 1.0\nelement vertex 8\nproperty double x\nproperty double y\n\
             property double z\nelement face 6\nproperty list uchar int vertex_indices\nend_header\n",
        );
        for p in &soup.vertices {
            writeln!(obj, "v {} {} {}", p[0], p[1], p[2]).unwrap();
            writeln!(ply, "{} {} {}", p[0], p[1], p[2]).unwrap();
        }
        for [a, b, c, d] in quads {
            writeln!(obj, "f {} {} {} {}", a + 1, b + 1, c + 1, d + 1).unwrap();
            writeln!(ply, "4 {a} {b} {c} {d}").unwrap();
        }
        // Some programs begin binary files with the word that marks text files.
        let mut treacherous = binary.clone();
        treacherous[..6].copy_from_slice(b"solid ");
        [
            ("stl", ascii.into_bytes()),
            ("stl", binary),
            ("stl", treacherous),
            ("obj", obj.into_bytes()),
            ("ply", ply.into_bytes()),
        ]
    }

    fn parse(kind: &str, bytes: &[u8]) -> Result<RawMesh, SolidError> {
        match kind {
            "stl" => stl::parse(bytes),
            "obj" => obj::parse(bytes),
            _ => ply::parse(bytes),
        }
    }

    #[test]
    fn the_same_cube_from_every_format() {
        let marked = |(kind, bytes): &(&'static str, Vec<u8>)| {
            let text = bytes
                .is_ascii()
                .then(|| [b"\xef\xbb\xbf", &bytes[..]].concat());
            Some((*kind, text?))
        };
        let plain = samples();
        let marked: Vec<_> = plain.iter().filter_map(marked).collect();
        assert_eq!(marked.len(), 3, "the texts");
        for (kind, bytes) in plain.into_iter().chain(marked) {
            let folder = std::env::temp_dir().join(format!("ionfall-mesh-{}", std::process::id()));
            std::fs::create_dir_all(&folder).unwrap();
            let path = folder.join(format!("cube.{kind}"));
            std::fs::write(&path, bytes).unwrap();
            let (mesh, report) = read(&path, 1e-3).unwrap();
            std::fs::remove_dir_all(&folder).unwrap();
            assert_eq!(
                (mesh.vertices().len(), mesh.triangles().len()),
                (8, 12),
                "{kind}"
            );
            assert!(
                (report.volume_m3 - 1e-9).abs() < 1e-21,
                "{}",
                report.volume_m3
            );
            assert!(report.repairs.is_empty(), "{:?}", report.repairs);
            assert!(mesh.contains(&[0.5e-3; 3]) && !mesh.contains(&[1.5e-3; 3]));
        }
    }

    #[test]
    fn damaged_files_are_refused_without_a_panic() {
        for (kind, bytes) in samples() {
            for cut in (0..bytes.len()).step_by(bytes.len() / 60 + 1) {
                // Only what is lost beyond the last corner may go unnoticed.
                if let Ok((_, report)) = parse(kind, &bytes[..cut]).and_then(|raw| mend(raw, 1.0)) {
                    assert!(
                        (report.volume_m3 - 1.0).abs() < 1e-12,
                        "{kind} cut at {cut}"
                    );
                    assert!(10 * cut > 9 * bytes.len(), "{kind} cut at {cut}");
                }
            }
            // A small generator, so that every run garbles the same bytes.
            let mut state = 12_345_u32;
            let mut random = || {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (state >> 8) as usize
            };
            for _ in 0..400 {
                let mut bad = bytes.clone();
                for _ in 0..1 + random() % 8 {
                    let i = random() % bad.len();
                    bad[i] = (random() % 256) as u8;
                }
                if let Ok((mesh, _)) = parse(kind, &bad).and_then(|raw| mend(raw, 1.0)) {
                    assert!(mesh.signed_distance(&[0.1; 3]).is_finite());
                }
            }
        }
    }

    #[test]
    fn unknown_and_missing_files() {
        let read = |name: &str| read(Path::new(name), 1.0);
        assert!(matches!(
            read("part.step"),
            Err(SolidError::UnknownFormat { .. })
        ));
        assert!(matches!(
            read("no-such-file.stl"),
            Err(SolidError::Io { .. })
        ));
        assert!(matches!(stl::parse(b""), Err(SolidError::Malformed { .. })));
        let bad = b"v 0 0 0\nv 1 0 0\nf 1 2 9\n";
        assert!(obj::parse(bad).is_err());
    }

    #[test]
    fn a_large_ball_survives_single_precision() {
        let ball = Ball::new([100.0, -50.0, 7.0], 10.0).unwrap();
        let soup = ball.tessellate(&fineness(&ball, 1e-2));
        let facets: Vec<stl_io::Triangle> = (0..soup.elements.len())
            .map(|e| stl_io::Triangle {
                normal: stl_io::Normal::new([0.0; 3]),
                vertices: soup
                    .corners(e)
                    .map(|p| stl_io::Vertex::new(p.map(|x| x as f32))),
            })
            .collect();
        let mut bytes = Vec::new();
        stl_io::write_stl(&mut bytes, facets.iter()).unwrap();
        let (mesh, report) = mend(stl::parse(&bytes).unwrap(), 1e-3).unwrap();
        assert_eq!(mesh.vertices().len(), soup.vertices.len());
        assert!(report.repairs.is_empty());
    }
}
