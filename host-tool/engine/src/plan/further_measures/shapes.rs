//! Starting shapes: members bent, the frame racked or shimmed the other way, and longer cuts.

use super::gains::{MAX_MEMBERS, WORTH_MM, enough};
use super::trial::Trial;
use crate::correct;
use crate::format::{Precision, list};
use crate::movement::frame_words::FrameWords;
use crate::movement::measures::MeasureKind;
use crate::plan::model::{Gain, GainKind};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};

impl Trial<'_> {
    /// What is saved when these measures start at minus their expected movement; their uncertainty stays.
    fn start_opposed(&self, kind: GainKind, measures: &[usize], advice: String) -> Gain {
        let mut left = self.expected_mm.clone();
        // Weighed like the movement.
        let mut uncertainty = vec![0.0; left.len()];
        for &measure in measures {
            left[measure] = 0.0;
            uncertainty[measure] = self.uncertainty_mm[measure];
        }
        Gain {
            kind,
            advice,
            saves_mm: self.cost(&self.expected_mm) - self.cost(&left),
            plus_minus_mm: self.cost(&uncertainty),
        }
    }

    pub(super) fn starting_shapes(&self) -> Vec<Gain> {
        let [_, bottom_right, top_right, _] = FrameWords::of(self.job).corners();
        let mut gains: Vec<Gain> = self.pre_camber().into_iter().collect();
        gains.extend(
            self.each_opposed(MeasureKind::Racking, GainKind::OutOfSquare, |mm, by| {
                let [a, b, c, d] = FrameWords::of(self.job).corners();
                let (from, to) = if mm < 0.0 { (a, c) } else { (b, d) };
                format!("tack it out of square: the diagonal from {from} to {to} longer by {by}")
            }),
        );
        gains.extend(
            self.each_opposed(MeasureKind::Twist, GainKind::Shim, |mm, by| {
                let low = if mm < 0.0 { top_right } else { bottom_right };
                format!("shim the {low} corner up by {by} while you tack")
            }),
        );
        let sizes = self.certain(MeasureKind::Size);
        if !sizes.is_empty() {
            let advice = "cut to the list of `coldsquare predict`, which has the allowance".into();
            gains.push(self.start_opposed(GainKind::CutLength, &sizes, advice));
        }
        gains
    }

    /// What is saved by starting each certain measure of a kind the other way; `advice` is given the movement in mm,
    /// and its size in the job's units.
    fn each_opposed(
        &self,
        measures: MeasureKind,
        kind: GainKind,
        advice: impl Fn(f64, String) -> String,
    ) -> Vec<Gain> {
        let certain = self.certain(measures).into_iter();
        let gains = certain.map(|measure| {
            let mm = self.expected_mm[measure];
            self.start_opposed(kind, &[measure], advice(mm, self.length(mm)))
        });
        gains.collect()
    }

    /// The members that bow most bent the other way; only those that `correct` allows, so never structural ones.
    fn pre_camber(&self) -> Option<Gain> {
        let can_be_bent = |bow: &usize| {
            let expected = Uncertain {
                value: self.expected_mm[*bow],
                standard: self.uncertainty_mm[*bow] / COVERAGE_FACTOR,
            };
            correct::can_be_pre_cambered(self.job, &self.measures()[*bow], expected)
        };
        let bows = self.certain(MeasureKind::Bow).into_iter();
        let bows: Vec<usize> = bows.filter(can_be_bent).take(MAX_MEMBERS).collect();
        let groups = (1..=bows.len()).map(|count| {
            let each: Vec<String> = bows[..count].iter().map(|&bow| self.camber(bow)).collect();
            let advice = format!("bow {} before welding", list(&each));
            self.start_opposed(GainKind::PreCamber, &bows[..count], advice)
        });
        enough(groups.collect())
    }

    /// Measures of a kind that are larger than their uncertainty, largest first; the others would be a guess.
    fn certain(&self, kind: MeasureKind) -> Vec<usize> {
        let mm = |measure: usize| self.expected_mm[measure].abs();
        let is_certain =
            |&measure: &usize| mm(measure) > self.uncertainty_mm[measure].max(WORTH_MM);
        let mut found: Vec<usize> = (0..self.measures().len())
            .filter(|&measure| self.measures()[measure].kind == kind)
            .filter(is_certain)
            .collect();
        found.sort_by(|&a, &b| mm(b).total_cmp(&mm(a)));
        found
    }

    /// "top rail 0.8 mm upwards": against its expected bow.
    fn camber(&self, bow: usize) -> String {
        let (measure, mm) = (&self.measures()[bow], self.expected_mm[bow]);
        let name = measure
            .member
            .map_or("it", |member| &self.job.members[member].name);
        let against = measure.terms[0].direction * -mm.signum();
        format!(
            "{name} {} {}",
            self.length(mm),
            self.job.seen_from.towards(against)
        )
    }

    fn length(&self, mm: f64) -> String {
        let units = self.job.units;
        units.length_with_unit(mm.abs(), Precision::Drawn)
    }
}
