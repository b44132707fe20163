//! Metals: poles of the supplies, leads, electrodes, contacts.

use crate::assembly::Assembly;
use ionfall_model::{Parts, Role, Supply};

/// The poles of a supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Poles {
    /// Its anodes hang on this node.
    pub positive: u32,
    /// Its thieves hang on this one; without any it is the common pole.
    pub negative: u32,
}

/// All nodes of metal, and the links between them.
#[derive(Debug)]
pub(crate) struct Terminals {
    pub ground: u32,
    pub poles: Vec<Poles>,
    /// Node of each electrode.
    pub metal: Vec<u32>,
    pub leads: Vec<Option<usize>>,
    /// Node of each contact.
    pub contact: Vec<u32>,
    pub contact_link: Vec<Option<usize>>,
}

impl Terminals {
    /// Most nodes they take.
    pub fn most<const D: usize>(parts: &Parts<D>, supplies: &[Supply]) -> usize {
        parts.electrodes.len() + parts.contacts.len() + 1 + 2 * supplies.len()
    }

    /// Numbers and joins them.
    pub fn new<const D: usize>(
        assembly: &mut Assembly<'_, D>,
        parts: &Parts<D>,
        supplies: &[Supply],
    ) -> Self {
        let ground = assembly.metal();
        let poles = poles(assembly, supplies, ground);
        let (metal, leads): (Vec<u32>, Vec<_>) = parts
            .electrodes
            .iter()
            .enumerate()
            .map(|(n, e)| {
                let on = |list: fn(&Supply) -> &[usize]| {
                    supplies.iter().position(|s| list(s).contains(&n))
                };
                let pole = match e.role {
                    Role::Anode => poles[on(|s| &s.anodes).unwrap_or(0)].positive,
                    Role::Work => ground,
                    Role::Thief => on(|s| &s.thieves).map_or(ground, |s| poles[s].negative),
                    Role::Floating => assembly.metal(),
                };
                hang(assembly, pole, e.lead_ohm)
            })
            .unzip();
        let (contact, contact_link) = parts
            .contacts
            .iter()
            .map(|c| hang(assembly, metal[c.electrode], c.resistance_ohm))
            .unzip();
        Self {
            ground,
            poles,
            metal,
            leads,
            contact,
            contact_link,
        }
    }
}

/// Supplies without anodes of their own borrow those of the main one.
fn poles<const D: usize>(
    assembly: &mut Assembly<'_, D>,
    supplies: &[Supply],
    ground: u32,
) -> Vec<Poles> {
    let mut poles: Vec<Poles> = Vec::new();
    for supply in supplies {
        let positive = match poles.first() {
            Some(main) if supply.anodes.is_empty() => main.positive,
            _ => assembly.metal(),
        };
        let negative = if supply.thieves.is_empty() {
            ground
        } else {
            assembly.metal()
        };
        poles.push(Poles { positive, negative });
    }
    poles
}

/// A node behind a resistance, with its link; without resistance the node itself.
fn hang<const D: usize>(
    assembly: &mut Assembly<'_, D>,
    to: u32,
    resistance_ohm: f64,
) -> (u32, Option<usize>) {
    if resistance_ohm == 0.0 {
        return (to, None);
    }
    let node = assembly.metal();
    (node, Some(assembly.join(node, to, 1.0 / resistance_ohm)))
}
