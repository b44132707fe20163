//! Hollow skins: a body without its inner offset.

use super::error::SolidError;
use super::error::positive;
use super::shape::Solid;

impl<const D: usize> Solid<D> {
    /// All points at least `wall_m` deep inside. The inner offset of an intersection is the
    /// intersection of the inner offsets.
    ///
    /// # Errors
    /// [`SolidError::NoInset`] where no exact offset exists (see there for the way out),
    /// [`SolidError::WallTooThick`] if nothing is left, [`SolidError::NotPositive`].
    pub fn inset(&self, wall_m: f64) -> Result<Self, SolidError> {
        positive("the wall", wall_m)?;
        match self {
            Self::Primitive(p) => p.inset(wall_m),
            Self::Intersection(parts) => Ok(Self::Intersection(
                parts
                    .iter()
                    .map(|s| s.inset(wall_m))
                    .collect::<Result<_, _>>()?,
            )),
            Self::Union(_) | Self::Difference(..) => Err(SolidError::NoInset),
        }
    }

    /// The body hollowed out, leaving a wall of `wall_m` inwards from its surface.
    ///
    /// # Errors
    /// As [`Self::inset`].
    pub fn shell(&self, wall_m: f64) -> Result<Self, SolidError> {
        let hollow = self.inset(wall_m)?;
        Ok(Self::Difference(Box::new(self.clone()), vec![hollow]))
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Ball, Cuboid, HalfSpace};
    use super::*;

    #[test]
    fn a_shell_is_solid_only_in_its_wall() {
        let ball = Solid::new(Ball::new([0.0; 3], 1.0).unwrap());
        let shell = ball.shell(0.1).unwrap();
        for (r, inside) in [
            (0.0, false),
            (0.89, false),
            (0.91, true),
            (0.99, true),
            (1.01, false),
        ] {
            assert_eq!(shell.contains(&[0.0, r, 0.0]), inside, "{r}");
        }
        assert!((shell.signed_distance(&[0.0, 0.0, 0.95]) + 0.05).abs() < 1e-12);
    }

    #[test]
    fn half_a_ball_is_hollowed_under_its_flat_side_too() {
        let half = Solid::Intersection(vec![
            Solid::new(Ball::new([0.0; 3], 1.0).unwrap()),
            Solid::new(HalfSpace::new([0.0; 3], [0.0, 0.0, 1.0]).unwrap()),
        ]);
        let shell = half.shell(0.1).unwrap();
        assert!(shell.contains(&[0.0, 0.0, -0.05]));
        assert!(!shell.contains(&[0.0, 0.0, -0.15]));
        assert!(shell.contains(&[0.0, 0.0, -0.95]));
    }

    #[test]
    fn unions_and_bad_walls_are_refused() {
        let b = Solid::new(Cuboid::sized([1.0; 3]).unwrap());
        let two = Solid::Union(vec![b.clone(), b.clone()]);
        assert!(matches!(two.shell(0.1), Err(SolidError::NoInset)));
        assert!(matches!(b.shell(0.0), Err(SolidError::NotPositive { .. })));
        assert!(matches!(b.shell(0.5), Err(SolidError::WallTooThick { .. })));
    }
}
