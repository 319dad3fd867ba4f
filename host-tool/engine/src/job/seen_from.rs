//! Where the drawing is seen from, and what its directions are therefore called on the object as it stands.
//!
//! ```
//! use coldsquare_engine::job::model::Point;
//! use coldsquare_engine::job::seen_from::SeenFrom;
//!
//! let towards_you = Point::new(0.0, 0.0, 1.0);
//! assert_eq!(SeenFrom::Front.side(towards_you), "front");
//! assert_eq!(SeenFrom::Above.side(towards_you), "top");
//! ```

use super::model::Point;

/// The side of the standing object that the drawing looks at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SeenFrom {
    /// Its front: y is up, z comes towards you. A gate, a shelf, a bracket.
    #[default]
    Front,
    /// Its top: z is up, y goes to the back. A box, a table, a tray.
    Above,
}

impl SeenFrom {
    /// The words of the job file.
    pub const WORDS: [(&'static str, Self); 2] = [("front", Self::Front), ("above", Self::Above)];

    /// A direction of the drawing on the object as it stands: x to the right, y up, z to the front.
    #[must_use]
    pub fn as_it_stands(self, direction: Point) -> Point {
        match self {
            Self::Front => direction,
            Self::Above => Point::new(direction.x, direction.z, -direction.y),
        }
    }

    /// The direction of the drawing that a word names: up, down, left, right, front, back; also top and bottom.
    #[must_use]
    pub fn direction(self, word: &str) -> Option<Point> {
        let [x, y, z] = match word {
            "right" => [1.0, 0.0, 0.0],
            "left" => [-1.0, 0.0, 0.0],
            "up" | "upwards" | "top" => [0.0, 1.0, 0.0],
            "down" | "downwards" | "bottom" => [0.0, -1.0, 0.0],
            "front" => [0.0, 0.0, 1.0],
            "back" => [0.0, 0.0, -1.0],
            _ => return None,
        };
        Some(match self {
            Self::Front => Point::new(x, y, z),
            Self::Above => Point::new(x, -z, y),
        })
    }

    /// The name of the side that looks in a direction: front, back, left, right, top or bottom.
    #[must_use]
    pub fn side(self, direction: Point) -> &'static str {
        let Point { x, y, z } = self.as_it_stands(direction);
        match (x.abs(), y.abs(), z.abs()) {
            (ax, ay, az) if az >= ax && az >= ay => ["back", "front"][usize::from(z > 0.0)],
            (ax, ay, _) if ax >= ay => ["left", "right"][usize::from(x > 0.0)],
            _ => ["bottom", "top"][usize::from(y > 0.0)],
        }
    }

    /// Where a direction points: "upwards", "to the left", "towards the front".
    #[must_use]
    pub fn towards(self, direction: Point) -> &'static str {
        let Point { x, y, z } = self.as_it_stands(direction);
        let sizes = [x.abs(), y.abs(), z.abs()];
        if sizes[2] >= sizes[0] && sizes[2] >= sizes[1] {
            ["towards the back", "towards the front"][usize::from(z >= 0.0)]
        } else if sizes[1] >= sizes[0] {
            ["downwards", "upwards"][usize::from(y >= 0.0)]
        } else {
            ["to the left", "to the right"][usize::from(x >= 0.0)]
        }
    }

    /// A direction or its opposite: towards the front, up or to the right, so that its sign can be seen on the object.
    #[must_use]
    pub fn with_sign(self, direction: Point) -> Point {
        let Point { x, y, z } = self.as_it_stands(direction);
        if x + y * 1.1 + z * 1.2 < 0.0 {
            -direction
        } else {
            direction
        }
    }

    /// The name of the face of the drawing that looks at you, and that of the other.
    #[must_use]
    pub const fn faces(self) -> [&'static str; 2] {
        match self {
            Self::Front => ["front", "back"],
            Self::Above => ["top", "bottom"],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_side_is_in_the_direction_of_its_word() {
        for (_, seen_from) in SeenFrom::WORDS {
            for word in ["front", "back", "left", "right", "top", "bottom"] {
                let direction = seen_from.direction(word).expect("a side");
                assert_eq!(seen_from.side(direction), word);
                assert_ne!(seen_from.side(-direction), word);
            }
        }
    }

    #[test]
    fn a_box_seen_from_above_has_its_front_at_the_lower_edge_and_its_top_towards_you() {
        let above = SeenFrom::Above;
        assert_eq!(
            above.towards(Point::new(0.0, -1.0, 0.0)),
            "towards the front"
        );
        assert_eq!(above.towards(Point::new(0.0, 0.0, 1.0)), "upwards");
        assert_eq!(above.towards(Point::new(-1.0, 0.0, 0.0)), "to the left");
    }
}
