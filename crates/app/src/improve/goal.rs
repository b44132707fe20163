//! What a job is to be improved for.
//!
//! All figures are positive, and the search sees their logarithms: a gain of a tenth counts the same
//! whatever the unit.

use ionfall_deposit::currents::Aim;
use ionfall_deposit::levers::LeverAnswers;
use ionfall_report::{Digest, KeyFigure};

/// What a job is improved for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Goal {
    /// The thinnest place over the mean, as large as possible
    #[default]
    Evenness,
    /// The thinnest place at the end of the plan, as thick as possible
    Thinnest,
    /// The hours to the wanted thickness, as few as possible
    Hours,
    /// The metal spent when the wanted thickness is reached, as little as possible
    Metal,
    /// What metal, energy and time cost when the wanted thickness is reached, at the job's prices
    Cost,
    /// The largest share of the limiting current, as low as possible
    Share,
    /// The time until metal covers all of a coat, as short as possible
    Cover,
    /// The largest share of the limiting current until metal covers all of a coat, as low as possible
    Strike,
}

impl Goal {
    /// The figure that stands for it in tables.
    pub(super) const fn figure(self) -> KeyFigure {
        match self {
            Self::Evenness => KeyFigure::Evenness,
            Self::Thinnest => KeyFigure::Thinnest,
            Self::Hours => KeyFigure::WantedAfter,
            Self::Metal => KeyFigure::Metal,
            Self::Cost => KeyFigure::Cost,
            Self::Share => KeyFigure::LimitShare,
            Self::Cover => KeyFigure::CoveredAfter,
            Self::Strike => KeyFigure::StrikeShare,
        }
    }

    /// Its figure in the unit of [`Goal::figure`]: metal and cost as of when the wanted thickness is reached.
    pub(super) fn value(self, digest: &Digest) -> Option<f64> {
        let value = self.figure().of(digest)?;
        match self {
            Self::Metal | Self::Cost => {
                let wanted_m = digest.wanted.as_ref()?.thickness_m;
                Some(value * wanted_m / digest.thinnest_m()?)
            }
            _ => Some(value),
        }
        .filter(|value| *value > 0.0)
    }

    /// Its figure among the answers of a coarser grid, where it is one of them.
    pub(super) const fn answer(self, answers: &LeverAnswers) -> Option<f64> {
        match self {
            Self::Evenness => answers.evenness,
            Self::Thinnest => answers.thinnest_m,
            Self::Hours => answers.wish_s,
            Self::Share => answers.limit_share,
            Self::Metal | Self::Cost | Self::Cover | Self::Strike => None,
        }
    }

    /// Is more of it better?
    pub(super) const fn more_is_better(self) -> bool {
        matches!(self, Self::Evenness | Self::Thinnest)
    }

    /// What currents are to serve for it, if that is a matter of the field alone.
    pub(super) const fn aim(self) -> Option<Aim> {
        match self {
            Self::Evenness | Self::Metal => Some(Aim::Evenness),
            Self::Thinnest | Self::Hours => Some(Aim::Thinnest),
            Self::Share => Some(Aim::Share),
            Self::Cost | Self::Cover | Self::Strike => None,
        }
    }

    /// What the search makes as small as possible.
    pub(super) fn cost(self, digest: &Digest) -> Option<f64> {
        let sign = if self.more_is_better() { -1.0 } else { 1.0 };
        self.value(digest).map(|value| sign * value.ln())
    }

    /// Does it need a wanted thickness?
    pub(super) const fn wants_a_thickness(self) -> bool {
        matches!(self, Self::Hours | Self::Metal | Self::Cost)
    }

    /// Does it need a coat?
    pub(super) fn wants_a_coat(self) -> bool {
        matches!(self, Self::Cover | Self::Strike)
    }

    /// Does it need prices?
    pub(super) fn wants_prices(self) -> bool {
        self == Self::Cost
    }
}
