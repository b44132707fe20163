//! Mesh files: STL, OBJ and PLY.

use crate::mutate;
use crate::trial::mutants;
use ionfall_mesh::solid::Primitive;
use ionfall_mesh::solid::mesh_file::read;
use std::fs;

/// Corners and sides of a cube.
const CORNERS: [[f32; 3]; 8] = [
    [0.0, 0.0, 0.0],
    [0.0, 0.0, 1.0],
    [0.0, 1.0, 0.0],
    [0.0, 1.0, 1.0],
    [1.0, 0.0, 0.0],
    [1.0, 0.0, 1.0],
    [1.0, 1.0, 0.0],
    [1.0, 1.0, 1.0],
];
const SIDES: [[usize; 3]; 12] = [
    [0, 1, 3],
    [0, 3, 2],
    [4, 6, 7],
    [4, 7, 5],
    [0, 4, 5],
    [0, 5, 1],
    [2, 3, 7],
    [2, 7, 6],
    [0, 2, 6],
    [0, 6, 4],
    [1, 5, 7],
    [1, 7, 3],
];

fn numbers(of: [f32; 3]) -> String {
    of.map(|x| x.to_string()).join(" ")
}

fn stl_text() -> String {
    let side = |s: &[usize; 3]| {
        let corner = |&n: &usize| format!("vertex {}\n", numbers(CORNERS[n]));
        let corners: String = s.iter().map(corner).collect();
        format!("facet normal 0 0 0\nouter loop\n{corners}endloop\nendfacet\n")
    };
    format!(
        "solid cube\n{}endsolid cube\n",
        SIDES.iter().map(side).collect::<String>()
    )
}

fn stl_bytes() -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend((SIDES.len() as u32).to_le_bytes());
    for side in SIDES {
        bytes.extend([0; 12]);
        let corners = side.iter().flat_map(|&n| CORNERS[n]);
        bytes.extend(corners.flat_map(f32::to_le_bytes));
        bytes.extend([0; 2]);
    }
    bytes
}

fn obj() -> String {
    let corners: String = CORNERS
        .iter()
        .map(|c| format!("v {}\n", numbers(*c)))
        .collect();
    let side = |s: &[usize; 3]| format!("f {}\n", s.map(|n| (n + 1).to_string()).join(" "));
    corners + &SIDES.iter().map(side).collect::<String>()
}

fn ply(format: &str, body: Vec<u8>) -> Vec<u8> {
    let head = format!(
        "ply\nformat {format} 1.0\nelement vertex 8\nproperty float x\nproperty float y\nproperty float z\n\
         element face 12\nproperty list uchar int vertex_indices\nend_header\n"
    );
    [head.into_bytes(), body].concat()
}

fn ply_text() -> Vec<u8> {
    let corners: String = CORNERS.iter().map(|c| numbers(*c) + "\n").collect();
    let side = |s: &[usize; 3]| format!("3 {}\n", s.map(|n| n.to_string()).join(" "));
    ply(
        "ascii",
        (corners + &SIDES.iter().map(side).collect::<String>()).into_bytes(),
    )
}

fn ply_bytes() -> Vec<u8> {
    let corners = CORNERS.iter().flatten().flat_map(|x| x.to_le_bytes());
    let side = |s: &[usize; 3]| {
        let corners = s.iter().flat_map(|&n| (n as i32).to_le_bytes());
        std::iter::once(3).chain(corners).collect::<Vec<u8>>()
    };
    ply(
        "binary_little_endian",
        corners.chain(SIDES.iter().flat_map(side)).collect(),
    )
}

/// Sound cubes, with the ending of the file.
fn cubes() -> [(&'static str, Vec<u8>); 5] {
    [
        ("stl", stl_text().into_bytes()),
        ("stl", stl_bytes()),
        ("obj", obj().into_bytes()),
        ("ply", ply_text()),
        ("ply", ply_bytes()),
    ]
}

#[test]
fn meshes_are_taken_or_refused() {
    let cubes = cubes();
    for (ending, cube) in &cubes {
        let look = |mutant: &[u8], kept: &std::path::Path| {
            let path = kept.join(format!("mesh.{ending}"));
            fs::write(&path, mutant).map_err(|e| e.to_string())?;
            match read(&path, 1e-3) {
                Err(error) if error.to_string().len() < 20 => Err(format!("too short: {error}")),
                Err(_) => Ok(()),
                Ok((mesh, report)) => {
                    let sane = report.volume_m3.is_finite()
                        && mesh.signed_distance(&[0.3e-3; 3]).is_finite();
                    sane.then_some(()).ok_or("no number".into())
                }
            }
        };
        look(cube, std::env::temp_dir().as_path()).expect("a sound cube");
        let make = |dice: &mut mutate::Dice| match std::str::from_utf8(cube) {
            Ok(text) if dice.pick(2) == 0 => mutate::text(dice, text, &[]).into_bytes(),
            _ => mutate::bytes(dice, cube),
        };
        let kind = if cube.is_ascii() && !cube.contains(&0) {
            "text"
        } else {
            "bytes"
        };
        mutants(&format!("{ending}-{kind}"), 100, make, look);
    }
}
