//! Local values on the surface of a body, and their errors.
//!
//! A facet's value belongs to the middle of its facet. At any other point `x` the value is that of
//! a quadratic polynomial in the tangential coordinates, fitted by least squares to the facets
//! within three cells that face the same way, with weights `area / (1 + (distance / cell)^2)`.

use ionfall_deposit::Outcome;
use ionfall_mesh::solid::Point;
use ionfall_numerics::dense::pivoted;

/// Current density magnitude of a body at a surface point, A/m2; nothing where the body has no
/// facets nearby.
pub fn at<const D: usize>(outcome: &Outcome<D>, body: usize, x: &Point<D>) -> Option<f64> {
    let values = &outcome.solution.current_density_a_per_m2;
    value_at(outcome, values, body, x).map(f64::abs)
}

/// Any value of the facets, at a surface point of a body.
pub fn value_at<const D: usize>(
    outcome: &Outcome<D>,
    values: &[f64],
    body: usize,
    x: &Point<D>,
) -> Option<f64> {
    let apart = |a: &Point<D>, b: &Point<D>| -> Point<D> { std::array::from_fn(|k| a[k] - b[k]) };
    let dot = |a: &Point<D>, b: &Point<D>| -> f64 { (0..D).map(|k| a[k] * b[k]).sum() };
    let grid = &outcome.grid;
    let own = || (0..grid.facets.len()).filter(|&f| usize::from(grid.facets[f].body) == body);
    let far = |f: usize| {
        let d = apart(&grid.facets[f].point, x);
        dot(&d, &d).sqrt()
    };
    let nearest = own().min_by(|&a, &b| far(a).total_cmp(&far(b)))?;
    let h = grid.size_m(grid.facet_node[nearest] as usize);
    if far(nearest) > 1.5 * h {
        return None;
    }
    let normal = grid.facets[nearest].normal;
    let skip = (0..D).max_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs()))?;
    let mut rows: Vec<(Vec<f64>, f64, f64)> = Vec::new();
    for f in own().filter(|&f| far(f) < 3.0 * h) {
        let facet = &grid.facets[f];
        if dot(&facet.normal, &normal) < 0.5 {
            continue;
        }
        let d = apart(&facet.point, x);
        let along: Point<D> = std::array::from_fn(|k| (d[k] - dot(&d, &normal) * normal[k]) / h);
        // Tangential monomials; the normal direction is taken out by the projection.
        let t: Vec<f64> = (0..D).filter(|&k| k != skip).map(|k| along[k]).collect();
        let mut m = vec![1.0];
        m.extend(&t);
        for a in 0..t.len() {
            for b in a..t.len() {
                m.push(t[a] * t[b]);
            }
        }
        let weight = facet.area_m2 / (1.0 + dot(&along, &along));
        rows.push((m, values[f], weight));
    }
    let n = rows.first()?.0.len();
    let mut a = vec![vec![0.0; n + 1]; n];
    let scale: f64 = rows.iter().map(|r| r.2).sum();
    for (m, value, w) in &rows {
        for i in 0..n {
            for j in 0..n {
                a[i][j] += w / scale * m[i] * m[j];
            }
            a[i][n] += w / scale * m[i] * value;
        }
    }
    Some(pivoted(&mut a)[0]).filter(|v| v.is_finite())
}

/// Local errors of the current density on one body, relative to the exact local value.
#[derive(Clone, Copy, Debug)]
pub struct Local<const D: usize> {
    /// Largest.
    pub max: f64,
    /// Where it is.
    pub at: Point<D>,
    /// Magnitude computed there, A/m2.
    pub found: f64,
    /// Exact magnitude there, A/m2.
    pub exact: f64,
    /// Area-weighted root mean square over that of the exact value.
    pub rms: f64,
    /// Facets compared.
    pub facets: usize,
}

/// Compares the current density magnitude on a body with `exact`, where that is known; nothing if
/// it is known nowhere on it.
pub fn local<const D: usize>(
    outcome: &Outcome<D>,
    body: usize,
    exact: impl Fn(&Point<D>) -> Option<f64>,
) -> Option<Local<D>> {
    let (mut error2, mut exact2, mut facets) = (0.0, 0.0, 0);
    let mut worst: Option<Local<D>> = None;
    let currents = &outcome.solution.current_density_a_per_m2;
    for (f, i) in outcome.grid.facets.iter().zip(currents) {
        if usize::from(f.body) != body {
            continue;
        }
        let Some(ex) = exact(&f.point) else { continue };
        let error = i.abs() - ex;
        error2 += f.area_m2 * error * error;
        exact2 += f.area_m2 * ex * ex;
        facets += 1;
        let max = error.abs() / ex;
        if worst.is_none_or(|w| max > w.max) {
            worst = Some(Local {
                max,
                at: f.point,
                found: i.abs(),
                exact: ex,
                rms: 0.0,
                facets,
            });
        }
    }
    worst.map(|w| Local {
        rms: (error2 / exact2).sqrt(),
        facets,
        ..w
    })
}
