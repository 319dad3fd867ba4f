//! Which way the section of a member is turned, in words of the object as it stands.

use super::model::{Member, Point, SeenFrom};
use crate::section::Shape;

/// "legs to the back and downwards", "flanges upwards", "wide face front and back"; `None` where it makes no difference.
#[must_use]
pub fn which_way(member: &Member, seen_from: SeenFrom) -> Option<String> {
    let along = (member.to - member.from).unit()?;
    let depth = member.depth_axis;
    let across = depth.cross(along);
    let wide = |depth_mm: f64, width_mm: f64| {
        let out = if depth_mm >= width_mm { across } else { depth };
        ((depth_mm - width_mm).abs() > 0.01).then(|| wide_face(out, seen_from))
    };
    match *member.section.shape() {
        _ if member.plate.is_some() => None,
        Shape::Angle {
            depth_mm, width_mm, ..
        } => {
            let [long, short] = if depth_mm >= width_mm {
                [depth, across]
            } else {
                [across, depth]
            };
            let [long, short] = [long, short].map(|leg| seen_from.towards(leg));
            Some(format!("legs {long} and {short}"))
        }
        Shape::Channel { .. } => Some(format!("flanges {}", seen_from.towards(across))),
        Shape::Box {
            depth_mm, width_mm, ..
        }
        | Shape::Bar { depth_mm, width_mm } => wide(depth_mm, width_mm),
        Shape::Tube { .. } | Shape::Round { .. } => None,
    }
}

fn wide_face(out: Point, seen_from: SeenFrom) -> String {
    let sides = [seen_from.side(out), seen_from.side(-out)];
    let [a, b] = match sides {
        ["back", "front"] | ["right", "left"] | ["bottom", "top"] => [sides[1], sides[0]],
        _ => sides,
    };
    format!("wide faces {a} and {b}")
}
