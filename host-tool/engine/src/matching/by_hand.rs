//! Beads that the user assigns by hand.

use super::error::MatchError;
use super::model::{Assignment, Basis, BeadMatch, MatchInput, Role, Target};
use std::str::FromStr;

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

/// Reads assignments, one a line; empty lines and text after `#` are ignored.
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

/// The matches that the user assigned; `None` for all other beads.
pub(super) fn by_hand(input: &MatchInput<'_>) -> Result<Vec<Option<BeadMatch>>, MatchError> {
    let mut matches = vec![None; input.beads.len()];
    for &Assignment { bead, target } in input.by_hand {
        let index = input
            .beads
            .iter()
            .position(|other| other.number == bead)
            .ok_or(MatchError::NoSuchBead {
                bead,
                beads: input.beads.len(),
            })?;
        if matches[index].is_some() {
            return Err(MatchError::BeadTwice { bead });
        }
        let role = match target {
            Target::Tack => Role::Tack,
            Target::Scrap => Role::Scrap,
            Target::Extra => Role::Extra,
            Target::Weld(weld) => {
                if !input.welds.iter().any(|other| other.number == weld) {
                    return Err(MatchError::NoSuchWeld {
                        weld: weld.into(),
                        welds: input.welds.len(),
                    });
                }
                Role::Weld { weld, run: 1 }
            }
        };
        matches[index] = Some(BeadMatch {
            role,
            basis: Basis::Hand,
            confidence: 1.0,
            or_else: None,
        });
    }
    Ok(matches)
}
