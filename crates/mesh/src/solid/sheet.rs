//! Surfaces of no thickness: foils, gauzes and baffles thinner than any cell.
//!
//! A sheet ends somewhere inside a cell. How much of the cell it closes is known where the surface is
//! drawn on past its free rim, over windows and around the outside: what lies *beyond* is open, but it
//! parts the cell in the same plane (`grid/beyond.rs`).

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::{finite, positive};
use super::placement::Placement;
use super::polygon::Polygon;
use super::polygon::{MOST_POINTS, is_corner};
use super::shape::Soup;
use ionfall_numerics::vector::{add_scaled, distance, sub};

/// An open surface.
#[derive(Clone, Debug)]
pub struct Sheet<const D: usize> {
    /// Its elements; which side is which follows their orientation.
    pub soup: Soup<D>,
    /// Elements of the same surface past its free rim, where nothing stands in the way: over all holes,
    /// and around the outside a quarter of its diagonal far.
    pub beyond: Soup<D>,
    /// Open area over whole area: 0 is tight, 1 is not there.
    pub open_fraction: f64,
    /// True thickness, metres (for the resistance of the openings).
    pub thickness_m: f64,
}

/// How far a sheet's surface is drawn on past its outer rim, over its size: past the cell in which it
/// ends, unless the sheet is smaller than some cells.
const BEYOND: f64 = 0.25;

fn checked<const D: usize>(
    soup: Soup<D>,
    beyond: Soup<D>,
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
        beyond,
        open_fraction,
        thickness_m: positive("the thickness of the sheet", thickness_m)?,
    })
}

impl<const D: usize> Sheet<D> {
    /// How much more than the electrolyte in its place it resists, in metres of electrolyte: `t (1/f -
    /// 1)`; nothing where it is tight.
    pub fn extra_m(&self) -> Option<f64> {
        (self.open_fraction > 0.0).then(|| self.thickness_m * (1.0 / self.open_fraction - 1.0))
    }

    /// The sheet moved; its thickness and its openings stay as they are.
    pub fn placed(&self, placement: &Placement<D>) -> Self {
        let mut moved = self.clone();
        let both = [&mut moved.soup, &mut moved.beyond];
        for vertex in both.into_iter().flat_map(|s| &mut s.vertices) {
            *vertex = placement.apply(vertex);
        }
        moved
    }
}

/// Adds what an outline in the plane z = 0 holds, put into place.
fn fill(soup: &mut Soup<3>, outline: &Polygon, placement: &Placement<3>) {
    let first = soup.vertices.len() as u32;
    for p in outline.points() {
        soup.vertex(placement.apply(&[p[0], p[1], 0.0]));
    }
    for t in outline.triangles() {
        soup.element(t.map(|v| first + v), 0, 1.0);
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
        fill(&mut soup, outline, placement);
        let mut beyond = Soup::default();
        for open in outline.around(BEYOND)? {
            fill(&mut beyond, &open, placement);
        }
        checked(soup, beyond, open_fraction, thickness_m)
    }
}

/// A line carried straight on at both its ends; one that closes has none.
fn past_ends(line: &[Point<2>]) -> Soup<2> {
    let mut beyond = Soup::default();
    let last = line.len() - 1;
    if line[0] == line[last] {
        return beyond;
    }
    let bounds = Bounds::around(line.iter().copied());
    let reach_m = BEYOND * distance(&bounds.low, &bounds.high);
    let past = |end: &Point<2>, before: &Point<2>| {
        add_scaled(end, reach_m / distance(end, before), &sub(end, before))
    };
    for (way, patch) in [
        ([past(&line[0], &line[1]), line[0]], 0),
        ([line[last], past(&line[last], &line[last - 1])], 1),
    ] {
        let ends = way.map(|x| beyond.vertex(x));
        beyond.element(ends, patch, 1.0);
    }
    beyond
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
        let beyond = past_ends(&soup.vertices);
        checked(soup, beyond, open_fraction, thickness_m)
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
        // Beyond: the window, and all around the square a quarter of its diagonal.
        let over: f64 = (0..sheet.beyond.elements.len())
            .map(|e| sheet.beyond.area_vector(e)[0])
            .sum();
        let side = 4.0 + 0.5 * 32f64.sqrt();
        assert!((over - 4.0 - (side * side - 16.0)).abs() < 1e-12, "{over}");
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
        let reach = 0.25 * 1.1f64.hypot(4.0);
        let past = &sheet.beyond.vertices;
        assert!(distance(&past[0], &[-reach, 0.0]) < 1e-12 && past[1] == points[0]);
        assert!(past[2] == points[4] && (distance(&past[3], &points[4]) - reach).abs() < 1e-12);
        let closed = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.0, 0.0]];
        let closed = Sheet::polyline(&closed, 0.0, 1e-3).unwrap();
        assert!(closed.beyond.elements.is_empty());
        assert!(matches!(
            Sheet::polyline(&points, 1.0, 1e-3),
            Err(SolidError::OutOfRange { .. })
        ));
        assert!(Sheet::polyline(&points[..1], 0.0, 1e-3).is_err());
        assert!(Sheet::polyline(&points, 0.0, 0.0).is_err());
    }
}
