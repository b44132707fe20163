//! What lengths in a job are worth, for who draws it: sums and figures as the job's own reader takes them.

use crate::figures::Figures;
use crate::unit::Dimension;
use toml::de::DeTable;

/// The figures of a job, to read its lengths with.
#[derive(Debug, Default)]
pub struct Lengths(Figures);

impl Lengths {
    /// Of the text of a job; without any figures where it is no TOML.
    pub fn of(text: &str) -> Self {
        let document = DeTable::parse(text);
        document.map_or_else(|_| Self::default(), |d| Self(Figures::read(d.get_ref()).0))
    }

    /// A length, or several like `"10 x 20 + gap x 30 mm"`, in metres; nothing where a reader would find a fault.
    pub fn row_m(&self, text: &str) -> Option<Vec<f64>> {
        self.0.row(Dimension::Length, text).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_count() {
        let lengths = Lengths::of("[figures]\ngap = \"2 cm\"\n");
        assert_eq!(
            lengths.row_m("10 x gap x 30 mm"),
            Some(vec![0.01, 0.02, 0.03])
        );
        assert_eq!(lengths.row_m("1 mm + 2 * gap"), Some(vec![0.041]));
        assert_eq!(lengths.row_m("1 V"), None);
    }
}
