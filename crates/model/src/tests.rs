//! The builder: what is filled in, and what is refused with which words.

use crate::{
    Geometry, Hold, Limits, Model, Parts, Role, Setting, Step, Supply, Tank, TankError, Until,
};
use approx::assert_relative_eq;
use ionfall_bath::Kinetics;
use ionfall_bath::electrolyte::{AcidCopper, CopperSalt, Electrolyte, Given};
use ionfall_bath::kinetics::{Branch, Polarisation, Transfer};
use ionfall_mesh::grid::narrow::{ACROSS, KEPT};
use ionfall_mesh::grid::{BodyKind, Space};
use ionfall_mesh::solid::{Cuboid, HalfSpace, Solid};

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

fn wall(x: f64) -> Solid<2> {
    rectangle([x, 0.0], [x + 0.01, 0.1])
}

/// A channel without bath and supply.
fn bare() -> Tank<2> {
    Tank::planar(rectangle([0.0; 2], [0.256, 0.1]), 0.1)
        .anode("anode", wall(0.2))
        .work("work", wall(0.01))
}

fn channel() -> Tank<2> {
    bare().conductivity_s_per_m(20.0).voltage_v(1.0)
}

fn parts(model: Model) -> Parts<2> {
    Parts::try_from(model.geometry).expect("a planar tank")
}

fn tafel(branch: Branch) -> Kinetics {
    let transfer = Transfer::Tafel {
        branch,
        exchange_a_per_m2: 1.0,
        slope_v: 0.05,
    };
    Kinetics::Law(Polarisation::new(transfer, None).unwrap())
}

/// The words of a refusal.
fn told(tank: Tank<2>) -> String {
    tank.model().expect_err("something is wrong").to_string()
}

#[test]
fn what_is_not_said_is_filled_in_as_in_a_job() {
    let parts = parts(channel().model().unwrap());
    let work = &parts.domain.bodies[1];
    assert_relative_eq!(work.finest_m, 1e-3, max_relative = 1e-12);
    assert_relative_eq!(work.edge_m, 1e-3, max_relative = 1e-12);
    assert_relative_eq!(parts.domain.coarsest_m, 0.016, max_relative = 1e-12);
    assert_relative_eq!(parts.domain.wall_m, 0.016, max_relative = 1e-12);
    assert_eq!(work.across, ACROSS);
    assert_eq!(parts.electrodes[1].kinetics, Kinetics::Primary);
}

#[test]
fn sizes_that_are_said_are_kept_to() {
    let tank = channel()
        .cells_m(2e-3, 5e-4)
        .all_cells_m(4e-3, 8e-3)
        .shield("shield", wall(0.1));
    let parts = parts(tank.model().unwrap());
    let sizes = parts.domain.bodies.iter();
    let sizes: Vec<_> = sizes.map(|b| (b.finest_m, b.edge_m, b.across)).collect();
    assert_eq!(
        sizes,
        [(4e-3, 4e-3, KEPT), (2e-3, 5e-4, KEPT), (4e-3, 4e-3, KEPT)]
    );
    assert_eq!(parts.domain.bodies[2].kind, BodyKind::Insulator);
    assert_eq!(parts.electrodes.len(), 2);
}

#[test]
fn electrodes_follow_the_laws_of_the_bath() {
    let amounts = AcidCopper::given(CopperSalt::Pentahydrate(200.0), 60.0);
    let bath = Electrolyte::acid_copper(amounts, 25.0, &Given::default()).unwrap();
    let own = tafel(Branch::Cathodic);
    let tank = bare()
        .thief("thief", wall(0.05))
        .law(own.clone())
        .voltage_v(1.0)
        .bath(bath.clone());
    let laws = parts(tank.model().unwrap()).electrodes;
    let laws: Vec<_> = laws.iter().map(|e| e.kinetics.clone()).collect();
    let known = Kinetics::Law(bath.polarisation.unwrap());
    let dissolving = Kinetics::Law(bath.anode.unwrap().polarisation);
    assert_eq!(laws, [dissolving, known, own]);
}

#[test]
fn free_anodes_hang_on_the_main_supply_and_steps_hold_what_it_holds() {
    let other = Supply {
        name: "other".into(),
        hold: Hold::Current(0.5),
        limits: Limits::default(),
        ammeter_share: None,
        anodes: vec![2],
        thieves: Vec::new(),
    };
    let tank = channel()
        .anode("second", wall(0.22))
        .anode("third", wall(0.24))
        .supply(other)
        .time_s(60.0)
        .current_a(2.0);
    let model = tank.model().unwrap();
    assert_eq!(model.supplies[0].anodes, [0, 3]);
    assert_eq!(model.plan[0].setting, Setting::Hold(Hold::Current(2.0)));
    assert_eq!(model.plan[0].until, Until::Time(60.0));
}

#[test]
fn what_is_missing_is_told() {
    assert!(matches!(bare().model(), Err(TankError::NoBath)));
    let unfed = bare().conductivity_s_per_m(20.0).model();
    assert!(matches!(unfed, Err(TankError::NoSupply)));
    let alone = Tank::planar(rectangle([0.0; 2], [0.2, 0.1]), 0.1)
        .conductivity_s_per_m(20.0)
        .voltage_v(1.0)
        .anode("anode", wall(0.1));
    assert!(told(alone).contains("no work: add one with `work`"));
    let early = Tank::planar(rectangle([0.0; 2], [0.2, 0.1]), 0.1).lead_ohm(1.0);
    assert!(told(early).contains("`lead_ohm` speaks of the electrode"));
    let side = |axis| crate::Wall { axis, high: true };
    let early = Tank::planar(rectangle([0.0; 2], [0.2, 0.1]), 0.1).face("front", side(0));
    assert!(told(early).contains("`face` speaks of the electrode"));
    assert!(told(channel().face("top", side(2))).contains("no wall"));
    let twice = channel().face("front", side(0)).face("front", side(1));
    assert!(told(twice).contains("`front` is used twice"));
    assert!(told(channel().islands_m(1e-8)).contains("coat"));
    assert!(told(channel().coat_ohm_per_square(1.0)).contains("has no contact"));
    let pointless = channel().contact("wire", wall(0.0), 0.0);
    assert!(told(pointless).contains("no coat"));
}

#[test]
fn figures_that_make_no_sense_are_told() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(told(channel().voltage_v(bad)).contains("voltage of a supply"));
        assert!(told(channel().time_s(bad)).contains("longest time"));
        assert!(told(channel().cells_m(bad, 1e-3)).contains("cell at a body"));
        assert!(told(channel().wanted_m(bad, None)).contains("thickness wanted"));
        let coated = channel().coat_ohm_per_square(bad);
        assert!(told(coated).contains("sheet resistance"));
    }
    assert!(told(channel().lead_ohm(-1.0)).contains("zero or a positive"));
    assert!(told(channel().line_m("line", None, &[[0.0; 2]; 2])).contains("length of a line"));
    assert!(told(channel().line_m("line", None, &[])).contains("length of a line"));
}

#[test]
fn places_and_names_are_judged() {
    assert!(told(channel().shield("work", wall(0.1))).contains("used twice"));
    assert!(told(channel().shield("far", wall(0.5))).contains("outside the liquid"));
    let floor = Solid::new(HalfSpace::new([0.0; 2], [0.0, -1.0]).unwrap());
    let endless = Tank::planar(floor, 0.1).conductivity_s_per_m(1.0);
    assert!(told(endless.voltage_v(1.0)).contains("no end"));
    let flat = Tank::in_space(Space::Tank, rectangle([0.0; 2], [0.2, 0.1]))
        .conductivity_s_per_m(1.0)
        .voltage_v(1.0);
    assert!(told(flat).contains("Tank::<3>"));
    let unknown = channel().wanted_m(1e-4, Some("wrok"));
    assert!(told(unknown).contains("there are: anode, work"));
    let anode = channel().line_m("line", Some("anode"), &[[0.0; 2], [0.1; 2]]);
    assert!(told(anode).contains("nothing grows there"));
    let plate = channel()
        .floating("plate", wall(0.1))
        .law(tafel(Branch::Cathodic));
    assert!(told(plate).contains("one way only"));
}

#[test]
fn supplies_and_steps_are_judged() {
    let other = |anodes: &[usize]| Supply {
        name: "other".into(),
        hold: Hold::Current(0.5),
        limits: Limits::default(),
        ammeter_share: None,
        anodes: anodes.to_vec(),
        thieves: Vec::new(),
    };
    assert!(told(channel().supply(other(&[7]))).contains("there are 2"));
    assert!(told(channel().supply(other(&[1]))).contains("name an anode"));
    assert!(told(channel().supply(other(&[]))).contains("`other` has no anode"));
    assert!(told(channel().supply(other(&[0]))).contains("`supply` has no anode"));
    let both = channel()
        .anode("second", wall(0.22))
        .supply(other(&[2]))
        .supply(other(&[2]));
    assert!(told(both).contains("hangs on two supplies"));
    let ramp = |to, until| Step {
        name: "ramp".into(),
        setting: Setting::Ramp(Hold::Current(1.0), to),
        off: Vec::new(),
        pulse: None,
        until,
        at_most_s: 60.0,
    };
    let mixed = ramp(Hold::Voltage(1.0), Until::Time(60.0));
    assert!(told(channel().step(mixed)).contains("ends in what it began with"));
    let open = ramp(Hold::Current(2.0), Until::Charge(1.0));
    assert!(told(channel().step(open)).contains("the time it takes"));
}

#[test]
fn a_geometry_gives_back_what_it_holds() {
    let model = channel().model().unwrap();
    assert!(Parts::<3>::try_from(model.geometry.clone()).is_err());
    assert!(matches!(model.geometry, Geometry::Flat(_)));
    assert_eq!(parts(model).electrodes[1].role, Role::Work);
}
