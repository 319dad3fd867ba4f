//! A weld, or a piece of a long one, that is laid in one go: what it does to the frame, stretch by stretch.
//!
//! The engine cuts a long weld into short *stretches* along its line. A part is some of them, next to each other, laid
//! from either end. A stretch holds its pair of members; where a weld runs along both members, a stretch pulls between
//! the places where it begins and ends, and holds them both: the one that the torch comes from first.
//!
//! Whatever the parts, their order and their direction, every place is held once and every stretch pulls once.

use super::engine::Engine;
use std::ops::Range;

/// Some stretches of a weld, laid one after the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Index of the weld.
    pub weld: usize,
    /// Which of its stretches, counted from where it starts as drawn.
    pub stretches: Range<usize>,
    /// Laid from the end of the last of them to the start of the first.
    pub reversed: bool,
}

/// One act of laying.
#[derive(Clone, Copy, Debug)]
pub(super) struct Touch {
    /// Which deposit of the weld takes hold, where one does.
    pub(super) hold: Option<usize>,
    /// Index of the seam whose strips pull, where one does.
    pub(super) pull: Option<usize>,
}

/// Which seams hold already, by index.
pub(super) type Holding = Vec<bool>;

impl Engine {
    /// Into how many stretches a weld is cut, 1 or more.
    #[must_use]
    pub fn stretches(&self, weld: usize) -> usize {
        self.deposits[weld].len() - usize::from(self.holds_at_both_ends[weld])
    }

    /// The whole of a weld, as drawn.
    #[must_use]
    pub fn whole(&self, weld: usize) -> Part {
        Part {
            weld,
            stretches: 0..self.stretches(weld),
            reversed: false,
        }
    }

    /// What laying a part does, one act after the other.
    pub(super) fn touches(&self, part: &Part, holding: &mut Holding) -> Vec<Touch> {
        let deposits = &self.deposits[part.weld];
        let both_ends = self.holds_at_both_ends[part.weld];
        let mut hold = |deposit: usize| {
            let seam = deposits[deposit].seam;
            (!std::mem::replace(&mut holding[seam], true)).then_some(deposit)
        };
        let mut touches = Vec::with_capacity(part.stretches.len() + 1);
        let (first, count) = (part.stretches.start, part.stretches.len());
        for k in 0..count {
            let stretch = if part.reversed {
                first + count - 1 - k
            } else {
                first + k
            };
            let (mut near, mut far) = (stretch, stretch + usize::from(both_ends));
            let pull = Some(deposits[far].seam);
            if part.reversed {
                (near, far) = (far, near);
            }
            if let Some(near) = hold(near) {
                if near == far {
                    touches.push(Touch {
                        hold: Some(near),
                        pull,
                    });
                    continue;
                }
                touches.push(Touch {
                    hold: Some(near),
                    pull: None,
                });
            }
            touches.push(Touch {
                hold: hold(far),
                pull,
            });
        }
        touches
    }
}

#[cfg(test)]
mod tests {
    use super::super::answers::MeasureKind;
    use super::super::effect::Factors;
    use super::super::resolve::lay_parts_by_resolving;
    use super::*;
    use crate::job::model::Job;

    /// Two tubes side by side, welded along on both edges, and an arm on one of them welded across.
    fn column() -> Job {
        crate::job::from_text("stand", include_str!("../../../../tests/frames/stand.toml"))
            .expect("a job")
    }

    /// Every stretch of every weld in pieces of `most`, in an order that jumps about, every other one backwards.
    fn in_pieces(engine: &Engine, most: usize) -> Vec<Part> {
        let mut parts = Vec::new();
        for weld in 0..engine.welds() {
            let all = engine.stretches(weld);
            let pieces = (0..all)
                .step_by(most)
                .map(|first| first..all.min(first + most));
            parts.extend(pieces.map(|stretches| Part {
                weld,
                stretches,
                reversed: false,
            }));
        }
        let count = parts.len();
        let step = (count / 2..).find(|step| (2..=*step).all(|k| step % k != 0 || count % k != 0));
        let mut order: Vec<Part> = (0..count)
            .map(|k| parts[(k * step.unwrap_or(1) + 3) % count].clone())
            .collect();
        for part in order.iter_mut().step_by(2) {
            part.reversed = true;
        }
        order
    }

    #[test]
    fn a_weld_in_pieces_moves_the_frame_as_if_it_were_solved_anew_after_each() {
        let job = column();
        let engine = Engine::new(&job).expect("it stands");
        let shrinkage = engine
            .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
            .expect("in range");
        for most in [2, 5] {
            let parts = in_pieces(&engine, most);
            assert!(parts.len() > 2 * job.welds.len() / most);
            let fast = engine.lay_parts(&parts, &shrinkage);
            let slow =
                lay_parts_by_resolving(&job, &engine, &parts, &shrinkage).expect("it stands");
            let scale = slow
                .released_mm
                .iter()
                .fold(0.0f64, |most, mm| most.max(mm.abs()));
            for (fast, slow) in fast.released_mm.iter().zip(&slow.released_mm) {
                assert!((fast - slow).abs() <= 1e-8 * scale, "{fast} against {slow}");
            }
            assert_near(&fast.gaps_mm, &slow.gaps_mm);
            let mut build = engine.start(&shrinkage, &[]);
            parts.iter().for_each(|part| build.lay_part(part));
            assert_near(&build.release().released_mm, &fast.released_mm);
        }
    }

    /// However a weld is cut, every place is held once and every stretch pulls once: the pieces shrink as much as the whole.
    #[test]
    fn pieces_of_a_weld_add_up_to_the_weld() {
        let job = column();
        let engine = Engine::new(&job).expect("it stands");
        for most in [1, 3, 4, 100] {
            let mut holding = vec![false; engine.model().seams.len()];
            let mut pulled = vec![0; holding.len()];
            for part in in_pieces(&engine, most) {
                for touch in engine.touches(&part, &mut holding) {
                    touch.pull.into_iter().for_each(|seam| pulled[seam] += 1);
                }
            }
            assert!(holding.iter().all(|held| *held));
            for (times, seam) in pulled.iter().zip(&engine.model().seams) {
                assert_eq!(*times, usize::from(seam.share > 0.0));
            }
        }
    }

    #[test]
    fn a_long_weld_made_by_back_step_leaves_another_bow_than_one_made_in_one_go() {
        let job = column();
        let engine = Engine::new(&job).expect("it stands");
        let shrinkage = engine
            .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
            .expect("in range");
        let in_one_go: Vec<Part> = (0..engine.welds()).map(|weld| engine.whole(weld)).collect();
        let backwards: Vec<Part> = in_one_go
            .iter()
            .map(|part| Part {
                reversed: true,
                ..part.clone()
            })
            .collect();
        let worst_bow = |parts: &[Part]| {
            let outcome = engine.lay_parts(parts, &shrinkage);
            let bows = engine.measures().iter().zip(outcome.released_mm);
            bows.filter(|(measure, _)| measure.kind == MeasureKind::Bow)
                .map(|(_, mm)| mm.abs())
                .fold(0.0, f64::max)
        };
        let [straight, back, pieces] =
            [&in_one_go, &backwards, &in_pieces(&engine, 3)].map(|parts| worst_bow(parts));
        assert!(
            (straight - back).abs() > 1e-3,
            "{straight} mm, backwards {back} mm"
        );
        assert!(
            (straight - pieces).abs() > 1e-3,
            "{straight} mm, in pieces {pieces} mm"
        );
    }

    fn assert_near(all: &[f64], others: &[f64]) {
        assert_eq!(all.len(), others.len());
        for (one, other) in all.iter().zip(others) {
            assert!((one - other).abs() < 1e-8, "{one} against {other}");
        }
    }
}
