//! Random changes of texts and bytes, the same for the same seed.

/// A stream of random numbers (splitmix64: Steele, Lea and Flood 2014, from memory).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0xD134_2543_DE82_EF95).wrapping_add(1))
    }

    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// One of `0..n`.
    pub fn pick(&mut self, n: usize) -> usize {
        (self.bits() % n.max(1) as u64) as usize
    }

    pub fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.pick(of.len())]
    }
}

/// What people and programs write where a number should stand.
const NUMBERS: [&str; 24] = [
    "0",
    "-1",
    "1e300",
    "-1e300",
    "1e-300",
    "1e308",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "0.0001",
    "1e6",
    "999999999",
    "1,5",
    "",
    "1e",
    "0x10",
    "1_000",
    "--1",
    "1e-9",
    "100000",
    "0.5",
    "3",
    "2e29",
];

/// Pieces that mean something to the program, or to what reads what it writes.
const PIECES: [&str; 32] = [
    "mm",
    " x ",
    " + ",
    " - ",
    "A/dm2",
    "S/m",
    "V",
    "\"",
    "'",
    "{",
    "}",
    "[",
    "]",
    "[[",
    "]]",
    "=",
    ".",
    ",",
    "#",
    "\n",
    "\u{1b}[31m",
    "\u{0}",
    "\u{202e}",
    "\u{feff}",
    "true",
    "[]",
    "{}",
    "shape.",
    "union = [",
    "../",
    "<b>",
    "\u{1f6c1}",
];

/// Changes a text in one to four places; `words` are pieces of the same kind of text.
pub fn text(dice: &mut Dice, text: &str, words: &[String]) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for _ in 0..1 + dice.pick(4) {
        if lines.is_empty() {
            lines.push(String::new());
        }
        let n = dice.pick(lines.len());
        match dice.pick(10) {
            0 => drop(lines.remove(n)),
            1 => {
                let again = lines[n].clone();
                lines.insert(dice.pick(lines.len()), again);
            }
            2 => {
                let other = dice.pick(lines.len());
                lines.swap(n, other);
            }
            3..=6 => lines[n] = number(dice, &lines[n]),
            7 => lines[n] = inserted(dice, &lines[n], words),
            8 => lines[n] = cut(dice, &lines[n]),
            _ => {
                let other = lines[dice.pick(lines.len())].clone();
                lines[n] = spliced(dice, &lines[n], &other);
            }
        }
    }
    lines.join("\n") + "\n"
}

/// Another number in place of one.
fn number(dice: &mut Dice, line: &str) -> String {
    let digit = |c: char| c.is_ascii_digit() || c == '.';
    let starts: Vec<usize> = line
        .char_indices()
        .filter(|(at, c)| digit(*c) && !line[..*at].ends_with(digit))
        .map(|(at, _)| at)
        .collect();
    if starts.is_empty() {
        return line.to_owned();
    }
    let from = *dice.one(&starts);
    let to = line[from..]
        .find(|c| !digit(c))
        .map_or(line.len(), |n| from + n);
    let old = &line[from..to];
    let new = match dice.pick(4) {
        0 => format!(
            "{}",
            old.parse::<f64>().unwrap_or(1.0) * 10f64.powi(dice.pick(13) as i32 - 6)
        ),
        1 => format!("-{old}"),
        _ => (*dice.one(&NUMBERS)).to_owned(),
    };
    format!("{}{new}{}", &line[..from], &line[to..])
}

/// A place between two signs of a text.
fn place(dice: &mut Dice, line: &str) -> usize {
    let at = dice.pick(line.len() + 1);
    (0..=at)
        .rev()
        .find(|n| line.is_char_boundary(*n))
        .unwrap_or(0)
}

fn inserted(dice: &mut Dice, line: &str, words: &[String]) -> String {
    let at = place(dice, line);
    let piece = match dice.pick(3) {
        0 if !words.is_empty() => dice.one(words).clone(),
        1 => dice.one(&PIECES).repeat(1 + dice.pick(3).pow(6)),
        _ => (*dice.one(&PIECES)).to_owned(),
    };
    format!("{}{piece}{}", &line[..at], &line[at..])
}

fn cut(dice: &mut Dice, line: &str) -> String {
    let (a, b) = (place(dice, line), place(dice, line));
    format!("{}{}", &line[..a.min(b)], &line[a.max(b)..])
}

fn spliced(dice: &mut Dice, line: &str, other: &str) -> String {
    let (a, b) = (place(dice, line), place(dice, other));
    format!("{}{}", &line[..a], &other[b..])
}

/// Changes bytes in one to eight places.
pub fn bytes(dice: &mut Dice, bytes: &[u8]) -> Vec<u8> {
    let mut bad = bytes.to_vec();
    for _ in 0..1 + dice.pick(8) {
        if bad.is_empty() {
            return bad;
        }
        let at = dice.pick(bad.len());
        match dice.pick(8) {
            0 | 1 => bad[at] = dice.bits() as u8,
            2 => bad[at] ^= 1 << dice.pick(8),
            3 => bad.truncate(at),
            4 => {
                let to = (at + 1 + dice.pick(64)).min(bad.len());
                let again = bad[at..to].to_vec();
                bad.splice(at..at, again);
            }
            5 => {
                let to = (at + 1 + dice.pick(64)).min(bad.len());
                bad.drain(at..to);
            }
            _ => {
                let extremes = [
                    0,
                    1,
                    0x7f80_0000,
                    0x7fc0_0000,
                    0x7fff_ffff,
                    0xffff_ffff,
                    0x8000_0000,
                ];
                let word: u32 = *dice.one(&extremes);
                let word = if dice.pick(2) == 0 {
                    word.to_le_bytes()
                } else {
                    word.to_be_bytes()
                };
                for (to, from) in bad[at..].iter_mut().zip(word) {
                    *to = from;
                }
            }
        }
    }
    bad
}
