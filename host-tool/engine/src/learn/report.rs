//! What a run of learning has found, for a terminal and for machines.

use super::build::Build;
use super::gather::Gathered;
use super::text::{factor_rows, misfit_words, narrowing, supports_anything};
use super::{Learned, learn};
use crate::failure::Failure;
use crate::shop::factors::Knowledge;
use serde_json::json;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! line {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// What a run has found.
pub struct Taught {
    /// What the shop knew before.
    pub before: Knowledge,
    /// The jobs with their builds, and what was left out.
    pub gathered: Vec<Gathered>,
    /// All builds, in the order of their jobs.
    pub builds: Vec<Build>,
    /// What they teach.
    pub learned: Learned,
}

impl Taught {
    /// Learns from what was gathered, beside what the shop knew before.
    ///
    /// # Errors
    /// [`Failure::Input`] when a heat is outside what the rules hold for.
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

    /// How many readings it rests on.
    #[must_use]
    pub fn readings(&self) -> usize {
        let used = self.learned.used.iter();
        used.map(|&build| self.builds[build].readings.len()).sum()
    }

    fn misfits(&self) -> Vec<String> {
        let misfits = self.learned.misfits.iter();
        misfits
            .map(|misfit| misfit_words(&self.builds, misfit, &self.learned.knowledge))
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
            counted(self.builds.len(), "build"),
            counted(self.readings(), "reading")
        );
        for &build in &self.learned.used {
            let build = &self.builds[build];
            line!(
                out,
                "  {}: {}",
                build.name,
                counted(build.readings.len(), "reading")
            );
        }
        for misfit in self.misfits() {
            line!(out, "Does not fit: {misfit}.");
        }
        for note in self.gathered.iter().flat_map(|one| &one.notes) {
            line!(out, "Note: {note}.");
        }
    }

    fn factors(&self, out: &mut String) {
        let mut class = String::new();
        for [of, way, before, after, support] in factor_rows(&self.before, &self.learned.knowledge)
        {
            if of != class {
                line!(
                    out,
                    "\nFactors of welds {of} (1.10: a tenth more than published)"
                );
                class.clone_from(&of);
            }
            line!(out, "  {way:<15} {before:>13} -> {after:<13}  {support}");
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
                    narrower(next.doubt_left())
                );
            }
        }
    }

    /// For machines: an indented JSON text; ends with a line break.
    #[must_use]
    pub fn json(&self) -> String {
        let rows = factor_rows(&self.before, &self.learned.knowledge);
        let factors: Vec<_> = rows
            .iter()
            .enumerate()
            .map(|(k, [class, way, before, after, support])| {
                let factor = self.learned.knowledge.position(&crate::shop::Class::named(class));
                let factor = factor.map(|at| self.learned.knowledge.factor(at, k % 5));
                json!({
                    "class": class, "way": way, "before": before, "after": after, "support": support,
                    "value": factor.map(|f| f.value),
                    "relative_expanded": factor.map(|f| 2.0 * f.relative_uncertainty),
                })
            })
            .collect();
        let next: Vec<_> = self
            .gathered
            .iter()
            .flat_map(|one| {
                let next = narrowing(one, &self.before, &self.learned.knowledge);
                next.into_iter().map(|next| {
                    json!({
                        "job": one.job.name, "measure": next.of, "measured": next.measured,
                        "before_mm": {"value": next.before.value, "expanded": next.before.expanded()},
                        "after_mm": {"value": next.after.value, "expanded": next.after.expanded()},
                        "doubt_left": next.doubt_left(),
                    })
                })
            })
            .collect();
        let used: Vec<&str> = self
            .learned
            .used
            .iter()
            .map(|&b| self.builds[b].name.as_str())
            .collect();
        let notes: Vec<&String> = self.gathered.iter().flat_map(|one| &one.notes).collect();
        let text = serde_json::to_string_pretty(&json!({
            "used": used, "readings": self.readings(), "misfits": self.misfits(), "notes": notes,
            "factors": factors, "next": next, "supported": supports_anything(&self.learned),
        }));
        text.unwrap_or_default() + "\n"
    }
}

/// "1 build", "3 builds".
fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{count} {what}s"),
    }
}

/// What is left of a doubt, in words. A twentieth more or less is nothing that anybody can notice.
fn narrower(left: f64) -> String {
    if left < 0.95 {
        format!("{:.0} % of the doubt is left", 100.0 * left)
    } else if left <= 1.05 {
        "no better known".to_owned()
    } else {
        "no better known; it may move more than was thought".to_owned()
    }
}
