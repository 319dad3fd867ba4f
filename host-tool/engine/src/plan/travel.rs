//! Which way the torch travels, as the welder sees the face that is up.

use super::model::{Face, Plan, StepKind};
use crate::job::model::SeenFrom;

/// A direction of travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Travel {
    /// In words ("to the right").
    pub text: &'static str,
    /// For a narrow column ("→"); through the depth of the frame there is no arrow.
    pub arrow: &'static str,
}

const fn direction(text: &'static str, arrow: &'static str) -> Travel {
    Travel { text, arrow }
}

/// The face that is up, and where the drawing is seen from: together they say how the frame lies before the welder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Up {
    /// The face.
    pub face: Face,
    /// Where the drawing is seen from.
    pub seen_from: SeenFrom,
}

/// The face that is up in each step of a plan: the front until the first flip. In the step that flips the frame it is
/// the face that is up afterwards.
#[must_use]
pub fn faces_up(plan: &Plan) -> Vec<Up> {
    let mut face = Face::Front;
    let faces = plan.steps.iter().map(|step| {
        if let StepKind::Flip { up: now } = step.what {
            face = now;
        }
        Up {
            face,
            seen_from: plan.seen_from,
        }
    });
    faces.collect()
}

/// The direction of travel from one point to another. The frame is flipped about its upright axis: with the back up
/// its left is on the welder's right, and up stays up. What is seen from above has its back at the upper edge.
#[must_use]
pub fn travel(from: &[f64; 3], to: &[f64; 3], Up { face, seen_from }: Up) -> Travel {
    let [x, y, z]: [f64; 3] = std::array::from_fn(|k| to[k] - from[k]);
    let greatest = x.abs().max(y.abs()).max(z.abs());
    let nearly = |part: f64| part.abs() > 0.9 * greatest;
    let rightwards = match face {
        Face::Front => x > 0.0,
        Face::Back => x < 0.0,
    };
    let named = |[front, above]: [&'static str; 2], arrow| match seen_from {
        SeenFrom::Front => direction(front, arrow),
        SeenFrom::Above => direction(above, arrow),
    };
    match (nearly(z), nearly(x), nearly(y)) {
        (true, ..) if z > 0.0 => match seen_from {
            SeenFrom::Front => direction("towards the front", "to front"),
            SeenFrom::Above => direction("towards the top", "to top"),
        },
        (true, ..) => match seen_from {
            SeenFrom::Front => direction("towards the back", "to back"),
            SeenFrom::Above => direction("towards the bottom", "to bottom"),
        },
        (_, true, true) => match (y > 0.0, rightwards) {
            (true, true) => named(["up to the right", "back to the right"], "↗"),
            (true, false) => named(["up to the left", "back to the left"], "↖"),
            (false, true) => named(["down to the right", "front to the right"], "↘"),
            (false, false) => named(["down to the left", "front to the left"], "↙"),
        },
        (_, true, _) if rightwards => direction("to the right", "→"),
        (_, true, _) => direction("to the left", "←"),
        _ if y > 0.0 => named(["upwards", "towards the back"], "↑"),
        _ => named(["downwards", "towards the front"], "↓"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn up(face: Face, seen_from: SeenFrom) -> Up {
        Up { face, seen_from }
    }

    const START: [f64; 3] = [100.0, 100.0, 10.0];

    #[test]
    fn left_and_right_change_places_when_the_back_is_up_and_nothing_else_does() {
        for (to, front, back) in [
            ([140.0, 100.0, 10.0], "to the right", "to the left"),
            ([60.0, 100.0, 10.0], "to the left", "to the right"),
            ([140.0, 139.0, 10.0], "up to the right", "up to the left"),
            ([61.0, 60.0, 10.0], "down to the left", "down to the right"),
            ([100.0, 140.0, 10.0], "upwards", "upwards"),
            ([100.0, 60.0, 10.0], "downwards", "downwards"),
            (
                [100.0, 100.0, 40.0],
                "towards the front",
                "towards the front",
            ),
        ] {
            assert_eq!(
                travel(&START, &to, up(Face::Front, SeenFrom::Front)).text,
                front
            );
            assert_eq!(
                travel(&START, &to, up(Face::Back, SeenFrom::Front)).text,
                back
            );
        }
    }

    #[test]
    fn what_is_seen_from_above_has_its_back_at_the_upper_edge() {
        for (to, words) in [
            ([100.0, 140.0, 10.0], "towards the back"),
            ([100.0, 60.0, 10.0], "towards the front"),
            ([100.0, 100.0, 40.0], "towards the top"),
            ([140.0, 100.0, 10.0], "to the right"),
        ] {
            assert_eq!(
                travel(&START, &to, up(Face::Front, SeenFrom::Above)).text,
                words
            );
        }
    }

    #[test]
    fn signs_point_where_the_words_say() {
        for (to, arrow) in [
            ([140.0, 100.0, 10.0], "←"),
            ([60.0, 140.0, 10.0], "↗"),
            ([140.0, 60.0, 10.0], "↙"),
            ([100.0, 60.0, 10.0], "↓"),
        ] {
            assert_eq!(
                travel(&START, &to, up(Face::Back, SeenFrom::Front)).arrow,
                arrow
            );
        }
    }
}
