//! Puts the one file together that opens in a browser: frame, look, scripts, the engine, the job with its files.
//!
//! The page's sources lie in `page/`: plain functions without libraries, one after the other in one closure, behind
//! those of the report that draw a part in space. Data stand in elements of their own, in which no tag can begin.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use ionfall_report::{VIEW_SCRIPTS, VIEW_STYLE};
use serde::Serialize;
use std::collections::BTreeMap;

/// The engine as it is committed: see `.ci/engine`.
const ENGINE: &[u8] = include_bytes!("../engine.wasm.gz");
const FRAME: &str = include_str!("../page/frame.html");
const STYLE: &str = include_str!("../page/page.css");
const WORKER: &str = include_str!("../page/worker.js");
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

/// What the page begins with.
#[derive(Clone, Debug, Default)]
pub struct Start {
    /// Name of the job's file.
    pub name: String,
    /// Its text; without one the page asks what hangs in the tank.
    pub text: Option<String>,
    /// The files that it names.
    pub files: BTreeMap<String, Vec<u8>>,
}

/// The same as the page reads it.
#[derive(Serialize)]
struct Given<'a> {
    version: &'static str,
    name: &'a str,
    text: Option<&'a str>,
    files: BTreeMap<&'a str, String>,
    examples: Vec<Example>,
}

/// A shipped job to begin with.
#[derive(Serialize)]
struct Example {
    title: &'static str,
    name: &'static str,
    text: &'static str,
    files: BTreeMap<&'static str, String>,
}

/// A file of the examples: its name, and what it holds.
macro_rules! example {
    ($path:literal, $name:literal) => {
        (
            $name,
            include_bytes!(concat!("../../../examples/", $path, "/", $name)).as_slice(),
        )
    };
}

/// Title, name, text and files of the jobs that every page carries.
fn examples() -> Vec<Example> {
    let job = |title, name, text, files: &[(&'static str, &[u8])]| Example {
        title,
        name,
        text,
        files: files
            .iter()
            .map(|(name, bytes)| (*name, STANDARD.encode(bytes)))
            .collect(),
    };
    vec![
        job(
            "A relief plaque in copper, behind a frame",
            "plaque.toml",
            include_str!("../../../examples/plaque/plaque.toml"),
            &[example!("plaque", "harbour.png")],
        ),
        job(
            "A medal from an STL",
            "medal.toml",
            include_str!("../../../examples/medal/medal.toml"),
            &[example!("medal", "medal.stl")],
        ),
        job(
            "A rack of twelve drawer knobs in nickel",
            "rack.toml",
            include_str!("../../../examples/rack/rack.toml"),
            &[],
        ),
        job(
            "A groove: what stirring does not reach",
            "air.toml",
            include_str!("../../../examples/groove/air.toml"),
            &[],
        ),
    ]
}

/// The page: one file, which asks nobody for anything.
///
/// # Errors
/// What cannot be written as JSON.
pub fn page(start: &Start) -> Result<String, serde_json::Error> {
    let files = start.files.iter();
    let given = Given {
        version: env!("CARGO_PKG_VERSION"),
        name: &start.name,
        text: start.text.as_deref(),
        files: files
            .map(|(name, bytes)| (name.as_str(), STANDARD.encode(bytes)))
            .collect(),
        examples: examples(),
    };
    // No tag can begin inside of the data.
    let given = serde_json::to_string(&given)?.replace('<', "\\u003c");
    let data = format!(
        "<script type=\"application/json\" id=\"start\">{given}</script>\n\
         <script type=\"text/plain\" id=\"engine\">{}</script>\n\
         <script type=\"text/plain\" id=\"worker\">{WORKER}</script>",
        STANDARD.encode(ENGINE)
    );
    let scripts = [&VIEW_SCRIPTS[..], &SCRIPTS].concat().join("\n");
    let script = format!("\"use strict\";(() => {{\n{scripts}\n}})();");
    let style = [VIEW_STYLE, STYLE].concat();
    let places = [
        ("<!--style-->", style.as_str()),
        ("<!--data-->", &data),
        ("<!--script-->", &script),
    ];
    let put = |page: String, (place, what): &(&str, &str)| page.replacen(place, what, 1);
    Ok(places.iter().fold(FRAME.to_owned(), put))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_file_without_places_left_and_without_addresses() {
        let evil = "title = \"</script><script>alert(1)</script><!--script-->\"";
        let start = Start {
            name: "<b>.toml".into(),
            text: Some(evil.into()),
            files: [("a<b.stl".to_owned(), vec![1, 2, 3])].into(),
        };
        let page = page(&start).unwrap();
        assert!(
            !page.contains("alert(1)</script>"),
            "text cannot end the data"
        );
        for place in ["<!--style-->", "<!--data-->"] {
            assert!(!page.contains(place), "{place}");
        }
        assert_eq!(
            page.matches("<script").count(),
            4,
            "three data, one closure"
        );
        for address in ["http://", "src=\"http", "@import", "url(http"] {
            let found = page.matches(address).count();
            let names = page.matches("http://www.w3.org/").count();
            assert!(
                found == 0 || (address == "http://" && found == names),
                "{address}"
            );
        }
        assert!(page.contains("default-src 'none'"), "a content policy");
        // Every example that the page carries is a job, with its files.
        for example in examples() {
            let mut engine = crate::Engine::default();
            for (name, base64) in &example.files {
                let file = serde_json::json!({ "ask": "file", "name": name, "base64": base64 });
                engine.ask(&file.to_string(), &mut |_, _| ());
            }
            let look = serde_json::json!({ "ask": "look", "text": example.text });
            let reply = engine.ask(&look.to_string(), &mut |_, _| ());
            assert!(
                reply.starts_with("{\"ok\""),
                "{}: {:.300}",
                example.name,
                reply
            );
        }
    }
}
