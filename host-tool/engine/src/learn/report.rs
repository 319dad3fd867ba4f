//! The result of learning, for a terminal and as JSON.

use super::build::Build;
use super::gather::Gathered;
use super::text::{describe_misfit, factor_rows, narrowing, supports_anything};
use super::{Learned, learn};
use crate::failure::Failure;
use crate::format::count;
use crate::plain_text::line;
use crate::shop::factors::Knowledge;
use crate::shop::{Class, SHRINKAGE_KINDS};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use serde::Serialize;

/// The result of learning.
pub struct Taught {
    /// The factors before.
    pub before: Knowledge,
    /// The jobs with their builds, and what was left out.
    pub gathered: Vec<Gathered>,
    /// All builds, in the order of their jobs.
    pub builds: Vec<Build>,
    /// What was learned from them.
    pub learned: Learned,
}

impl Taught {
    /// Learns from what was gathered.
    ///
    /// # Errors
    /// [`Failure::Input`] when a heat is outside the range of the rules.
    pub fn of(gathered: Vec<Gathered>, before: Knowledge) -> Result<Self, Failure> {
        let builds: Vec<Build> = gathered.iter().flat_map(|one| one.builds.clone()).collect();
        let learned = learn(&builds).map_err(|error| Failure::Input(error.to_string()))?;
        Ok(Self {
            before,
            gathered,
            builds,
            learned,
        })
    }

    /// Number of readings it rests on.
    #[must_use]
    pub fn readings(&self) -> usize {
        let used = self.learned.used.iter();
        used.map(|&build| self.builds[build].readings.len()).sum()
    }

    fn misfits(&self) -> Vec<String> {
        let misfits = self.learned.misfits.iter();
        misfits
            .map(|misfit| describe_misfit(&self.builds, misfit, &self.learned.knowledge))
            .collect()
    }

    /// For a terminal; ends with a line break.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        self.builds_and_notes(&mut out);
        if self.readings() > 0 {
            self.factors(&mut out);
            self.next_builds(&mut out);
        }
        if !supports_anything(&self.learned) {
            line!(out, "\nThe data do not support a change of any factor.");
        }
        out
    }

    fn builds_and_notes(&self, out: &mut String) {
        line!(
            out,
            "Learned from {} of {}, {}. ± is k = 2, about 95 %.",
            self.learned.used.len(),
            count(self.builds.len(), "build"),
            count(self.readings(), "reading")
        );
        for &build in &self.learned.used {
            let build = &self.builds[build];
            line!(
                out,
                "  {}: {}",
                build.name,
                count(build.readings.len(), "reading")
            );
        }
        for misfit in self.misfits() {
            line!(out, "Left out: {misfit}.");
        }
        for note in self.gathered.iter().flat_map(|one| &one.notes) {
            line!(out, "Note: {note}.");
        }
    }

    fn factors(&self, out: &mut String) {
        let mut class = String::new();
        for [of, kind, before, after, support] in factor_rows(&self.before, &self.learned.knowledge)
        {
            if of != class {
                line!(
                    out,
                    "\nFactors of welds {of} (1.10: a tenth more than published)"
                );
                class.clone_from(&of);
            }
            line!(out, "  {kind:<16} {before:>13} -> {after:<13}  {support}");
        }
    }

    fn next_builds(&self, out: &mut String) {
        out.push('\n');
        for one in &self.gathered {
            let units = one.job.units;
            line!(out, "Next build of {}:", one.job.name);
            for next in narrowing(one, &self.before, &self.learned.knowledge) {
                line!(
                    out,
                    "  {}{}: {} before, {} now; {}.",
                    next.of,
                    if next.measured { "" } else { " (not measured)" },
                    units.change_with_unit(next.before),
                    units.change_with_unit(next.after),
                    narrower(next.uncertainty_left())
                );
            }
        }
    }

    /// As indented JSON; ends with a line break.
    #[must_use]
    pub fn json(&self) -> String {
        let used = self.learned.used.iter();
        let report = Report {
            used: used
                .map(|&build| self.builds[build].name.as_str())
                .collect(),
            readings: self.readings(),
            misfits: self.misfits(),
            notes: self.gathered.iter().flat_map(|one| &one.notes).collect(),
            factors: self.factor_reports(),
            next: self
                .gathered
                .iter()
                .flat_map(|one| self.next_reports(one))
                .collect(),
            supported: supports_anything(&self.learned),
        };
        // Cannot fail: keys are text, values are text and numbers.
        serde_json::to_string_pretty(&report).unwrap_or_default() + "\n"
    }

    fn factor_reports(&self) -> Vec<FactorReport> {
        let known = &self.learned.knowledge;
        let rows = factor_rows(&self.before, known).into_iter().enumerate();
        let report = |(k, [class, shrinkage, before, after, support]): (usize, [String; 5])| {
            let factor = known.position(&Class::named(&class));
            let factor = factor.map(|at| known.factor(at, k % SHRINKAGE_KINDS.len()));
            FactorReport {
                class,
                shrinkage,
                before,
                after,
                support,
                value: factor.map(|f| f.value),
                relative_expanded: factor.map(|f| COVERAGE_FACTOR * f.relative_uncertainty),
            }
        };
        rows.map(report).collect()
    }

    fn next_reports<'a>(&'a self, one: &'a Gathered) -> impl Iterator<Item = NextReport<'a>> {
        let next = narrowing(one, &self.before, &self.learned.knowledge);
        next.into_iter().map(|next| NextReport {
            job: &one.job.name,
            uncertainty_left: next.uncertainty_left(),
            before_mm: next.before.into(),
            after_mm: next.after.into(),
            measured: next.measured,
            measure: next.of,
        })
    }
}

#[derive(Serialize)]
struct Report<'a> {
    used: Vec<&'a str>,
    readings: usize,
    misfits: Vec<String>,
    notes: Vec<&'a String>,
    factors: Vec<FactorReport>,
    next: Vec<NextReport<'a>>,
    supported: bool,
}

#[derive(Serialize)]
struct FactorReport {
    class: String,
    shrinkage: String,
    before: String,
    after: String,
    support: String,
    value: Option<f64>,
    relative_expanded: Option<f64>,
}

#[derive(Serialize)]
struct NextReport<'a> {
    job: &'a str,
    measure: String,
    measured: bool,
    before_mm: ValueReport,
    after_mm: ValueReport,
    uncertainty_left: f64,
}

/// A value with its expanded uncertainty (k = 2).
#[derive(Serialize)]
struct ValueReport {
    value: f64,
    expanded: f64,
}

impl From<Uncertain> for ValueReport {
    fn from(one: Uncertain) -> Self {
        Self {
            value: one.value,
            expanded: one.expanded(),
        }
    }
}

/// What remains of an uncertainty, as text. A twentieth more or less is not worth mentioning.
fn narrower(left: f64) -> String {
    if left < 0.95 {
        format!("{:.0} % of the uncertainty remains", 100.0 * left)
    } else if left <= 1.05 {
        "no better known".to_owned()
    } else {
        "no better known; it may move more than expected".to_owned()
    }
}
