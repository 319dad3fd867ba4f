//! A build before its first weld: what its order needs, and where that stands in the rows.

use super::super::engine::{Engine, Shrinkage};
use super::super::holding::{ClampsOn, Releases};
use super::super::part::Part;
use super::super::rows::{Pull, Rows};
use super::{Place, Walk};

/// An act of laying: the seam that takes hold, where one does, and the seam whose strips pull.
#[derive(Clone, Copy, Debug)]
struct Act {
    hold: Option<usize>,
    pull: Option<usize>,
}

/// What laying these parts does, one act after the other.
fn acts_of(engine: &Engine, order: &[Part]) -> Vec<Act> {
    let mut holding = vec![false; engine.model.seams.len()];
    let mut acts = Vec::new();
    for part in order {
        let deposits = &engine.deposits[part.weld];
        let touches = engine.touches(part, &mut holding).into_iter();
        acts.extend(touches.map(|touch| Act {
            hold: touch.hold.map(|deposit| deposits[deposit].seam),
            pull: touch.pull,
        }));
    }
    acts
}

impl<'a> Walk<'a> {
    /// A build in an order that is known: what it does not lay is not there.
    pub(in crate::movement) fn new(
        engine: &'a Engine,
        order: &[Part],
        shrinkage: &'a Shrinkage,
        releases: &'a Releases,
    ) -> Self {
        Self::over(engine, shrinkage, releases, &acts_of(engine, order))
    }

    /// A build in which each next weld is chosen on the way. The nearer the choice is to the `expected` order, the more
    /// is left behind.
    pub(in crate::movement) fn open(
        engine: &'a Engine,
        shrinkage: &'a Shrinkage,
        expected: &[Part],
    ) -> Self {
        let mut acts = acts_of(engine, expected);
        let seams = engine.model.seams.len();
        let (mut holds, mut pulls) = (vec![false; seams], vec![false; seams]);
        for act in &acts {
            act.hold.into_iter().for_each(|seam| holds[seam] = true);
            act.pull.into_iter().for_each(|seam| pulls[seam] = true);
        }
        acts.extend((0..seams).map(|seam| Act {
            hold: (!holds[seam]).then_some(seam),
            pull: (!pulls[seam]).then_some(seam),
        }));
        Self::over(engine, shrinkage, &engine.held.releases, &acts)
    }

    /// The frame before the first weld. What these acts need last stands first in the rows, so that what is left behind
    /// is their end.
    fn over(
        engine: &'a Engine,
        shrinkage: &'a Shrinkage,
        releases: &'a Releases,
        acts: &[Act],
    ) -> Self {
        let (layout, model) = (engine.layout, &engine.model);
        let (mut coordinates, held) = holding(engine);
        let (mut last, mut holds) = (vec![0; model.pairs.len()], vec![0; model.pairs.len()]);
        for (at, act) in (1..).zip(acts) {
            if let Some(seam) = act.hold {
                let pair = model.seams[seam].pair;
                last[pair] = at;
                holds[pair] += 1;
            }
        }
        let mut pairs: Vec<usize> = (0..last.len()).filter(|&pair| last[pair] > 0).collect();
        pairs.sort_by_key(|&pair| std::cmp::Reverse(last[pair]));
        let mut joints = vec![usize::MAX; model.pairs.len()];
        let mut awaited = vec![usize::MAX; coordinates.len()];
        for pair in pairs {
            joints[pair] = coordinates.len();
            coordinates.push(std::array::from_fn(|k| layout.pair(pair, k)));
            awaited.push(holds[pair]);
        }
        let mut plan = vec![Place::default(); model.seams.len()];
        for (place, seam) in plan.iter_mut().zip(&model.seams) {
            place.joint = joints[seam.pair];
        }
        let mut pulls: Vec<Pull> = Vec::new();
        for seam in acts.iter().filter_map(|act| act.pull) {
            plan[seam].pull = pulls.len();
            pulls.push((layout.strip(seam, 0), shrinkage.seams[seam].strips_n));
        }
        Self {
            engine,
            shrinkage,
            held,
            rows: Rows::new(&engine.condensed, &coordinates, &pulls),
            plan,
            awaited,
            pulled: vec![false; pulls.len()],
            holding: vec![false; model.seams.len()],
            laid: Vec::with_capacity(model.seams.len()),
            moved: vec![[0.0; 6]; coordinates.len()],
            melted: vec![false; engine.tacks.len()],
            gaps_mm: vec![0.0; engine.welds()],
            left: (0..engine.welds())
                .map(|weld| engine.stretches(weld))
                .collect(),
            releases,
            clamps: ClampsOn::all(releases),
            lies_on_rests: engine.held.lies_on_rests,
            held_n: vec![[0.0; 3]; engine.held.limits_n.len()],
            slips: Vec::new(),
            let_go: vec![0.0; held],
            coordinates,
        }
    }
}

/// What holds the frame to the table: its coordinates by six, and how many they are before the last one is repeated to
/// fill the last six.
fn holding(engine: &Engine) -> (Vec<[usize; 6]>, usize) {
    let layout = engine.layout;
    // Without clamps nothing comes off in the end.
    if engine.held.clamps.is_empty() {
        return (Vec::new(), 0);
    }
    let all: Vec<usize> = (layout.clamp(0, 0)..layout.measure(0)).collect();
    let six = all
        .chunks(6)
        .map(|six| std::array::from_fn(|k| six[k.min(six.len() - 1)]));
    (six.collect(), all.len())
}
