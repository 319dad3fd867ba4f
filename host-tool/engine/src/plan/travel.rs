//! Which way the torch goes, as the welder sees it who stands before the face that is up.

use super::model::{Face, Plan, StepKind};

/// A direction of travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// In words ("to the right").
    pub words: &'static str,
    /// For a narrow column ("→"); what goes through the depth of the frame has no arrow.
    pub sign: &'static str,
}

const fn told(words: &'static str, sign: &'static str) -> Way {
    Way { words, sign }
}

/// The face that is up in each step of a plan: the front at first, then what the turns make of it. In the step that
/// turns the frame over it is the face that is up afterwards.
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

/// The way from one point to another. The frame is turned over about its upright axis, so that with the back up its
/// left is on the welder's right, and up stays up.
#[must_use]
pub fn way(from: &[f64; 3], to: &[f64; 3], up: Face) -> Way {
    let [x, y, z]: [f64; 3] = std::array::from_fn(|k| to[k] - from[k]);
    let greatest = x.abs().max(y.abs()).max(z.abs());
    let nearly = |part: f64| part.abs() > 0.9 * greatest;
    let rightwards = match up {
        Face::Front => x > 0.0,
        Face::Back => x < 0.0,
    };
    match (nearly(z), nearly(x), nearly(y)) {
        (true, ..) if z > 0.0 => told("towards the front", "to front"),
        (true, ..) => told("towards the back", "to back"),
        (_, true, true) => match (y > 0.0, rightwards) {
            (true, true) => told("up to the right", "↗"),
            (true, false) => told("up to the left", "↖"),
            (false, true) => told("down to the right", "↘"),
            (false, false) => told("down to the left", "↙"),
        },
        (_, true, _) if rightwards => told("to the right", "→"),
        (_, true, _) => told("to the left", "←"),
        _ if y > 0.0 => told("upwards", "↑"),
        _ => told("downwards", "↓"),
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
            assert_eq!(way(&START, &to, Face::Front).words, front);
            assert_eq!(way(&START, &to, Face::Back).words, back);
        }
    }

    #[test]
    fn signs_point_where_the_words_say() {
        for (to, sign) in [
            ([140.0, 100.0, 10.0], "←"),
            ([60.0, 140.0, 10.0], "↗"),
            ([140.0, 60.0, 10.0], "↙"),
            ([100.0, 60.0, 10.0], "↓"),
        ] {
            assert_eq!(way(&START, &to, Face::Back).sign, sign);
        }
    }
}
