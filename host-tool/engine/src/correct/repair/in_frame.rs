//! The bowed member in its frame: what straightening it does to the other members.

use super::bowed::BowedMember;
use super::case::MemberBow;
use crate::correct::assembled::{AssembledFrame, PressedFrame};
use crate::correct::press::FIRST_SHARE_IN_FRAME;
use crate::format::{Precision, count, list};
use crate::job::model::{Job, Point};
use crate::structure::StructureError;

/// The frame round a bowed member, pressed as far as its limits, and what a bend of it does.
pub(super) struct InFrame<'a> {
    pub pressed: PressedFrame,
    /// Place along the member and, per radian of a bend there, the bow it takes out of the member, mm.
    pub bow_per_kink: Vec<[f64; 2]>,
    /// At the same places, per radian, how much the bow of each of the others changes, mm.
    others_per_kink: Vec<Vec<f64>>,
    /// The bows of other members that can change.
    others: Vec<MemberBow<'a>>,
    /// Which of them bow in the same plane as the member.
    follow: Vec<bool>,
    /// Members that tie it to another member whose bow follows, in the plane of the bow, and that other member.
    tie: Option<Tie>,
}

struct Tie {
    other: usize,
    between: Vec<usize>,
}

/// The best that can be done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Aim {
    /// The bow as it is, mm.
    pub bow_mm: f64,
    /// As much of it as is to be taken out, mm.
    pub kept_mm: f64,
}

impl Aim {
    /// What is to be left, mm.
    pub fn left_mm(&self) -> f64 {
        self.bow_mm - self.kept_mm
    }
}

/// Changes of another bow below this do not count, mm.
const NOTHING_MM: f64 = 0.05;
/// A member follows another when its bow changes by more than this share of the other's. One that follows less and was not
/// measured counts as straight afterwards: what bowed this one has most likely bowed that one with it.
const FOLLOWS: f64 = 0.6;
/// Steps between nothing and the whole bow that an aim is looked for at.
const STEPS: usize = 50;
/// Number of places that a bend is tried at.
const PLACES: usize = 21;
/// Half of the length that is bent there, mm.
const HALF_BEND_MM: f64 = 4.0;

impl<'a> InFrame<'a> {
    pub fn new(bowed: &BowedMember<'a>) -> Result<Self, StructureError> {
        Self::of(bowed, bowed.case.job)
    }

    /// The same with another state of the frame: some of its welds cut.
    pub fn of(bowed: &BowedMember<'a>, job: &Job) -> Result<Self, StructureError> {
        let press = bowed.press();
        let half = 0.5 * bowed.length_mm;
        let kinks: Vec<f64> = (0..PLACES)
            .map(|k| bowed.length_mm * k as f64 / (PLACES - 1) as f64)
            .collect();
        let presses = [
            press.span_mm,
            press.apart_mm,
            -press.apart_mm,
            -press.span_mm,
        ];
        let presses = presses.map(|apart| half - 0.5 * apart);
        // A short length about each bend, which is then in its middle.
        let bends = kinks
            .iter()
            .flat_map(|&at| [at - HALF_BEND_MM, at + HALF_BEND_MM]);
        let places: Vec<f64> = presses.into_iter().chain(bends).collect();
        let frame = AssembledFrame::new(job, bowed.member, &places)?;
        let others: Vec<MemberBow<'a>> = bowed
            .case
            .bows
            .iter()
            .filter(|bow| bow.member != bowed.member && frame.has(bow.member))
            .copied()
            .collect();
        let sides: Vec<(usize, Point)> =
            others.iter().map(|bow| (bow.member, bow.towards)).collect();
        let pressed = frame.press(bowed.side, press, &sides)?;
        let rows = frame.bow_per_kink(bowed.side, &kinks, &sides)?;
        let along = |bow: &MemberBow<'_>| bow.towards.dot(bowed.side).abs() > 0.5;
        let follow: Vec<bool> = others.iter().map(along).collect();
        let tie = tie(&frame, &pressed, &others, &follow);
        Ok(Self {
            pressed,
            bow_per_kink: kinks
                .iter()
                .zip(&rows)
                .map(|(&at, row)| [at, row[0]])
                .collect(),
            others_per_kink: rows.into_iter().map(|row| row[1..].to_vec()).collect(),
            others,
            follow,
            tie,
        })
    }

    /// What bends along the member that take this much out of it, mm, change of the other bows; as heat makes them, over
    /// the middle half.
    pub fn beside_bends(&self, kept_mm: f64) -> Vec<f64> {
        let middle = PLACES / 4..PLACES - PLACES / 4;
        let own: f64 = self.bow_per_kink[middle.clone()]
            .iter()
            .map(|row| row[1])
            .sum();
        let of_one = |other: usize| -> f64 {
            let rows = &self.others_per_kink[middle.clone()];
            rows.iter().map(|row| row[other]).sum()
        };
        let per_mm = if own > 0.0 { kept_mm / own } else { 0.0 };
        (0..self.others.len())
            .map(|other| per_mm * of_one(other))
            .collect()
    }

    /// How much of a bow of `bow_mm` to take out, at most `most_mm`, so that neither it nor another is further out of
    /// tolerance than need be.
    pub fn aim(
        &self,
        tolerance_mm: f64,
        [bow_mm, most_mm]: [f64; 2],
        beside: impl Fn(f64) -> Vec<f64>,
    ) -> Aim {
        let tried = (0..=STEPS).rev().map(|k| {
            let kept_mm = bow_mm.min(most_mm) * k as f64 / STEPS as f64;
            let aim = Aim { bow_mm, kept_mm };
            let worst = self.worst(kept_mm, &beside(kept_mm));
            let out = worst.map_or(0.0, |(score, ..)| if score > 1.0 { score } else { 0.0 });
            ((aim.left_mm() / tolerance_mm).max(out), aim)
        });
        let better =
            |best: (f64, Aim), one: (f64, Aim)| if one.0 < best.0 - 1e-3 { one } else { best };
        tried.reduce(better).map_or(
            Aim {
                bow_mm,
                kept_mm: 0.0,
            },
            |(_, aim)| aim,
        )
    }

    /// The bow beside that is furthest out of tolerance after these changes, which make it worse: how many times its
    /// tolerance, place in the list, change.
    fn worst(&self, kept_mm: f64, changes: &[f64]) -> Option<(f64, usize, f64)> {
        let scored =
            self.others
                .iter()
                .zip(changes)
                .enumerate()
                .filter_map(|(k, (bow, &change))| {
                    let follows =
                        self.follow.get(k) == Some(&true) && change.abs() > FOLLOWS * kept_mm;
                    let counts = bow.first_mm.is_some() || follows;
                    let before = bow.first_mm.unwrap_or(0.0);
                    let after = (before + change).abs();
                    (counts && change.abs() > NOTHING_MM && after > before.abs())
                        .then(|| (after / bow.tolerance_mm, k, change))
                });
        scored.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Why straightening it by this much is not sound: it would bend another member, which it is tied to. `None` if it is.
    pub fn refusal(
        &self,
        bowed: &BowedMember<'_>,
        what: &str,
        aim: &Aim,
        changes: &[f64],
    ) -> Option<String> {
        let case = bowed.case;
        if let Some((_, k, change)) = self.worst(aim.kept_mm, changes) {
            let bow = &self.others[k];
            if bow.first_mm.is_none() && change.abs() > 0.5 * bow.tolerance_mm {
                return Some(format!(
                    "{what} here would change the {} by {} too{}, and nobody has measured that one. Measure it, then ask again.",
                    bow.name,
                    case.drawn(change.abs()),
                    self.because(case.job)
                ));
            }
        }
        let left = aim.left_mm();
        if left <= case.tolerance_mm * 1.001 {
            return None;
        }
        // Nothing beside is in the way: a limit of the press or of the metal is, and says so itself.
        let (_, k, change) = self.worst(aim.kept_mm, changes)?;
        let bow = &self.others[k];
        let share = change.abs() / aim.kept_mm.max(1e-9);
        (share > FOLLOWS).then(|| {
            format!(
                "{what} here reaches nothing{}: for each 1.0 mm it takes out of {}, the {} changes by {share:.1} mm. At best {} \
                 would be left here and {} there. What they differ by is in the lengths of what ties them, and no press, block or \
                 torch on the whole frame changes that.",
                self.because(case.job),
                bowed.name(),
                bow.name,
                case.drawn(left),
                case.drawn((bow.first_mm.unwrap_or(0.0) + change).abs()),
            )
        })
    }

    /// ", because 9 members tie it to the bottom rail".
    fn because(&self, job: &Job) -> String {
        let Some(tie) = &self.tie else {
            return String::new();
        };
        let names: Vec<&str> = tie
            .between
            .iter()
            .map(|&m| job.members[m].name.as_str())
            .collect();
        let other = &job.members[tie.other].name;
        match names.len() {
            0 => String::new(),
            1..=3 => format!(
                ", because {} {} it to {other}",
                list(&names),
                if names.len() == 1 { "ties" } else { "tie" }
            ),
            many => format!(", because {} tie it to {other}", count(many, "member")),
        }
    }

    /// The members that tie it to one that follows its bow.
    pub fn tied_by(&self) -> &[usize] {
        self.tie.as_ref().map_or(&[], |tie| &tie.between)
    }

    /// Share of the bow that the first press takes out.
    pub fn first_share(&self) -> f64 {
        if self.others.is_empty() {
            1.0
        } else {
            FIRST_SHARE_IN_FRAME
        }
    }

    /// Notes on a press: why the first one is short, and what moves with it.
    pub fn notes(&self, bowed: &BowedMember<'_>, changes: &[f64], press: usize) -> Vec<String> {
        let short = press == 1 && self.first_share() < 1.0;
        let first = short.then(|| {
            "This first press takes out about half: the walls at the joints give more than is calculated. The next one goes by \
             what it leaves."
                .into()
        });
        first
            .into_iter()
            .chain(self.moves_with_it(bowed, changes))
            .collect()
    }

    /// A note on what moves with it, and how much.
    pub fn moves_with_it(&self, bowed: &BowedMember<'_>, changes: &[f64]) -> Option<String> {
        let moved: Vec<String> = self
            .others
            .iter()
            .zip(changes)
            .filter(|(bow, change)| change.abs() > 0.1 * bow.tolerance_mm.min(2.0))
            .map(|(bow, change)| {
                let units = bowed.case.units();
                let change = units.signed_length(*change, Precision::Drawn);
                format!("{} ({change})", bow.name)
            })
            .collect();
        let shown: Vec<&str> = moved.iter().take(4).map(String::as_str).collect();
        (!shown.is_empty()).then(|| {
            format!(
                "Straight again, it has changed other bows too: {}.",
                list(&shown)
            )
        })
    }
}

/// The other member that follows the bow most, if others tie it to this one along the bow.
fn tie(
    frame: &AssembledFrame<'_>,
    pressed: &PressedFrame,
    others: &[MemberBow<'_>],
    follow: &[bool],
) -> Option<Tie> {
    let kept = pressed.curve.greatest_kept_mm(1.0);
    let changes = pressed.others_at(1.0, kept);
    let most = (0..others.len())
        .filter(|&k| follow[k] && changes[k].abs() > FOLLOWS * kept)
        .max_by(|&a, &b| changes[a].abs().total_cmp(&changes[b].abs()))?;
    let other = others[most].member;
    let between = frame.between(other);
    let inner = between
        .into_iter()
        .filter(|&m| !frame.meets_at_end(m))
        .collect();
    Some(Tie {
        other,
        between: inner,
    })
}
