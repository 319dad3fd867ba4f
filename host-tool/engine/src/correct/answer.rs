//! The short answer to a prediction: what moves worst, whether the frame fits, and what to do first.

use super::model::{Correction, Fault, RepairKind};
use super::tolerance::{over_mm, tolerance_mm};
use super::{Settings, of_predicted};
use crate::format::Precision;
use crate::job::model::Job;
use crate::movement::measures::MeasureKind;
use crate::movement::model::MovementModel;
use crate::movement::predict::{Fit, Predicted, Prediction};
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use serde::Serialize;

/// How a predicted movement stands to its tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Within it, uncertainty included.
    WithinLimits,
    /// Within it or out of it, as the uncertainty has it.
    Marginal,
    /// Out of it, uncertainty included.
    OutOfLimits,
}

impl Standing {
    fn of(change: Uncertain, tolerance_mm: f64) -> Self {
        let (size, doubt) = (change.value.abs(), change.expanded());
        if size + doubt <= tolerance_mm {
            Self::WithinLimits
        } else if size - doubt > tolerance_mm {
            Self::OutOfLimits
        } else {
            Self::Marginal
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::WithinLimits => "within tolerance",
            Self::Marginal => "marginal: the tolerance lies inside the uncertainty",
            Self::OutOfLimits => "out of tolerance",
        }
    }
}

/// One measure beside its tolerance. Lengths in mm; `text` in the units of the job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// Name of the measure.
    pub name: String,
    /// Its predicted change.
    pub change_mm: f64,
    /// Expanded uncertainty (k = 2).
    pub plus_minus_mm: f64,
    /// Its tolerance ±.
    pub tolerance_mm: f64,
    /// How it stands.
    pub standing: Standing,
    /// "-3.7 ± 1.5 mm".
    pub text: String,
    /// "-3.7 mm".
    pub value_text: String,
    /// "out of tolerance, ± 2.0 mm".
    pub words: String,
}

impl Line {
    /// Share of its tolerance that it uses.
    fn share(&self) -> f64 {
        self.change_mm.abs() / self.tolerance_mm
    }
}

/// The short answer.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// The measure that uses most of its tolerance; none for a frame without measures.
    pub worst: Option<Line>,
    /// All measures, the worst first.
    pub lines: Vec<Line>,
    /// Whether it fits its opening, a sentence for each direction.
    pub fits: Vec<FitLine>,
    /// What to do, the first thing first; never empty.
    pub advice: Vec<String>,
}

/// Whether the frame fits in one direction.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FitLine {
    /// How it stands.
    pub standing: Standing,
    /// A sentence.
    pub text: String,
}

/// Judges a prediction by the usual tolerances.
#[must_use]
pub fn answer(job: &Job, model: &MovementModel, prediction: &Prediction) -> Answer {
    let settings = Settings {
        units: job.units,
        ..Settings::default()
    };
    let correction = of_predicted(job, model, prediction, None, String::new(), &settings);
    let mut lines: Vec<Line> = prediction
        .measures
        .iter()
        .filter_map(|predicted| line(job, model, predicted))
        .collect();
    lines.sort_by(|a, b| b.share().total_cmp(&a.share()));
    Answer {
        worst: lines.first().cloned(),
        lines,
        fits: prediction
            .fits
            .iter()
            .map(|fit| fit_line(fit, job.units))
            .collect(),
        advice: advice(&correction, prediction, job.units),
    }
}

fn line(job: &Job, model: &MovementModel, predicted: &Predicted) -> Option<Line> {
    let measure = model
        .measures()
        .iter()
        .find(|measure| measure.name == predicted.name)?;
    // Diagonals follow from width, height and racking.
    if predicted.kind == MeasureKind::Diagonal {
        return None;
    }
    let change = predicted.released_mm;
    let tolerance_mm = tolerance_mm(predicted.kind, over_mm(job, measure));
    let standing = Standing::of(change, tolerance_mm);
    let tolerance = job.units.length_with_unit(tolerance_mm, Precision::Tape);
    Some(Line {
        name: predicted.name.clone(),
        change_mm: change.value,
        plus_minus_mm: change.expanded(),
        tolerance_mm,
        standing,
        text: job.units.change_with_unit(change),
        value_text: format!(
            "{} {}",
            job.units.signed_length(change.value, Precision::Calculated),
            job.units.length_symbol()
        ),
        words: format!("{}, ± {tolerance}", standing.words()),
    })
}

fn fit_line(fit: &Fit, units: Units) -> FitLine {
    let tape = |mm: f64| units.length_with_unit(mm, Precision::Tape);
    let (left, wanted) = (tape(fit.clearance_mm), tape(fit.wanted_mm));
    let direction = fit.direction;
    let (standing, verdict) = if fit.is_sure() {
        (Standing::WithinLimits, "fits")
    } else if fit.clearance_mm + fit.size_mm.expanded() / 2.0 < fit.wanted_mm {
        (Standing::OutOfLimits, "does not leave the clearance wanted")
    } else {
        (Standing::Marginal, "may not leave the clearance wanted")
    };
    FitLine {
        standing,
        text: format!("{direction} {verdict}: {left} left on each side, {wanted} wanted"),
    }
}

/// What to do first about each fault, then how much longer to cut, then what to check because it is not known well.
fn advice(correction: &Correction, prediction: &Prediction, units: Units) -> Vec<String> {
    let first = |fault: &&Fault| {
        let mut options = fault.options.iter();
        let option = options.find(|option| option.possible && option.kind != RepairKind::Leave)?;
        let how = option.summary.first().map_or("", String::as_str);
        Some(format!("{}: {}. {how}", fault.name, option.kind.title()))
    };
    let (moved, unsure): (Vec<&Fault>, Vec<&Fault>) = correction
        .faults
        .iter()
        .partition(|fault| fault.change_mm.abs() >= WORTH_ACTING * fault.tolerance_mm);
    let mut advice: Vec<String> = moved.iter().filter_map(first).take(3).collect();
    let added = prediction.allowances.iter().map(|one| one.add_mm.value);
    let most = added.fold(0.0, f64::max);
    if most >= WORTH_CUTTING_MM {
        let most = units.length_with_unit(most, Precision::Tape);
        advice.push(format!(
            "Cut as the cut list says: up to {most} longer than drawn."
        ));
    }
    if advice.is_empty() {
        advice.push("Weld it as drawn; plan the order to keep it so.".into());
    }
    advice.extend(unsure.iter().take(3).map(|fault| {
        let off = units.length_with_unit(fault.plus_minus_mm, Precision::Tape);
        format!(
            "Check when it is cold: {}. It may be off by {off}.",
            fault.name
        )
    }));
    advice
}

/// A movement of less than this share of its tolerance is no fault to act on, however uncertain it is. Our own
/// judgement, no source.
const WORTH_ACTING: f64 = 0.5;

/// Half of what a saw cut scatters anyway. Common practice, no source.
const WORTH_CUTTING_MM: f64 = 0.3;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::start::{Shape, Wanted, write};
    use crate::movement::predict::{planned_net_heat, predict_for};

    fn of(text: &str) -> Answer {
        let job = crate::job::from_text("job.toml", text).expect("a job");
        let model = MovementModel::new(&job).expect("a model");
        let order: Vec<usize> = (0..job.welds.len()).collect();
        let heat = planned_net_heat(&job);
        answer(
            &job,
            &model,
            &predict_for(&job, &model, &order, &heat).expect("a prediction"),
        )
    }

    #[test]
    fn a_flat_with_a_rib_on_one_side_bows_and_the_answer_says_so_first() {
        let flat = write(&Wanted::of(Shape::Tee));
        let answer = of(&flat);
        let worst = answer.worst.expect("measures");
        assert!(worst.name.starts_with("bow of"), "{}", worst.name);
        assert!(answer.lines.is_sorted_by(|a, b| a.share() >= b.share()));
        assert!(!answer.advice.is_empty());
    }

    #[test]
    fn the_gate_between_two_piers_is_told_whether_it_fits() {
        let answer = of(crate::example::GARDEN_GATE);
        assert!(
            answer.fits[0].text.starts_with("width "),
            "{:?}",
            answer.fits
        );
    }
}
