//! Places that are stirred otherwise than the rest of the bath.
//!
//! ```toml
//! [[agitation_zone]]
//! name = "behind the boss"
//! shape.box = { from = "40 x 0 x 20 mm", to = "60 x 80 x 60 mm" }
//! agitation = "still"              # or: limiting_current_share = "40 %"
//! ```
//! A face inside a zone has the limiting current of the bath times the factor of the zone. Where
//! zones overlap the last one counts.

use crate::agitation::{self, Place};
use crate::draw;
use crate::drawing::Drawing;
use crate::law::Background;
use crate::named_files::NamedFiles;
use crate::reader::{Item, Table};
use ionfall_model::Zone;

/// Key of the tables.
pub(crate) const KEY: &str = "agitation_zone";

/// Reads the zones of a job.
pub(crate) fn read<const D: usize, W: Drawing<D>>(
    job: &Table,
    bath: &Background,
    files: &dyn NamedFiles,
) -> Option<Vec<Zone<D>>> {
    job.each(KEY, |table, n| {
        let name = table.get("name").and_then(|i| i.text());
        let solid = draw::body::<D, W>(table, files);
        let limit_factor = table
            .one_of(&["agitation", "limiting_current_share"])
            .and_then(|(key, item)| match key {
                "agitation" => stirred(&item, bath),
                _ => positive_share(&item),
            });
        table.finish();
        Some(Zone {
            name: name.map_or_else(|| format!("{KEY} {}", n + 1), str::to_owned),
            solid: solid?,
            limit_factor: limit_factor?,
        })
    })
}

fn stirred(item: &Item, bath: &Background) -> Option<f64> {
    let agitation = agitation::read(item, Place::Zone)?;
    bath.limit_factor(&agitation)
        .map_err(|error| {
            item.fault(
                error.to_string(),
                "give [bath] an agitation, or write limiting_current_share = \"40 %\" here",
            );
        })
        .ok()
}

fn positive_share(item: &Item) -> Option<f64> {
    let share = item.share()?;
    if share > 0.0 {
        return Some(share);
    }
    item.fault(
        "a zone without any limiting current could not be plated",
        "write a share above zero, or cover the place with stop_off",
    );
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::named_files::Folder;
    use crate::spatial::Spatial;
    use crate::{bath, document};
    use approx::assert_relative_eq;

    fn zones(agitation: &str, zone: &str) -> Result<Vec<Zone<3>>, String> {
        let text = format!(
            "bath = {{ kind = \"acid copper\"{agitation} }}\n[[agitation_zone]]\n\
             shape.box = {{ size = \"10 x 10 x 10 mm\" }}\n{zone}\n"
        );
        let read_job = |job: &Table| {
            let bath = bath::read(&job.table("bath")?);
            read::<3, Spatial>(job, &Background::of(bath.as_ref()), &Folder("".as_ref()))
        };
        match document::read("job.toml", &text, read_job) {
            Ok(reading) => Ok(reading.found),
            Err(faults) => Err(faults.render()),
        }
    }

    #[test]
    fn a_still_corner_in_a_stirred_bath() {
        let stirred = ", agitation = { film = \"50 um\" }";
        let zones = zones(stirred, "agitation = { film = \"0.2 mm\" }").unwrap();
        assert_eq!(zones[0].name, "agitation_zone 1");
        assert_relative_eq!(zones[0].limit_factor, 0.25, max_relative = 1e-12);
        assert!(zones[0].solid.contains(&[0.005; 3]));
    }

    #[test]
    fn a_share_needs_no_agitation() {
        let zones = zones("", "limiting_current_share = \"40 %\"\nname = \"hole\"").unwrap();
        assert_eq!(
            (zones[0].name.as_str(), zones[0].limit_factor),
            ("hole", 0.4)
        );
    }

    #[test]
    fn mistakes_are_told() {
        let told = |agitation, zone| zones(agitation, zone).unwrap_err();
        assert!(told("", "agitation = \"still\"").contains("agitation of the bath itself"));
        assert!(told("", "limiting_current_share = \"0 %\"").contains("stop_off"));
        assert!(told("", "").contains("needs one of"));
        assert!(told("", "agitation = \"sitll\"").contains("did you mean `still`"));
    }
}
