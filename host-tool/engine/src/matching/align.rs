//! The likeliest alignment of beads and welds under one interpretation, and what it makes of each bead.

use super::error::MatchError;
use super::interpretation::{Interpretation, Item};
use super::likelihood::DurationModel;
use super::model::{Basis, BeadMatch, CERTAIN_FROM, MatchInput, Role};
use super::posteriors::{Posteriors, forward_backward};
use super::trellis::Trellis;
use super::viterbi::{BeadGroup, Path, viterbi};

/// The likeliest path of one interpretation.
pub struct Alignment {
    /// How the markers were understood.
    pub interpretation: Interpretation,
    /// The path.
    pub path: Path,
    /// What the log says of the welder's arc times.
    pub durations: DurationModel,
}

/// Finds the likeliest path: first with any arc times, then with those of this welder.
///
/// # Errors
/// [`MatchError::TooMuch`].
pub fn align(
    input: &MatchInput<'_>,
    interpretation: Interpretation,
) -> Result<Alignment, MatchError> {
    let trellis = Trellis::new(input, &interpretation, DurationModel::unknown())?;
    let first = viterbi(&trellis);
    let ratios = first.groups.iter().filter_map(|group| {
        let weld = &input.welds[group.weld?];
        let runs = usize::from(weld.runs.max(1));
        let share = group.beads.len().min(runs) as f64 / runs as f64;
        (share > 0.0).then(|| trellis.arc_time(&group.beads) / (weld.arc_time.0 * share))
    });
    let durations = DurationModel::from_ratios(ratios);
    let path = viterbi(&trellis.with_durations(durations));
    Ok(Alignment {
        interpretation,
        path,
        durations,
    })
}

/// Writes down what each bead of the path is, with its confidence.
///
/// # Errors
/// [`MatchError::TooMuch`].
pub fn assign(
    input: &MatchInput<'_>,
    alignment: &Alignment,
    matches: &mut [Option<BeadMatch>],
) -> Result<(), MatchError> {
    let Alignment {
        interpretation,
        path,
        durations,
    } = alignment;
    let posteriors = forward_backward(&Trellis::new(input, interpretation, *durations)?);
    for group in &path.groups {
        for item in group.beads.clone() {
            let Item::Bead(bead) = interpretation.items[item] else {
                continue;
            };
            let role = group.weld.map_or(Role::Extra, |weld| Role::Weld {
                weld: input.welds[weld].number,
                run: 1,
            });
            let by_marker = group
                .weld
                .is_some_and(|weld| interpretation.named.contains(&weld));
            let (confidence, or_else) = confidence(input, &posteriors, item, group.weld);
            matches[bead] = Some(BeadMatch {
                role,
                basis: if by_marker {
                    Basis::Marker
                } else {
                    Basis::Alignment
                },
                confidence,
                or_else,
            });
        }
    }
    for redo in &path.groups {
        if redo.redo && !redo.beads.is_empty() {
            replace_earlier(interpretation, path, redo, matches);
        }
    }
    Ok(())
}

/// The beads of the same weld before a redo no longer count.
fn replace_earlier(
    interpretation: &Interpretation,
    path: &Path,
    redo: &BeadGroup,
    matches: &mut [Option<BeadMatch>],
) {
    let earlier =
        |group: &&BeadGroup| group.weld == redo.weld && group.beads.end <= redo.beads.start;
    for item in path
        .groups
        .iter()
        .filter(earlier)
        .flat_map(|group| group.beads.clone())
    {
        let Item::Bead(bead) = interpretation.items[item] else {
            continue;
        };
        if let Some(found) = &mut matches[bead]
            && let Role::Weld { weld, .. } = found.role
        {
            found.role = Role::Replaced { weld };
        }
    }
}

/// The chance that an item is the weld it went to, and the next likeliest role if that is uncertain.
fn confidence(
    input: &MatchInput<'_>,
    posteriors: &Posteriors,
    item: usize,
    weld: Option<usize>,
) -> (f64, Option<Role>) {
    let chances = &posteriors[item];
    let none = input.welds.len();
    let own = weld.unwrap_or(none);
    let confidence = f64::from(chances[own]).clamp(0.0, 1.0);
    let other = (0..=none)
        .filter(|&other| other != own && chances[other] > 0.0)
        .max_by(|&a, &b| chances[a].total_cmp(&chances[b]))
        .filter(|_| confidence < CERTAIN_FROM);
    let role = other.map(|other| match input.welds.get(other) {
        Some(weld) => Role::Weld {
            weld: weld.number,
            run: 1,
        },
        None => Role::Extra,
    });
    (confidence, role)
}

#[cfg(test)]
mod tests;
