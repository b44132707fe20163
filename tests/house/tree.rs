//! A crate as modules, the names they bring in, and which file uses which.

use crate::words::{Word, item_end, words};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

type Names = Vec<String>;

#[derive(Default)]
struct Module {
    file: usize,
    parent: usize,
    children: BTreeMap<String, usize>,
    /// What `use` brings in: the name here, and the path.
    names: BTreeMap<String, Names>,
    /// Paths whose every name is brought in.
    globs: Vec<Names>,
    /// Paths that code of this module follows: of private `use`, and in the open.
    followed: Vec<Names>,
    /// Names passed on by `pub use`, and all names in code: using what is passed on is a use too.
    passed: BTreeSet<String>,
    spoken: BTreeSet<String>,
    defined: BTreeSet<String>,
}

/// A crate.
pub struct Tree {
    pub files: Vec<PathBuf>,
    modules: Vec<Module>,
}

/// What a path leads to: an item of a module, or the module itself.
#[derive(Clone, Copy)]
struct Found {
    module: usize,
    whole: bool,
}

impl Tree {
    /// Reads the crate whose root is `root`; `read` gives the text of a file, if there is one.
    pub fn new(root: &Path, read: &dyn Fn(&Path) -> Option<String>) -> Self {
        let mut tree = Self {
            files: Vec::new(),
            modules: Vec::new(),
        };
        tree.file(root, &root.with_file_name(""), 0, read);
        tree
    }

    fn file(
        &mut self,
        file: &Path,
        folder: &Path,
        parent: usize,
        read: &dyn Fn(&Path) -> Option<String>,
    ) -> usize {
        let text = read(file).unwrap_or_else(|| panic!("{} is missing", file.display()));
        self.files.push(file.into());
        let module = self.module(self.files.len() - 1, parent);
        self.words(&words(&text), module, folder, read);
        module
    }

    fn module(&mut self, file: usize, parent: usize) -> usize {
        self.modules.push(Module {
            file,
            parent,
            ..Module::default()
        });
        self.modules.len() - 1
    }

    fn words(
        &mut self,
        words: &[Word],
        m: usize,
        folder: &Path,
        read: &dyn Fn(&Path) -> Option<String>,
    ) {
        let at = |i: usize| words.get(i).map_or("", |w| w.text.as_str());
        let is_name = |i: usize| at(i).starts_with(|c: char| c.is_alphabetic() || c == '_');
        let mut i = 0;
        while i < words.len() {
            match at(i) {
                "mod" if at(i + 2) == ";" || at(i + 2) == "{" => {
                    let (name, end) = (at(i + 1).to_owned(), item_end(words, i));
                    let below = folder.join(&name);
                    let child = if at(i + 2) == "{" {
                        let child = self.module(self.modules[m].file, m);
                        self.words(&words[i + 3..end - 1], child, &below, read);
                        child
                    } else {
                        let beside = below.with_extension("rs");
                        let file = if read(&beside).is_some() {
                            beside
                        } else {
                            below.join("mod.rs")
                        };
                        self.file(&file, &below, m, read)
                    };
                    self.modules[m].children.insert(name, child);
                    i = end;
                }
                "use" => {
                    let end = (i..words.len())
                        .find(|&k| at(k) == ";")
                        .unwrap_or(words.len());
                    let public = i > 0 && [")", "pub"].contains(&at(i - 1));
                    let texts: Vec<&str> =
                        words[i + 1..end].iter().map(|w| w.text.as_str()).collect();
                    self.brought_in(m, &mut Vec::new(), &texts, public);
                    i = end + 1;
                }
                "fn" | "struct" | "enum" | "trait" | "const" | "static" | "type" => {
                    self.modules[m].defined.insert(at(i + 1).to_owned());
                    i += 1;
                }
                word if is_name(i) => {
                    let mut path = vec![word.to_owned()];
                    let free = i == 0 || at(i - 1) != "::";
                    while at(i + 1) == "::" && is_name(i + 2) {
                        path.push(at(i + 2).to_owned());
                        i += 2;
                    }
                    if free {
                        self.modules[m].spoken.insert(path[0].clone());
                        if path.len() > 1 {
                            self.modules[m].followed.push(path);
                        }
                    }
                    i += 1;
                }
                _ => i += 1,
            }
        }
    }

    /// Takes in a tree of `use`: `a::{b, c::d as e, f::*}` behind `front`.
    fn brought_in(&mut self, m: usize, front: &mut Names, tree: &[&str], public: bool) {
        let mut path = front.clone();
        let mut name = None;
        let mut i = 0;
        while i < tree.len() {
            match tree[i] {
                "::" => {}
                "as" => {
                    name = Some(tree[i + 1].to_owned());
                    i += 1;
                }
                "*" => return self.modules[m].globs.push(path),
                "{" => {
                    let (mut depth, mut start) = (0, i + 1);
                    for k in i..tree.len() {
                        depth += match tree[k] {
                            "{" => 1,
                            "}" => -1,
                            _ => 0,
                        };
                        if depth == 0 || depth == 1 && tree[k] == "," {
                            if k > start {
                                self.brought_in(m, &mut path, &tree[start..k], public);
                            }
                            start = k + 1;
                        }
                    }
                    return;
                }
                "self" if !path.is_empty() => {}
                word => path.push(word.to_owned()),
            }
            i += 1;
        }
        let name = name.unwrap_or_else(|| path.last().cloned().unwrap_or_default());
        let module = &mut self.modules[m];
        if public {
            module.passed.insert(name.clone());
        } else {
            module.followed.push(path.clone());
        }
        module.names.insert(name, path);
    }

    /// Follows a path written in module `m`; nothing if it leads out of the crate.
    fn follow(&self, m: usize, path: &[String], most: usize) -> Option<Found> {
        let most = most.checked_sub(1)?;
        let mut module = m;
        let mut inside = true;
        for (i, word) in path.iter().enumerate() {
            let here = &self.modules[module];
            let last = i + 1 == path.len();
            match word.as_str() {
                "crate" => module = 0,
                "self" => {}
                "super" => module = here.parent,
                _ => {
                    inside = i > 0 || here.defined.contains(word);
                    let name = here
                        .names
                        .get(word)
                        .filter(|to| to[..] != path[..=i] || module != m);
                    let child = here.children.get(word);
                    if let Some(&child) = child.filter(|_| !last || name.is_none()) {
                        module = child;
                    } else if let Some(name) = name {
                        let found = self.follow(module, name, most)?;
                        if !found.whole {
                            return Some(found);
                        }
                        module = found.module;
                    } else {
                        let all = here
                            .globs
                            .iter()
                            .filter_map(|glob| self.follow(module, glob, most));
                        let holds = |found: &Found| {
                            let there = &self.modules[found.module];
                            there.defined.contains(word) || there.names.contains_key(word)
                        };
                        if let Some(found) = all.into_iter().find(holds) {
                            return self.follow(found.module, &["self".into(), word.clone()], most);
                        }
                        return inside.then_some(Found {
                            module,
                            whole: false,
                        });
                    }
                }
            }
        }
        Some(Found {
            module,
            whole: true,
        })
        .filter(|_| inside || module != m)
    }

    /// Which file uses which.
    pub fn uses(&self) -> BTreeSet<(usize, usize)> {
        let mut uses = BTreeSet::new();
        for (m, module) in self.modules.iter().enumerate() {
            let passed = module
                .passed
                .intersection(&module.spoken)
                .map(|name| vec![name.clone()]);
            let globs = module.globs.iter().map(|glob| {
                let used = self.follow(m, glob, 20).is_some_and(|found| {
                    self.modules[found.module]
                        .defined
                        .iter()
                        .any(|name| module.spoken.contains(name))
                });
                if used {
                    [&glob[..], &["*".into()]].concat()
                } else {
                    Vec::new()
                }
            });
            for path in module.followed.iter().cloned().chain(passed).chain(globs) {
                // A module brought in whole counts by what is then taken from it.
                if let Some(found) = self.follow(m, &path, 20).filter(|found| !found.whole) {
                    uses.insert((module.file, self.modules[found.module].file));
                }
            }
        }
        uses.retain(|(from, to)| from != to);
        uses
    }
}
