//! Beams that yield, against plastic hinges of the textbook.

use super::*;
use crate::formulas::bending::{Bar, BarMetal, MomentCurve, Profile};

const LENGTH: f64 = 1000.0;
const PIECES: usize = 80;
const UP: [f64; 3] = [0.0, 0.0, 1.0];
const DOWN: [f64; 3] = [0.0, 0.0, -1.0];

/// A flat bar on edge along x, which hardly hardens; its plastic moment.
fn bar() -> (Frame, Vec<YieldingBeam>, f64) {
    let own = without_shear(stiffness("FL 20x10"));
    let nodes = (0..=PIECES)
        .map(|k| [LENGTH * k as f64 / PIECES as f64, 0.0, 0.0])
        .collect();
    let metal = BarMetal {
        modulus_mpa: 210_000.0,
        yield_mpa: 235.0,
        hardening: 2e-4,
    };
    let bar = Bar::new(Profile::bar(20.0, 10.0).unwrap(), metal).unwrap();
    let law = MomentCurve::of(&bar, own.bending_1_n_mm2);
    let yielding = (0..PIECES).map(|beam| YieldingBeam {
        beam,
        about_z: false,
        law: law.clone(),
    });
    let frame = Frame {
        nodes,
        beams: (0..PIECES)
            .map(|k| Beam::new(0, [k, k + 1], UP, own))
            .collect(),
        ..Frame::default()
    };
    (frame, yielding.collect(), bar.plastic_moment_n_mm())
}

fn push(frame: &Frame, yielding: &[YieldingBeam], times: &[f64]) -> Vec<Pushed> {
    let middle = Probe::displacement(&frame.nodes, PIECES / 2, frame.nodes[PIECES / 2], DOWN);
    let quarter = Probe::displacement(&frame.nodes, PIECES / 4, frame.nodes[PIECES / 4], DOWN);
    let push = Push {
        force: middle.clone(),
        travel: middle,
        readings: vec![quarter],
    };
    Structure::new(frame)
        .unwrap()
        .push(&push, yielding, times)
        .unwrap()
}

fn hinged(node: usize) -> Support {
    let mut fixity = [Fixity::Fixed; 6];
    fixity[4] = Fixity::Free;
    Support { node, fixity }
}

/// Built in at both ends and pushed in the middle: three hinges, 8·Mp/L; on two supports one hinge, 4·Mp/L (Beer and
/// Johnston, *Mechanics of Materials*, or any text on limit analysis; common knowledge). A hinge is a whole element here.
#[test]
fn a_beam_carries_what_its_hinges_carry() {
    let (mut frame, yielding, plastic) = bar();
    frame.supports = vec![Support::fixed(0), Support::fixed(PIECES)];
    let times: Vec<f64> = (0..=40).map(|k| 4f64.powf(f64::from(k) / 40.0)).collect();
    let pushed = push(&frame, &yielding, &times);
    assert_eq!(pushed.len(), 41);
    // Elastic up to first yield: 192·E·I/L³.
    let first = &pushed[0];
    let stiff = 192.0 * 210_000.0 * (10.0 * 20.0f64.powi(3) / 12.0) / LENGTH.powi(3);
    assert!(
        (first.force_n / first.travel_mm / stiff - 1.0).abs() < 1e-3,
        "{first:?}"
    );
    assert!(first.kept_travel_mm.abs() < 1e-6 * first.travel_mm);
    let last = pushed[40].force_n;
    assert!(
        (last / (8.0 * plastic / LENGTH) - 1.0).abs() < 0.04,
        "{last}"
    );

    frame.supports = vec![hinged(0), hinged(PIECES)];
    let pushed = push(&frame, &yielding, &times);
    let last = &pushed[40];
    assert!(
        (last.force_n / (4.0 * plastic / LENGTH) - 1.0).abs() < 0.03,
        "{last:?}"
    );
    // It springs back by what the force bends it elastically, and stays bent in a kink: half at the quarter.
    let elastic =
        last.force_n * LENGTH.powi(3) / (48.0 * 210_000.0 * 10.0 * 20.0f64.powi(3) / 12.0);
    assert!(
        (last.travel_mm - last.kept_travel_mm - elastic).abs() < 1e-3 * elastic,
        "{last:?}"
    );
    assert!(
        (last.kept[0] / last.kept_travel_mm - 0.5).abs() < 0.06,
        "{last:?}"
    );
}

/// A bent beam tied all along to an equal one that stayed elastic keeps half of what it would keep alone: both are bent
/// alike, so their moments are in balance only half-way.
#[test]
fn a_beam_tied_to_a_straight_one_keeps_half() {
    let (mut frame, yielding, _) = bar();
    let count = frame.nodes.len();
    let second: Vec<Beam> = frame
        .beams
        .iter()
        .map(|beam| Beam {
            nodes: beam.nodes.map(|node| node + count),
            ..beam.clone()
        })
        .collect();
    frame.beams.extend(second);
    frame.nodes.extend_from_within(..);
    frame.springs = (1..PIECES)
        .map(|node| Spring {
            along: Probe::opening(&frame.nodes, node, node + count, frame.nodes[node], UP),
            stiffness: 1e9,
        })
        .collect();
    frame.supports = [0, PIECES, count, count + PIECES].map(hinged).into();
    let pushed = push(&frame, &yielding, &[3.0]);
    let of_one = |(curvature, one): (&f64, &YieldingBeam)| {
        let at = LENGTH * (one.beam as f64 + 0.5) / PIECES as f64;
        one.law.kept(*curvature)[0] * LENGTH / PIECES as f64 * at.min(LENGTH - at) / 2.0
    };
    let alone: f64 = pushed[0]
        .curvatures_per_mm
        .iter()
        .zip(&yielding)
        .map(of_one)
        .sum();
    let kept = pushed[0].kept_travel_mm.abs();
    assert!(
        kept > 0.1 && (kept / alone.abs() - 0.5).abs() < 0.01,
        "{kept} {alone}"
    );
}
