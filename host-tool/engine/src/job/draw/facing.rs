//! Turns a section so that its legs, flanges or wide face point where the file says.

use crate::job::model::{Point, SeenFrom};
use crate::job::read::facing::{Facing, Pointing};
use crate::reading::Reader;
use crate::section::Section;

/// A direction is across a member when this cosine is not exceeded: a splayed leg is not quite plumb.
const ACROSS: f64 = 0.6;

/// The member whose section is turned.
pub(super) struct Around {
    /// Along the member, length one.
    pub along: Point,
    /// What "in" means for the first word and for the second; none for a member that is in no ring.
    pub inward: [Option<Point>; 2],
    pub seen_from: SeenFrom,
}

/// What a word is wrong for, and the hint; with the index of the word.
type Fault = (usize, String, &'static str);

impl Around {
    fn direction(&self, word: &str, place: usize) -> Option<Point> {
        match word {
            "in" => self.inward[place],
            "out" => self.inward[place].map(|inward| -inward),
            word => self.seen_from.direction(word),
        }
    }

    /// The direction of a word, square to the member.
    fn across(&self, word: &str, place: usize) -> Result<Point, Fault> {
        let Some(direction) = self.direction(word, place) else {
            let what = format!("'{word}' says nothing of a member that is in no ring of members");
            return Err((place, what, "write up, down, left, right, front or back"));
        };
        let slope = direction.dot(self.along);
        let square = (direction - self.along * slope).unit();
        square.filter(|_| slope.abs() < ACROSS).ok_or_else(|| {
            let what = format!("this member runs {word}: nothing of its section can point there");
            (place, what, "write a direction across the member")
        })
    }

    /// The section, and the direction of its depth.
    pub(super) fn turn(
        &self,
        section: &Section,
        facing: &Facing,
    ) -> Result<(Section, Point), Fault> {
        let size = section.properties();
        let words: Vec<&str> = facing.words.iter().map(|word| *word.get_ref()).collect();
        let first = self.across(words[0], 0)?;
        match facing.pointing {
            Pointing::WideFace if size.depth_mm >= size.width_mm => {
                Ok((section.clone(), first.cross(self.along)))
            }
            Pointing::WideFace => Ok((section.clone(), first)),
            // Flanges point along local y, which is depth × along.
            Pointing::Flanges => Ok((section.clone(), self.along.cross(first))),
            Pointing::Legs => {
                let second = self.across(words[1], 1)?;
                if first.dot(second).abs() > ACROSS {
                    let what = "the two legs of an angle point square to each other".to_owned();
                    return Err((1, what, "as in legs_point = [\"in\", \"down\"]"));
                }
                // One leg points along local z, the depth, and the other along local y, which is depth × along.
                let first_is_depth = first.cross(self.along).dot(second) > 0.0;
                let depth = if first_is_depth { first } else { second };
                // The leg in depth is the longer one only if it is named first.
                let swap = (size.depth_mm >= size.width_mm) != first_is_depth;
                let section = if swap {
                    section.with_legs_swapped()
                } else {
                    section.clone()
                };
                Ok((section, depth))
            }
        }
    }

    /// As [`Around::turn`]; a fault is noted where the file has the word.
    pub(super) fn turned(
        &self,
        section: &Section,
        facing: &Facing,
        reader: &Reader<'_>,
    ) -> Option<(Section, Point)> {
        match self.turn(section, facing) {
            Ok(turned) => Some(turned),
            Err((word, what, hint)) => {
                reader.error(&facing.words[word].span(), what, hint);
                None
            }
        }
    }
}
