//! The frame meets the opening: as it was measured after welding, or as it is predicted, against the readings of the
//! opening.

use crate::job::model::{Job, Opening};
use crate::measured::{Measurement, State};
use crate::movement::measures::{Measure, MeasureKind};
use crate::movement::predict::{Predicted, SAW_AND_FIT_UP_STANDARD_MM};
use crate::opening::bring_in::{Bulk, WayIn, Ways, bring_in};
use crate::opening::gaps::{Gap, Outline, Placed, place};
use crate::opening::model::{Side, Walls};
use crate::opening::rectangle::{Shape, Wanted};
use coldsquare_core::uncertainty::Uncertain;

/// Greatest turn that still hangs straight to the eye: 2 mm a metre. Common practice, no source.
const MAX_TURN: f64 = 0.002;

/// Gaps closer than this are alike, mm.
const AS_TIGHT_MM: f64 = 0.05;

/// A size of the frame and where it comes from.
#[derive(Clone, Copy, Debug)]
struct Known {
    mm: f64,
    standard_mm: f64,
    measured: bool,
}

/// The frame in its opening.
#[derive(Clone, Debug)]
pub struct FrameInOpening {
    /// Whether any size was measured, or all are predicted.
    pub measured: bool,
    /// What was wanted.
    pub wanted: Wanted,
    /// Hung plumb.
    pub plumb: Placed,
    /// Turned as far as helps, if it goes in only so.
    pub turned: Option<Placed>,
    /// The box that is brought in.
    pub bulk: Bulk,
    /// How it is brought in.
    pub ways: Ways,
    /// Remarks, a sentence each.
    pub notes: Vec<String>,
}

impl FrameInOpening {
    /// The frame as it is hung: turned if it goes in only so.
    #[must_use]
    pub fn placed(&self) -> &Placed {
        self.turned.as_ref().unwrap_or(&self.plumb)
    }

    /// Where it is tightest; of places that are as tight, one where it stays.
    #[must_use]
    pub fn tightest(&self) -> Option<&Gap> {
        let least = self.placed().tightest(self.wanted.on_floor)?;
        let on_floor = |gap: &Gap| self.wanted.on_floor && gap.station.side == Side::Floor;
        let as_tight = |gap: &Gap| gap.gap_mm.value < least.gap_mm.value + AS_TIGHT_MM;
        let mut staying = self
            .placed()
            .gaps
            .iter()
            .filter(|gap| gap.in_place && !on_floor(gap));
        Some(staying.find(|gap| as_tight(gap)).unwrap_or(least))
    }

    /// Whether it goes in.
    #[must_use]
    pub fn goes(&self) -> bool {
        let room = self.tightest().is_none_or(|gap| gap.gap_mm.value >= 0.0);
        room && self.ways.goes()
    }

    /// Whether the readings settle it.
    #[must_use]
    pub fn is_sure(&self) -> bool {
        self.tightest()
            .is_none_or(|gap| gap.gap_mm.value.abs() >= gap.gap_mm.expanded())
    }
}

/// The depth of a job's frame, front to back, mm.
#[must_use]
pub fn depth_mm(job: &Job) -> f64 {
    let (mut back, mut front) = (f64::INFINITY, f64::NEG_INFINITY);
    for member in &job.members {
        let size = member.section.properties();
        let deep = member.depth_axis.z.abs() > 0.5;
        let half = if deep { size.depth_mm } else { size.width_mm } / 2.0;
        let along = member.axis().z.abs() > 0.9;
        let half = if along { 0.0 } else { half };
        back = back.min(member.from.z.min(member.to.z) - half);
        front = front.max(member.from.z.max(member.to.z) + half);
    }
    (front - back).max(0.0)
}

/// What a job wants of its frame in its opening.
#[must_use]
pub fn wanted(job: &Job, opening: &Opening) -> Wanted {
    Wanted {
        clearance_mm: opening.clearance.0,
        on_floor: opening.on_floor,
        depth_mm: depth_mm(job),
        at_front: opening.at_front,
        shape: Shape::Plumb,
    }
}

/// Puts the frame of a job into its opening: as measured with the clamps off, later readings before earlier ones, and
/// as predicted where nothing was measured.
///
/// `None` for a job that is no frame with four corners.
#[must_use]
pub fn frame_in_opening(
    job: &Job,
    opening: &Opening,
    walls: &Walls,
    (measures, predicted): (&[Measure], &[Predicted]),
    measurements: &[Measurement],
) -> Option<FrameInOpening> {
    let wanted = wanted(job, opening);
    let frame = Frame {
        job,
        measures,
        predicted,
        measurements,
    };
    let mut notes = Vec::new();
    let outline = frame.outline(&mut notes)?;
    let depth_mm = wanted.depth_mm + frame.bow_to_the_front();
    let most = |points: &[[f64; 2]]| {
        points
            .iter()
            .map(|one| one[1])
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let least = |points: &[[f64; 2]]| {
        points
            .iter()
            .map(|one| one[1])
            .fold(f64::INFINITY, f64::min)
    };
    let bulk = Bulk {
        width_mm: most(&outline.right) - least(&outline.left),
        height_mm: walls
            .has_height()
            .then(|| most(&outline.upper) - least(&outline.lower)),
        depth_mm,
    };
    let outline = if walls.has_height() {
        outline
    } else {
        Outline {
            upper: Vec::new(),
            ..outline
        }
    };
    let hung = |max_turn: f64| {
        let placed = place(walls, &wanted, &outline, max_turn);
        let ways = bring_in(walls, &wanted, (&outline, placed.turn), bulk);
        (past_what_it_tilts_by(placed, &ways), ways)
    };
    let goes = |(placed, ways): &(Placed, Ways)| {
        let tightest = placed.tightest(wanted.on_floor);
        ways.goes() && tightest.is_none_or(|gap| gap.gap_mm.value >= 0.0)
    };
    let plumb = hung(0.0);
    let turned = (!goes(&plumb)).then(|| hung(MAX_TURN)).filter(goes);
    let ways = turned.as_ref().map_or(plumb.1, |turned| turned.1);
    Some(FrameInOpening {
        measured: frame.is_measured(),
        wanted,
        plumb: plumb.0,
        turned: turned.map(|turned| turned.0),
        ways,
        bulk,
        notes,
    })
}

/// Without the gaps that it only passes, where it passes them tilted.
fn past_what_it_tilts_by(mut placed: Placed, ways: &Ways) -> Placed {
    let tilted = |way: Option<WayIn>| matches!(way, Some(WayIn::Tilted { .. }));
    let (up, across) = (tilted(ways.height), tilted(Some(ways.width)));
    placed.gaps.retain(|gap| {
        let passed_tilted = match gap.station.side {
            Side::Left | Side::Right => across,
            Side::Floor | Side::Top => up,
        };
        gap.in_place || !passed_tilted
    });
    placed
}

struct Frame<'f> {
    job: &'f Job,
    measures: &'f [Measure],
    predicted: &'f [Predicted],
    measurements: &'f [Measurement],
}

impl Frame<'_> {
    fn unclamped(&self) -> impl Iterator<Item = &Measurement> {
        self.measurements
            .iter()
            .filter(|one| one.state != State::Clamped)
    }

    fn is_measured(&self) -> bool {
        let size = |index: usize| self.measures[index].kind == MeasureKind::Size;
        self.unclamped().any(|one| {
            one.observed(self.job, self.measures)
                .iter()
                .any(|seen| size(seen.measure))
        })
    }

    /// A measure, whole: the last reading of it, or the prediction.
    fn known(&self, name: &str) -> Option<Known> {
        let index = self.measures.iter().position(|one| one.name == name)?;
        let nominal = self.measures[index].nominal_mm;
        let read = self
            .unclamped()
            .flat_map(|one| one.observed(self.job, self.measures))
            .filter(|one| one.measure == index)
            .last();
        if let Some(read) = read {
            return Some(Known {
                mm: nominal + read.change_mm.value,
                standard_mm: read.change_mm.standard,
                measured: true,
            });
        }
        let predicted = self.predicted.iter().find(|one| one.name == name)?;
        let Uncertain { value, standard } = predicted.released_mm;
        Some(Known {
            mm: nominal + value,
            standard_mm: standard.hypot(SAW_AND_FIT_UP_STANDARD_MM),
            measured: false,
        })
    }

    /// Sizes of one direction: where one was measured, the others are taken to be as the mean of those measured.
    fn sizes(&self, names: [&str; 3], notes: &mut Vec<String>) -> Option<[Known; 3]> {
        let known = names.map(|name| self.known(name));
        let [first, middle, last] = known;
        let (first, last) = (first?, last?);
        let middle = middle.unwrap_or(Known {
            mm: f64::midpoint(first.mm, last.mm),
            ..first
        });
        let mut all = [first, middle, last];
        let measured: Vec<Known> = all.iter().copied().filter(|one| one.measured).collect();
        if !measured.is_empty() && measured.len() < 3 {
            let mean = measured.iter().map(|one| one.mm).sum::<f64>() / measured.len() as f64;
            for (one, name) in all.iter_mut().zip(names) {
                if !one.measured {
                    *one = Known {
                        mm: mean,
                        ..measured[0]
                    };
                    notes.push(format!(
                        "The {name} was not measured; it is taken to be as the others."
                    ));
                }
            }
        }
        Some(all)
    }

    fn outline(&self, notes: &mut Vec<String>) -> Option<Outline> {
        let [bottom, waist, top] = self.sizes(
            [
                "width at the bottom",
                "width at mid-height",
                "width at the top",
            ],
            notes,
        )?;
        let [left, middle, right] = self.sizes(
            [
                "height at the left",
                "height at mid-width",
                "height at the right",
            ],
            notes,
        )?;
        let diagonal = |name: &str| self.known(name).map(|one| one.mm);
        let rising = diagonal("diagonal, bottom left to top right")?;
        let falling = diagonal("diagonal, bottom right to top left")?;
        // Of a parallelogram whose top is shifted by s: rising² - falling² = 4·width·s.
        let width = f64::midpoint(bottom.mm, top.mm);
        let shift = (rising * rising - falling * falling) / (4.0 * width);
        let top_left = bottom.mm / 2.0 + shift - top.mm / 2.0;
        let (wide, tall) = (
            self.bow("left upright", "to the right"),
            self.bow("right upright", "to the right"),
        );
        // Bows move the middle of each side; what the width at mid-height is more is shared by both.
        let waist_by_bows = width + tall - wide;
        let extra = if waist.measured {
            (waist.mm - waist_by_bows) / 2.0
        } else {
            0.0
        };
        let (low, high) = (
            self.bow("bottom rail", "upwards"),
            self.bow("top rail", "upwards"),
        );
        let height = f64::midpoint(left.mm, right.mm);
        let more = if middle.measured {
            (middle.mm - (height + high - low)) / 2.0
        } else {
            0.0
        };
        Some(Outline {
            left: vec![
                [0.0, 0.0],
                [left.mm / 2.0, top_left / 2.0 + wide - extra],
                [left.mm, top_left],
            ],
            right: vec![
                [0.0, bottom.mm],
                [
                    right.mm / 2.0,
                    f64::midpoint(bottom.mm, top_left + top.mm) + tall + extra,
                ],
                [right.mm, top_left + top.mm],
            ],
            lower: vec![[0.0, 0.0], [bottom.mm / 2.0, low - more], [bottom.mm, 0.0]],
            upper: vec![
                [0.0, left.mm],
                [top.mm / 2.0, height + high + more],
                [top.mm, right.mm],
            ],
            standard_mm: [bottom, waist, top, left, middle, right]
                .iter()
                .map(|one| one.standard_mm)
                .fold(0.0, f64::max),
        })
    }

    fn bow(&self, member: &str, towards: &str) -> f64 {
        self.known(&format!("bow of {member}, {towards}"))
            .map_or(0.0, |one| one.mm)
    }

    /// The greatest bow out of the plane of the frame, mm.
    fn bow_to_the_front(&self) -> f64 {
        let bows = self
            .measures
            .iter()
            .filter(|one| one.kind == MeasureKind::Bow && one.name.ends_with("towards the front"));
        bows.filter_map(|one| self.known(&one.name))
            .map(|one| one.mm.abs())
            .fold(0.0, f64::max)
    }
}

/// What has to come off where the frame would be in the wall: the places, one for each side and depth, worst first.
#[must_use]
pub fn take_off(placed: &Placed) -> Vec<&Gap> {
    let mut worst: Vec<&Gap> = Vec::new();
    let alike = |a: &Gap, b: &Gap| {
        let up = matches!(a.station.side, Side::Left | Side::Right) || a.station.side == Side::Top;
        up && a.station.side == b.station.side && a.station.depth == b.station.depth
    };
    for gap in placed.gaps.iter().filter(|one| one.gap_mm.value < 0.0) {
        if !worst.iter().any(|one| alike(one, gap)) {
            worst.push(gap);
        }
    }
    worst
}
