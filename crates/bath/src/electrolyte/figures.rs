//! All figures of a bath in one list, in the units of the trade.

use super::ready::Electrolyte;
use crate::figure::Figure;

impl Electrolyte {
    /// Every figure but the composition, each with its name, in trade units (A/dm2, mm, mPa s).
    pub fn figures(&self) -> Vec<(&'static str, Figure)> {
        let trade = |figure: Option<Figure>, factor, unit| figure.map(|f| f.scaled(factor, unit));
        let passivation = self.anode.and_then(|a| a.passivation);
        let mut list: Vec<_> = [
            ("conductivity", Some(self.conductivity)),
            (
                "current efficiency",
                trade(Some(self.efficiency), 100.0, "%"),
            ),
            ("density", self.fluid.density),
            ("viscosity", trade(self.fluid.viscosity, 1e3, "mPa s")),
            (
                "metal concentration",
                trade(self.concentration, 1e-3, "mol/L"),
            ),
            ("diffusion coefficient", self.diffusion),
            ("diffusion film", trade(self.film, 1e3, "mm")),
            (
                "limiting current density",
                trade(self.limiting_current, 0.01, "A/dm2"),
            ),
        ]
        .into_iter()
        .filter_map(|(name, figure)| Some((name, figure?)))
        .collect();
        let behind = self.polarisation_figures.iter();
        list.extend(behind.map(|(parameter, figure)| (parameter.name(), *figure)));
        let anode = self.anode.iter().flat_map(|a| a.figures);
        list.extend(anode.map(|(parameter, figure)| (parameter.name_of_anode(), *figure)));
        if let Some(figure) = trade(passivation, 0.01, "A/dm2") {
            list.push(("anode: passive from about", figure));
        }
        if let Some(figure) = self.back_voltage {
            list.push(("insoluble anodes: back voltage", figure));
        }
        list
    }
}
