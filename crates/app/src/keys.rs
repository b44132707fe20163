//! `ionfall keys`: the keys of the job file, a line each.

use ionfall_job::Key;

/// The keys in which a word stands, or all.
pub(crate) fn found(word: Option<&str>) -> Vec<Key> {
    let mut keys = ionfall_job::keys();
    keys.retain(|k| word.is_none_or(|word| k.key.contains(word) || k.line.contains(word)));
    keys
}

/// In words.
pub(crate) fn text(keys: &[Key], word: Option<&str>) -> String {
    if keys.is_empty() {
        let word = word.unwrap_or_default();
        return format!("No key has to do with `{word}`; `ionfall keys` lists all.\n");
    }
    let mut text = String::new();
    for key in keys {
        let star = if key.needed { " *" } else { "" };
        text += &format!("{}{star}\n    {}\n", key.key, key.line);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_finds_its_keys() {
        let all = found(None).len();
        let coat = found(Some("coat"));
        assert!(!coat.is_empty() && coat.len() < all);
        let told = text(&coat, Some("coat"));
        assert!(
            told.contains("[[work]].[[coat]].sheet_resistance\n    of a square; units: ohm/sq")
        );
        assert!(text(&found(Some("reading")), None).contains("[[reading]].at *\n"));
        assert!(text(&found(Some("zzz")), Some("zzz")).contains("No key has to do with `zzz`"));
    }
}
