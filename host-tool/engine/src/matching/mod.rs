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
mod interpretation;
mod likelihood;
mod markers;
mod posteriors;
mod runs;
mod trellis;
mod viterbi;

pub use by_hand::{Assignment, Target, read_lines};
pub use error::MatchError;

use align::{Alignment, align, assign};
use coldsquare_core::units::Seconds;
use markers::Markers;

/// Below this confidence a match is uncertain.
pub const CERTAIN_FROM: f64 = 0.9;

/// A bead as matching sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeadTime {
    /// Number in the log, from 1.
    pub number: u32,
    /// When its arc was first lit, from the start of the log.
    pub start: Seconds,
    /// When its arc was last lit.
    pub end: Seconds,
    /// How long the arc burned, greater than zero.
    pub arc_time: Seconds,
}

/// A weld as matching sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedWeld {
    /// Number in the job.
    pub number: u16,
    /// Arc time to expect for all its runs together, greater than zero.
    pub arc_time: Seconds,
    /// Number of runs, 1 or more.
    pub runs: u8,
}

/// A marker as matching sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marker {
    /// When it was set, from the start of the log.
    pub at: Seconds,
    /// What it says.
    pub kind: MarkerKind,
    /// The weld that it names, if it names one.
    pub weld: Option<u16>,
}

/// What a marker can say about beads and welds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum MarkerKind {
    /// The beads that follow belong to this weld.
    Next,
    /// This weld is finished.
    Done,
    /// This weld is passed over for now.
    Skip,
    /// This weld is done again: the beads that follow replace its earlier ones.
    Redo,
    /// The bead just made belongs to no weld.
    Scrap,
    /// The marker before this one was set in error.
    Undo,
}

/// What to match.
#[derive(Clone, Copy, Debug)]
pub struct MatchInput<'a> {
    /// The welds, in the planned order.
    pub welds: &'a [ExpectedWeld],
    /// The beads, in order of time.
    pub beads: &'a [BeadTime],
    /// The welder's markers, in order of time.
    pub markers: &'a [Marker],
    /// What the user assigns afterwards; it overrides everything. A weld named here has these beads and no others.
    pub by_hand: &'a [Assignment],
    /// Arc times below this are tacks; `None` for the smaller of [`LONGEST_TACK`] and half of the shortest run
    /// expected.
    pub tack_below: Option<Seconds>,
}

/// A bead with this arc time or more is no tack unless the user says so. Common practice, no source.
pub const LONGEST_TACK: Seconds = Seconds(1.5);

/// What a bead is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Part of a weld.
    Weld {
        /// Number of the weld.
        weld: u16,
        /// Number of the run, from 1.
        run: u8,
    },
    /// Was part of a weld until the weld was done again.
    Replaced {
        /// Number of the weld.
        weld: u16,
    },
    /// A tack: too short to be a weld.
    Tack,
    /// The welder marked it as belonging to no weld.
    Scrap,
    /// Long enough for a weld, and no planned weld fits it.
    Extra,
}

impl Role {
    /// The weld it is or was part of.
    #[must_use]
    pub const fn weld(self) -> Option<u16> {
        match self {
            Self::Weld { weld, .. } | Self::Replaced { weld } => Some(weld),
            _ => None,
        }
    }
}

/// What a match rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Basis {
    /// The bead's place in the order and its arc time.
    Alignment,
    /// The same, and a marker.
    Marker,
    /// The user's assignment.
    Hand,
}

/// Where a bead went.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeadMatch {
    /// What the bead is.
    pub role: Role,
    /// What that rests on.
    pub basis: Basis,
    /// Chance that the role is right, 0 to 1.
    pub confidence: f64,
    /// The next likeliest role where the confidence is below [`CERTAIN_FROM`].
    pub or_else: Option<Role>,
}

/// All beads matched.
#[derive(Clone, Debug, PartialEq)]
pub struct Matching {
    /// One entry a bead, in the order of the input.
    pub beads: Vec<BeadMatch>,
    /// Numbers of the welds that the welder passed over and that have no bead.
    pub skipped: Vec<u16>,
    /// Weld numbers in markers that are not among the welds.
    pub unknown_in_markers: Vec<u16>,
    /// Measured over expected arc time: the median of all welds found; 1 with too few.
    pub arc_time_ratio: f64,
}

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
/// };
/// let matching = match_beads(&MatchInput {
///     welds: &[weld(1, 8.0), weld(2, 20.0)],
///     beads: &[bead(1, 0.0, 0.4), bead(2, 30.0, 8.3), bead(3, 60.0, 19.5)],
///     markers: &[],
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
    let tack_below = tack_limit(input);
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
    let mut matches: Vec<BeadMatch> = matches.into_iter().flatten().collect();
    dabs::join(input.beads, &mut matches);
    runs::divide(input, &mut matches);
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

/// Indices of the beads and welds that are still to be aligned, in order.
struct Unassigned {
    beads: Vec<usize>,
    welds: Vec<usize>,
}

impl Unassigned {
    fn new(input: &MatchInput<'_>, matches: &[Option<BeadMatch>]) -> Self {
        let assigned = |weld: u16| {
            let to_weld = |one: &Assignment| one.target == Target::Weld(weld);
            input.by_hand.iter().any(to_weld)
        };
        Self {
            beads: (0..matches.len())
                .filter(|&k| matches[k].is_none())
                .collect(),
            welds: (0..input.welds.len())
                .filter(|&k| !assigned(input.welds[k].number))
                .collect(),
        }
    }
}

fn tack_limit(input: &MatchInput<'_>) -> Seconds {
    input.tack_below.unwrap_or_else(|| {
        let runs = input
            .welds
            .iter()
            .map(|weld| weld.arc_time.0 / f64::from(weld.runs.max(1)));
        Seconds(runs.fold(2.0 * LONGEST_TACK.0, f64::min) / 2.0)
    })
}

/// How sharp the limit between tacks and welds is: a bead 10 % off it is right in nine of ten cases.
const TACK_SHARPNESS: f64 = 0.05;

fn tack(bead: &BeadTime, below: Seconds) -> Option<BeadMatch> {
    if bead.arc_time.0 >= below.0 {
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
