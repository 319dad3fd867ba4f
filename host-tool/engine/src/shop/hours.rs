//! How long the steps of a job took, and what that says about the estimates; kept in the shop factors file
//! ([`hours_file`](super::hours_file)).

use coldsquare_core::uncertainty::COVERAGE_FACTOR;
use serde::{Deserialize, Serialize};

/// Standard uncertainty of an estimate that nobody has noted anything for, on a logarithmic scale: a factor of 1.6. Our own
/// estimate.
const OF_THE_TABLE: f64 = 0.5;
/// The same for how far a shop is from its own pace from job to job: a factor of 1.35. Our own estimate.
const OF_A_JOB: f64 = 0.3;

/// How long a step took.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Date, as `2026-11-28`.
    pub on: String,
    /// File name of the job.
    pub job: String,
    /// The step ("fixture").
    pub step: String,
    /// What the table of times says, without what was learned, minutes.
    pub estimated_min: f64,
    /// What it took, minutes.
    pub spent_min: f64,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl Hours {
    /// What is wrong with it.
    pub(super) fn fault(&self) -> Option<String> {
        if self.on.parse::<jiff::civil::Date>().is_err() {
            return Some("`on` is not a date; write it as 2026-11-28".into());
        }
        let positive = |minutes: f64| minutes.is_finite() && minutes > 0.0;
        let both = positive(self.estimated_min) && positive(self.spent_min);
        (!both).then(|| "minutes must be more than 0".into())
    }
}

/// How a shop's times compare with the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Time spent over time in the table.
    pub factor: f64,
    /// Number of notes it rests on.
    pub count: usize,
    /// About 95 of 100 times lie between the expected one divided and multiplied by this (k = 2 on a logarithmic scale).
    pub spread: f64,
}

impl Pace {
    /// The pace of one step: the mean of its notes on a logarithmic scale, drawn towards the table while there are few (a
    /// normal prior; A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 2.5).
    #[must_use]
    pub fn of(notes: &[Hours], step: &str) -> Self {
        let logs = notes
            .iter()
            .filter(|note| note.step == step)
            .map(|note| (note.spent_min / note.estimated_min).ln());
        let (count, sum) = logs.fold((0_usize, 0.0), |(count, sum), log| (count + 1, sum + log));
        let [table, job] = [OF_THE_TABLE, OF_A_JOB].map(|share| 1.0 / (share * share));
        let precision = table + count as f64 * job;
        // The next job scatters as the noted ones do.
        let variance = 1.0 / precision + OF_A_JOB * OF_A_JOB;
        Self {
            factor: (sum * job / precision).exp(),
            count,
            spread: (COVERAGE_FACTOR * variance.sqrt()).exp(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(spent_min: f64) -> Hours {
        Hours {
            on: "2026-11-28".into(),
            job: "gate.toml".into(),
            step: "cut".into(),
            estimated_min: 30.0,
            spent_min,
            note: String::new(),
        }
    }

    #[test]
    fn the_more_notes_the_nearer_to_what_was_spent_and_the_surer() {
        let notes: Vec<Hours> = (0..20).map(|_| note(60.0)).collect();
        let mut before = Pace::of(&[], "cut");
        assert_eq!((before.factor, before.count), (1.0, 0));
        for count in 1..=20 {
            let pace = Pace::of(&notes[..count], "cut");
            assert!(pace.factor > before.factor && pace.factor < 2.0);
            assert!(pace.spread < before.spread);
            before = pace;
        }
        assert!(before.factor > 1.9);
        assert_eq!(Pace::of(&notes, "hang").count, 0, "another step");
    }
}
