//! Area, current and metal of the faces that the model names.
//!
//! A face is a choice of the facets of an electrode, so its current is a sum over them: faces that do not
//! overlap and leave nothing out have the current of the electrode.

use crate::body::Fields;
use crate::outcome::{BodyOutcome, FaceOutcome};
use ionfall_model::{Face, Parts};

/// Adds up all faces of a model.
pub(crate) fn faces<const D: usize>(
    fields: &Fields<'_, D>,
    parts: &Parts<D>,
    bodies: &[BodyOutcome],
) -> Vec<FaceOutcome> {
    let named = parts.faces.iter();
    named
        .map(|face| {
            let body = parts.electrodes[face.on].body;
            fields.face(face, body, &bodies[face.on])
        })
        .collect()
}

impl<const D: usize> Fields<'_, D> {
    fn face(&self, face: &Face<D>, body: usize, whole: &BodyOutcome) -> FaceOutcome {
        let facets = self.grid.facets.iter().enumerate();
        let own: Vec<usize> = facets
            .filter(|(f, facet)| {
                usize::from(facet.body) == body
                    && self.end.conducts[*f]
                    && face.has(&facet.point, &facet.normal)
            })
            .map(|(f, _)| f)
            .collect();
        let sum = |value: &dyn Fn(usize) -> f64| -> f64 {
            own.iter()
                .map(|&f| self.grid.facets[f].area_m2 * value(f))
                .sum()
        };
        let area_m2 = sum(&|_| 1.0);
        let current_a = sum(&|f| self.end.solution.current_density_a_per_m2[f]);
        let mean = |amount: f64| (area_m2 > 0.0).then(|| (amount / area_m2).abs());
        FaceOutcome {
            name: face.name.clone(),
            on: whole.name.clone(),
            area_m2,
            current_a,
            current_share: (whole.current_a != 0.0).then(|| current_a / whole.current_a),
            mean_current_density_a_per_m2: mean(current_a),
            mean_thickness_m: self
                .plated
                .then(|| mean(sum(&|f| self.state.thickness_m[f])))
                .flatten(),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{FaceOutcome, Outcome, Settings, run};
    use approx::assert_relative_eq;
    use ionfall_mesh::solid::{Ball, Cuboid, Placement, Point, Solid};
    use ionfall_model::{Face, Geometry, Model, Parts, Tank, Wall};

    fn cuboid<const D: usize>(low: Point<D>, high: Point<D>) -> Solid<D> {
        Solid::new(Cuboid::new(low, high).unwrap())
    }

    fn sides<const D: usize>() -> Vec<Wall> {
        let axes = (0..D).flat_map(|axis| [false, true].map(|high| Wall { axis, high }));
        axes.collect()
    }

    /// All sides of `electrode` are faces of the model.
    fn with_sides<const D: usize>(tank: Tank<D>) -> Tank<D> {
        let sides = sides::<D>().into_iter().enumerate();
        sides.fold(tank, |tank, (n, side)| {
            tank.face(&format!("side {n}"), side)
        })
    }

    fn solved<const D: usize>(tank: &Tank<D>, more: &[Face<D>]) -> Outcome<D>
    where
        Geometry: From<Parts<D>>,
        Parts<D>: TryFrom<Geometry, Error = Geometry>,
    {
        let model = tank.clone().model().unwrap();
        let mut model = Model::<Parts<D>>::try_from(model).unwrap();
        model.geometry.faces.extend_from_slice(more);
        run(&model, &Settings::default(), &mut ()).unwrap()
    }

    fn total(faces: &[FaceOutcome], value: impl Fn(&FaceOutcome) -> f64) -> f64 {
        faces.iter().map(value).sum()
    }

    /// A block in front of an anode: the front gets most, the sides are the block, and two halves of a
    /// side, chosen by boxes, are the side.
    #[test]
    fn sides_of_a_block_are_the_block() {
        let tank = Tank::sized_m([0.12, 0.08, 0.08])
            .unwrap()
            .conductivity_s_per_m(20.0)
            .anode("anode", cuboid([0.11, -0.01, -0.01], [0.13, 0.09, 0.09]))
            .work("block", cuboid([0.03, 0.025, 0.02], [0.05, 0.05, 0.055]))
            .all_cells_m(5e-3, 2.5e-3)
            .voltage_v(1.0)
            .time_s(3600.0);
        let half = |name: &str, y: [f64; 2]| Face {
            name: name.into(),
            on: 1,
            side: Some(Wall {
                axis: 0,
                high: true,
            }),
            region: Some(cuboid([0.0, y[0], 0.0], [0.12, y[1], 0.08])),
            moved: Placement::identity(),
        };
        let halves = [half("near", [0.0, 0.04]), half("far", [0.04, 0.08])];
        let out = solved(&with_sides(tank), &halves);
        let (sides, halves) = out.faces.split_at(6);
        let block = out.body("block").unwrap();
        assert_relative_eq!(
            total(sides, |f| f.current_a),
            block.current_a,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            total(sides, |f| f.area_m2),
            block.area_m2,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            total(sides, |f| f.current_share.unwrap()),
            1.0,
            max_relative = 1e-12
        );
        let metal = |f: &FaceOutcome| f.mean_thickness_m.unwrap() * f.area_m2;
        assert_relative_eq!(
            total(sides, metal),
            block.volume_m3.unwrap(),
            max_relative = 1e-9
        );
        for (side, exact) in sides.iter().zip([
            0.025 * 0.035,
            0.025 * 0.035,
            0.02 * 0.035,
            0.02 * 0.035,
            0.02 * 0.025,
            0.02 * 0.025,
        ]) {
            assert_relative_eq!(side.area_m2, exact, max_relative = 1e-6);
            assert!(side.on == "block" && side.current_a < 0.0, "{side:?}");
        }
        assert!(sides[1].current_a < 2.0 * sides[0].current_a, "{sides:?}");
        assert_relative_eq!(
            total(halves, |f| f.current_a),
            sides[1].current_a,
            max_relative = 1e-12
        );
        assert!(halves[1].area_m2 > 0.0 && halves[0].area_m2 > halves[1].area_m2);
    }

    /// Between concentric cylinders each quarter has a quarter of `2 pi kappa V depth / ln(R/r)`. What looks to a side
    /// of the tank is a quarter to within the facet on the border.
    #[test]
    fn quarters_of_a_rod_have_a_quarter_each() {
        let (inner, outer): (f64, f64) = (0.01, 0.04);
        let ball = |radius| Solid::new(Ball::<2>::new([0.0, 0.0], radius).unwrap());
        let ring = Solid::Difference(
            Box::new(cuboid([-0.06, -0.06], [0.06, 0.06])),
            vec![ball(outer)],
        );
        let tank = Tank::planar(cuboid([-0.05, -0.05], [0.05, 0.05]), 0.1)
            .conductivity_s_per_m(20.0)
            .anode("ring", ring)
            .work("rod", ball(inner))
            .all_cells_m(5e-4, 5e-4)
            .voltage_v(1.0);
        let elsewhere = Face {
            name: "nowhere".into(),
            on: 1,
            side: None,
            region: Some(cuboid([0.03, 0.03], [0.04, 0.04])),
            moved: Placement::identity(),
        };
        let out = solved(&with_sides(tank), &[elsewhere]);
        let exact = 2.0 * std::f64::consts::PI * 20.0 * 0.1 / (outer / inner).ln();
        let (sides, nowhere) = out.faces.split_at(4);
        for side in sides {
            assert_relative_eq!(-side.current_a, 0.25 * exact, max_relative = 0.03);
            assert!(side.mean_thickness_m.is_none());
        }
        let whole = out.body("rod").unwrap().current_a;
        assert_relative_eq!(total(sides, |f| f.current_a), whole, max_relative = 1e-12);
        assert_eq!(nowhere[0].area_m2, 0.0);
        assert_eq!(nowhere[0].mean_current_density_a_per_m2, None);
    }
}
