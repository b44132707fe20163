//! Small jobs of many kinds, with sizes, places and baths drawn by a small generator of random
//! numbers, the same in every run.

use std::f64::consts::PI;

/// A linear congruential generator (Knuth's constants).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d);
        // The first numbers of like seeds are alike.
        for _ in 0..8 {
            dice.roll();
        }
        dice
    }

    fn roll(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly between two numbers.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.roll()
    }

    /// Evenly in the logarithm.
    fn scaled(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.roll())
    }

    fn one_of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[((self.roll() * list.len() as f64) as usize).min(list.len() - 1)]
    }
}

/// A job, and how much finer than its own cells those of the reference are.
pub struct Case {
    pub family: &'static str,
    pub job: String,
    pub finer: f64,
    /// Is there an edge at which the current density has no finite value?
    pub endless_edge: bool,
}

/// Names of the families; three of them in space, which are dear.
pub const FAMILIES: [&str; 13] = [
    "rod",
    "bar tafel",
    "bar primary",
    "bar limited",
    "recess",
    "slit",
    "two works",
    "disk",
    "ball",
    "coat",
    "space ball",
    "space box tafel",
    "space box primary",
];

/// The law of a family that may have any without a limit.
fn law(dice: &mut Dice) -> String {
    let tafel = tafel(dice, None);
    let linear = format!(
        "law.linear = {{ resistance = \"{:.6} ohm m2\" }}",
        dice.scaled(3e-4, 3e-3)
    );
    dice.one_of(&["law = \"primary\"", &tafel, &linear])
        .to_owned()
}

fn tafel(dice: &mut Dice, limit: Option<f64>) -> String {
    let limit = limit.map_or(String::new(), |i| {
        format!(", limiting_current_density = \"{i:.4} A/dm2\"")
    });
    format!(
        "law.tafel = {{ exchange_current_density = \"{:.3} A/m2\", slope = \"{:.1} mV\"{limit} }}",
        dice.scaled(0.1, 10.0),
        dice.between(25.0, 70.0)
    )
}

/// Held voltage, current or mean current density, of about 2 A/dm2.
fn supply(dice: &mut Dice, area_dm2: f64) -> String {
    let mean = dice.between(1.0, 3.0);
    let amps = format!("current = \"{:.4} A\"", mean * area_dm2);
    let volts = format!("voltage = \"{:.3} V\"", dice.between(0.8, 2.0));
    let density = format!("mean_current_density = \"{mean:.3} A/dm2\"");
    dice.one_of(&[&amps, &volts, &density]).to_owned()
}

fn planar(dice: &mut Dice, finest_mm: f64, supply: &str, bodies: &str) -> String {
    job(
        "space = \"planar\"\ndepth = \"100 mm\"\ntank.size = \"120 x 80 mm\"",
        [dice.scaled(4.0, 40.0), finest_mm],
        supply,
        "rectangle = { from = \"100 x -5 mm\", to = \"130 x 85 mm\" }",
        bodies,
    )
}

/// A job of two hours in a tank, with a conductivity, S/m, and finest cells, mm.
fn job(
    tank: &str,
    [conductivity, finest_mm]: [f64; 2],
    supply: &str,
    anode: &str,
    bodies: &str,
) -> String {
    format!(
        r#"
{tank}
bath = {{ kind = "custom", metal = "copper", conductivity = "{conductivity:.2} S/m" }}
supply.{supply}
plan.time = "2 h"
wanted.thickness = "40 um"
grid.finest = "{finest_mm:.4} mm"
[[anode]]
shape.{anode}
{bodies}
"#
    )
}

/// A bar, turned by any angle.
fn bar(dice: &mut Dice, at: [f64; 2]) -> (String, f64) {
    let (length, width) = (dice.between(15.0, 35.0), dice.between(4.0, 12.0));
    let turn = dice.between(0.0, 180.0);
    let shape = format!(
        "shape.rectangle = {{ from = \"{:.4} x {:.4} mm\", to = \"{:.4} x {:.4} mm\" }}\n\
         place = [{{ turn = \"{turn:.3} deg\" }}, {{ move = \"{:.4} x {:.4} mm\" }}]",
        -0.5 * length,
        -0.5 * width,
        0.5 * length,
        0.5 * width,
        at[0],
        at[1]
    );
    (shape, 2e-2 * (length + width))
}

/// One job of a family.
pub fn case(family: &'static str, seed: u64) -> Case {
    let mut dice = Dice::new(seed);
    let dice = &mut dice;
    let job = match family {
        "rod" => rod(dice),
        "bar tafel" | "bar primary" | "bar limited" => one_bar(dice, family),
        "recess" => recess(dice),
        "slit" => slit(dice),
        "two works" => two_works(dice),
        "disk" | "ball" => round(dice, family),
        "coat" => coat(dice),
        _ => in_space(dice, family),
    };
    let finer = match family {
        "coat" => 4.0,
        _ if family.starts_with("space") => 3.0,
        _ => 16.0,
    };
    Case {
        family,
        endless_edge: family.ends_with("primary")
            || (job.contains("primary") && ["disk", "recess", "two works"].contains(&family)),
        job,
        finer,
    }
}

fn rod(dice: &mut Dice) -> String {
    let radius = dice.between(5.0, 14.0);
    let finest = radius / dice.between(6.0, 20.0);
    let supply = supply(dice, 0.2 * PI * radius);
    let bodies = format!(
        "[[work]]\nshape.circle = {{ centre = \"{:.4} x {:.4} mm\", radius = \"{radius:.4} mm\" }}\n{}",
        dice.between(25.0, 70.0),
        dice.between(25.0, 55.0),
        law(dice)
    );
    planar(dice, finest, &supply, &bodies)
}

fn one_bar(dice: &mut Dice, family: &str) -> String {
    let at = [dice.between(30.0, 65.0), dice.between(28.0, 52.0)];
    let (shape, area_dm2) = bar(dice, at);
    let mut supply = supply(dice, area_dm2);
    let law = match family {
        "bar tafel" => tafel(dice, None),
        "bar limited" => {
            // The edges are near the limit; a held voltage cannot ask for more than can flow.
            if !supply.starts_with("voltage") {
                supply = format!(
                    "mean_current_density = \"{:.3} A/dm2\"",
                    dice.between(1.0, 2.5)
                );
            }
            let limit = dice.between(4.0, 8.0);
            tafel(dice, Some(limit))
        }
        _ => "law = \"primary\"".into(),
    };
    let finest = dice.scaled(0.6, 2.0);
    planar(dice, finest, &supply, &format!("[[work]]\n{shape}\n{law}"))
}

/// A wall with a recess in it.
fn recess(dice: &mut Dice) -> String {
    let (low, wide) = (dice.between(15.0, 40.0), dice.between(6.0, 25.0));
    let (face, deep) = (dice.between(25.0, 45.0), dice.between(4.0, 20.0));
    let high = low + wide;
    let floor = face - deep;
    let limit = (dice.roll() < 0.5).then(|| dice.between(5.0, 9.0));
    let law = if limit.is_some() {
        tafel(dice, limit)
    } else {
        law(dice)
    };
    let bodies = format!(
        "[[work]]\nshape.polygon = {{ points = [\"-5 x -5 mm\", \"{face:.4} x -5 mm\", \
         \"{face:.4} x {low:.4} mm\", \"{floor:.4} x {low:.4} mm\", \"{floor:.4} x {high:.4} mm\", \
         \"{face:.4} x {high:.4} mm\", \"{face:.4} x 85 mm\", \"-5 x 85 mm\"] }}\n{law}"
    );
    let mean = dice.between(1.0, 2.5);
    let finest = dice.scaled(0.6, 2.0);
    let supply = format!("mean_current_density = \"{mean:.3} A/dm2\"");
    planar(dice, finest, &supply, &bodies)
}

/// A flat wall behind a shield with a slit.
fn slit(dice: &mut Dice) -> String {
    let (middle, half) = (dice.between(25.0, 55.0), dice.between(4.0, 12.0));
    let (at, thick) = (dice.between(25.0, 60.0), dice.between(3.0, 6.0));
    let bodies = format!(
        "[[work]]\nshape.half_plane = {{ at = \"{:.4} x 0 mm\", outward = \"x\" }}\n{}\n\
         [[shield]]\nshape.rectangle = {{ from = \"{at:.4} x -5 mm\", to = \"{:.4} x {:.4} mm\" }}\n\
         [[shield]]\nshape.rectangle = {{ from = \"{at:.4} x {:.4} mm\", to = \"{:.4} x 85 mm\" }}",
        dice.between(3.0, 10.0),
        law(dice),
        at + thick,
        middle - half,
        middle + half,
        at + thick
    );
    let supply = supply(dice, 0.8);
    let finest = dice.scaled(0.6, 2.0);
    planar(dice, finest, &supply, &bodies)
}

fn two_works(dice: &mut Dice) -> String {
    let law = law(dice);
    let (low, high) = (dice.between(18.0, 22.0), dice.between(56.0, 62.0));
    let first = [dice.between(30.0, 65.0), low];
    let second = [dice.between(30.0, 65.0), high];
    let (one, area) = bar(dice, first);
    let radius = dice.between(5.0, 10.0);
    let bodies = format!(
        "[[work]]\nname = \"bar\"\n{one}\n{law}\n[[work]]\nname = \"rod\"\n\
         shape.circle = {{ centre = \"{:.4} x {:.4} mm\", radius = \"{radius:.4} mm\" }}\n{law}",
        second[0], second[1]
    );
    let supply = supply(dice, area + 0.2 * PI * radius);
    let finest = dice.scaled(0.6, 1.6);
    planar(dice, finest, &supply, &bodies)
}

/// A job with one work, whose cells are from `finest` mm on.
fn one_work(
    dice: &mut Dice,
    [tank, anode]: [&str; 2],
    finest: f64,
    [shape, law]: [&str; 2],
    area_dm2: f64,
) -> String {
    let supply = supply(dice, area_dm2);
    let sizes = [dice.scaled(4.0, 40.0), dice.scaled(finest, 2.0)];
    let work = format!("[[work]]\nshape.{shape}\n{law}");
    job(tank, sizes, &supply, anode, &work)
}

/// A disk on a stem, or a ball, in a round tank.
fn round(dice: &mut Dice, family: &str) -> String {
    let radius = dice.between(8.0, 20.0);
    let (shape, area_dm2) = if family == "disk" {
        let thick = dice.between(3.0, 8.0);
        let low = dice.between(20.0, 40.0);
        (
            format!(
                "rectangle = {{ from = \"0 x {low:.4} mm\", to = \"{radius:.4} x {:.4} mm\" }}",
                low + thick
            ),
            1e-4 * PI * radius * 2.0 * (radius + thick),
        )
    } else {
        (
            format!(
                "circle = {{ centre = \"0 x {:.4} mm\", radius = \"{radius:.4} mm\" }}",
                dice.between(30.0, 50.0)
            ),
            4.0 * 1e-4 * PI * radius * radius,
        )
    };
    let law = law(dice);
    let tank = "space = \"axisymmetric\"\ntank.size = \"60 x 90 mm\"";
    let anode = "rectangle = { from = \"-5 x 80 mm\", to = \"70 x 95 mm\" }";
    one_work(dice, [tank, anode], 0.6, [&shape, &law], area_dm2)
}

/// A coated strip that metal creeps along, until it is thick enough.
fn coat(dice: &mut Dice) -> String {
    format!(
        r#"
space = "planar"
depth = "100 mm"
tank.size = "{:.3} x 30 mm"
bath = {{ kind = "acid copper", agitation = "air" }}
[[anode]]
shape.rectangle = {{ from = "-5 x 25 mm", to = "105 x 35 mm" }}
[[work]]
shape.rectangle = {{ from = "-5 x -5 mm", to = "105 x {:.4} mm" }}
coat = {{ sheet_resistance = "{:.2} ohm/sq" }}
contact = {{ shape.rectangle = {{ from = "-1 x 0 mm", to = "{:.3} x 9 mm" }} }}
[supply]
mean_current_density = "{:.3} A/dm2"
voltage_limit = "2 V"
[[plan.step]]
mean_current_density = "0.5 A/dm2"
time = "20 min"
[[plan.step]]
thickness = "{:.2} um"
at_most = "10 h"
[wanted]
thickness = "12 um"
[grid]
finest = "{:.3} mm"
"#,
        dice.between(50.0, 80.0),
        dice.between(2.0, 5.0),
        dice.scaled(2.0, 30.0),
        dice.between(1.0, 3.0),
        dice.between(1.0, 2.0),
        dice.between(10.0, 20.0),
        dice.scaled(1.0, 2.0),
    )
}

fn in_space(dice: &mut Dice, family: &str) -> String {
    let at: [f64; 3] = [
        dice.between(22.0, 30.0),
        dice.between(28.0, 32.0),
        dice.between(28.0, 32.0),
    ];
    let (shape, area_dm2) = if family == "space ball" {
        let radius = dice.between(7.0, 12.0);
        (
            format!(
                "ball = {{ centre = \"{:.4} x {:.4} x {:.4} mm\", radius = \"{radius:.4} mm\" }}",
                at[0], at[1], at[2]
            ),
            4.0 * 1e-4 * PI * radius * radius,
        )
    } else {
        let half = [0; 3].map(|_| dice.between(4.0, 10.0));
        let end = |sign: f64| {
            let x: Vec<_> = (0..3)
                .map(|k| format!("{:.4}", at[k] + sign * half[k]))
                .collect();
            x.join(" x ")
        };
        let area = 8e-4 * (half[0] * half[1] + half[1] * half[2] + half[2] * half[0]);
        (
            format!(
                "box = {{ from = \"{} mm\", to = \"{} mm\" }}",
                end(-1.0),
                end(1.0)
            ),
            area,
        )
    };
    let law = match family {
        "space box primary" => "law = \"primary\"".into(),
        "space box tafel" => tafel(dice, None),
        _ => law(dice),
    };
    let tank = "tank.size = \"80 x 60 x 60 mm\"";
    let anode = "box = { from = \"70 x -5 x -5 mm\", to = \"90 x 65 x 65 mm\" }";
    one_work(dice, [tank, anode], 1.2, [&shape, &law], area_dm2)
}
