//! The grid lends its couplings to the network: at millions of cells a second copy of links and
//! rows would be a quarter of the memory of a run.
//!
//! Metres times conductivity are siemens; both kinds of list have the same layout, so that they are
//! scaled where they lie. What comes back is divided again: right to the last digit but one.

use ionfall_field::network::{Correction, Forms, Link, Network};
use ionfall_mesh::grid::{Grid, GridCorrection, GridLink, Rows};
use rayon::prelude::*;
use std::mem::take;

/// The links, S, with room for `more`.
pub(crate) fn links<const D: usize>(grid: &mut Grid<D>, kappa: f64, more: usize) -> Vec<Link> {
    let mut links: Vec<Link> = take(&mut grid.links)
        .into_iter()
        .map(|l| Link {
            a: l.a,
            b: l.b,
            conductance_s: kappa * l.metres,
        })
        .collect();
    links.reserve_exact(more);
    links
}

/// The ends of the flux corrections.
pub(crate) fn corrections<const D: usize>(grid: &mut Grid<D>) -> Vec<Correction> {
    take(&mut grid.corrections)
        .into_iter()
        .map(|c| Correction {
            from: c.from,
            to: c.to,
        })
        .collect()
}

/// Rows times a scale.
pub(crate) fn forms(rows: &mut Rows, scale: f64) -> Forms {
    let Rows {
        start,
        node,
        mut weight,
    } = take(rows);
    multiply(&mut weight, scale);
    Forms {
        start,
        node,
        weight,
    }
}

fn multiply(weight: &mut [f64], scale: f64) {
    if scale != 1.0 {
        weight.par_iter_mut().for_each(|w| *w *= scale);
    }
}

/// Gives everything back. `links` is the number of links that are the grid's; probes that were not
/// lent whole stayed with it.
pub(crate) fn give_back<const D: usize>(
    mut network: Network,
    grid: &mut Grid<D>,
    links: usize,
    kappa: f64,
) {
    network.links.truncate(links);
    grid.links = network
        .links
        .into_iter()
        .map(|l| GridLink {
            a: l.a,
            b: l.b,
            metres: l.conductance_s / kappa,
        })
        .collect();
    grid.corrections = network
        .corrections
        .into_iter()
        .map(|c| GridCorrection {
            from: c.from,
            to: c.to,
        })
        .collect();
    grid.correction_rows = rows(network.correction_forms, 1.0 / kappa);
    if grid.probe_rows.start.is_empty() {
        grid.probe_rows = rows(network.probes, 1.0);
    }
}

fn rows(forms: Forms, scale: f64) -> Rows {
    let Forms {
        start,
        node,
        mut weight,
    } = forms;
    multiply(&mut weight, scale);
    Rows {
        start,
        node,
        weight,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// What comes back is what was lent, and the memory is the same.
    #[test]
    fn rows_come_back() {
        let mut lent = Rows {
            start: vec![0, 2],
            node: vec![3, 4],
            weight: vec![0.3, 0.7],
        };
        let place = lent.weight.as_ptr();
        let forms = forms(&mut lent, 17.0);
        assert_eq!(lent, Rows::default());
        assert_eq!(forms.weight, [17.0 * 0.3, 17.0 * 0.7]);
        let back = rows(forms, 1.0 / 17.0);
        assert_eq!(
            (&back.start[..], &back.node[..]),
            (&[0, 2][..], &[3, 4][..])
        );
        assert_relative_eq!(back.weight[0], 0.3, max_relative = 1e-15);
        assert_relative_eq!(back.weight[1], 0.7, max_relative = 1e-15);
        assert_eq!(back.weight.as_ptr(), place);
    }
}
