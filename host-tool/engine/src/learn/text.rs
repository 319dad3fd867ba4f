//! What was learned, in words and columns.

use super::build::Build;
use super::gather::Gathered;
use super::{Learned, Misfit};
use crate::movement::engine::Engine;
use crate::movement::predict::{Prediction, planned_net_heat, predict_with};
use crate::shop::factors::{Knowledge, SHRINKAGE_KINDS};
use crate::shop::factors::{OF_THE_BUILD, OF_THE_PLACE};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// What the data say of one factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Support {
    /// Nothing: its doubt is what it was.
    Nothing,
    /// It is known better, and the value before still fits.
    Narrower,
    /// It is another than before.
    Changed,
}

impl Support {
    /// For a factor before and after.
    #[must_use]
    pub fn of(before: &Knowledge, after: &Knowledge, class: usize, way: usize) -> Self {
        let (before, after) = (before.factor(class, way), after.factor(class, way));
        let moved = (after.value / before.value).ln().abs();
        // A tenth of a doubt less is within what anybody can notice; a change of less than its own doubt may be none.
        if after.relative_uncertainty > 0.9 * before.relative_uncertainty {
            Self::Nothing
        } else if moved < after.relative_uncertainty {
            Self::Narrower
        } else {
            Self::Changed
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nothing => "the data say too little to change it",
            Self::Narrower => "known better; the value before still fits",
            Self::Changed => "changed by the data",
        }
    }
}

/// A row for each factor of each class: class, way, before, after, support.
#[must_use]
pub fn factor_rows(before: &Knowledge, after: &Knowledge) -> Vec<[String; 5]> {
    let before = before.with_classes(&after.classes);
    let after = after.with_classes(&before.classes);
    let mut rows = Vec::new();
    for (at, class) in after.classes.iter().enumerate() {
        for (way, name) in SHRINKAGE_KINDS.iter().enumerate() {
            let shown = |known: &Knowledge| {
                let factor = known.factor(at, way);
                let doubt = 100.0 * COVERAGE_FACTOR * factor.relative_uncertainty;
                format!("{:.2} ± {doubt:.0} %", factor.value)
            };
            rows.push([
                class.words().to_owned(),
                (*name).to_owned(),
                shown(&before),
                shown(&after),
                Support::of(&before, &after, at, way).words().to_owned(),
            ]);
        }
    }
    rows
}

/// A misfit in a sentence, with the unit that would explain it.
#[must_use]
pub fn misfit_words(builds: &[Build], misfit: &Misfit, start: &Knowledge) -> String {
    let build = &builds[misfit.build];
    let read = &build.readings[misfit.worst.0];
    let against = match misfit.against {
        0 => "the published factors".to_owned(),
        1 => "the other build".to_owned(),
        others => format!("the other {others} builds"),
    };
    let mut text = format!(
        "{} does not fit what {against} let expect, and is left out; farthest is \"{}\", {}, {:.1} standard \
         uncertainties off",
        build.name,
        build.engine.measures()[read.measure].name,
        build.units.change_with_unit(read.change_mm),
        misfit.worst.1.abs()
    );
    if let Some(unit) = other_unit(build, misfit.worst.0, start) {
        text += &format!("; it would fit if it was read in {unit}");
    }
    text + ". Measure it again, or look whether it was welded as logged"
}

/// The unit that would bring a reading near to what is expected.
fn other_unit(build: &Build, reading: usize, about: &Knowledge) -> Option<&'static str> {
    let each = build.classes.iter().map(|class| {
        let at = about.position(class).unwrap_or_default();
        crate::shop::factors::times(std::array::from_fn(|way| about.factor(at, way).value))
    });
    let heat: Vec<f64> = build.heat.iter().map(|heat| heat.value).collect();
    let expected = build.would_read(&heat, &each.collect::<Vec<_>>()).ok()?;
    let (read, expected) = (
        build.readings[reading].change_mm.value,
        *expected.get(reading)?,
    );
    let doubt = 3.0 * build.readings[reading].change_mm.standard;
    let near = |value: f64| (value - expected).abs() <= 0.5 * expected.abs() + doubt;
    if near(read * MILLIMETRES_PER_INCH) {
        Some("inches and taken as millimetres")
    } else if near(read / MILLIMETRES_PER_INCH) {
        Some("millimetres and taken as inches")
    } else {
        None
    }
}

/// How a quantity of the next build is expected, before and after learning.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// In the words of the prediction.
    pub of: String,
    /// Whether it was measured on a build of this job.
    pub measured: bool,
    /// With what was known before, mm.
    pub before: Uncertain,
    /// With what is known now, mm.
    pub after: Uncertain,
}

impl Next {
    /// What is left of the doubt: 0.6 where it is six tenths of what it was.
    #[must_use]
    pub fn doubt_left(&self) -> f64 {
        self.after.standard / self.before.standard
    }
}

/// How much better the next build of a job is known: of what was measured on its builds, and of all the rest, that which
/// was in most doubt before.
#[must_use]
pub fn narrowing(one: &Gathered, before: &Knowledge, after: &Knowledge) -> Vec<Next> {
    let job = &one.job;
    let Ok(engine) = Engine::new(job) else {
        return Vec::new();
    };
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let heat = planned_net_heat(job);
    let predicted = |known: &Knowledge| -> Option<Prediction> {
        let shares = [OF_THE_BUILD, OF_THE_PLACE];
        predict_with(job, &engine, &order, &heat, &known.for_job(job), shares).ok()
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
    let most = |measured: bool| {
        let such = all.iter().filter(|next| next.measured == measured);
        such.max_by(|a, b| a.before.standard.total_cmp(&b.before.standard))
    };
    [true, false]
        .into_iter()
        .filter_map(most)
        .cloned()
        .collect()
}

/// Whether anything that was learned is worth keeping.
#[must_use]
pub fn supports_anything(learned: &Learned) -> bool {
    (0..learned.knowledge.classes.len()).any(|class| {
        (0..5).any(|way| {
            Support::of(&learned.start, &learned.knowledge, class, way) != Support::Nothing
        })
    })
}
