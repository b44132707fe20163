//! The nearest known word to a misspelt one.

/// The candidate fewest edits away, if it is near enough to be meant.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let reach = 1 + word.chars().count() / 3;
    candidates
        .into_iter()
        .map(|c| (distance(&word.to_lowercase(), &c.to_lowercase()), c))
        .filter(|(d, _)| *d <= reach)
        .min_by_key(|(d, _)| *d)
        .map(|(_, c)| c)
}

/// Help text for a word that is not among the known ones, each of which is told once.
pub fn help(word: &str, candidates: &[&str]) -> String {
    if let Some(near) = nearest(word, candidates.iter().copied()) {
        return format!("did you mean `{near}`?");
    }
    let mut known: Vec<&str> = Vec::new();
    for candidate in candidates {
        if !known.contains(candidate) {
            known.push(candidate);
        }
    }
    format!("known here: {}", known.join(", "))
}

/// Insertions, deletions, replacements and swaps of neighbours that turn one word into the other.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut table = vec![vec![0; b.len() + 1]; a.len() + 1];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            table[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let replaced = table[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
                let swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
                let other = if swapped {
                    table[i - 2][j - 2] + 1
                } else {
                    usize::MAX
                };
                replaced
                    .min(other)
                    .min(table[i - 1][j] + 1)
                    .min(table[i][j - 1] + 1)
            };
        }
    }
    table[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_known_is_told_once() {
        assert_eq!(
            help("voltage", &["finest", "edge", "finest"]),
            "known here: finest, edge"
        );
    }

    #[test]
    fn near_words_are_found_and_far_ones_are_not() {
        let keys = ["temperature", "agitation", "kind"];
        assert_eq!(nearest("temprature", keys), Some("temperature"));
        assert_eq!(nearest("agitatoin", keys), Some("agitation"));
        assert_eq!(nearest("Kind", keys), Some("kind"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(distance("anode", "andoe"), 1);
        assert_eq!(distance("", "abc"), 3);
    }
}
