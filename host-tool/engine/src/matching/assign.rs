//! What the user says afterwards about single beads.

use super::{Basis, MatchError, Place, Question, Role};
use std::str::FromStr;

/// The user's word on one bead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Assignment {
    /// Number of the bead in the log.
    pub bead: u32,
    /// What it is.
    pub target: Target,
}

/// What the user says that a bead is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// Part of the weld of this number.
    Weld(u16),
    /// A tack.
    Tack,
    /// On scrap.
    Scrap,
    /// On the frame, and no planned weld.
    Extra,
}

impl FromStr for Assignment {
    type Err = MatchError;

    /// Reads `5=3`, `5=tack`, `5=extra` or `5=scrap`; spaces and case do not matter.
    fn from_str(text: &str) -> Result<Self, MatchError> {
        let read = || {
            let (bead, target) = text.split_once('=')?;
            let target = match target.trim().to_lowercase().as_str() {
                "tack" => Target::Tack,
                "scrap" => Target::Scrap,
                "extra" => Target::Extra,
                number => Target::Weld(number.parse().ok()?),
            };
            let bead = bead.trim().parse().ok()?;
            Some(Self { bead, target })
        };
        read().ok_or_else(|| MatchError::Unreadable {
            text: text.trim().to_string(),
        })
    }
}

/// Reads assignments one a line; empty lines and what follows `#` are left out.
///
/// # Errors
/// Every line that cannot be read, with its number from 1.
pub fn read_lines(text: &str) -> Result<Vec<Assignment>, Vec<(usize, MatchError)>> {
    let mut good = Vec::new();
    let mut bad = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let line = line.split('#').next().unwrap_or_default().trim();
        if line.is_empty() {
            continue;
        }
        match line.parse() {
            Ok(assignment) => good.push(assignment),
            Err(error) => bad.push((index + 1, error)),
        }
    }
    if bad.is_empty() { Ok(good) } else { Err(bad) }
}

/// The places that the user gave; `None` for all other beads.
pub(super) fn by_hand(question: &Question<'_>) -> Result<Vec<Option<Place>>, MatchError> {
    let mut places = vec![None; question.beads.len()];
    for &Assignment { bead, target } in question.by_hand {
        let index = question
            .beads
            .iter()
            .position(|other| other.number == bead)
            .ok_or(MatchError::NoSuchBead {
                bead,
                beads: question.beads.len(),
            })?;
        if places[index].is_some() {
            return Err(MatchError::BeadTwice { bead });
        }
        let role = match target {
            Target::Tack => Role::Tack,
            Target::Scrap => Role::Scrap,
            Target::Extra => Role::Extra,
            Target::Weld(weld) => {
                if !question.welds.iter().any(|other| other.number == weld) {
                    return Err(MatchError::NoSuchWeld {
                        weld: weld.into(),
                        welds: question.welds.len(),
                    });
                }
                Role::Weld { weld, run: 1 }
            }
        };
        places[index] = Some(Place {
            role,
            basis: Basis::Hand,
            confidence: 1.0,
            or_else: None,
        });
    }
    Ok(places)
}
