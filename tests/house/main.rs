//! How the house is kept, counted from its source: no circle of files in a crate, none of crates, no long functions.
//!
//! A file uses another if its code names something defined there: by `use`, or by a path in the open (`crate::a::b`,
//! `super::x`, a module's name and what is behind it). Names that a file only passes on (`pub use`) are followed to the file
//! that defines them, so a `mod.rs` is no knot for being walked through; what it uses itself counts. A module
//! brought in whole counts by what is taken from it. What stands behind `#[cfg(test)]` does not count, nor do
//! methods called without naming their type. A circle is a set of files that reach each other.
//! A function's length is its lines from `fn` to the closing brace.

mod engine;
mod licences;
mod tree;
mod words;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use tree::Tree;
use words::{item_end, words};

const LONGEST_FUNCTION: usize = 100;

fn root() -> PathBuf {
    env!("CARGO_MANIFEST_DIR").into()
}

fn read(path: &Path) -> Option<String> {
    fs::read_to_string(path).ok()
}

/// Each crate's name and tree.
fn crates() -> Vec<(String, Tree)> {
    let mut crates: Vec<(String, Tree)> = fs::read_dir(root().join("crates"))
        .unwrap()
        .map(|entry| {
            let folder = entry.unwrap().path();
            let top = ["src/lib.rs", "lib.rs"].map(|file| folder.join(file));
            let top = top.iter().find(|file| file.exists()).unwrap();
            let name = folder.file_name().unwrap().to_string_lossy().into_owned();
            (name, Tree::new(top, &read))
        })
        .collect();
    crates.sort_by(|a, b| a.0.cmp(&b.0));
    crates
}

/// Sets of more than one that reach each other.
fn circles(nodes: usize, uses: &BTreeSet<(usize, usize)>) -> Vec<Vec<usize>> {
    let reached: Vec<BTreeSet<usize>> = (0..nodes)
        .map(|from| {
            let (mut reached, mut open) = (BTreeSet::new(), vec![from]);
            while let Some(at) = open.pop() {
                for &(_, to) in uses.range((at, 0)..(at + 1, 0)) {
                    if reached.insert(to) {
                        open.push(to);
                    }
                }
            }
            reached
        })
        .collect();
    let circle = |a: usize| -> Vec<usize> {
        (0..nodes)
            .filter(|&b| reached[a].contains(&b) && reached[b].contains(&a))
            .collect()
    };
    let mut circles: Vec<_> = (0..nodes).map(circle).filter(|c| c.len() > 1).collect();
    circles.sort();
    circles.dedup();
    circles
}

/// A line for each circle of files of a tree.
fn knots(tree: &Tree) -> Vec<String> {
    let name = |f: usize| {
        tree.files[f]
            .strip_prefix(root())
            .unwrap_or(&tree.files[f])
            .display()
            .to_string()
    };
    let uses = tree.uses();
    let line = |circle: Vec<usize>| {
        let inside = uses
            .iter()
            .filter(|(a, b)| circle.contains(a) && circle.contains(b));
        let arrows: Vec<_> = inside
            .map(|&(a, b)| format!("  {} -> {}", name(a), name(b)))
            .collect();
        arrows.join("\n")
    };
    circles(tree.files.len(), &uses)
        .into_iter()
        .map(line)
        .collect()
}

/// Name, first line and length of each function of a source.
fn functions(source: &str) -> Vec<(String, usize, usize)> {
    let words = words(source);
    let named = |i: &usize| words[*i].text == "fn" && words[i + 1].text != "(";
    let length = |i: usize| {
        let last = &words[item_end(&words, i) - 1];
        let first = words[i].line;
        (words[i + 1].text.clone(), first, last.line + 1 - first)
    };
    (0..words.len()).filter(named).map(length).collect()
}

#[test]
fn no_circle_of_files() {
    let crates = crates();
    let files: usize = crates.iter().map(|(_, tree)| tree.files.len()).sum();
    let uses: usize = crates.iter().map(|(_, tree)| tree.uses().len()).sum();
    let seen = format!("{} crates, {files} files, {uses} uses", crates.len());
    let enough = crates.len() >= 10 && files > 200 && uses > 2 * files;
    assert!(enough, "not all is seen: {seen}");
    let knots: Vec<String> = crates.iter().flat_map(|(_, tree)| knots(tree)).collect();
    assert!(
        knots.is_empty(),
        "{} circles among {seen}:\n{}",
        knots.len(),
        knots.join("\n\n")
    );
}

#[test]
fn no_circle_of_crates() {
    let names: Vec<String> = crates().into_iter().map(|(name, _)| name).collect();
    let mut uses = BTreeSet::new();
    for (from, name) in names.iter().enumerate() {
        // The front door is the root package's.
        let own = root().join("crates").join(name).join("Cargo.toml");
        let manifest = read(&own)
            .or_else(|| read(&root().join("Cargo.toml")))
            .unwrap();
        let needs = manifest
            .lines()
            .filter_map(|line| line.strip_prefix("ionfall-"));
        for need in needs.filter_map(|line| line.split(['.', ' ', '=']).next()) {
            let to = names.iter().position(|name| name == need);
            uses.insert((from, to.unwrap_or_else(|| panic!("{need} has no folder"))));
        }
    }
    assert!(uses.len() > names.len(), "not all is seen");
    let circles = circles(names.len(), &uses);
    assert!(circles.is_empty(), "{circles:?} of {names:?}");
}

#[test]
fn no_long_functions() {
    let (mut count, mut long) = (0, Vec::new());
    for file in crates().iter().flat_map(|(_, tree)| &tree.files) {
        for (name, line, length) in functions(&read(file).unwrap()) {
            count += 1;
            if length > LONGEST_FUNCTION {
                long.push(format!("{}:{line} {name}: {length} lines", file.display()));
            }
        }
    }
    assert!(count > 2000, "{count} functions: not all is seen");
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn the_count_sees_circles_and_no_others() {
    let tree = |files: &'static [(&str, &str)]| {
        Tree::new(Path::new("lib.rs"), &move |path| {
            let found = files.iter().find(|(name, _)| Path::new(name) == path);
            found.map(|(_, text)| (*text).to_owned())
        })
    };
    let passed_on = [
        (
            "lib.rs",
            "mod a; mod b; pub use a::A; pub use b::{B, make};",
        ),
        (
            "a.rs",
            "pub struct A; /* crate::b::B */ #[cfg(test)] mod tests { use crate::B; }",
        ),
        (
            "b.rs",
            "use crate::A; pub struct B(A, &'static str); fn make() -> B { B(A, \"crate::b\") }",
        ),
    ];
    assert_eq!(
        knots(&tree(Box::leak(Box::new(passed_on)))),
        Vec::<String>::new()
    );
    let through_the_top = [
        ("lib.rs", "mod a; mod b { pub use crate::c::C; } mod c;"),
        ("a.rs", "pub struct A; fn f() { crate::b::C::new() }"),
        (
            "c.rs",
            "use super::a; pub struct C; impl C { fn new() -> a::A { a::A } }",
        ),
    ];
    assert_eq!(
        knots(&tree(Box::leak(Box::new(through_the_top)))),
        ["  a.rs -> c.rs\n  c.rs -> a.rs"]
    );
    let top_and_child = [
        ("lib.rs", "mod a; pub struct Top; pub fn f(_: a::A) {}"),
        ("a/mod.rs", "use super::*; pub struct A(Top);"),
    ];
    assert_eq!(knots(&tree(Box::leak(Box::new(top_and_child)))).len(), 1);
}

#[test]
fn lengths_are_from_fn_to_brace() {
    let source = "impl X {\n    fn f<'a>(\n        x: &'a str,\n    ) -> [u8; 3] {\n        let c = '}';\n    }\n    const F: fn(f64);\n}\n\
        #[cfg(test)]\nfn g() {}\nfn h() { \"{\\\"\"; r#\"{\"#; }";
    let expected = [("f".to_owned(), 2, 5), ("h".to_owned(), 11, 1)];
    assert_eq!(functions(source), expected);
}
