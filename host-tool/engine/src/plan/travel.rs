//! Which way the torch travels, as the welder sees the face that is up.

use super::model::{Face, Plan, StepKind};

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

/// The face that is up in each step of a plan: the front until the first flip. In the step that flips the frame it is
/// the face that is up afterwards.
#[must_use]
pub fn faces_up(plan: &Plan) -> Vec<Face> {
    let mut up = Face::Front;
    let faces = plan.steps.iter().map(|step| {
        if let StepKind::Flip { up: now } = step.what {
            up = now;
        }
        up
    });
    faces.collect()
}

/// The direction of travel from one point to another. The frame is flipped about its upright axis: with the back up
/// its left is on the welder's right, and up stays up.
#[must_use]
pub fn travel(from: &[f64; 3], to: &[f64; 3], up: Face) -> Travel {
    let [x, y, z]: [f64; 3] = std::array::from_fn(|k| to[k] - from[k]);
    let greatest = x.abs().max(y.abs()).max(z.abs());
    let nearly = |part: f64| part.abs() > 0.9 * greatest;
    let rightwards = match up {
        Face::Front => x > 0.0,
        Face::Back => x < 0.0,
    };
    match (nearly(z), nearly(x), nearly(y)) {
        (true, ..) if z > 0.0 => direction("towards the front", "to front"),
        (true, ..) => direction("towards the back", "to back"),
        (_, true, true) => match (y > 0.0, rightwards) {
            (true, true) => direction("up to the right", "↗"),
            (true, false) => direction("up to the left", "↖"),
            (false, true) => direction("down to the right", "↘"),
            (false, false) => direction("down to the left", "↙"),
        },
        (_, true, _) if rightwards => direction("to the right", "→"),
        (_, true, _) => direction("to the left", "←"),
        _ if y > 0.0 => direction("upwards", "↑"),
        _ => direction("downwards", "↓"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
            assert_eq!(travel(&START, &to, Face::Front).text, front);
            assert_eq!(travel(&START, &to, Face::Back).text, back);
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
            assert_eq!(travel(&START, &to, Face::Back).arrow, arrow);
        }
    }
}
