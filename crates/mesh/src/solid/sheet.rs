//! Surfaces of no thickness: foils, gauzes and baffles thinner than any cell.

use super::bounds::Point;
use super::error::SolidError;
use super::error::{finite, positive};
use super::placement::Placement;
use super::polygon::Polygon;
use super::polygon::{MOST_POINTS, is_corner};
use super::shape::Soup;
use ionfall_numerics::vector::distance;

/// An open surface.
#[derive(Clone, Debug)]
pub struct Sheet<const D: usize> {
    /// Its elements; which side is which follows their orientation.
    pub soup: Soup<D>,
    /// Open area over whole area: 0 is tight, 1 is not there.
    pub open_fraction: f64,
    /// True thickness, metres (for the resistance of the openings).
    pub thickness_m: f64,
}

fn checked<const D: usize>(
    soup: Soup<D>,
    open_fraction: f64,
    thickness_m: f64,
) -> Result<Sheet<D>, SolidError> {
    if !(0.0..1.0).contains(&open_fraction) {
        return Err(SolidError::OutOfRange {
            what: "the open fraction of the sheet",
            value: open_fraction,
            expected: "it must be at least 0 and less than 1",
        });
    }
    Ok(Sheet {
        soup,
        open_fraction,
        thickness_m: positive("the thickness of the sheet", thickness_m)?,
    })
}

impl<const D: usize> Sheet<D> {
    /// The sheet moved; its thickness and its openings stay as they are.
    pub fn placed(&self, placement: &Placement<D>) -> Self {
        let mut moved = self.clone();
        for vertex in &mut moved.soup.vertices {
            *vertex = placement.apply(vertex);
        }
        moved
    }
}

impl Sheet<3> {
    /// A flat piece: an outline in the plane z = 0, put into place.
    ///
    /// # Errors
    /// [`SolidError::OutOfRange`] for the open fraction, [`SolidError::NotPositive`] for the
    /// thickness.
    pub fn flat(
        outline: &Polygon,
        placement: &Placement<3>,
        open_fraction: f64,
        thickness_m: f64,
    ) -> Result<Self, SolidError> {
        let mut soup = Soup::default();
        for p in outline.points() {
            soup.vertex(placement.apply(&[p[0], p[1], 0.0]));
        }
        for t in outline.triangles() {
            soup.element(t, 0, 1.0);
        }
        checked(soup, open_fraction, thickness_m)
    }
}

impl Sheet<2> {
    /// A line through points, metres; a corner between two pieces separates patches.
    ///
    /// # Errors
    /// [`SolidError::TooFewPoints`] with less than two distinct points, otherwise as
    /// [`Sheet::flat`].
    pub fn polyline(
        points: &[Point<2>],
        open_fraction: f64,
        thickness_m: f64,
    ) -> Result<Self, SolidError> {
        let mut soup = Soup::default();
        for p in points {
            let p = finite("a coordinate of the sheet", *p)?;
            if soup.vertices.last() != Some(&p) {
                soup.vertex(p);
            }
        }
        let found = soup.vertices.len();
        if found < 2 {
            return Err(SolidError::TooFewPoints {
                what: "the sheet",
                found,
                needed: 2,
            });
        }
        if found > MOST_POINTS {
            return Err(SolidError::TooManyPoints {
                what: "the sheet",
                found,
                limit: MOST_POINTS,
            });
        }
        let mut patch = 0;
        for i in 0..found - 1 {
            if i > 0 && is_corner(&soup.vertices[i - 1..i + 2]) {
                patch += 1;
            }
            soup.element([i as u32, i as u32 + 1], patch, 1.0);
        }
        checked(soup, open_fraction, thickness_m)
    }

    /// Length, metres.
    pub fn length_m(&self) -> f64 {
        (0..self.soup.elements.len())
            .map(|e| {
                let [a, b] = self.soup.corners(e);
                distance(&a, &b)
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flat_sheet_with_a_window() {
        let square = |s: f64| vec![[-s, -s], [s, -s], [s, s], [-s, s]];
        let outline = Polygon::new(square(2.0), vec![square(1.0)]).unwrap();
        let up = Placement::z_to([1.0, 0.0, 0.0]).unwrap();
        let place = up.then(&Placement::translation([5.0, 0.0, 0.0]).unwrap());
        let sheet = Sheet::flat(&outline, &place, 0.3, 1e-3).unwrap();
        let area: f64 = (0..sheet.soup.elements.len())
            .map(|e| sheet.soup.area_vector(e)[0])
            .sum();
        assert!((area - 12.0).abs() < 1e-12, "{area}");
        assert!(
            sheet
                .soup
                .vertices
                .iter()
                .all(|v| (v[0] - 5.0).abs() < 1e-12)
        );
    }

    #[test]
    fn bent_line() {
        let points = [[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [1.0, 2.0], [1.1, 4.0]];
        let sheet = Sheet::polyline(&points, 0.0, 1e-3).unwrap();
        assert_eq!(sheet.soup.patch, vec![0, 1, 1]);
        assert!((sheet.length_m() - 3.0 - 4.01_f64.sqrt()).abs() < 1e-12);
        assert!(matches!(
            Sheet::polyline(&points, 1.0, 1e-3),
            Err(SolidError::OutOfRange { .. })
        ));
        assert!(Sheet::polyline(&points[..1], 0.0, 1e-3).is_err());
        assert!(Sheet::polyline(&points, 0.0, 0.0).is_err());
    }
}
