//! Meshes and pictures that cannot be used: a clear word, exit code 2, nothing written.

use crate::bad_input::{WORK_BOX, changed};
use crate::bench::Bench;

type Triangle = [[f32; 3]; 3];

/// The twelve triangles of a cube of 10 units, facing out.
fn cube() -> Vec<Triangle> {
    let corner = |n: usize| [n & 1, n >> 1 & 1, n >> 2].map(|bit| 10.0 * bit as f32);
    [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ]
    .iter()
    .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
    .map(|triangle| triangle.map(corner))
    .collect()
}

fn text_stl(triangles: &[Triangle]) -> Vec<u8> {
    let mut text = "solid t\n".to_owned();
    for triangle in triangles {
        text += "facet normal 0 0 0\nouter loop\n";
        for [x, y, z] in triangle {
            text += &format!("vertex {x} {y} {z}\n");
        }
        text += "endloop\nendfacet\n";
    }
    (text + "endsolid t\n").into_bytes()
}

fn binary_stl(triangles: &[Triangle]) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        bytes.extend(triangle.iter().flatten().flat_map(|x| x.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

/// The plates with a mesh as the work, 20 mm inside the tank.
fn with_mesh(content: &[u8]) -> Bench {
    let mesh = r#"shape.mesh = { file = "part.stl", unit = "mm" }
place = [{ move = "20 x 10 x 10 mm" }]"#;
    let bench = changed(WORK_BOX, mesh);
    bench.write("part.stl", content);
    bench
}

#[test]
fn the_mesh_is_good_as_long_as_nothing_is_done_to_it() {
    with_mesh(&text_stl(&cube())).solved();
    with_mesh(&binary_stl(&cube())).solved();
}

#[test]
fn a_mesh_with_a_hole() {
    let words = [
        "the mesh is not closed",
        "4 edges",
        "around 1 holes",
        "make watertight",
    ];
    with_mesh(&text_stl(&cube()[2..])).refused(2, &words);
}

#[test]
fn an_empty_mesh() {
    let words = ["the mesh is empty"];
    with_mesh(&text_stl(&[])).refused(2, &words);
    with_mesh(&binary_stl(&[])).refused(2, &words);
}

#[test]
fn a_mesh_cut_short() {
    let whole = binary_stl(&cube());
    let words = ["STL file is damaged"];
    with_mesh(&whole[..whole.len() - 30]).refused(2, &words);
    with_mesh(&[]).refused(2, &words);
}

#[test]
fn a_mesh_that_is_not_all_numbers() {
    let mut triangles = cube();
    triangles[3][1][2] = f32::NAN;
    let words = ["coordinates that are not finite numbers"];
    with_mesh(&binary_stl(&triangles)).refused(2, &words);
    with_mesh(&text_stl(&triangles)).refused(2, &["STL file is damaged", "NaN"]);
}

#[test]
fn a_mesh_that_is_not_there() {
    let bench = with_mesh(&[]);
    std::fs::remove_file(bench.path("part.stl")).unwrap();
    bench.refused(2, &["there is no file part.stl"]);
}

#[test]
fn a_picture_far_too_large() {
    let relief =
        r#"shape.relief = { picture = "big.png", width = "20 mm", depth = "2 mm", base = "2 mm" }"#;
    let bench = changed(WORK_BOX, relief);
    // Only the signature and the header of 16384 x 16384 grey pixels, with its checksum.
    let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x40\0\0\0\x40\0\x08\0\0\0\0".to_vec();
    png.extend(0x8ca3_4f58_u32.to_be_bytes());
    bench.write("big.png", &png);
    let words = ["16384 x 16384 pixels", "at most 4096 x 4096", "scale it"];
    bench.refused(2, &words);
}
