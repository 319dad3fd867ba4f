//! Whether a log is as its logger wrote it: the seals in it, checked.
//!
//! `docs/log-format.md` says what a seal is over, `docs/threat-model.md` what it proves.

mod check;
mod end;
#[cfg(test)]
mod tests;

pub(super) use check::Checker;

use crate::format::count;
use coldsquare_core::seal::{Fingerprint, SIMULATION, Secret};
use serde::Serialize;
use std::fmt::Write;

/// What the seals of a log say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seal {
    /// Public keys of the loggers that sealed it, in the order in which they are met.
    pub keys: Vec<[u8; 32]>,
    /// What they say.
    pub verdict: Verdict,
    /// The logger that should have sealed it, if somebody named one.
    pub named: Option<Fingerprint>,
    /// Records that were never sealed though a seal comes after them: power was cut, or the store failed.
    pub between: Vec<Records>,
    /// Windows that are missing from what is sealed: they were dropped to make room.
    pub made_room: u64,
    /// Windows that are missing further on: the first of them, and how many.
    pub lost: Option<(Records, u64)>,
}

/// Records by their numbers, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Records {
    /// Number of the first.
    pub first: u32,
    /// Number of the last.
    pub last: u32,
}

impl Records {
    const fn one(number: u32) -> Self {
        Self {
            first: number,
            last: number,
        }
    }
}

impl std::fmt::Display for Records {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.first == self.last {
            write!(f, "record {}", self.first)
        } else {
            write!(f, "records {} to {}", self.first, self.last)
        }
    }
}

/// What the seals of a log say, in short.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Verdict {
    /// There is no seal.
    #[default]
    NotSealed,
    /// Every record, but for idle time at the end, is as its logger wrote it, and the logger said that this is the end.
    Sealed,
    /// Up to and including this record, all are as the logger wrote them. Nothing shows that of the `rest` after it, or
    /// that nothing followed.
    UpTo {
        /// Number of the last sealed record.
        record: u32,
        /// Records after it.
        rest: u64,
    },
    /// Something was changed, taken out or put in.
    Broken {
        /// Where: the records themselves if that can be told, otherwise everything between two seals.
        at: Records,
        /// These records are missing, or damaged beyond reading.
        missing: bool,
    },
}

impl Seal {
    /// The word for it: `sealed`, `not sealed`, `sealed in part` or `broken`; `without its seal` or `sealed by another
    /// logger` if a logger was named whose seal it must have.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self.verdict {
            Verdict::NotSealed if self.named.is_some() => "without its seal",
            Verdict::NotSealed => "not sealed",
            Verdict::Sealed | Verdict::UpTo { .. } if self.is_by_another() => {
                "sealed by another logger"
            }
            Verdict::Sealed if self.is_complete() => "sealed",
            Verdict::Sealed | Verdict::UpTo { .. } => "sealed in part",
            Verdict::Broken { .. } => "broken",
        }
    }

    /// Nothing is missing from what is sealed, and all of it is.
    const fn is_complete(&self) -> bool {
        self.between.is_empty() && self.made_room == 0 && self.lost.is_none()
    }

    /// True when there is a seal, and not all of the log is sealed by it.
    #[must_use]
    pub fn is_in_doubt(&self) -> bool {
        !matches!(self.word(), "sealed" | "not sealed")
    }

    /// Fingerprints of the keys.
    #[must_use]
    pub fn fingerprints(&self) -> Vec<Fingerprint> {
        self.keys.iter().map(Fingerprint::of).collect()
    }

    /// True when a logger was named, and another one sealed some of it.
    fn is_by_another(&self) -> bool {
        let keys = self.fingerprints();
        self.named
            .is_some_and(|named| keys.iter().any(|key| *key != named))
    }

    /// True when a key is the open one of simulated loggers.
    #[must_use]
    pub fn is_simulated(&self) -> bool {
        let open = Secret::new(SIMULATION).map(|secret| secret.public());
        self.keys.iter().any(|key| Some(*key) == open)
    }

    /// What the seals say, in a sentence without its full stop.
    #[must_use]
    pub fn sentence(&self) -> String {
        let mut said = self.what_seals_say();
        if let Some(named) = self.named.filter(|_| self.is_by_another()) {
            let _ = write!(said, "; that is not the logger that was named, {named}");
        }
        said
    }

    fn what_seals_say(&self) -> String {
        let by = self.by();
        let mut said = match self.verdict {
            Verdict::NotSealed => {
                return match self.named {
                    None => "not sealed: nothing shows whether it was changed".into(),
                    Some(named) => format!(
                        "not sealed: it is not by logger {named}, or its seals were taken out, and nothing shows whether it was changed"
                    ),
                };
            }
            Verdict::Broken { at, missing: true } => {
                let which = if at.first == at.last {
                    "it is"
                } else {
                    "they are"
                };
                return format!(
                    "the seal is broken at {at}: {which} missing or damaged. Either somebody changed the log after {by} wrote it, or a place of its store can no longer be read"
                );
            }
            Verdict::Broken { at, missing: false } => {
                return format!(
                    "the seal is broken at {at}: something there was changed, taken out or put in after {by} wrote it"
                );
            }
            Verdict::Sealed => format!("sealed by {by}"),
            Verdict::UpTo { record, rest: 0 } => format!(
                "sealed by {by} up to record {record}, the last one; the logger did not say that the log ends there"
            ),
            Verdict::UpTo { record, rest } => format!(
                "sealed by {by} up to record {record}; the {} after it {} not",
                count(rest as usize, "record"),
                if rest == 1 { "is" } else { "are" }
            ),
        };
        for (at, records) in self.between.iter().enumerate() {
            let joined = if at == 0 { "; not sealed: " } else { ", " };
            let _ = write!(said, "{joined}{records}");
        }
        if let Some((at, all)) = self.lost {
            let windows = count(all as usize, "window");
            let verb = if all == 1 { "is" } else { "are" };
            let _ = write!(
                said,
                "; {windows} {verb} missing, {at} first: power was cut, a place of the logger's store was lost, or somebody took them out"
            );
        }
        if self.made_room > 0 {
            let windows = count(self.made_room as usize, "window");
            let (verb, make) = match self.made_room {
                1 => ("is", "it makes"),
                _ => ("are", "they make"),
            };
            let _ = write!(
                said,
                "; {windows} of its beginning {verb} missing, as when {make} room for later ones"
            );
        }
        said
    }

    /// Who sealed it.
    fn by(&self) -> String {
        let names: Vec<_> = self
            .fingerprints()
            .iter()
            .map(Fingerprint::to_string)
            .collect();
        let names = names.join(" and ");
        let simulated = match self.is_simulated() {
            true => " (a simulated logger, whose key is public: it proves nothing)",
            false => "",
        };
        let plural = if self.keys.len() > 1 { "s" } else { "" };
        format!("logger{plural} {names}{simulated}")
    }
}

/// As JSON says it.
#[derive(Clone, Debug, Serialize)]
pub struct Said {
    state: &'static str,
    says: String,
    keys: Vec<String>,
    named: Option<String>,
    sealed_up_to: Option<u32>,
    broken: Option<Records>,
    not_sealed: Vec<Records>,
    windows_missing: u64,
    simulated: bool,
}

impl From<&Seal> for Said {
    fn from(seal: &Seal) -> Self {
        Self {
            state: seal.word(),
            says: seal.sentence(),
            keys: seal
                .fingerprints()
                .iter()
                .map(Fingerprint::to_string)
                .collect(),
            named: seal.named.map(|named| named.to_string()),
            sealed_up_to: match seal.verdict {
                Verdict::UpTo { record, .. } => Some(record),
                _ => None,
            },
            broken: match seal.verdict {
                Verdict::Broken { at, .. } => Some(at),
                _ => None,
            },
            not_sealed: seal.between.clone(),
            windows_missing: seal.made_room + seal.lost.map_or(0, |(_, all)| all),
            simulated: seal.is_simulated(),
        }
    }
}
