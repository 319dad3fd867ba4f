//! Which bead of a log belongs to which weld of the job.
//!
//! Beads are aligned to welds, not taken first come first served: of all ways to lay the log against the planned
//! order - welds left out, beads that fit no weld, welds of several beads, welds done again - the likeliest is taken.
//! What speaks for a way is how near each weld's arc time comes to the expected one, what the welder said by marker,
//! and how long the pauses are (see `likelihood`). The user's own word stands above all of it.
//!
//! ```text
//! markers + planned order -> readings (which order was meant) -> alignment of each -> the likeliest
//! ```
//!
//! Adding up all ways, each by its chance, tells how certain each bead's place is.
//! Not covered: a weld whose runs have other welds between them; say by hand which beads it has.

mod align;
mod assign;
mod dabs;
mod error;
mod likelihood;
mod reading;
mod runs;

pub use assign::{Assignment, Target, read_lines};
pub use error::MatchError;

use align::Path;
use coldsquare_core::units::Seconds;
use reading::Reading;

/// A bead is in doubt below this chance of being where it was put.
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

/// Something the welder said, by marker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Said {
    /// When, from the start of the log.
    pub at: Seconds,
    /// What.
    pub kind: SaidKind,
    /// Which weld it is about, where it names one.
    pub weld: Option<u16>,
}

/// What a marker can say about beads and welds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SaidKind {
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
    /// The marker before this one was a mistake.
    Undo,
}

/// Everything that matching goes by.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The welds, in the order planned.
    pub welds: &'a [ExpectedWeld],
    /// The beads, in order of time.
    pub beads: &'a [BeadTime],
    /// What the welder said, in order of time.
    pub said: &'a [Said],
    /// What the user says afterwards: stands above everything. A weld named here has these beads and no others.
    pub by_hand: &'a [Assignment],
    /// Arc times below this are tacks; `None` for the smaller of [`LONGEST_TACK`] and half of the shortest run
    /// expected.
    pub tack_below: Option<Seconds>,
}

/// No bead of this arc time or more is taken for a tack unless the user says so. Common practice, no source.
pub const LONGEST_TACK: Seconds = Seconds(1.5);

/// What a bead was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Part of a weld.
    Weld {
        /// Number of the weld.
        weld: u16,
        /// Number of the run, from 1.
        run: u8,
    },
    /// Was part of a weld until that was done again.
    Replaced {
        /// Number of the weld.
        weld: u16,
    },
    /// A tack: too short to be a weld.
    Tack,
    /// The welder said that it belongs to no weld.
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

/// What the role of a bead rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Its place in the order and its arc time.
    Alignment,
    /// The same, and a marker that the welder set.
    Marker,
    /// The user's own word.
    Hand,
}

/// Where a bead went.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// What it was taken for.
    pub role: Role,
    /// What that rests on.
    pub basis: Basis,
    /// Chance that it is what it was taken for, 0 to 1.
    pub confidence: f64,
    /// The next likeliest role where the confidence is below [`CERTAIN_FROM`].
    pub or_else: Option<Role>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Matching {
    /// One entry a bead, in the order of the question.
    pub places: Vec<Place>,
    /// Numbers of the welds that the welder passed over and that have no bead.
    pub skipped: Vec<u16>,
    /// Weld numbers named by markers that are not among the welds.
    pub unknown_in_markers: Vec<u16>,
    /// Arc times as measured over those expected: the middle of all welds that were found; 1 where too few were.
    pub pace: f64,
}

/// Matches beads to welds.
///
/// # Errors
/// [`MatchError`] when an assignment names a weld or bead that is not there, or gives a bead twice, and when there is
/// more than can be laid out (many thousands of beads against thousands of welds).
pub fn match_beads(question: &Question<'_>) -> Result<Matching, MatchError> {
    let mut places = assign::by_hand(question)?;
    let tack_below = tack_limit(question);
    let said = reading::Markers::new(question);
    for (bead, place) in question.beads.iter().zip(&mut places) {
        if place.is_none() {
            *place = said
                .scrapped(bead.number)
                .or_else(|| tack(bead, tack_below));
        }
    }
    let (reading, path) = likeliest(question, &places, &said)?;
    align::settle(question, &reading, &path, &mut places);
    let mut places: Vec<Place> = places.into_iter().flatten().collect();
    dabs::join(question.beads, &mut places);
    runs::divide(question, &mut places);
    let found = |weld| {
        places
            .iter()
            .any(|place: &Place| place.role.weld() == Some(weld))
    };
    let skipped = said.skipped().filter(|&weld| !found(weld)).collect();
    Ok(Matching {
        skipped,
        unknown_in_markers: said.unknown,
        pace: path.pace,
        places,
    })
}

/// Aligns every reading of the markers and keeps the likeliest.
fn likeliest(
    question: &Question<'_>,
    places: &[Option<Place>],
    said: &reading::Markers,
) -> Result<(Reading, Path), MatchError> {
    let free = Free::new(question, places);
    let mut best: Option<(Reading, Path)> = None;
    for reading in said.readings(question, &free) {
        let path = align::align(question, &reading)?;
        if best
            .as_ref()
            .is_none_or(|(_, other)| path.cost < other.cost)
        {
            best = Some((reading, path));
        }
    }
    let (reading, mut path) = best.expect("there is always the plain reading");
    path.weigh(question, &reading);
    Ok((reading, path))
}

/// What is left to align: indices of beads and welds that nothing has settled yet, in order.
struct Free {
    beads: Vec<usize>,
    welds: Vec<usize>,
}

impl Free {
    fn new(question: &Question<'_>, places: &[Option<Place>]) -> Self {
        let settled = |weld: u16| {
            let by_hand = |said: &Assignment| said.target == Target::Weld(weld);
            question.by_hand.iter().any(by_hand)
        };
        Self {
            beads: (0..places.len()).filter(|&k| places[k].is_none()).collect(),
            welds: (0..question.welds.len())
                .filter(|&k| !settled(question.welds[k].number))
                .collect(),
        }
    }
}

fn tack_limit(question: &Question<'_>) -> Seconds {
    question.tack_below.unwrap_or_else(|| {
        let runs = question
            .welds
            .iter()
            .map(|weld| weld.arc_time.0 / f64::from(weld.runs.max(1)));
        Seconds(runs.fold(2.0 * LONGEST_TACK.0, f64::min) / 2.0)
    })
}

/// How sharply durations near the limit are told apart: a bead 10 % off it is right in nine of ten cases.
const TACK_SHARPNESS: f64 = 0.05;

fn tack(bead: &BeadTime, below: Seconds) -> Option<Place> {
    if bead.arc_time.0 >= below.0 {
        return None;
    }
    let distance = (below.0 / bead.arc_time.0).ln() / TACK_SHARPNESS;
    Some(Place {
        role: Role::Tack,
        basis: Basis::Alignment,
        confidence: 1.0 / (1.0 + (-distance).exp()),
        or_else: None,
    })
}
