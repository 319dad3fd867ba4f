//! Readings as they are written on the command line: `top rail up = 4 mm`, `left upright out = 1/16, 3/32, 1/16 in`, `top = 3' 11 1/4"`.

use super::length::{length, lengths, unit_named};
use super::model::{Between, LengthUnit, Reading};
use crate::job::model::Job;
use crate::movement::measures::{Measure, MeasureKind};

/// The usual uncertainty of each kind of reading, ± mm (k = 2). Common practice, no source.
#[derive(Clone, Copy, Debug)]
pub struct UsualUncertainty {
    /// A bow under a straightedge or string, or a twist, with a steel rule.
    pub rule_mm: f64,
    /// A size or diagonal with a tape.
    pub tape_mm: f64,
    /// A gap with feeler or taper gauge.
    pub gauge_mm: f64,
}

/// The uncertainty of a reading that comes without one.
pub const USUAL: UsualUncertainty = UsualUncertainty {
    rule_mm: 0.5,
    tape_mm: 1.0,
    gauge_mm: 0.2,
};

/// What all readings of one measurement have in common.
#[derive(Clone, Copy, Debug)]
pub struct Common<'a> {
    /// The job.
    pub job: &'a Job,
    /// Its measures.
    pub measures: &'a [Measure],
    /// Unit of a number without a unit.
    pub unit: LengthUnit,
    /// Reading uncertainty in mm (k = 2), if it was given.
    pub plus_minus_mm: Option<f64>,
    /// The points between which sizes and diagonals were measured.
    pub between: Between,
}

/// Both sides of `place = value`.
pub(super) fn sides(text: &str) -> Result<(String, &str), String> {
    let (place, value) = text
        .split_once('=')
        .ok_or_else(|| format!("'{text}' needs an equals sign: PLACE = VALUE"))?;
    Ok((place.trim().to_lowercase(), value))
}

impl Common<'_> {
    pub(super) fn reading(
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
            // Six decimals are more than any tape shows; they keep the digits of a division out of the file.
            plus_minus: (plus_minus_mm / unit.in_mm() * 1e6).round() / 1e6,
            between,
            unit_named: unit_named(written).is_some(),
            warnings: Vec::new(),
        }
    }

    /// A width (`axis` "width": top, middle, bottom) or a height ("height": left, middle, right): `top = 1198.5`. A value
    /// alone, `1198.5`, is the one at the middle.
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
            "middle" | "mid" | "mid-height" | "mid-width" | "mid-depth" => "mid",
            other => other,
        };
        // What lies has a depth from front to back where a gate has its height.
        let is_along =
            |name: &str| name.starts_with(axis) || (axis == "height" && name.starts_with("depth"));
        let sizes = || {
            self.measures
                .iter()
                .filter(|m| m.kind == MeasureKind::Size && is_along(&m.name))
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
                format!("this job has no {axis}: it is not a frame with four corners")
            } else {
                format!(
                    "there is no {axis} '{place}'; choose one of: {}",
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
                "give both diagonals with a comma between them, bottom left to top right first (seen from above: front left to \
                 back right); '{}' has {}",
                text.trim(),
                values.len()
            ));
        };
        let mut measures = self
            .measures
            .iter()
            .filter(|m| m.kind == MeasureKind::Diagonal);
        let mut one = |value: f64| {
            let measure = measures
                .next()
                .ok_or("this job has no diagonals: it is not a frame with four corners")?;
            Ok::<_, String>(self.reading(
                &measure.name,
                vec![value],
                unit,
                (USUAL.tape_mm, self.between),
                text,
            ))
        };
        Ok([one(*rising)?, one(*falling)?])
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

    /// The twist: the gap under a corner while the other three touch a flat table: `top right = 3 mm`.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn twist(&self, text: &str) -> Result<Reading, String> {
        let measure = self.of_kind(MeasureKind::Twist)?;
        let (place, written) = sides(text)?;
        let sign = match place
            .trim_start_matches("under ")
            .trim_start_matches("the ")
        {
            "bottom left" | "top right" => 1.0,
            "bottom right" | "top left" => -1.0,
            other => {
                return Err(format!(
                    "'{other}' is not a corner; name the corner with the gap under it, as \"top right = 3 mm\""
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
                "there is no joint '{place}'; joints are: {}",
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

    /// A reading of the measure with this name, in the words of the prediction: the whole distance for a size or a
    /// diagonal, otherwise the movement to the side that the name says, negative to the other. A bow may have three
    /// values, at a quarter, half and three quarters.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn named(&self, name: &str, written: &str) -> Result<Reading, String> {
        let name = name.trim();
        let mut named = self.measures.iter();
        let known =
            named.find(|m| m.name.eq_ignore_ascii_case(name) && m.kind != MeasureKind::Span);
        let measure = known.ok_or_else(|| self.unknown(name))?;
        let name = measure.name.as_str();
        let (values, unit) = lengths(written, self.unit)?;
        let of_bow = measure.kind == MeasureKind::Bow;
        if values.len() != 1 && !(of_bow && values.len() == 3) {
            return Err(format!(
                "{name} has one value{}; write a decimal point, not a comma",
                if of_bow { ", or three" } else { "" }
            ));
        }
        let usual = match measure.kind {
            MeasureKind::Size | MeasureKind::Diagonal => (USUAL.tape_mm, self.between),
            MeasureKind::Racking | MeasureKind::Standing => (USUAL.tape_mm, Between::Outside),
            _ => (USUAL.rule_mm, Between::Outside),
        };
        Ok(self.reading(name, values, unit, usual, written))
    }

    /// Any measure by the name that the prediction gives it: `lean of bar 1 at bar 1 top, to the right = 0.5 mm`.
    ///
    /// # Errors
    /// What is wrong and what to write.
    pub fn any(&self, text: &str) -> Result<Reading, String> {
        let (name, written) = text.rsplit_once('=').ok_or_else(|| {
            format!("'{text}' needs an equals sign: NAME = VALUE, with a name that `coldsquare predict` prints")
        })?;
        self.named(name, written)
    }

    /// No measure has this name; those that are most like it.
    fn unknown(&self, name: &str) -> String {
        let names = self.measures.iter().filter(|m| m.kind != MeasureKind::Span);
        let names: Vec<&str> = names.map(|m| m.name.as_str()).collect();
        let hint = crate::reading::suggest(name, &names);
        format!(
            "this job has no measure '{name}'; {hint}. `coldsquare predict --json` lists every name"
        )
    }

    fn of_kind(&self, kind: MeasureKind) -> Result<&Measure, String> {
        let found = self.measures.iter().find(|m| m.kind == kind);
        found.ok_or_else(|| {
            "this job has no such measure: it is not a frame with four corners".into()
        })
    }
}
