//! Which bead of a log belongs to which weld of the job.
//!
//! To change what counts as likely, change a cost in `likelihood`; the search in `trellis`, `viterbi` and `posteriors`
//! stays as it is.
//!
//! Beads are aligned to welds as a whole. Of all ways to read the log as a build in the planned order - welds left
//! out, beads that fit no weld, welds of several beads, welds done again - the likeliest counts. Three things decide:
//! how near each weld's arc time is to the expected one, the welder's markers, and how long the pauses are. What the
//! user assigns by hand overrides all of it.
//!
//! ```text
//! markers + planned order -> interpretations (which order was meant) -> alignment of each -> the likeliest
//! ```
//!
//! The chances of all ways, added up, give the confidence of each bead's match.
//! Not covered: a weld whose runs have other welds between them. Assign its beads by hand.

mod align;
mod by_hand;
mod dabs;
mod error;
mod holes;
mod interpretation;
mod likelihood;
mod markers;
mod model;
mod posteriors;
mod runs;
mod tack_limit;
mod trellis;
mod viterbi;

pub use by_hand::read_lines;
pub use error::MatchError;
pub use model::{
    Assignment, Basis, BeadMatch, BeadTime, CERTAIN_FROM, ExpectedWeld, Hole, LONGEST_TACK,
    MOST_ACROSS_A_HOLE, Marker, MarkerKind, MatchInput, Matching, Role, Target,
};

use align::{Alignment, align, assign};
use coldsquare_core::units::Seconds;
use markers::Markers;
use model::Unassigned;

/// Matches beads to welds.
///
/// ```
/// use coldsquare_core::units::Seconds;
/// use coldsquare_engine::matching::{BeadTime, ExpectedWeld, MatchInput, Role, match_beads};
///
/// let weld = |number, arc_time| ExpectedWeld { number, arc_time: Seconds(arc_time), runs: 1 };
/// let bead = |number, start, arc_time| BeadTime {
///     number,
///     start: Seconds(start),
///     end: Seconds(start + arc_time),
///     arc_time: Seconds(arc_time),
///     may_be_missing: Seconds(0.0),
/// };
/// let matching = match_beads(&MatchInput {
///     welds: &[weld(1, 8.0), weld(2, 20.0)],
///     beads: &[bead(1, 0.0, 0.4), bead(2, 30.0, 8.3), bead(3, 60.0, 19.5)],
///     markers: &[],
///     holes: &[],
///     by_hand: &[],
///     tack_below: None,
/// })?;
/// let roles: Vec<Role> = matching.beads.iter().map(|bead| bead.role).collect();
/// assert_eq!(
///     roles,
///     [Role::Tack, Role::Weld { weld: 1, run: 1 }, Role::Weld { weld: 2, run: 1 }]
/// );
/// # Ok::<(), coldsquare_engine::matching::MatchError>(())
/// ```
///
/// # Errors
/// [`MatchError`] when an assignment names a weld or bead that is not there, or a bead is assigned twice, and when
/// there is too much to match (many thousands of beads against thousands of welds).
pub fn match_beads(input: &MatchInput<'_>) -> Result<Matching, MatchError> {
    let mut matches = by_hand::by_hand(input)?;
    let tack_below = tack_limit::tack_limit(input);
    let markers = Markers::new(input);
    for (bead, found) in input.beads.iter().zip(&mut matches) {
        if found.is_none() {
            *found = markers
                .scrapped(bead.number)
                .or_else(|| tack(bead, tack_below));
        }
    }
    let alignment = likeliest(input, &matches, &markers)?;
    assign(input, &alignment, &mut matches)?;
    for (bead, found) in input.beads.iter().zip(matches.iter_mut().flatten()) {
        if found.role == Role::Extra
            && is_short_piece(bead, tack_below)
            && found.basis != Basis::Hand
        {
            found.role = Role::Tack;
        }
    }
    let mut matches: Vec<BeadMatch> = matches.into_iter().flatten().collect();
    dabs::join(input.beads, &mut matches);
    runs::divide(input, &mut matches);
    if !input.holes.is_empty() {
        let by_rule = matches
            .iter_mut()
            .filter(|found| found.basis != Basis::Hand);
        by_rule.for_each(|found| found.confidence = found.confidence.min(MOST_ACROSS_A_HOLE));
    }
    let found = |weld| {
        matches
            .iter()
            .any(|found: &BeadMatch| found.role.weld() == Some(weld))
    };
    let skipped = markers.skipped().filter(|&weld| !found(weld)).collect();
    Ok(Matching {
        skipped,
        unknown_in_markers: markers.unknown,
        arc_time_ratio: alignment.durations.ratio(),
        beads: matches,
    })
}

/// Aligns every interpretation of the markers and keeps the likeliest, the first of equals.
fn likeliest(
    input: &MatchInput<'_>,
    matches: &[Option<BeadMatch>],
    markers: &Markers,
) -> Result<Alignment, MatchError> {
    let open = Unassigned::new(input, matches);
    let mut best: Option<Alignment> = None;
    for interpretation in markers.interpretations(input, &open) {
        let alignment = align(input, interpretation)?;
        if best
            .as_ref()
            .is_none_or(|other| alignment.path.cost < other.path.cost)
        {
            best = Some(alignment);
        }
    }
    Ok(best.expect("there is always the plain interpretation"))
}

/// How sharp the limit between tacks and welds is: a bead 10 % off it is right in nine of ten cases.
const TACK_SHARPNESS: f64 = 0.05;

/// True for a bead that is shorter than a tack because a part of it may be lost.
fn is_short_piece(bead: &BeadTime, below: Seconds) -> bool {
    bead.arc_time.0 < below.0 && bead.arc_time.0 + bead.may_be_missing.0 >= below.0
}

fn tack(bead: &BeadTime, below: Seconds) -> Option<BeadMatch> {
    // What is left of a weld can be as short as a tack: the order decides.
    if bead.arc_time.0 >= below.0 || is_short_piece(bead, below) {
        return None;
    }
    let distance = (below.0 / bead.arc_time.0).ln() / TACK_SHARPNESS;
    Some(BeadMatch {
        role: Role::Tack,
        basis: Basis::Alignment,
        confidence: 1.0 / (1.0 + (-distance).exp()),
        or_else: None,
    })
}

#[cfg(test)]
mod samples;
#[cfg(test)]
mod tests;
