//! Readings as a maker writes them: `top rail up = 4 mm`, `left stile out = 1/16, 3/32, 1/16 in`, `top = 3' 11 1/4"`.

use super::model::{Between, LengthUnit, Reading};
use crate::job::model::{Job, Point};
use crate::movement::answers::{Measure, MeasureKind, towards};
use crate::units::Units;

/// How well each kind of reading is usually made, ± mm at k = 2. Common practice, no source.
#[derive(Clone, Copy, Debug)]
pub struct UsualDoubt {
    /// A bow under a straightedge or string, or a rock, with a steel rule.
    pub rule_mm: f64,
    /// A size or diagonal with a tape.
    pub tape_mm: f64,
    /// A gap with feeler or taper gauge.
    pub gauge_mm: f64,
}

/// What is assumed when the maker does not say.
pub const USUAL: UsualDoubt = UsualDoubt {
    rule_mm: 0.5,
    tape_mm: 1.0,
    gauge_mm: 0.2,
};

/// What the readings of one call have in common.
#[derive(Clone, Copy, Debug)]
pub struct Common<'a> {
    /// The job.
    pub job: &'a Job,
    /// What can be measured on it.
    pub measures: &'a [Measure],
    /// Unit of a bare number.
    pub unit: LengthUnit,
    /// Reading uncertainty in mm (k = 2), where the maker gave one.
    pub plus_minus_mm: Option<f64>,
    /// Between which points sizes and diagonals were taken.
    pub between: Between,
}

/// The unit of bare numbers in a job of these units.
#[must_use]
pub const fn bare_unit(units: Units) -> LengthUnit {
    match units {
        Units::Metric => LengthUnit::Mm,
        Units::UsCustomary => LengthUnit::In,
    }
}

/// A length as the trade writes it, and the unit it was given in: `4`, `4 mm`, `3/32"`, `1' 2 1/2"`, `47-1/4 in`.
///
/// # Errors
/// What to write instead.
pub fn length(text: &str, bare: LengthUnit) -> Result<(f64, LengthUnit), String> {
    let text = text
        .trim()
        .replace(['″', '”'], "\"")
        .replace(['′', '’'], "'");
    let wrong = || {
        let comma = text
            .contains(',')
            .then_some("; write a decimal point, not a comma");
        format!(
            "'{text}' is no length: write 4, 4 mm, 3/32\", 47 1/4 in or 1' 2 1/2\"{}",
            comma.unwrap_or("")
        )
    };
    let number = |text: &str| {
        let number = text.trim();
        let digits = number.chars().any(|c| c.is_ascii_digit());
        // A bare number is in mm there, whatever its unit is here.
        let value = digits.then(|| crate::job::length(&format!("{number} mm")));
        value.flatten().map(|length| length.0).ok_or_else(wrong)
    };
    let feet = text.split_once('\'').or_else(|| text.split_once("ft"));
    if let Some((feet, inches)) = feet {
        if inches.trim().is_empty() {
            return Ok((number(feet)?, LengthUnit::Ft));
        }
        let whole = number(feet)?;
        let inches = inches.trim().trim_end_matches('"').trim_end_matches("inch");
        let inches = number(inches.trim_end_matches("in"))?;
        let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
        return Ok((whole * 12.0 + sign * inches, LengthUnit::In));
    }
    let units = [
        ("mm", LengthUnit::Mm),
        ("cm", LengthUnit::Cm),
        ("inch", LengthUnit::In),
        ("in", LengthUnit::In),
        ("\"", LengthUnit::In),
        ("m", LengthUnit::M),
    ];
    let lower = text.to_lowercase();
    for (symbol, unit) in units {
        if let Some(rest) = lower.strip_suffix(symbol) {
            return Ok((number(rest)?, unit));
        }
    }
    Ok((number(&lower)?, bare))
}

/// One or several lengths with commas between, all in the unit of the last that names one.
fn lengths(text: &str, bare: LengthUnit) -> Result<(Vec<f64>, LengthUnit), String> {
    let parts: Vec<&str> = text.split(',').collect();
    let unit = parts
        .iter()
        .rev()
        .find_map(|part| unit_named(part))
        .unwrap_or(bare);
    let values: Result<Vec<f64>, String> = parts
        .iter()
        .map(|part| {
            let (value, own) = length(part, unit)?;
            Ok(value * own.in_mm() / unit.in_mm())
        })
        .collect();
    Ok((values?, unit))
}

/// The unit that a length or several name: what it says the same whatever a bare number means.
fn unit_named(text: &str) -> Option<LengthUnit> {
    text.split(',').rev().find_map(|part| {
        let [mm, ft] = [LengthUnit::Mm, LengthUnit::Ft].map(|unit| length(part, unit).ok());
        mm.zip(ft).filter(|(a, b)| a.1 == b.1).map(|(a, _)| a.1)
    })
}

/// `place = value`, both sides.
fn sides(text: &str) -> Result<(String, &str), String> {
    let (place, value) = text
        .split_once('=')
        .ok_or_else(|| format!("'{text}' needs an equals sign: what it is of = what was read"))?;
    Ok((place.trim().to_lowercase(), value))
}

impl Common<'_> {
    fn reading(
        &self,
        of: &str,
        values: Vec<f64>,
        unit: LengthUnit,
        (usual_mm, between): (f64, Between),
        written: &str,
    ) -> Reading {
        let plus_minus_mm = self.plus_minus_mm.unwrap_or(usual_mm);
        Reading {
            of: of.to_string(),
            values,
            unit,
            // Six decimals are more than any tape shows, and spare the file the digits of a division.
            plus_minus: (plus_minus_mm / unit.in_mm() * 1e6).round() / 1e6,
            between,
            unit_named: unit_named(written).is_some(),
            doubts: Vec::new(),
        }
    }

    /// A bow: `top rail up = 4 mm`, with three values for a quarter, half and three quarters of the length.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn bow(&self, text: &str) -> Result<Reading, String> {
        let (place, written) = sides(text)?;
        let (values, unit) = lengths(written, self.unit)?;
        if !matches!(values.len(), 1 | 3) {
            return Err(format!(
                "a bow has one value, or three (at a quarter, half and three quarters): '{}' has {}; decimals take a \
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

    /// The bow that a member and a side name, and its sign.
    fn bow_named(&self, place: &str) -> Result<(&Measure, f64), String> {
        let place = place.strip_prefix("bow of ").unwrap_or(place);
        let named = |name: &str| {
            let rest = place.strip_prefix(&name.to_lowercase())?;
            (rest.is_empty() || rest.starts_with([' ', ','])).then_some(rest)
        };
        let members = self.job.members.iter().enumerate();
        let Some((index, member, side)) = members
            .filter_map(|(index, member)| Some((index, member, named(&member.name)?)))
            .max_by_key(|(_, member, _)| member.name.len())
        else {
            let names: Vec<&str> = self.job.members.iter().map(|m| m.name.as_str()).collect();
            return Err(format!(
                "'{place}' begins with no member's name; there are {}",
                names.join(", ")
            ));
        };
        let bows: Vec<&Measure> = self
            .measures
            .iter()
            .filter(|m| m.kind == MeasureKind::Bow && m.member == Some(index))
            .collect();
        if bows.is_empty() {
            return Err(format!(
                "{} is too short for its section to have a bow worth measuring",
                member.name
            ));
        }
        let side = side.trim_start_matches([' ', ',']).trim();
        let wanted = self.side(side, (member.from + member.to) * 0.5);
        let found = wanted.and_then(|wanted| {
            bows.iter()
                .map(|&bow| (bow, bow.terms[0].direction.dot(wanted)))
                .find(|(_, along)| along.abs() > 0.7)
        });
        let ways = || {
            let ways = bows.iter().flat_map(|bow| {
                let direction = bow.terms[0].direction;
                [direction, -direction].map(|d| short(towards(d)))
            });
            ways.collect::<Vec<_>>().join(", ")
        };
        found
            .map(|(bow, along)| (bow, along.signum()))
            .ok_or_else(|| {
                let asked = match side {
                    "" => format!("say to which side {} bows", member.name),
                    side => format!("{} cannot bow '{side}'", member.name),
                };
                format!("{asked}: {} (or in, out)", ways())
            })
    }

    /// A side in words as a direction; in and out are in the plane, from the middle of the frame.
    fn side(&self, word: &str, at: Point) -> Option<Point> {
        let (x, y, z) = (
            Point::new(1.0, 0.0, 0.0),
            Point::new(0.0, 1.0, 0.0),
            Point::new(0.0, 0.0, 1.0),
        );
        let out = || {
            let count = self.job.members.len() as f64;
            let sum = self.job.members.iter().fold(Point::default(), |sum, m| {
                sum + (m.from + m.to) * (0.5 / count)
            });
            let way = at - sum;
            let larger = if way.x.abs() * 0.75 > way.y.abs() {
                x * way.x
            } else {
                y * way.y
            };
            (way.x.hypot(way.y) > 1.0).then(|| larger.unit()).flatten()
        };
        match word
            .trim_start_matches("to the ")
            .trim_start_matches("towards the ")
        {
            "up" | "upwards" | "top" => Some(y),
            "down" | "downwards" | "bottom" => Some(-y),
            "right" => Some(x),
            "left" => Some(-x),
            "front" => Some(z),
            "back" => Some(-z),
            "out" | "outwards" => out(),
            "in" | "inwards" => out().map(|way| -way),
            _ => None,
        }
    }

    /// A width (`axis` "width": top, middle, bottom) or height ("height": left, middle, right): `top = 1198.5`, or
    /// `1198.5` alone where it is the same everywhere, which is kept as taken at the middle.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn size(&self, axis: &str, text: &str) -> Result<Reading, String> {
        let (place, written) = if text.contains('=') {
            sides(text)?
        } else {
            ("middle".into(), text)
        };
        let place = place
            .trim_start_matches("at the ")
            .trim_start_matches("at ");
        let place = match place {
            "middle" | "mid" | "mid-height" | "mid-width" => "mid",
            other => other,
        };
        let sizes = || {
            self.measures
                .iter()
                .filter(|m| m.kind == MeasureKind::Size && m.name.starts_with(axis))
        };
        let measure = sizes()
            .find(|m| {
                m.name
                    .split_whitespace()
                    .any(|word| word == place || (place == "mid" && word.starts_with("mid-")))
            })
            .or_else(|| if place == "mid" { sizes().next() } else { None });
        let Some(measure) = measure else {
            let there: Vec<&str> = sizes().map(|m| m.name.as_str()).collect();
            return Err(if there.is_empty() {
                format!("this job has no {axis}: its four corners cannot be told")
            } else {
                format!(
                    "there is no {axis} '{place}'; there are: {}",
                    there.join(", ")
                )
            });
        };
        let (value, unit) = length(written, self.unit)?;
        Ok(self.reading(
            &measure.name,
            vec![value],
            unit,
            (USUAL.tape_mm, self.between),
            written,
        ))
    }

    /// Both diagonals, rising (bottom left to top right) first: `1500, 1497`.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn diagonals(&self, text: &str) -> Result<[Reading; 2], String> {
        let (values, unit) = lengths(text, self.unit)?;
        let [rising, falling] = values.as_slice() else {
            return Err(format!(
                "give both diagonals with a comma between, bottom left to top right first: '{}' has {}",
                text.trim(),
                values.len()
            ));
        };
        let one = |name: &str, value: f64| {
            let measure = self
                .measures
                .iter()
                .find(|m| m.kind == MeasureKind::Diagonal && m.name.contains(name))
                .ok_or("this job has no diagonals: its four corners cannot be told")?;
            Ok::<_, String>(self.reading(
                &measure.name,
                vec![value],
                unit,
                (USUAL.tape_mm, self.between),
                text,
            ))
        };
        Ok([one("bottom left", *rising)?, one("bottom right", *falling)?])
    }

    /// How much longer the rising diagonal (bottom left to top right) is than the falling one: `3 mm`.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn racking(&self, text: &str) -> Result<Reading, String> {
        let measure = self.of_kind(MeasureKind::Racking)?;
        let (value, unit) = length(text, self.unit)?;
        Ok(self.reading(
            &measure.name,
            vec![value],
            unit,
            (USUAL.tape_mm, Between::Outside),
            text,
        ))
    }

    /// The gap under the corner that rises when the frame rocks on a flat table: `top right = 3 mm`.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn rock(&self, text: &str) -> Result<Reading, String> {
        let measure = self.of_kind(MeasureKind::Wind)?;
        let (place, written) = sides(text)?;
        let sign = match place
            .trim_start_matches("under ")
            .trim_start_matches("the ")
        {
            "bottom left" | "top right" => 1.0,
            "bottom right" | "top left" => -1.0,
            other => {
                return Err(format!(
                    "'{other}' is no corner: write the one under which the gap is, as \"top right = 3 mm\""
                ));
            }
        };
        let (value, unit) = length(written, self.unit)?;
        Ok(self.reading(
            &measure.name,
            vec![sign * value],
            unit,
            (USUAL.rule_mm, Between::Outside),
            written,
        ))
    }

    /// The gap at a joint: `bar 3 top = 0.5 mm`.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn gap(&self, text: &str) -> Result<Reading, String> {
        let (place, written) = sides(text)?;
        let joint = self
            .job
            .joints
            .iter()
            .find(|joint| joint.name.to_lowercase() == place);
        let Some(joint) = joint else {
            let names: Vec<&str> = self
                .job
                .joints
                .iter()
                .map(|j| j.name.as_str())
                .take(12)
                .collect();
            return Err(format!(
                "there is no joint '{place}'; there are {}",
                names.join(", ")
            ));
        };
        let (value, unit) = length(written, self.unit)?;
        let name = format!("gap at {}", joint.name);
        Ok(self.reading(
            &name,
            vec![value],
            unit,
            (USUAL.gauge_mm, Between::Outside),
            written,
        ))
    }

    fn of_kind(&self, kind: MeasureKind) -> Result<&Measure, String> {
        let found = self.measures.iter().find(|m| m.kind == kind);
        found.ok_or_else(|| "this job has none: its four corners cannot be told".into())
    }
}

/// "up" of "upwards", "front" of "towards the front".
fn short(way: &str) -> &str {
    let last = way.rsplit(' ').next().unwrap_or(way);
    last.trim_end_matches("wards")
}
