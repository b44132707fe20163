//! Films that vary over faces: from where to where, and what was left out.

use crate::story::measure::percent;
use ionfall_bath::transfer::{Course, LocalFilm};
use ionfall_deposit::Outcome;
use ionfall_model::{Model, Parts};
use ionfall_numerics::number::significant;
use serde::Serialize;

/// Lengths of faces that differ by more than this share from what the agitation says are told.
const OTHER_LENGTH: f64 = 0.1;

/// The diffusion film on the faces of a cathode, where it varies.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FilmSummary {
    /// The cathode.
    pub on: String,
    /// What the place on a face is counted from.
    pub course: Course,
    /// Length of the face along the flow, or its largest radius about a jet's axis, m.
    pub length_m: f64,
    /// That which the agitation of the bath names, m.
    pub said_length_m: f64,
    /// Share of its area over which the film varies; the rest has the mean film.
    pub area_share: f64,
    /// Thinnest and thickest film, means over facets, m.
    pub film_m: [f64; 2],
    /// Least and largest limiting current density, A/m2, where one is known.
    pub limit_a_per_m2: Option<[f64; 2]>,
}

impl FilmSummary {
    /// Those of a run.
    pub(crate) fn all<const D: usize>(model: &Model<Parts<D>>, outcome: &Outcome<D>) -> Vec<Self> {
        let Some((local, film)) = outcome.local.as_ref().zip(model.bath.local_film.as_ref()) else {
            return Vec::new();
        };
        let mean_m = model.bath.film.map_or(f64::NAN, |f| f.value);
        let limit = model.bath.limiting_current.map(|i| i.value);
        let electrodes = &model.geometry.electrodes;
        let faces = local.faces.iter().map(|face| {
            let [least, most] = face.shares;
            let own = &electrodes[face.electrode];
            own.role.is_cathode().then(|| Self {
                on: own.name.clone(),
                course: film.course,
                length_m: face.length_m,
                said_length_m: film.length_m,
                area_share: face.area_share,
                film_m: [mean_m / most, mean_m / least],
                limit_a_per_m2: limit.map(|i| [i * least, i * most]),
            })
        });
        faces.flatten().collect()
    }

    /// In words.
    pub(crate) fn text(&self) -> String {
        let um = |m: f64| significant(1e6 * m, 2);
        let mm = |m: f64| significant(1e3 * m, 3);
        let whence = match self.course {
            Course::Rising => "from the lower edge up",
            Course::Along => "from the edge that the flow meets first",
            Course::ToAndFro => "from both ends of the movement",
            Course::Radial => "from the axis of the jet",
        };
        let [thin, thick] = self.film_m.map(um);
        let mut text = format!(
            "the diffusion film on `{}` grows {whence}, {thin} to {thick} um; limits and shares of them are local",
            self.on
        );
        let longer = self.length_m / self.said_length_m - 1.0;
        if longer.abs() > OTHER_LENGTH && self.course != Course::Radial {
            text += &format!(
                "; its face is {} mm long that way, the agitation says {} mm, over which it is spread in proportion",
                mm(self.length_m),
                mm(self.said_length_m)
            );
        }
        if longer > OTHER_LENGTH && self.course == Course::Radial {
            text += &format!(
                "; it reaches {} mm from the axis, where the agitation says {} mm",
                mm(self.length_m),
                mm(self.said_length_m)
            );
        }
        if self.area_share < 0.99 {
            text += &format!(
                "; {} of its area does not {} and has the mean film",
                percent(1.0 - self.area_share),
                match self.course {
                    Course::Radial => "face it",
                    Course::Rising => "stand upright",
                    _ => "lie along the flow",
                }
            );
        }
        text
    }
}

/// What a run leaves out where the film would vary but nothing says which way.
pub(crate) fn unknown_way<const D: usize>(
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
) -> Option<String> {
    let film: &LocalFilm = model.bath.local_film.as_ref()?;
    let key = match film.course {
        Course::Rising => "which way is up, as in agitation = { still = \"...\", up = \"y\" }",
        Course::Radial => "the axis of the jet by `along` and `at` in the agitation",
        _ => "which way the flow or the rod goes, as in along = \"x\" in the agitation",
    };
    outcome.local.is_none().then(|| {
        format!(
            "the film has its mean all over a face, though along it it grows: to have it local say {key}"
        )
    })
}
