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

#[test]
fn the_frame_of_102_members() {
    assert_eq!(agree("of_102_members"), BOTH);
}
