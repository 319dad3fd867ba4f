//! What was learned, as sentences and rows.

use super::build::Build;
use super::gather::Gathered;
use super::{Learned, Misfit};
use crate::movement::model::MovementModel;
use crate::movement::predict::{Prediction, planned_net_heat, predict_with};
use crate::shop::factors::{Knowledge, SHRINKAGE_KINDS};
use crate::shop::factors::{OF_THE_BUILD, OF_THE_PLACE};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// What the data say about one factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Support {
    /// Nothing: its uncertainty is as before.
    Nothing,
    /// It is known better, and the earlier value still fits.
    Narrower,
    /// It has changed.
    Changed,
}

impl Support {
    /// For a factor before and after.
    #[must_use]
    pub fn of(before: &Knowledge, after: &Knowledge, class: usize, kind: usize) -> Self {
        let (before, after) = (before.factor(class, kind), after.factor(class, kind));
        let moved = (after.value / before.value).ln().abs();
        // A tenth less uncertainty is not worth mentioning; a change smaller than its own uncertainty may be none.
        if after.relative_uncertainty > 0.9 * before.relative_uncertainty {
            Self::Nothing
        } else if moved < after.relative_uncertainty {
            Self::Narrower
        } else {
            Self::Changed
        }
    }

    /// As text.
    #[must_use]
    pub const fn describe(self) -> &'static str {
        match self {
            Self::Nothing => "not enough data to change it",
            Self::Narrower => "known better; earlier value still fits",
            Self::Changed => "changed by the data",
        }
    }
}

/// A row for each factor of each class: class, kind of shrinkage, before, after, support.
#[must_use]
pub fn factor_rows(before: &Knowledge, after: &Knowledge) -> Vec<[String; 5]> {
    let before = before.with_classes(&after.classes);
    let after = after.with_classes(&before.classes);
    let mut rows = Vec::new();
    for (at, class) in after.classes.iter().enumerate() {
        for (kind, name) in SHRINKAGE_KINDS.iter().enumerate() {
            let shown = |known: &Knowledge| {
                let factor = known.factor(at, kind);
                let percent = 100.0 * COVERAGE_FACTOR * factor.relative_uncertainty;
                format!("{:.2} ± {percent:.0} %", factor.value)
            };
            rows.push([
                class.name().to_owned(),
                (*name).to_owned(),
                shown(&before),
                shown(&after),
                Support::of(&before, &after, at, kind).describe().to_owned(),
            ]);
        }
    }
    rows
}

/// A misfit as a sentence, with the unit that would explain it.
#[must_use]
pub fn describe_misfit(builds: &[Build], misfit: &Misfit, start: &Knowledge) -> String {
    let build = &builds[misfit.build];
    let read = &build.readings[misfit.worst.0];
    let against = match misfit.against {
        0 => "the published factors".to_owned(),
        1 => "the other build".to_owned(),
        others => format!("the other {others} builds"),
    };
    let mut text = format!(
        "{} does not fit {against}; furthest off is \"{}\", {}, by {:.1} standard \
         uncertainties",
        build.name,
        build.engine.measures()[read.measure].name,
        build.units.change_with_unit(read.change_mm),
        misfit.worst.1.abs()
    );
    if let Some(unit) = other_unit(build, misfit.worst.0, start) {
        text += &format!("; it would fit if read in {unit}");
    }
    text + ". Measure it again, or check whether it was welded as logged"
}

/// The unit in which a reading would be near to what is expected.
fn other_unit(build: &Build, reading: usize, about: &Knowledge) -> Option<&'static str> {
    let each = build.classes.iter().map(|class| {
        let at = about.position(class).unwrap_or_default();
        crate::shop::factors::times(std::array::from_fn(|kind| about.factor(at, kind).value))
    });
    let heat: Vec<f64> = build.heat.iter().map(|heat| heat.value).collect();
    let expected = build.would_read(&heat, &each.collect::<Vec<_>>()).ok()?;
    let (read, expected) = (
        build.readings[reading].change_mm.value,
        *expected.get(reading)?,
    );
    let tolerance = 3.0 * build.readings[reading].change_mm.standard;
    let near = |value: f64| (value - expected).abs() <= 0.5 * expected.abs() + tolerance;
    if near(read * MILLIMETRES_PER_INCH) {
        Some("inches and entered as millimetres")
    } else if near(read / MILLIMETRES_PER_INCH) {
        Some("millimetres and entered as inches")
    } else {
        None
    }
}

/// What is expected of a measure of the next build, before and after learning.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// Name of the measure.
    pub of: String,
    /// Whether it was measured on a build of this job.
    pub measured: bool,
    /// With the factors before, mm.
    pub before: Uncertain,
    /// With the factors now, mm.
    pub after: Uncertain,
}

impl Next {
    /// Share of the uncertainty that remains: 0.6 if it is six tenths of what it was.
    #[must_use]
    pub fn uncertainty_left(&self) -> f64 {
        self.after.standard / self.before.standard
    }
}

/// How much better the next build of a job is predicted: of the measures that were read on its builds, and of all others,
/// the one with the largest uncertainty before.
#[must_use]
pub fn narrowing(one: &Gathered, before: &Knowledge, after: &Knowledge) -> Vec<Next> {
    let job = &one.job;
    let Ok(engine) = MovementModel::new(job) else {
        return Vec::new();
    };
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let heat = planned_net_heat(job);
    let predicted = |known: &Knowledge| -> Option<Prediction> {
        let shares = [OF_THE_BUILD, OF_THE_PLACE];
        predict_with(
            job,
            &engine,
            &order,
            &heat,
            &known.for_welds(&job.classes()),
            shares,
        )
        .ok()
    };
    let Some((before, after)) = predicted(before).zip(predicted(after)) else {
        return Vec::new();
    };
    let was_measured = |name: &str| {
        let builds = one.builds.iter();
        builds
            .flat_map(|build| &build.readings)
            .any(|read| engine.measures()[read.measure].name == name)
    };
    let both = before.measures.iter().zip(&after.measures);
    let all: Vec<Next> = both
        .map(|(before, after)| Next {
            of: before.name.clone(),
            measured: was_measured(&before.name),
            before: before.released_mm,
            after: after.released_mm,
        })
        .collect();
    let most_uncertain = |measured: bool| {
        let such = all.iter().filter(|next| next.measured == measured);
        such.max_by(|a, b| a.before.standard.total_cmp(&b.before.standard))
    };
    [true, false]
        .into_iter()
        .filter_map(most_uncertain)
        .cloned()
        .collect()
}

/// Whether the data support a change of any factor.
#[must_use]
pub fn supports_anything(learned: &Learned) -> bool {
    (0..learned.knowledge.classes.len()).any(|class| {
        (0..5).any(|kind| {
            Support::of(&learned.start, &learned.knowledge, class, kind) != Support::Nothing
        })
    })
}
