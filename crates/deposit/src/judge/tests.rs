use super::*;
use crate::levers::{Change, Lever, LeverAnswers, Levers};
use crate::outcome::{Anodic, BodyOutcome, Cover, SupplyOutcome, Thicknesses, VoltsAmps};
use crate::place::{Edge, EdgeFigure, Place};
use crate::recess::{Still, StillBody};
use crate::spread::{BodySpread, Spread};
use crate::state::Moment;
use crate::statistics::Distribution;
use crate::uncertainty::{BodyUncertainty, Uncertainty};
use approx::assert_relative_eq;
use ionfall_bath::Quality;
use ionfall_job::parse;
use ionfall_model::{Parts, Role};
use std::path::Path;

const HOUR: f64 = 3600.0;

/// Two plates in an acid bath stirred by air, 300 um wanted; `rest` is supply, plan and law.
fn model(rest: &str) -> Model<Parts<2>> {
    let job = format!("{}{rest}", include_str!("plates.toml"));
    let model = parse("job.toml", &job, Path::new("")).unwrap();
    model.try_into().expect("a planar job")
}

const TIMED: &str = "[supply]\nmean_current_density = \"2 A/dm2\"\n[plan]\ntime = \"20 h\"\n";

fn place(value: f64) -> Option<Place> {
    Some(Place {
        at_m: [0.01, 0.02, 0.0],
        value,
        edge: None,
    })
}

fn body(name: &str, thinnest_m: f64, limit_share: f64) -> BodyOutcome {
    BodyOutcome {
        name: name.into(),
        copy_of: None,
        role: Role::Work,
        area_m2: 0.01,
        current_a: -2.0,
        anodic: Anodic::default(),
        current_density_a_per_m2: Distribution::default(),
        overpotential_v: Distribution::default(),
        metal_kg: Some(0.05),
        volume_m3: Some(5e-6),
        thickness_m: None,
        thinnest: place(thinnest_m),
        thickest: None,
        share_below_wanted: Some(0.25),
        cover: Cover::default(),
        limit_share: place(limit_share),
        passivation_share: None,
        crowding: None,
        coat_drop_v: None,
    }
}

fn supply(voltage_v: f64, limited: bool) -> SupplyOutcome {
    SupplyOutcome {
        name: "rectifier".into(),
        voltage_v,
        current_a: 2.0,
        limited,
        current_limit_a: None,
        resistance_ohm: None,
        ohmic_resistance_ohm: None,
        charge_c: 0.0,
        energy_j: 0.0,
    }
}

fn moment(time_s: f64, step: usize, voltage_v: f64, limited: bool) -> Moment {
    Moment {
        time_s,
        step,
        voltage_v,
        current_a: 2.0,
        limited,
        least_m: 0.0,
        mean_m: 0.0,
        covered_share: 1.0,
        limit_share: None,
    }
}

/// Plus-minus of the work: thickness, share, volts, hours.
fn plus_minus(thinnest_m: f64, limit_share: f64, voltage_v: f64, wish_s: f64) -> Uncertainty {
    Uncertainty {
        grids: Vec::new(),
        main: VoltsAmps {
            voltage_v: Some(voltage_v),
            current_a: None,
        },
        supplies: Vec::new(),
        energy_j: None,
        time_s: None,
        wish_s: Some(wish_s),
        bodies: vec![BodyUncertainty {
            name: "work".into(),
            current_a: None,
            thickness: Thicknesses {
                thinnest_m: Some(thinnest_m),
                mean_m: None,
                thickest_m: None,
            },
            high_m: None,
            limit_share: Some(limit_share),
        }],
        left_out: Vec::new(),
    }
}

fn spread(thinnest_m: [f64; 2], limit_share: [f64; 2], voltage_v: [f64; 2]) -> Spread {
    Spread {
        bodies: vec![BodySpread {
            name: "work".into(),
            thickness: Thicknesses {
                thinnest_m,
                mean_m: thinnest_m,
                thickest_m: thinnest_m,
            },
            limit_share: Some(limit_share),
        }],
        voltage_v,
        influences: Vec::new(),
    }
}

struct Case {
    model: Model<Parts<2>>,
    bodies: Vec<BodyOutcome>,
    supplies: Vec<SupplyOutcome>,
    moments: Vec<Moment>,
    reached_s: Option<f64>,
    still: Option<Still>,
}

impl Case {
    fn new(rest: &str, thinnest_m: f64, limit_share: f64) -> Self {
        Self {
            model: model(rest),
            bodies: vec![body("work", thinnest_m, limit_share)],
            supplies: vec![supply(2.0, false)],
            moments: Vec::new(),
            reached_s: (thinnest_m >= 300e-6).then_some(18.0 * HOUR),
            still: None,
        }
    }

    fn verdict(&self, bounds: Bounds<'_>) -> Verdict {
        let answers = Answers {
            bodies: &self.bodies,
            supplies: &self.supplies,
            moments: &self.moments,
            reached_s: self.reached_s,
            expected_s: Some(25.0 * HOUR),
            still: self.still.as_ref(),
        };
        judge(&self.model, answers, bounds)
    }

    fn within(&self, uncertainty: &Uncertainty) -> Verdict {
        self.verdict(Bounds {
            uncertainty: Some(uncertainty),
            ..Bounds::default()
        })
    }
}

/// 342 um, 300 um wanted, and what is left of them in recesses that stand still.
#[test]
fn metal_is_good_only_if_recesses_may_stand_still() {
    let mut case = Case::new(TIMED, 342e-6, 0.1);
    for (thin_m, share, states) in [
        (341e-6, 0.105, [Standing::Good, Standing::Good]),
        (310e-6, 0.2, [Standing::Good, Standing::Good]),
        (215e-6, 0.97, [Standing::Caution, Standing::Caution]),
    ] {
        case.still = Some(Still {
            bodies: vec![StillBody {
                name: "work".into(),
                thinnest: place(thin_m),
                thickest: None,
                limit_share: place(share),
            }],
            ..Still::default()
        });
        let verdict = case.verdict(Bounds::default());
        assert_eq!(
            [verdict.metal.state, verdict.sound.state],
            states,
            "{thin_m}"
        );
        let told = thin_m < 340e-6;
        assert_eq!(verdict.metal.still_m, told.then_some(thin_m));
        assert_eq!(verdict.sound.still_share, told.then_some(share));
        // Within the plus-minus it is no other answer.
        let metal = case.within(&plus_minus(200e-6, 1.0, 0.0, HOUR)).metal;
        assert_eq!(metal.still_m, None);
    }
    case.still = Some(Still {
        failure: Some("more than can flow".into()),
        ..Still::default()
    });
    let sound = case.verdict(Bounds::default()).sound;
    assert_eq!(sound.quality_at_worst, Some(Quality::Trees));
}

/// 342 um, 300 um wanted: an ammeter that may be off by a tenth takes 34 um, one by a fifth 68 um. A voltage that is held
/// needs none.
#[test]
fn an_ammeter_leaves_metal_and_limit_open() {
    let mut case = Case::new(TIMED, 342e-6, 0.36);
    for (off, metal, worst) in [
        (0.1, Standing::Good, Quality::Sound),
        (0.2, Standing::Caution, Quality::Rough),
    ] {
        case.model.supplies[0].ammeter_share = Some(off);
        let verdict = case.verdict(Bounds::default());
        assert_eq!(verdict.metal.state, metal);
        assert_relative_eq!(
            verdict.metal.ammeter_m.unwrap(),
            off * 342e-6,
            max_relative = 1e-9
        );
        assert_relative_eq!(
            verdict.sound.ammeter_share.unwrap(),
            off * 0.36,
            max_relative = 1e-9
        );
        // What the bath leaves open of the limit is more, and not asked here.
        let mut sound = verdict.sound.clone();
        sound.band_share = None;
        assert_eq!(sound.largest().map(Quality::of), Some(worst));
    }
    case.model.supplies[0].hold = ionfall_model::Hold::Voltage(2.0);
    let verdict = case.verdict(Bounds::default());
    assert_eq!(
        (verdict.metal.ammeter_m, verdict.sound.ammeter_share),
        (None, None)
    );
}

/// The thinnest place 342 um, 300 um wanted, with growing plus-minus and band.
#[test]
fn metal_is_good_only_with_all_that_is_left_open() {
    let case = Case::new(TIMED, 342e-6, 0.1);
    let metal = case.verdict(Bounds::default()).metal;
    assert_eq!(metal.state, Standing::Good);
    assert_relative_eq!(metal.margin_m.unwrap(), 42e-6, max_relative = 1e-9);
    assert_eq!(metal.reached_after_s, Some(18.0 * HOUR));
    assert_eq!(metal.thinner_share, Some(0.25));
    assert_eq!(metal.at_m, Some([0.01, 0.02, 0.0]));
    for (off_m, state) in [(41e-6, Standing::Good), (43e-6, Standing::Caution)] {
        let metal = case.within(&plus_minus(off_m, 0.0, 0.0, HOUR)).metal;
        assert_eq!(metal.state, state);
        assert_eq!(metal.is_too_close(), state == Standing::Caution);
        assert_eq!(metal.plus_minus_s, Some(HOUR));
    }
    for (low_m, state) in [(301e-6, Standing::Good), (299e-6, Standing::Caution)] {
        let band = spread([low_m, 400e-6], [0.1, 0.1], [2.0, 2.0]);
        let bounds = Bounds {
            spread: Some(&band),
            ..Bounds::default()
        };
        let metal = case.verdict(bounds).metal;
        assert_eq!((metal.state, metal.is_too_close()), (state, false));
        assert_eq!(metal.band_m, Some([low_m, 400e-6]));
    }
}

#[test]
fn metal_that_is_short_is_bad_unless_it_is_too_close_to_call() {
    let case = Case::new(TIMED, 290e-6, 0.1);
    let metal = case.verdict(Bounds::default()).metal;
    assert_eq!(metal.state, Standing::Bad);
    assert_eq!(metal.reached_after_s, Some(25.0 * HOUR));
    for (off_m, state) in [(9e-6, Standing::Bad), (11e-6, Standing::Caution)] {
        let verdict = case.within(&plus_minus(off_m, 0.0, 0.0, HOUR));
        assert_eq!(verdict.metal.state, state);
        assert_eq!(verdict.state, state);
    }
}

/// Of two works that are thick enough, the one decides that may not be.
#[test]
fn the_work_in_doubt_decides() {
    let mut case = Case::new(TIMED, 305e-6, 0.1);
    case.bodies.push(body("other", 302e-6, 0.1));
    let uncertainty = plus_minus(6e-6, 0.0, 0.0, HOUR);
    let metal = case.within(&uncertainty).metal;
    assert_eq!(
        (metal.on.as_deref(), metal.state),
        (Some("work"), Standing::Caution)
    );
    let metal = case.verdict(Bounds::default()).metal;
    assert_eq!(
        (metal.on.as_deref(), metal.state),
        (Some("other"), Standing::Good)
    );
    // One that is short decides in any case.
    case.bodies[1] = body("other", 200e-6, 0.1);
    let metal = case.within(&uncertainty).metal;
    assert_eq!(
        (metal.on.as_deref(), metal.state),
        (Some("other"), Standing::Bad)
    );
    // The wish may name its work.
    case.model.wanted.as_mut().unwrap().on = Some("work".into());
    let metal = case.verdict(Bounds::default()).metal;
    assert_eq!(
        (metal.on.as_deref(), metal.state),
        (Some("work"), Standing::Good)
    );
}

/// A plan that goes on until the thickness is there: never too close to call, but perhaps too slow.
#[test]
fn a_plan_that_ends_on_a_thickness_is_judged_in_hours() {
    let waits = "[supply]\nmean_current_density = \"2 A/dm2\"\n[[plan.step]]\nthickness = \"300 \
                 um\"\nat_most = \"20 h\"\n";
    let mut case = Case::new(waits, 300e-6, 0.1);
    case.moments = vec![moment(18.0 * HOUR, 0, 2.0, false)];
    for (off_s, state) in [(HOUR, Standing::Good), (3.0 * HOUR, Standing::Caution)] {
        let metal = case.within(&plus_minus(5e-6, 0.0, 0.0, off_s)).metal;
        assert!(metal.until_reached && !metal.is_too_close());
        assert_relative_eq!(metal.margin_s.unwrap(), 2.0 * HOUR);
        assert_eq!(metal.state, state);
    }
    // Ended by the longest time instead: short like any other.
    case.bodies[0] = body("work", 250e-6, 0.1);
    case.reached_s = None;
    let metal = case.within(&plus_minus(5e-6, 0.0, 0.0, HOUR)).metal;
    assert_eq!((metal.until_reached, metal.state), (false, Standing::Bad));
    // A step that waits for less than is wanted says nothing of the wish.
    let less = waits.replace("300 um", "200 um");
    let metal = Case::new(&less, 301e-6, 0.1)
        .within(&plus_minus(5e-6, 0.0, 0.0, HOUR))
        .metal;
    assert_eq!(
        (metal.until_reached, metal.state),
        (false, Standing::Caution)
    );
}

#[test]
fn metal_of_which_nothing_is_known_is_unknown() {
    let mut case = Case::new(TIMED, 342e-6, 0.1);
    case.bodies[0].thinnest = None;
    let metal = case.verdict(Bounds::default()).metal;
    assert_eq!(
        (metal.state, metal.wanted_m),
        (Standing::Unknown, Some(300e-6))
    );
    case.model.wanted = None;
    let verdict = case.verdict(Bounds::default());
    assert_eq!(verdict.metal, Enough::default());
    assert_eq!(verdict.state, Standing::Unknown);
}

#[test]
fn soundness_follows_the_share_and_what_is_left_open() {
    let expected = |share: f64, state, quality| {
        let mut case = Case::new(TIMED, 342e-6, share);
        // Without a band of the limiting current.
        case.model.bath.limiting_current = None;
        let sound = case.verdict(Bounds::default()).sound;
        assert_eq!((sound.state, sound.quality), (state, Some(quality)));
        assert_relative_eq!(sound.margin_share.unwrap(), 0.4 - share, epsilon = 1e-12);
        let off = plus_minus(1e-6, 0.05, 0.0, HOUR);
        case.within(&off).sound
    };
    let sound = expected(0.34, Standing::Good, Quality::Sound);
    assert_eq!(sound.state, Standing::Good);
    let open = expected(0.36, Standing::Good, Quality::Sound);
    assert_eq!(open.state, Standing::Caution);
    assert_eq!(open.quality_at_worst, Some(Quality::Rough));
    let rough = expected(0.66, Standing::Caution, Quality::Rough);
    assert_eq!(rough.quality_at_worst, Some(Quality::Trees));
    assert_eq!(rough.state, Standing::Caution);
    assert_eq!(
        expected(1.0, Standing::Bad, Quality::Trees).state,
        Standing::Bad
    );
}

/// The bath's limiting current stirred by air is known to within a band; a limit of the job is not.
#[test]
fn the_band_of_the_limiting_current_stands_beside_the_share() {
    let case = Case::new(TIMED, 342e-6, 0.3);
    let sound = case.verdict(Bounds::default()).sound;
    let limit = case.model.bath.limiting_current.unwrap();
    let [low, high] = limit.band.unwrap();
    let [least, most] = sound.band_share.unwrap();
    assert_relative_eq!(least, 0.3 * limit.value / high, max_relative = 1e-12);
    assert_relative_eq!(most, 0.3 * limit.value / low, max_relative = 1e-12);
    assert!(most > 0.4, "{most}");
    assert_eq!(
        (sound.state, sound.quality),
        (Standing::Caution, Some(Quality::Sound))
    );
    // More than the limit does not flow.
    let near = Case::new(TIMED, 342e-6, 0.95)
        .verdict(Bounds::default())
        .sound;
    assert_eq!(near.band_share.unwrap()[1], 1.0);
    // Runs at the ends of the bands know better.
    let found = spread([3e-4, 4e-4], [0.25, 0.38], [2.0, 2.0]);
    let bounds = Bounds {
        spread: Some(&found),
        ..Bounds::default()
    };
    let sound = case.verdict(bounds).sound;
    assert_eq!(
        (sound.band_share, sound.state),
        (Some([0.25, 0.38]), Standing::Good)
    );
    // The job's own figure is taken at its word, whatever its value.
    let own = format!(
        "law.tafel = {{ exchange_current_density = \"1 A/m2\", slope = \"50 mV\", \
         limiting_current_density = \"{} A/m2\" }}\n{TIMED}",
        limit.value
    );
    let sound = Case::new(&own, 342e-6, 0.3)
        .verdict(Bounds::default())
        .sound;
    assert_eq!((sound.band_share, sound.state), (None, Standing::Good));
}

#[test]
fn a_least_value_or_no_limit_is_no_good() {
    let mut case = Case::new(TIMED, 342e-6, 0.01);
    assert_eq!(case.verdict(Bounds::default()).sound.state, Standing::Good);
    case.bodies[0].limit_share.as_mut().unwrap().edge = Some(Edge {
        figure: EdgeFigure::AtLeast,
        cell_m: 1e-3,
        strip_m: 1e-3,
        wagner_length_m: 1e-4,
    });
    let sound = case.verdict(Bounds::default()).sound;
    assert_eq!((sound.at_least, sound.state), (true, Standing::Caution));
    case.bodies[0].limit_share = None;
    let verdict = case.verdict(Bounds::default());
    let wants = verdict.sound.wants.clone();
    assert!(wants.is_some_and(|w| w.contains("the law of the work")));
    let unknown = Sound {
        wants: None,
        ..verdict.sound
    };
    assert_eq!(unknown, Sound::default());
    assert_eq!(verdict.state, Standing::Unknown);
    case.model.bath.limiting_current = None;
    case.model.bath.film = None;
    let wants = case.verdict(Bounds::default()).sound.wants.unwrap();
    assert_eq!(wants, "say how the bath is agitated");
}

/// A rectifier of 3 V that has to give 2.5 V at most.
#[test]
fn the_supply_is_judged_against_its_limit() {
    let limited = TIMED.replace("[plan]", "voltage_limit = \"3 V\"\n[plan]");
    let mut case = Case::new(&limited, 342e-6, 0.01);
    case.moments = vec![
        moment(HOUR, 0, 2.5, false),
        moment(2.0 * HOUR, 0, 2.2, false),
    ];
    let supply = case.verdict(Bounds::default()).supply;
    assert_eq!((supply.state, supply.voltage_v), (Standing::Good, 2.5));
    assert_relative_eq!(supply.margin_v.unwrap(), 0.5);
    // The plus-minus is that of the end, and says nothing of a peak before.
    let early = case.within(&plus_minus(1e-6, 0.0, 0.6, HOUR)).supply;
    assert_eq!((early.state, early.plus_minus_v), (Standing::Good, None));
    case.supplies[0].voltage_v = 2.5;
    for (off_v, state) in [(0.4, Standing::Good), (0.6, Standing::Caution)] {
        let verdict = case.within(&plus_minus(1e-6, 0.0, off_v, HOUR));
        assert_eq!(verdict.supply.state, state);
    }
    let band = spread([3e-4, 4e-4], [0.01, 0.01], [2.0, 3.1]);
    let bounds = Bounds {
        spread: Some(&band),
        ..Bounds::default()
    };
    assert_eq!(case.verdict(bounds).supply.state, Standing::Caution);
    case.moments[0].limited = true;
    let supply = case.verdict(Bounds::default()).supply;
    assert_eq!(supply.limited_s, Some([HOUR, HOUR]));
    assert_eq!(supply.state, Standing::Caution);
    case.supplies[0].limited = true;
    assert_eq!(case.verdict(Bounds::default()).state, Standing::Bad);
}

/// A held voltage with a limit of the current: the mirror of a voltage limit.
#[test]
fn a_supply_at_its_current_limit() {
    let limited = "[supply]\nvoltage = \"2 V\"\ncurrent_limit = \"4 A\"\n[plan]\ntime = \"20 h\"\n";
    let mut case = ended(Case::new(limited, 342e-6, 0.01), 20.0);
    let supply_of = |case: &Case| case.verdict(Bounds::default()).supply;
    let able = supply_of(&case);
    assert_eq!(
        (able.state, able.limit_v, able.limit_a),
        (Standing::Good, None, Some(4.0))
    );
    case.supplies = vec![supply(1.5, true)];
    assert_eq!(supply_of(&case).state, Standing::Bad);
    let vary = vec!["supply.current_limit=4..8/5 A".to_owned()];
    let verdict = case.verdict(Bounds::default());
    assert_eq!(verdict.change, Some(Advice::Try { vary }));
}

#[test]
fn a_supply_without_a_limit_is_told_and_counts_for_nothing() {
    let case = Case::new(TIMED, 342e-6, 0.01);
    let verdict = case.verdict(Bounds::default());
    assert_eq!(verdict.supply.state, Standing::Unknown);
    assert_eq!(verdict.supply.voltage_v, 2.0);
    assert_eq!(verdict.state, Standing::Good);
}

/// Enough metal never makes up for trees.
#[test]
fn the_worst_part_makes_the_whole() {
    let verdict = Case::new(TIMED, 342e-6, 1.0).verdict(Bounds::default());
    assert_eq!(verdict.metal.state, Standing::Good);
    assert_eq!(verdict.state, Standing::Bad);
    assert!(Standing::ALL.is_sorted());
}

fn ended(mut case: Case, hours: f64) -> Case {
    case.moments = vec![
        moment(0.0, 0, 2.0, false),
        moment(hours * HOUR, 0, 2.0, false),
    ];
    case
}

/// 290 um after 20 h at constant current: 300 um after 20.7 h by proportion, 25 h as the facets say
/// (`expected_s` of the case); a plus-minus of 11 um asks for more.
#[test]
fn short_metal_is_told_how_long_it_takes() {
    let case = ended(Case::new(TIMED, 290e-6, 0.1), 20.0);
    let lasts = |verdict: &Verdict| match verdict.change {
        Some(Advice::Longer {
            step: None,
            at_most: false,
            planned_s,
            enough_s,
        }) => [planned_s / HOUR, enough_s / HOUR],
        ref other => panic!("{other:?}"),
    };
    let [planned, enough] = lasts(&case.verdict(Bounds::default()));
    assert_relative_eq!(planned, 20.0);
    assert_relative_eq!(enough, 25.0);
    let [_, surely] = lasts(&case.within(&plus_minus(11e-6, 0.0, 0.0, HOUR)));
    assert_relative_eq!(surely, 25.0 * 311.0 / 300.0, max_relative = 1e-12);
    // Enough, but not within its plus-minus: by proportion.
    let case = ended(Case::new(TIMED, 305e-6, 0.1), 20.0);
    let [_, surely] = lasts(&case.within(&plus_minus(11e-6, 0.0, 0.0, HOUR)));
    assert_relative_eq!(surely, 20.0 * 311.0 / 305.0, max_relative = 1e-12);
    assert_eq!(case.verdict(Bounds::default()).change, None);
}

/// A tenth of what is wanted: no plan is made ten times as long; a figure of the job is tried.
#[test]
fn hopeless_metal_is_tried_with_figures_of_the_job() {
    let mut case = ended(Case::new(TIMED, 30e-6, 0.1), 20.0);
    let figure = |name: &str, value: f64, unit: &str| ionfall_model::NamedFigure {
        name: name.into(),
        value,
        unit: unit.into(),
    };
    let tried = |case: &Case| match case.verdict(Bounds::default()).change {
        Some(Advice::Try { vary }) => vary,
        other => panic!("{other:?}"),
    };
    case.model.figures = vec![figure("distance", 180.0, "mm")];
    assert_eq!(tried(&case), ["distance=144..216/5 mm"]);
    case.model.figures.push(figure("windows", 2.5, ""));
    assert_eq!(tried(&case), ["distance=144..216/3 mm", "windows=2..3/3"]);
}

/// What a run knows of less current goes before proportion: a share that falls faster than the current asks for less of
/// a change, and hours that grow by less than it shrinks for less time.
#[test]
fn less_current_is_told_by_what_the_run_knows_of_it() {
    let case = ended(Case::new(TIMED, 300e-6, 0.8), 20.0);
    let now = LeverAnswers {
        thinnest_m: Some(300e-6),
        evenness: None,
        voltage_v: 1.0,
        limit_share: Some(0.8),
        wish_s: Some(20.0 * HOUR),
        time_s: Some(20.0 * HOUR),
    };
    let factor = 0.9_f64;
    let then = LeverAnswers {
        limit_share: Some(0.8 * factor.powf(1.2)),
        wish_s: Some(20.0 * HOUR * factor.powf(-0.9)),
        ..now
    };
    let lever = |change, factor, then| Lever {
        change,
        factor,
        answers: Some(then),
        failure: None,
        first_order: true,
        open_share: None,
    };
    let levers = Levers {
        now,
        levers: vec![
            lever(Change::Limit, 1.1, now),
            lever(Change::Current, factor, then),
        ],
    };
    let told = case.verdict(Bounds {
        levers: Some(&levers),
        ..Bounds::default()
    });
    let Some(Advice::Gentler {
        current_a,
        enough_a,
        share,
        enough_s,
        by_levers: true,
        ..
    }) = told.change
    else {
        panic!("less current: {:?}", told.change);
    };
    let less = enough_a / current_a;
    assert_relative_eq!(less, (share / 0.8).powf(1.0 / 1.2), max_relative = 1e-12);
    let hours = 20.0 * less.powf(-0.9);
    assert_relative_eq!(enough_s.unwrap() / HOUR, hours, max_relative = 1e-12);
}

/// Half the limiting current over: less of it, for as much longer as the metal asks.
#[test]
fn burning_is_told_less_current_and_more_time() {
    let case = ended(Case::new(TIMED, 300e-6, 0.8), 20.0);
    let Some(Advice::Gentler {
        current_a,
        enough_a,
        share,
        planned_s,
        enough_s,
        by_levers: false,
    }) = case.verdict(Bounds::default()).change
    else {
        panic!("less current");
    };
    assert_relative_eq!(share, Quality::Rough.from_share());
    assert_relative_eq!(enough_a / current_a, share / 0.8);
    assert_eq!(planned_s, Some(20.0 * HOUR));
    assert_relative_eq!(enough_s.unwrap() / HOUR, 20.0 * 0.8 / share);
    // Under the share, but the bath's figures leave more open: it has to be measured.
    let case = ended(Case::new(TIMED, 342e-6, 0.35), 20.0);
    let verdict = case.verdict(Bounds::default());
    assert_eq!(verdict.state, Standing::Caution);
    assert_eq!(verdict.change, Some(Advice::MeasureLimit));
    // A current that nothing says, and no figure with a name.
    let held = "[supply]\nvoltage = \"2 V\"\n[plan]\ntime = \"20 h\"\n";
    let case = ended(Case::new(held, 342e-6, 0.8), 20.0);
    let verdict = case.verdict(Bounds::default());
    assert_eq!(verdict.change, Some(Advice::NameFigures));
}

#[test]
fn a_supply_at_its_limit_is_told_to_be_tried_with_more() {
    let limited = TIMED.replace("[plan]", "voltage_limit = \"2 V\"\n[plan]");
    let mut case = ended(Case::new(&limited, 342e-6, 0.1), 20.0);
    case.supplies = vec![supply(2.0, true)];
    let vary = vec!["supply.voltage_limit=2..4/5 V".to_owned()];
    let verdict = case.verdict(Bounds::default());
    assert_eq!(verdict.change, Some(Advice::Try { vary }));
}
