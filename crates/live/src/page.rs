//! Puts the page together: one file that opens in a browser, with the engine, its scripts, and a job to begin with.
//!
//! ```text
//! frame.html <- page.css
//!            <- data: the job and the shipped examples (JSON), the engine (base64 of gzip), the worker's script
//!            <- scripts: those of the report's view in space, then the page's own, in one closure
//! ```
//! Nothing of the job is markup: it stands in JSON in which no tag can begin or end.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use ionfall_report::VIEW_SCRIPTS;
use serde::Serialize;
use std::collections::BTreeMap;

/// A job that a page begins with.
#[derive(Clone, Debug)]
pub struct Start<'a> {
    /// Name of its file.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
    /// The files that it names, by the names it has for them.
    pub files: &'a BTreeMap<String, Vec<u8>>,
}

const FRAME: &str = include_str!("../page/frame.html");
const STYLE: &str = include_str!("../page/page.css");
const WORKER: &str = include_str!("../page/worker.js");
const ENGINE: &[u8] = include_bytes!("../engine.wasm.gz");
const SCRIPTS: [&str; 18] = [
    include_str!("../page/dom.js"),
    include_str!("../page/history.js"),
    include_str!("../page/engine.js"),
    include_str!("../page/look.js"),
    include_str!("../page/zip.js"),
    include_str!("../page/files.js"),
    include_str!("../page/verdict.js"),
    include_str!("../page/view.js"),
    include_str!("../page/plan.js"),
    include_str!("../page/drag.js"),
    include_str!("../page/bodies.js"),
    include_str!("../page/forms.js"),
    include_str!("../page/editor.js"),
    include_str!("../page/solving.js"),
    include_str!("../page/tries.js"),
    include_str!("../page/guide.js"),
    include_str!("../page/textbook.js"),
    include_str!("../page/main.js"),
];

/// Finished jobs to begin with: title, name, text, and the file that it names.
const EXAMPLES: [(&str, &str, &str, Option<(&str, &[u8])>); 3] = [
    (
        "A relief plaque",
        "plaque.toml",
        include_str!("../../../examples/plaque/plaque.toml"),
        Some(("harbour.png", include_bytes!("../../../examples/plaque/harbour.png"))),
    ),
    (
        "A medal between two anodes",
        "medal.toml",
        include_str!("../../../examples/medal/medal.toml"),
        Some(("medal.stl", include_bytes!("../../../examples/medal/medal.stl"))),
    ),
    (
        "Twelve knobs on a nickel rack",
        "rack.toml",
        include_str!("../../../examples/rack/rack.toml"),
        None,
    ),
];

/// What the page's scripts find as JSON.
#[derive(Serialize)]
struct Given<'a> {
    name: Option<&'a str>,
    text: Option<&'a str>,
    files: BTreeMap<&'a str, String>,
    examples: Vec<Example>,
}

#[derive(Serialize)]
struct Example {
    title: &'static str,
    name: &'static str,
    text: &'static str,
    files: BTreeMap<&'static str, String>,
}

/// The page, with a job or with an empty tank.
///
/// # Errors
/// Data that cannot be written as JSON.
pub fn page(start: Option<&Start>) -> Result<String, serde_json::Error> {
    let files = start.into_iter().flat_map(|s| s.files.iter());
    let given = Given {
        name: start.map(|s| s.name),
        text: start.map(|s| s.text),
        files: files.map(|(name, bytes)| (name.as_str(), STANDARD.encode(bytes))).collect(),
        examples: EXAMPLES.iter().map(example).collect(),
    };
    // No tag can begin inside of the data.
    let given = serde_json::to_string(&given)?.replace('<', "\\u003c");
    let data = [
        format!(r#"<script type="application/json" id="start">{given}</script>"#),
        format!(r#"<script type="text/plain" id="engine">{}</script>"#, STANDARD.encode(ENGINE)),
        format!(r#"<script type="text/plain" id="worker">{WORKER}</script>"#),
    ];
    let scripts = [&VIEW_SCRIPTS[..], &SCRIPTS].concat().join("\n");
    let script = format!("(() => {{\n\"use strict\";\n{scripts}\n}})();");
    let places = [("<!--style-->", STYLE), ("<!--data-->", &data.join("\n")), ("<!--script-->", &script)];
    Ok(places.iter().fold(FRAME.to_owned(), |page, (place, content)| page.replacen(place, content, 1)))
}

fn example((title, name, text, file): &(&'static str, &'static str, &'static str, Option<(&'static str, &[u8])>)) -> Example {
    let files = file.iter().map(|(name, bytes)| (*name, STANDARD.encode(bytes)));
    Example { title, name, text, files: files.collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The content of the element of this id.
    fn data<'a>(page: &'a str, id: &str) -> &'a str {
        let rest = page.split_once(&format!("id=\"{id}\">")).unwrap().1;
        rest.split_once("</script>").unwrap().0
    }

    /// A job's text comes through letter by letter, and no tag of it is one of the page.
    #[test]
    fn a_job_is_data_and_nothing_else() {
        let text = "title = \"</script><script>alert(1)</script><!--script-->\"";
        let files = BTreeMap::from([("a</script>.stl".to_owned(), b"solid".to_vec())]);
        let start = Start { name: "<b>.toml", text, files: &files };
        let page = page(Some(&start)).unwrap();
        let given: serde_json::Value = serde_json::from_str(data(&page, "start")).unwrap();
        assert_eq!(given["text"], text);
        assert_eq!(given["name"], "<b>.toml");
        assert_eq!(given["files"]["a</script>.stl"], STANDARD.encode(b"solid"));
        assert!(!page.contains("alert(1)</script>"));
        assert_eq!(page.matches("</script>").count(), 4);
    }

    #[test]
    fn an_empty_page_has_all_its_parts_and_asks_for_nothing() {
        let page = page(None).unwrap();
        for place in ["<!--style-->", "<!--data-->", "<!--script-->"] {
            assert!(!page.contains(place), "{place} is empty");
        }
        assert!(page.contains("default-src 'none'") && page.contains("connect-src 'none'"));
        assert!(!page.contains("http://") || page.matches("http://").count() == page.matches("http://www.w3.org/").count());
        assert!(!page.contains("https://"));
        assert!(!WORKER.contains('<') && !SCRIPTS.concat().contains("</script"));
        assert!(!SCRIPTS.concat().contains("innerHTML"), "words go in as text");
        let given: serde_json::Value = serde_json::from_str(data(&page, "start")).unwrap();
        assert!(given["text"].is_null());
        assert_eq!(given["examples"].as_array().unwrap().len(), EXAMPLES.len());
        assert_eq!(STANDARD.decode(data(&page, "engine")).unwrap(), ENGINE);
    }
}
