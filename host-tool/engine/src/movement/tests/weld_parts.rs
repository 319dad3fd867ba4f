//! Long welds in parts: back-step and skip welding.

use super::resolve::simulate_by_resolving;
use super::*;
use crate::movement::measures::MeasureKind;
use crate::movement::model::weld_part::WeldPart;

/// Two tubes side by side, welded along on both edges, and an arm on one of them welded across.
fn column() -> Job {
    crate::job::from_text(
        "stand",
        include_str!("../../../../../tests/frames/stand.toml"),
    )
    .expect("a job")
}

/// Every weld in parts of up to `longest` segments, in an order that jumps about, every other part reversed.
fn in_parts(model: &MovementModel, longest: usize) -> Vec<WeldPart> {
    let mut parts = Vec::new();
    for weld in 0..model.welds() {
        let all = model.segment_count(weld);
        let ranges = (0..all)
            .step_by(longest)
            .map(|first| first..all.min(first + longest));
        parts.extend(ranges.map(|segments| WeldPart {
            weld,
            segments,
            reversed: false,
        }));
    }
    let count = parts.len();
    let step = (count / 2..).find(|step| (2..=*step).all(|k| step % k != 0 || count % k != 0));
    let mut order: Vec<WeldPart> = (0..count)
        .map(|k| parts[(k * step.unwrap_or(1) + 3) % count].clone())
        .collect();
    for part in order.iter_mut().step_by(2) {
        part.reversed = true;
    }
    order
}

#[test]
fn a_weld_in_parts_moves_the_frame_as_if_it_were_solved_again_after_each() {
    let job = column();
    let model = MovementModel::new(&job).expect("it stands");
    let shrinkage = model
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    for longest in [2, 5] {
        let parts = in_parts(&model, longest);
        assert!(parts.len() > 2 * job.welds.len() / longest);
        let fast = model.simulate(&parts, &shrinkage, &SimulationOptions::default());
        let slow = simulate_by_resolving(&job, &model, &parts, &shrinkage).expect("it stands");
        let scale = slow
            .released_mm
            .iter()
            .fold(0.0f64, |greatest, mm| greatest.max(mm.abs()));
        for (fast, slow) in fast.released_mm.iter().zip(&slow.released_mm) {
            assert!((fast - slow).abs() <= 1e-8 * scale, "{fast} against {slow}");
        }
        assert_near(&fast.gaps_mm, &slow.gaps_mm);
        let mut build = model.start(&shrinkage, &[]);
        parts.iter().for_each(|part| build.apply_part(part));
        assert_near(&build.release().released_mm, &fast.released_mm);
    }
}

/// However a weld is divided, each point is joined once and each segment pulls once.
#[test]
fn parts_of_a_weld_add_up_to_the_weld() {
    let job = column();
    let model = MovementModel::new(&job).expect("it stands");
    for longest in [1, 3, 4, 100] {
        let mut joined = vec![false; model.beam_model().segments.len()];
        let mut pulled = vec![0; joined.len()];
        for part in in_parts(&model, longest) {
            for step in model.weld_segments[part.weld].steps(&part, &mut joined) {
                step.pulls.into_iter().for_each(|index| pulled[index] += 1);
            }
        }
        assert!(joined.iter().all(|joined| *joined));
        for weld in &model.weld_segments {
            for (entry, segment) in weld.segments.iter().enumerate() {
                let only_joins = weld.joins_at_both_ends && entry == 0;
                assert_eq!(pulled[segment.index], usize::from(!only_joins));
            }
        }
    }
}

#[test]
fn a_long_weld_made_by_back_step_leaves_another_bow_than_one_made_in_one_go() {
    let job = column();
    let model = MovementModel::new(&job).expect("it stands");
    let shrinkage = model
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    let in_one_go: Vec<WeldPart> = (0..model.welds())
        .map(|weld| model.whole_weld(weld))
        .collect();
    let backwards: Vec<WeldPart> = in_one_go
        .iter()
        .map(|part| WeldPart {
            reversed: true,
            ..part.clone()
        })
        .collect();
    let worst_bow = |parts: &[WeldPart]| {
        let outcome = model.simulate(parts, &shrinkage, &SimulationOptions::default());
        let bows = model.measures().iter().zip(outcome.released_mm);
        bows.filter(|(measure, _)| measure.kind == MeasureKind::Bow)
            .map(|(_, mm)| mm.abs())
            .fold(0.0, f64::max)
    };
    let [straight, back, skip] =
        [&in_one_go, &backwards, &in_parts(&model, 3)].map(|parts| worst_bow(parts));
    assert!(
        (straight - back).abs() > 1e-3,
        "{straight} mm, backwards {back} mm"
    );
    assert!(
        (straight - skip).abs() > 1e-3,
        "{straight} mm, in parts {skip} mm"
    );
}
