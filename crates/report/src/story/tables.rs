//! Tables: what each electrode got, and where the figures of the bath come from.

use super::data::Table;
use super::measure::{hours, number, percent, thick};
use crate::repeats::told_in_full;
use crate::summary::Summary;
use ionfall_bath::figure::Figure;
use ionfall_model::Role;
use ionfall_numerics::number::grouped;
use ionfall_numerics::number::significant;

/// What the cathodes got.
pub(super) fn statistics(summary: &Summary) -> Table {
    let told = told_in_full(summary);
    let cathodes: Vec<_> = told.filter(|b| b.role.is_cathode()).collect();
    let mut head = vec![String::new()];
    head.extend(
        cathodes
            .iter()
            .map(|b| format!("{} ({})", b.name, b.role.word())),
    );
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row = |name: &str, of: &dyn Fn(usize) -> Option<String>| {
        let fields: Vec<Option<String>> = (0..cathodes.len()).map(of).collect();
        if fields.iter().any(Option::is_some) {
            let mut row = vec![name.to_owned()];
            row.extend(fields.into_iter().map(Option::unwrap_or_default));
            rows.push(row);
        }
    };
    type Pick = fn(&ionfall_deposit::BodyOutcome) -> Option<f64>;
    let spreads: [(&str, Pick); 8] = [
        ("thickness: thinnest place", |b| b.thinnest.map(|p| p.value)),
        ("1 % of the area below", |b| b.thickness_m.map(|t| t.p01)),
        ("5 % of the area below", |b| b.thickness_m.map(|t| t.p05)),
        ("half of the area below", |b| {
            b.thickness_m.map(|t| t.median)
        }),
        ("mean", |b| b.thickness_m.map(|t| t.mean)),
        ("5 % of the area above", |b| b.thickness_m.map(|t| t.p95)),
        ("1 % of the area above", |b| b.thickness_m.map(|t| t.p99)),
        ("thickest place", |b| b.thickest.map(|p| p.value)),
    ];
    for (name, of) in spreads {
        row(name, &|n| of(cathodes[n]).map(thick));
    }
    row("thinnest over mean", &|n| {
        let body = cathodes[n];
        Some(percent(body.thinnest?.value / body.thickness_m?.mean))
    });
    row("area thinner than wanted", &|n| {
        cathodes[n].share_below_wanted.map(percent)
    });
    row("area", &|n| {
        Some(format!("{} dm2", number(100.0 * cathodes[n].area_m2)))
    });
    row("current", &|n| {
        Some(format!("{} A", number(cathodes[n].current_a.abs())))
    });
    row("current density: smallest, mean, largest", &|n| {
        let i = cathodes[n].current_density_a_per_m2;
        Some(format!(
            "{}, {}, {} A/dm2",
            number(0.01 * i.min),
            number(0.01 * i.mean),
            number(0.01 * i.max)
        ))
    });
    row("current density of 98 % of the area", &|n| {
        let i = cathodes[n].current_density_a_per_m2;
        let [low, high] = [i.p01, i.p99].map(|i| number(0.01 * i));
        Some(format!("{low} to {high} A/dm2"))
    });
    row("overpotential: smallest, largest", &|n| {
        let v = cathodes[n].overpotential_v;
        let [low, high] = [v.min, v.max].map(|v| number(1e3 * beside(v, summary.main.voltage_v)));
        Some(format!("{low}, {high} mV"))
    });
    row("metal", &|n| {
        cathodes[n]
            .metal_kg
            .map(|kg| format!("{} g", number(1e3 * kg)))
    });
    Table {
        key: "statistics".into(),
        title: "What the work gets (weighted by area)".into(),
        head,
        rows,
    }
}

/// What each anode gives.
pub(super) fn anodes(summary: &Summary) -> Table {
    let anodes = summary.bodies.iter().filter(|b| b.role == Role::Anode);
    let rows = anodes.map(|b| {
        vec![
            b.name.clone(),
            format!("{} dm2", number(100.0 * b.area_m2)),
            format!("{} A", number(b.current_a.abs())),
            format!("{} A/dm2", number(0.01 * b.current_density_a_per_m2.mean)),
            b.metal_kg
                .map_or(String::new(), |kg| format!("{} g", number(1e3 * kg))),
        ]
    });
    Table {
        key: "anodes".into(),
        title: "What the anodes give".into(),
        head: [
            "anode",
            "wetted area",
            "current",
            "current density",
            "dissolves at most",
        ]
        .map(String::from)
        .to_vec(),
        rows: rows.collect(),
    }
}

/// What each supply gives at the end, and what stands between its poles.
pub(super) fn supplies(summary: &Summary) -> Option<Table> {
    let ohm = |ohm: Option<f64>| ohm.map_or(String::new(), |r| format!("{} ohm", number(r)));
    let rows = summary.supplies.iter().map(|s| {
        vec![
            s.name.clone(),
            format!("{} V", number(s.voltage_v)),
            format!("{} A", number(s.current_a)),
            ohm(s.resistance_ohm),
            ohm(s.ohmic_resistance_ohm),
        ]
    });
    let head = [
        "supply",
        "between the poles",
        "current",
        "resistance of the tank",
        "without the surfaces",
    ];
    let title = "What the supplies give at the end";
    Table::filled(["supplies", title], &head, rows)
}

/// What it costs, by what it goes for, if the job gives prices.
pub(super) fn cost(summary: &Summary) -> Option<Table> {
    let cost = summary.cost.as_ref()?;
    let used = cost.used;
    let grams = |kg: f64| format!("{} g", number(1e3 * kg));
    let kwh = format!("{} kWh", number(used.energy_j / 3.6e6));
    let parts = [
        ("metal", grams(used.metal_kg), cost.metal),
        ("energy", kwh, cost.energy),
        ("time of the tank", hours(used.time_s), cost.time),
        ("acid that hydrogen takes", grams(used.acid_kg), cost.acid),
    ];
    let share = |part: f64| match cost.total > 0.0 {
        true => percent(part / cost.total),
        false => String::new(),
    };
    let mut rows: Vec<Vec<String>> = (parts.into_iter())
        .filter_map(|(what, amount, part)| {
            let part = part?;
            Some(vec![what.into(), amount, number(part), share(part)])
        })
        .collect();
    rows.push(vec![
        "in all".into(),
        String::new(),
        number(cost.total),
        String::new(),
    ]);
    let currency = match cost.currency.as_str() {
        "" => "cost",
        currency => currency,
    };
    Some(Table {
        key: "cost".into(),
        title: "What it costs by the prices of the job".into(),
        head: ["", "how much", currency, "of the whole"]
            .map(String::from)
            .to_vec(),
        rows,
    })
}

/// Where charge, metal and energy went; needs a plan.
pub(super) fn ledger(summary: &Summary) -> Option<Table> {
    let ledger = summary.ledger.as_ref()?;
    let energy_j = summary.energy_j?;
    let of = |anodes: bool| -> f64 {
        let bodies = summary.bodies.iter().zip(&ledger.polarisation_j);
        let own = bodies.filter(|(b, _)| (b.role == Role::Anode) == anodes);
        own.map(|(_, joules)| joules).sum()
    };
    let grams = |kg: f64| format!("{} g", number(1e3 * kg));
    let joules = |name: &str, joules: f64| {
        let joules = beside(joules, energy_j);
        let share = percent(joules / energy_j);
        vec![
            name.to_owned(),
            format!("{} Wh", number(joules / 3600.0)),
            format!("{share} of the energy"),
        ]
    };
    let row = |name: &str, value: String| vec![name.to_owned(), value, String::new()];
    let deposited_kg: f64 = ledger.deposited_kg.iter().sum();
    let gain_kg = beside(ledger.bath_gain_kg, deposited_kg);
    let mut rows = vec![
        row("metal deposited", grams(deposited_kg)),
        row("metal dissolved", grams(ledger.dissolved_kg.iter().sum())),
        row("metal the bath gains", grams(gain_kg)),
        row(
            "hydrogen",
            format!("{} L", number(1e3 * ledger.hydrogen_m3)),
        ),
        joules("energy in the bath", ledger.bath_j),
        joules("at the cathodes", of(false)),
        joules("at the anodes", of(true)),
        joules("in coats", ledger.coat_j),
        joules("in contacts and leads", ledger.contact_j + ledger.lead_j),
    ];
    for contact in &summary.coating.contacts {
        rows.push(vec![
            format!("contact {}", contact.name),
            format!("{} A h", number(contact.charge_c / 3600.0)),
            format!("at most {} A", number(contact.peak_a)),
        ]);
    }
    rows.push(row(
        "balance of charge, of energy",
        [ledger.charge_error, ledger.energy_error]
            .map(|e| {
                if e == 0.0 {
                    "0".into()
                } else {
                    format!("{e:.0e}")
                }
            })
            .join(", "),
    ));
    Some(Table {
        key: "ledger".into(),
        title: "The ledger of the plan".into(),
        head: ["", "amount", "note"].map(String::from).to_vec(),
        rows,
    })
}

/// A value beside a larger one: what is left of it by rounding is nothing.
fn beside(value: f64, larger: f64) -> f64 {
    if value.abs() > 1e-9 * larger.abs() {
        value
    } else {
        0.0
    }
}

/// Current densities as they are spoken of at the tank.
fn in_trade_units(figure: &Figure) -> Figure {
    match figure.unit {
        "A/m2" => figure.scaled(0.01, "A/dm2"),
        _ => *figure,
    }
}

/// Every figure of the bath with its band and where it comes from.
pub(super) fn bath(summary: &Summary) -> Table {
    let bath = &summary.bath;
    let mut rows = Vec::new();
    let mut add = |name: &str, figure: &Figure| {
        let figure = &in_trade_units(figure);
        rows.push(vec![
            name.to_owned(),
            format!("{} {}", significant(figure.value, 4), figure.unit)
                .trim()
                .to_owned(),
            figure.band.map_or(String::new(), |[low, high]| {
                let [low, high] = [low, high].map(|end| significant(end, 2));
                format!("{low} to {high} {}", figure.unit).trim().to_owned()
            }),
            figure.grade.to_string(),
            figure.source.to_owned(),
        ]);
    };
    for (name, figure) in &bath.composition {
        add(name, figure);
    }
    add("conductivity", &bath.conductivity);
    add("current efficiency", &bath.efficiency);
    for (name, figure) in [
        ("limiting current density", &bath.limiting_current),
        ("diffusion film", &bath.film),
        ("metal concentration", &bath.concentration),
        ("diffusion coefficient", &bath.diffusion),
        ("density", &bath.fluid.density),
        ("viscosity", &bath.fluid.viscosity),
    ] {
        if let Some(figure) = figure {
            add(name, figure);
        }
    }
    for (parameter, figure) in &bath.polarisation_figures {
        add(parameter.name(), figure);
    }
    add("density of the metal", &bath.metal.density);
    Table {
        key: "bath".into(),
        title: format!(
            "Figures of the bath ({}, {:.0} degC), and where they come from",
            bath.name,
            bath.temperature_k - 273.15
        ),
        head: ["figure", "value", "band", "kind", "source"]
            .map(String::from)
            .to_vec(),
        rows,
    }
}

/// How it was computed, in a line.
pub(super) fn computed(summary: &Summary) -> String {
    let grid = &summary.grid;
    let last = summary.solver.residual_history.last();
    format!(
        "ionfall {}: {} cells of {} to {} mm, {} facets of electrodes; {} Newton steps, last \
         residual {:.0e}; anodic and cathodic current differ by {:.0e} of the whole; grid {} s, \
         field {} s.",
        summary.ionfall,
        grouped(grid.cells),
        number(1e3 * grid.finest_m),
        number(1e3 * grid.coarsest_m),
        grouped(grid.facets),
        summary.solver.newton_steps,
        last.copied().unwrap_or(f64::NAN),
        summary.balance_error,
        number(summary.effort.grid_s),
        number(summary.effort.field_s),
    )
}
