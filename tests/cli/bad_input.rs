//! Bad input: a clear word, the right exit code, nothing written.

use crate::bench::{Bench, PLATES};

fn changed(from: &str, to: &str) -> Bench {
    assert!(PLATES.contains(from), "the plates have no {from}");
    Bench::new(&PLATES.replace(from, to))
}

const WORK_BOX: &str = r#"shape.box = { from = "-5 x -5 x -5 mm", to = "5 x 35 x 35 mm" }"#;

#[test]
fn a_missing_job() {
    let bench = Bench::new(PLATES);
    std::fs::remove_file(bench.path("job.toml")).unwrap();
    bench.refused(2, &["job.toml"]);
}

#[test]
fn garbage() {
    Bench::new("[[[ what").refused(2, &["job.toml"]);
}

#[test]
fn a_wrong_unit_names_the_right_ones() {
    changed("\"25 S/m\"", "\"25 kg\"").refused(2, &["S/m", "mS/cm"]);
}

#[test]
fn a_negative_length() {
    changed("\"100 x 30 x 30 mm\"", "\"-100 x 30 x 30 mm\"").refused(2, &["-100"]);
}

#[test]
fn an_unknown_key_gets_a_suggestion_and_all_errors_are_shown() {
    let bench = Bench::new(
        &PLATES
            .replace("voltage =", "voltige =")
            .replace("25 S/m", "25 kg"),
    );
    bench.refused(2, &["voltige", "voltage", "25 kg"]);
}

#[test]
fn an_electrode_outside_the_tank() {
    let far = r#"shape.box = { from = "500 x 0 x 0 mm", to = "510 x 30 x 30 mm" }"#;
    changed(WORK_BOX, far).refused(2, &["plate", "outside"]);
}

#[test]
fn electrodes_that_touch() {
    let wide = r#"shape.box = { from = "-5 x -5 x -5 mm", to = "95 x 20 x 35 mm" }"#;
    changed(WORK_BOX, wide).refused(2, &["plate", "anode", "touch"]);
}

#[test]
fn an_electrode_wholly_under_stop_off() {
    let lacquer =
        "\n[[stop_off]]\nshape.box = { from = \"-9 x -9 x -9 mm\", to = \"9 x 39 x 39 mm\" }\n";
    Bench::new(&format!("{PLATES}{lacquer}")).refused(2, &["plate", "stop-off"]);
}

#[test]
fn a_part_behind_a_tight_wall() {
    let wall = "\n[[shield]]\nname = \"wall\"\nshape.box = { from = \"50 x -5 x -5 mm\", to = \"52 x 35 x 35 mm\" }\n";
    Bench::new(&format!("{PLATES}{wall}")).refused(2, &["no electrolyte joins"]);
}

/// A tetrahedron as text STL, some of its faces.
fn stl(faces: &[[usize; 3]], corner: &str) -> String {
    let points = ["0 0 0", "10 0 0", "0 10 0", corner];
    let facet = |f: &[usize; 3]| {
        let vertices: String = f
            .iter()
            .map(|&v| format!("vertex {}\n", points[v]))
            .collect();
        format!("facet normal 0 0 0\nouter loop\n{vertices}endloop\nendfacet\n")
    };
    format!(
        "solid t\n{}endsolid t\n",
        faces.iter().map(facet).collect::<String>()
    )
}

fn with_mesh(content: &str) -> Bench {
    let bench = changed(
        WORK_BOX,
        r#"shape.mesh = { file = "part.stl", unit = "mm" }"#,
    );
    bench.write("part.stl", content.as_bytes());
    bench
}

#[test]
fn meshes_that_cannot_be_mended() {
    let closed = [[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]];
    with_mesh(&stl(&closed[..2], "0 0 10")).refused(2, &["part.stl"]);
    with_mesh("solid t\nendsolid t\n").refused(2, &["part.stl"]);
    with_mesh(&stl(&closed, "nan 0 10")).refused(2, &["part.stl"]);
    let bench = with_mesh("");
    std::fs::remove_file(bench.path("part.stl")).unwrap();
    bench.refused(2, &["part.stl"]);
}

#[test]
fn a_picture_far_too_large() {
    let relief =
        r#"shape.relief = { picture = "big.png", width = "20 mm", depth = "2 mm", base = "2 mm" }"#;
    let bench = changed(WORK_BOX, relief);
    // Only the signature and the header of 16384 x 16384 grey pixels.
    let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x40\0\0\0\x40\0\x08\0\0\0\0".to_vec();
    png.extend(0xf889_5a95_u32.to_be_bytes());
    bench.write("big.png", &png);
    bench.refused(2, &["big.png"]);
}

#[test]
fn a_grid_larger_than_the_memory() {
    let clock = std::time::Instant::now();
    changed("\"4 mm\"", "\"0.002 mm\"").refused(4, &["MiB", "finest", "mm would fit"]);
    assert!(
        clock.elapsed().as_secs() < 60,
        "refused only after {:?}",
        clock.elapsed()
    );
}

#[test]
fn a_demand_above_the_limiting_current() {
    let law = "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"50 mV\", limiting_current_density = \"300 A/m2\" }";
    let job = PLATES
        .replace("law.linear = { resistance = \"0.002 ohm m2\" }", law)
        .replace("voltage = \"1 V\"", "current = \"1 A\"");
    // 9 cm2 at 300 A/m2 carry 0.27 A.
    Bench::new(&job).refused(3, &["0.27"]);
}

#[test]
fn a_file_where_the_folder_should_be() {
    let bench = Bench::new(PLATES);
    bench.write("out", b"mine");
    let output = bench.run();
    assert_eq!(
        output.status.code(),
        Some(4),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(std::fs::read(bench.path("out")).unwrap(), b"mine");
}

#[test]
fn a_failed_run_leaves_the_older_result() {
    let bench = Bench::new(PLATES);
    assert!(bench.run().status.success());
    let before = std::fs::read(bench.path("out/summary.json")).unwrap();
    bench.write("job.toml", PLATES.replace("25 S/m", "25 kg").as_bytes());
    assert_eq!(bench.run().status.code(), Some(2));
    assert_eq!(
        std::fs::read(bench.path("out/summary.json")).unwrap(),
        before
    );
}
