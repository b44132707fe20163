//! Rust source as words: names, numbers, marks; comments, strings, characters, lifetimes and all that is for tests
//! only are left out.

/// A word and its line.
#[derive(Clone, Debug)]
pub struct Word {
    pub text: String,
    pub line: usize,
}

/// The words of a source, without what stands behind `#[cfg(test)]`.
pub fn words(source: &str) -> Vec<Word> {
    without_tests(&all(source))
}

fn all(source: &str) -> Vec<Word> {
    let text: Vec<char> = source.chars().collect();
    let at = |i: usize| text.get(i).copied().unwrap_or('\0');
    let in_name = |c: char| c.is_alphanumeric() || c == '_';
    let (mut i, mut line, mut words) = (0, 1, Vec::new());
    while i < text.len() {
        let start = i;
        let mut word = false;
        match (at(i), at(i + 1)) {
            ('/', '/') => i = until(i, |i| at(i) == '\n' || i >= text.len()),
            ('/', '*') => {
                i = until(i + 2, |i| {
                    (at(i - 1), at(i)) == ('*', '/') || i >= text.len()
                }) + 1
            }
            ('"', _) => i = quoted(&text, i + 1),
            ('\'', '\\') => i = until(i + 3, |i| at(i) == '\'') + 1,
            ('\'', _) if at(i + 2) == '\'' => i += 3,
            ('\'', _) => i = until(i + 1, |i| !in_name(at(i))),
            ('r', '"' | '#') if at(i + 1) == '"' || "#\"".contains(at(i + 2)) => {
                let quote = until(i + 1, |i| at(i) == '"');
                let marks = quote - i - 1;
                let closes = |i: usize| at(i) == '"' && (1..=marks).all(|k| at(i + k) == '#');
                i = until(quote + 1, |i| closes(i) || i >= text.len()) + 1 + marks;
            }
            (':', ':') => (i, word) = (i + 2, true),
            (c, _) if in_name(c) => (i, word) = (until(i, |i| !in_name(at(i))), true),
            (c, _) => (i, word) = (i + 1, !c.is_whitespace()),
        }
        if word {
            let text = text[start..i].iter().collect();
            words.push(Word { text, line });
        }
        line += text[start..i.min(text.len())]
            .iter()
            .filter(|&&c| c == '\n')
            .count();
    }
    words
}

fn until(from: usize, end: impl Fn(usize) -> bool) -> usize {
    (from..).find(|&i| end(i)).unwrap_or(from)
}

/// Behind the end of a string whose text begins at `i`.
fn quoted(text: &[char], mut i: usize) -> usize {
    while i < text.len() && text[i] != '"' {
        i += if text[i] == '\\' { 2 } else { 1 };
    }
    i + 1
}

fn without_tests(words: &[Word]) -> Vec<Word> {
    let mark = ["#", "[", "cfg", "(", "test", ")", "]"];
    let marked =
        |i: usize| (0..mark.len()).all(|k| words.get(i + k).is_some_and(|w| w.text == mark[k]));
    let (mut i, mut kept) = (0, Vec::new());
    while i < words.len() {
        if marked(i) {
            i = item_end(words, i + mark.len());
        } else {
            kept.push(words[i].clone());
            i += 1;
        }
    }
    kept
}

/// Behind the item that begins at `i`: behind its braces, or its semicolon.
pub fn item_end(words: &[Word], i: usize) -> usize {
    let mut depth = 0;
    for (k, word) in words.iter().enumerate().skip(i) {
        match word.text.as_str() {
            "{" | "(" | "[" => depth += 1,
            "}" | ")" | "]" => depth -= 1,
            _ => {}
        }
        if depth == 0 && ["}", ";"].contains(&word.text.as_str()) {
            return k + 1;
        }
    }
    words.len()
}
