//! The bow of a member as it is written: `top rail up = 4 mm`.

use super::length::lengths;
use super::model::{Between, Reading};
use super::written::{Common, USUAL, sides};
use crate::geometry::Point;
use crate::job::model::SeenFrom;
use crate::movement::measures::{Measure, MeasureKind};

impl Common<'_> {
    /// A bow: `top rail up = 4 mm`, with three values for a quarter, half and three quarters of the length.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn bow(&self, text: &str) -> Result<Reading, String> {
        let (place, written) = sides(text)?;
        let (values, unit) = lengths(written, self.unit)?;
        if !matches!(values.len(), 1 | 3) {
            return Err(format!(
                "a bow has one value, or three (at a quarter, half and three quarters); '{}' has {}; write a decimal \
                 point, not a comma",
                written.trim(),
                values.len()
            ));
        }
        let (measure, sign) = self.bow_named(&place)?;
        let values = values.into_iter().map(|value| sign * value).collect();
        Ok(self.reading(
            &measure.name,
            values,
            unit,
            (USUAL.rule_mm, Between::Outside),
            written,
        ))
    }

    /// The bow that is meant by a member and a side, and its sign.
    fn bow_named(&self, place: &str) -> Result<(&Measure, f64), String> {
        let (index, side) = self.member_named(place)?;
        let member = &self.job.members[index];
        let bows: Vec<&Measure> = self
            .measures
            .iter()
            .filter(|m| m.kind == MeasureKind::Bow && m.member == Some(index))
            .collect();
        if bows.is_empty() {
            return Err(format!(
                "{} is too short for its section to bow measurably",
                member.name
            ));
        }
        let wanted = self.side(side, (member.from + member.to) * 0.5);
        let found = wanted.and_then(|wanted| {
            bows.iter()
                .map(|&bow| (bow, bow.terms[0].direction.dot(wanted)))
                .find(|(_, along)| along.abs() > 0.7)
        });
        found
            .map(|(bow, along)| (bow, along.signum()))
            .ok_or_else(|| {
                let problem = match side {
                    "" => format!("say to which side {} bows", member.name),
                    side => format!("{} cannot bow '{side}'", member.name),
                };
                format!(
                    "{problem}: {} (or in, out)",
                    sides_of(self.job.seen_from, &bows)
                )
            })
    }

    /// The member that a text begins with, by index, and the side after it.
    fn member_named<'t>(&self, place: &'t str) -> Result<(usize, &'t str), String> {
        let place = place.strip_prefix("bow of ").unwrap_or(place);
        let named = |name: &str| {
            let rest = place.strip_prefix(&name.to_lowercase())?;
            (rest.is_empty() || rest.starts_with([' ', ','])).then_some(rest)
        };
        let members = self.job.members.iter().enumerate();
        let found = members
            .filter_map(|(index, member)| Some((index, member, named(&member.name)?)))
            .max_by_key(|(_, member, _)| member.name.len());
        match found {
            Some((index, _, side)) => Ok((index, side.trim_start_matches([' ', ',']).trim())),
            None => {
                let names: Vec<&str> = self.job.members.iter().map(|m| m.name.as_str()).collect();
                Err(format!(
                    "'{place}' does not begin with the name of a member; members are: {}",
                    names.join(", ")
                ))
            }
        }
    }

    /// The direction of a side; in and out are in the plane of the frame, as seen from its middle.
    fn side(&self, word: &str, at: Point) -> Option<Point> {
        let (x, y) = (Point::new(1.0, 0.0, 0.0), Point::new(0.0, 1.0, 0.0));
        let out = || {
            let count = self.job.members.len() as f64;
            let sum = self.job.members.iter().fold(Point::default(), |sum, m| {
                sum + (m.from + m.to) * (0.5 / count)
            });
            let outwards = at - sum;
            let larger = if outwards.x.abs() * 0.75 > outwards.y.abs() {
                x * outwards.x
            } else {
                y * outwards.y
            };
            (outwards.x.hypot(outwards.y) > 1.0)
                .then(|| larger.unit())
                .flatten()
        };
        match word
            .trim_start_matches("to the ")
            .trim_start_matches("towards the ")
        {
            "out" | "outwards" => out(),
            "in" | "inwards" => out().map(|direction| -direction),
            word => self.job.seen_from.direction(word),
        }
    }
}

/// The sides that a member can bow to, as a list.
fn sides_of(seen_from: SeenFrom, bows: &[&Measure]) -> String {
    let sides = bows.iter().flat_map(|bow| {
        let direction = bow.terms[0].direction;
        [direction, -direction].map(|d| short(seen_from.towards(d)))
    });
    sides.collect::<Vec<_>>().join(", ")
}

/// "up" of "upwards", "front" of "towards the front".
fn short(direction: &str) -> &str {
    let last = direction.rsplit(' ').next().unwrap_or(direction);
    last.trim_end_matches("wards")
}
