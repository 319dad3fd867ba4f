//! The beam solver against two general frame programs, run live.
//!
//! OpenSees: McKenna, Scott & Fenves, *Nonlinear finite-element analysis software architecture using object
//! composition*, J. Comput. Civ. Eng. 24 (2010) 95, as `openseespy`. PyNite: Brock, as `PyNiteFEA`. Versions are those
//! of `tests/reference/requirements.txt`. Displacements agree to 1e-8 of the greatest one of their kind.

use crate::evidence::beam_solver_frames::FRAMES;
use crate::reference::ask;
use serde_json::Value;
use std::sync::LazyLock;

/// What both programs answer, in the order of the frames; asked once.
static THEIRS: LazyLock<Value> = LazyLock::new(|| {
    ask(
        "frames.py",
        &FRAMES.iter().map(|(_, frame)| frame().asked()).collect(),
    )
});

/// Compares with both programs; gives the names of those that could answer.
#[track_caller]
fn agree(name: &str) -> Vec<&'static str> {
    let index = FRAMES
        .iter()
        .position(|(known, _)| *known == name)
        .expect("a frame of the list");
    let ours = FRAMES[index].1().answered();
    let answers = &THEIRS[index];
    let mut answered = Vec::new();
    for program in ["opensees", "pynite"] {
        let Ok(theirs) = serde_json::from_value::<Vec<[f64; 6]>>(answers[program].clone()) else {
            continue;
        };
        assert_eq!(ours.len(), theirs.len());
        for kind in [0..3, 3..6] {
            let greatest = theirs
                .iter()
                .flat_map(|n| &n[kind.clone()])
                .fold(0.0f64, |m, v| m.max(v.abs()));
            assert!(greatest > 0.0, "the question moves nothing");
            for (node, (a, b)) in ours.iter().zip(&theirs).enumerate() {
                for c in kind.clone() {
                    let apart = (a[c] - b[c]).abs();
                    assert!(
                        apart <= 1e-8 * greatest,
                        "{program}, node {node}, component {c}: {} / {}",
                        a[c],
                        b[c]
                    );
                }
            }
        }
        answered.push(program);
    }
    answered
}

const BOTH: [&str; 2] = ["opensees", "pynite"];

#[test]
fn a_gate_loaded_in_its_plane_and_across_it() {
    assert_eq!(agree("gate"), BOTH);
}

#[test]
fn a_skewed_frame_of_turned_bars() {
    assert_eq!(agree("skewed"), BOTH);
}

#[test]
fn uniform_loads_on_bars_in_any_direction() {
    assert_eq!(agree("uniformly_loaded"), BOTH);
}

#[test]
fn pinned_bars_on_a_soft_table() {
    assert_eq!(agree("pinned"), BOTH);
}

#[test]
fn rails_that_run_past_the_centre_of_the_post_on_eccentric_ends() {
    assert_eq!(agree("eccentric"), ["opensees"]);
}

#[test]
fn short_bars_that_shear() {
    assert_eq!(agree("shearing"), ["opensees"]);
}

#[test]
fn joints_that_give() {
    assert_eq!(agree("soft_jointed"), ["opensees"]);
}

#[test]
fn a_weld_that_shrinks_across_a_joint() {
    assert_eq!(agree("shrinking"), ["opensees"]);
}

/// What a builder measures of a table on legs, from where its nodes have gone: heights, plumb, diagonals of each side,
/// and how far the top has gone round against the feet. Worked out from distances, as a tape and a plumb line would.
fn measured(nodes: &[[f64; 3]], moved: &[[f64; 6]]) -> Vec<(String, f64)> {
    let before = |n: usize| nodes[n];
    let after = |n: usize| std::array::from_fn::<f64, 3, _>(|k| nodes[n][k] + moved[n][k]);
    let apart =
        |a: [f64; 3], b: [f64; 3]| (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
    let mut all = Vec::new();
    for leg in 0..4 {
        let (foot, top) = (leg, leg + 8);
        for (axis, what) in ["plumb, right", "plumb, back", "height"]
            .into_iter()
            .enumerate()
        {
            let change =
                (after(top)[axis] - after(foot)[axis]) - (before(top)[axis] - before(foot)[axis]);
            all.push((format!("{what} of leg {leg}"), change));
        }
        let next = (leg + 1) % 4;
        for (a, b, what) in [
            (foot, next, "width at the feet"),
            (top, next + 8, "width at the top"),
            (foot, next + 8, "rising diagonal"),
            (top, next, "falling diagonal"),
        ] {
            let change = apart(after(a), after(b)) - apart(before(a), before(b));
            all.push((format!("{what} of side {leg}"), change));
        }
    }
    let turned = |first: usize| {
        let middle = [0, 1].map(|k| (0..4).map(|n| nodes[first + n][k]).sum::<f64>() / 4.0);
        let round = |n: usize| {
            let [x, y] = [0, 1].map(|k| nodes[n][k] - middle[k]);
            (x * moved[n][1] - y * moved[n][0]) / x.hypot(y)
        };
        (first..first + 4).map(round).sum::<f64>() / 4.0
    };
    all.push(("twist of the top".into(), turned(8) - turned(0)));
    all
}

#[test]
fn plumb_heights_diagonals_and_twist_of_a_table_on_legs() {
    assert_eq!(agree("on_legs"), BOTH);
    let index = FRAMES
        .iter()
        .position(|(name, _)| *name == "on_legs")
        .expect("it");
    let question = FRAMES[index].1();
    let ours = measured(question.nodes(), &question.answered());
    for program in BOTH {
        let theirs: Vec<[f64; 6]> =
            serde_json::from_value(THEIRS[index][program].clone()).expect("displacements");
        for ((name, a), (_, b)) in ours.iter().zip(measured(question.nodes(), &theirs)) {
            assert!((a - b).abs() < 1e-7, "{program}, {name}: {a} and {b}");
        }
    }
    // The question is about millimetres: each answer is larger than what a tape could miss, or nearly nought by its kind.
    assert!(
        ours.iter()
            .filter(|(_, change)| change.abs() > 0.01)
            .count()
            > 20,
        "{ours:?}"
    );
}

#[test]
fn the_frame_of_102_members() {
    assert_eq!(agree("of_102_members"), BOTH);
}
