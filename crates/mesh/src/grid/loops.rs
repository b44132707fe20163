//! The open part of a rectangle that is crossed by walls.
//!
//! A cell face (3-D), or a whole cell (2-D), is a rectangle `[0, a] x [0, b]` crossed by directed
//! wall segments that have the electrolyte on their left. Walking counter-clockwise along the rim,
//! open stretches alternate with closed ones at the points where walls meet the rim. From the end
//! of an open stretch the outline of the electrolyte follows the wall inward until it comes back to
//! the rim, goes on along the next open stretch, and so on until it closes: one *loop* for each
//! separate piece of electrolyte. The area of a loop is the contour integral of `u dv`.

/// A wall segment with the electrolyte on its left; `true` marks an end that lies on the rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Start.
    pub from: [f64; 2],
    /// End.
    pub to: [f64; 2],
    /// Which ends lie on the rim.
    pub rim: [bool; 2],
}

impl Segment {
    /// Integrals of `u dv`, `u^2 dv / 2` and `-v^2 du / 2` along the segment.
    pub fn contour(&self) -> [f64; 3] {
        let ([u0, v0], [u1, v1]) = (self.from, self.to);
        [
            0.5 * (u0 + u1) * (v1 - v0),
            (u0 * u0 + u0 * u1 + u1 * u1) * (v1 - v0) / 6.0,
            -(v0 * v0 + v0 * v1 + v1 * v1) * (u1 - u0) / 6.0,
        ]
    }

    /// The same wall seen from its other side.
    pub fn reversed(&self) -> Self {
        Self {
            from: self.to,
            to: self.from,
            rim: [self.rim[1], self.rim[0]],
        }
    }
}

/// One separate piece of electrolyte in the rectangle.
#[derive(Clone, Debug, PartialEq)]
pub struct Loop {
    /// Outline, counter-clockwise.
    pub outline: Vec<[f64; 2]>,
    /// Area.
    pub area: f64,
}

/// The rectangle could not be read: the walls do not join.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tangled;

/// Where a wall meets the rim.
#[derive(Clone, Copy, Debug)]
struct Meeting {
    /// Position along the rim, counter-clockwise from the corner (0, 0).
    s: f64,
    at: [f64; 2],
    /// Number of the segment that leaves the rim here (the open stretch before ends) or comes
    /// back to it (an open stretch begins).
    leaves: bool,
    segment: usize,
}

/// Separate pieces of electrolyte. `all_open` tells what an uncrossed rim is.
pub fn loops(size: [f64; 2], segments: &[Segment], all_open: bool) -> Result<Vec<Loop>, Tangled> {
    let [a, b] = size;
    let mut meetings = Vec::new();
    for (segment, s) in segments.iter().enumerate() {
        for (end, at) in [(0, s.from), (1, s.to)] {
            if s.rim[end] {
                meetings.push(Meeting {
                    s: rim_position(size, at),
                    at,
                    leaves: end == 0,
                    segment,
                });
            }
        }
    }
    // At one place (a sheet) the stretch before ends first, then the next begins.
    meetings.sort_by(|x, y| x.s.total_cmp(&y.s).then(y.leaves.cmp(&x.leaves)));
    let mut used = vec![false; segments.len()];
    let mut out: Vec<Loop> = Vec::new();
    if meetings.is_empty() {
        if all_open {
            let outline = vec![[0.0, 0.0], [a, 0.0], [a, b], [0.0, b]];
            out.push(Loop {
                outline,
                area: a * b,
            });
        }
    } else {
        let mut begun = vec![false; meetings.len()];
        for start in 0..meetings.len() {
            if meetings[start].leaves || begun[start] {
                continue;
            }
            let mut outline = Vec::new();
            let mut at = start;
            loop {
                if begun[at] {
                    return Err(Tangled);
                }
                begun[at] = true;
                let next = (at + 1) % meetings.len();
                if !meetings[next].leaves {
                    return Err(Tangled);
                }
                walk_rim(size, &meetings[at], &meetings[next], &mut outline);
                let last = follow(
                    segments,
                    meetings[next].segment,
                    &mut used,
                    &mut outline,
                    size,
                )?;
                at = meetings
                    .iter()
                    .position(|m| !m.leaves && m.segment == last)
                    .ok_or(Tangled)?;
                if at == start {
                    break;
                }
            }
            let area = area_of(&outline);
            out.push(Loop { outline, area });
        }
    }
    islands(segments, &mut used, &mut out, size)?;
    Ok(out)
}

/// Closed chains that do not touch the rim: holes of the only loop, or openings of their own.
fn islands(
    segments: &[Segment],
    used: &mut [bool],
    out: &mut Vec<Loop>,
    size: [f64; 2],
) -> Result<(), Tangled> {
    for start in 0..segments.len() {
        if used[start] {
            continue;
        }
        let mut outline = Vec::new();
        follow(segments, start, used, &mut outline, size)?;
        let area = area_of(&outline);
        if area > 0.0 {
            out.push(Loop { outline, area });
        } else if let Some(around) = out.iter_mut().find(|l| holds(&l.outline, outline[0])) {
            around.area += area;
        }
    }
    Ok(())
}

/// Follows a wall from segment to segment; returns the last one.
fn follow(
    segments: &[Segment],
    start: usize,
    used: &mut [bool],
    outline: &mut Vec<[f64; 2]>,
    size: [f64; 2],
) -> Result<usize, Tangled> {
    let near = 0.05 * size[0].max(size[1]);
    let mut at = start;
    loop {
        if used[at] {
            return Err(Tangled);
        }
        used[at] = true;
        outline.push(segments[at].from);
        let end = segments[at].to;
        if segments[at].rim[1] {
            outline.push(end);
            return Ok(at);
        }
        let closing = distance(end, segments[start].from);
        if !segments[start].rim[0]
            && closing <= near
            && [false, true]
                .iter()
                .all(|&r| nearest_start(segments, used, r, end) >= closing)
        {
            return Ok(at);
        }
        at = next_segment(segments, used, at, near).ok_or(Tangled)?;
    }
}

/// Distance from a point to the nearest start of an unused segment, of those inside or on the rim.
fn nearest_start(segments: &[Segment], used: &[bool], on_rim: bool, end: [f64; 2]) -> f64 {
    (0..segments.len())
        .filter(|&k| !used[k] && segments[k].rim[0] == on_rim)
        .map(|k| distance(end, segments[k].from))
        .fold(f64::INFINITY, f64::min)
}

/// The segment the outline goes on with: of those that start here, the one that turns most to the
/// left, where the electrolyte is; turning back along the other side of a sheet comes last. A segment
/// that starts on the rim is met only where none inside is near.
fn next_segment(segments: &[Segment], used: &[bool], at: usize, near: f64) -> Option<usize> {
    let end = segments[at].to;
    let (on_rim, nearest) = [false, true]
        .map(|on_rim| (on_rim, nearest_start(segments, used, on_rim, end)))
        .into_iter()
        .find(|(_, nearest)| *nearest <= near)?;
    let direction = |s: &Segment| (s.to[1] - s.from[1]).atan2(s.to[0] - s.from[0]);
    let turn = |k: usize| {
        let turn =
            (direction(&segments[k]) - direction(&segments[at])).rem_euclid(std::f64::consts::TAU);
        let turn = if turn > std::f64::consts::PI {
            turn - std::f64::consts::TAU
        } else {
            turn
        };
        if turn > std::f64::consts::PI - 1e-6 {
            -std::f64::consts::PI
        } else {
            turn
        }
    };
    (0..segments.len())
        .filter(|&k| !used[k] && segments[k].rim[0] == on_rim)
        .filter(|&k| distance(end, segments[k].from) <= nearest + 0.02 * near)
        .max_by(|&a, &b| turn(a).total_cmp(&turn(b)))
}

/// Walks along the rim to the next meeting; back to the same place it is a whole turn (the rim of
/// a sheet's end).
fn walk_rim(size: [f64; 2], from: &Meeting, to: &Meeting, outline: &mut Vec<[f64; 2]>) {
    let [a, b] = size;
    let around = 2.0 * (a + b);
    let corners = [
        (0.0, [0.0, 0.0]),
        (a, [a, 0.0]),
        (a + b, [a, b]),
        (2.0 * a + b, [0.0, b]),
    ];
    outline.push(from.at);
    let end = if to.s > from.s { to.s } else { to.s + around };
    for turn in 0..2 {
        for (s, at) in corners {
            let s = s + f64::from(turn) * around;
            if from.s < s && s < end {
                outline.push(at);
            }
        }
    }
    outline.push(to.at);
}

/// Position along the rim of the nearest rim point.
fn rim_position(size: [f64; 2], at: [f64; 2]) -> f64 {
    let [a, b] = size;
    let [u, v] = at;
    let sides = [
        (v, u),
        (a - u, a + v),
        (b - v, a + b + (a - u)),
        (u, 2.0 * a + b + (b - v)),
    ];
    let nearest = sides.iter().min_by(|x, y| x.0.abs().total_cmp(&y.0.abs()));
    nearest.map_or(0.0, |s| s.1)
}

fn distance(p: [f64; 2], q: [f64; 2]) -> f64 {
    (p[0] - q[0]).hypot(p[1] - q[1])
}

fn area_of(outline: &[[f64; 2]]) -> f64 {
    let n = outline.len();
    (0..n)
        .map(|k| {
            let (p, q) = (outline[k], outline[(k + 1) % n]);
            0.5 * (p[0] * q[1] - p[1] * q[0])
        })
        .sum()
}

/// Is the point inside the outline?
pub fn holds(outline: &[[f64; 2]], at: [f64; 2]) -> bool {
    let n = outline.len();
    let mut inside = false;
    for k in 0..n {
        let (p, q) = (outline[k], outline[(k + 1) % n]);
        if (p[1] > at[1]) != (q[1] > at[1])
            && at[0] < p[0] + (at[1] - p[1]) / (q[1] - p[1]) * (q[0] - p[0])
        {
            inside = !inside;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn wall(from: [f64; 2], to: [f64; 2]) -> Segment {
        let on = |p: [f64; 2]| p.iter().any(|&x| x == 0.0 || x == 1.0);
        Segment {
            from,
            to,
            rim: [on(from), on(to)],
        }
    }

    fn areas(segments: &[Segment], all_open: bool) -> Vec<f64> {
        let mut a: Vec<f64> = loops([1.0, 1.0], segments, all_open)
            .unwrap()
            .iter()
            .map(|l| l.area)
            .collect();
        a.sort_by(f64::total_cmp);
        a
    }

    #[test]
    fn one_wall_leaves_one_loop() {
        // electrolyte to the left of an upward wall at u = 0.3
        assert_relative_eq!(areas(&[wall([0.3, 0.0], [0.3, 1.0])], false)[0], 0.3);
        assert_relative_eq!(areas(&[wall([0.3, 1.0], [0.3, 0.0])], false)[0], 0.7);
    }

    #[test]
    fn a_plate_thinner_than_the_cell_leaves_two() {
        let a = areas(
            &[wall([0.3, 0.0], [0.3, 1.0]), wall([0.4, 1.0], [0.4, 0.0])],
            false,
        );
        assert_eq!(a.len(), 2);
        assert_relative_eq!(a[0], 0.3, max_relative = 1e-12);
        assert_relative_eq!(a[1], 0.6, max_relative = 1e-12);
    }

    #[test]
    fn a_sheet_splits_and_a_sheet_end_does_not() {
        let s = wall([0.5, 0.0], [0.5, 1.0]);
        assert_eq!(areas(&[s, s.reversed()], true), [0.5, 0.5]);
        let tip = wall([0.5, 0.0], [0.5, 0.6]);
        let a = areas(&[tip, tip.reversed()], true);
        assert_eq!(a.len(), 1);
        assert_relative_eq!(a[0], 1.0, max_relative = 1e-12);
    }

    #[test]
    fn a_sheet_that_ends_on_a_wall_splits() {
        // wall along v = 0.8 (electrolyte below), split where the sheet meets it
        let s = wall([0.4, 0.0], [0.4, 0.8]);
        let a = areas(
            &[
                wall([1.0, 0.8], [0.4, 0.8]),
                s.reversed(),
                s,
                wall([0.4, 0.8], [0.0, 0.8]),
            ],
            false,
        );
        assert_eq!(a.len(), 2, "{a:?}");
        assert_relative_eq!(a[0], 0.32, max_relative = 1e-12);
        assert_relative_eq!(a[1], 0.48, max_relative = 1e-12);
    }

    #[test]
    fn a_sheet_that_ends_on_a_wall_near_the_rim_splits() {
        let s = wall([0.16, 1.0], [0.74, 9e-4]);
        let a = areas(
            &[
                wall([0.74, 0.0], [0.74, 9e-4]),
                wall([0.74, 9e-4], [0.74, 1.0]),
                s,
                s.reversed(),
            ],
            false,
        );
        assert_eq!(a.len(), 2, "{a:?}");
        assert_relative_eq!(a[0] + a[1], 0.74, max_relative = 1e-12);
    }

    #[test]
    fn opposite_corners_are_two_pieces() {
        // closed band along a diagonal
        let a = areas(
            &[wall([0.2, 0.0], [0.0, 0.2]), wall([0.8, 1.0], [1.0, 0.8])],
            false,
        );
        assert_eq!(a.len(), 2, "{a:?}");
        assert_relative_eq!(a[0] + a[1], 0.04, max_relative = 1e-12);
    }

    #[test]
    fn an_island_is_a_hole() {
        // clockwise square: electrolyte outside
        let p = [[0.4, 0.4], [0.4, 0.6], [0.6, 0.6], [0.6, 0.4]];
        let s: Vec<Segment> = (0..4).map(|k| wall(p[k], p[(k + 1) % 4])).collect();
        assert_relative_eq!(areas(&s, true)[0], 0.96, max_relative = 1e-12);
    }
}
