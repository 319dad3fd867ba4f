//! What must hold for every frame: rigid motions, patches, equilibrium, reciprocity.

use super::*;
use crate::algebra::{cross, dot};
use proptest::prelude::*;

/// A random frame: nodes in a box, each joined to earlier ones, with arms, semi-rigid ends and three supports.
fn any_frame(seed: u64) -> Frame {
    let mut dice = Dice(seed);
    let sections = [
        "SHS 40x40x3",
        "RHS 50x25x2",
        "L 50x30x4",
        "U 50x38x5",
        "FL 40x5",
        "RD 12",
    ];
    let count = 5 + dice.below(6);
    let mut frame = Frame::default();
    for node in 0..count {
        frame.nodes.push(std::array::from_fn(|_| {
            800.0 * dice.roll() + 10.0 * node as f64
        }));
        for _ in 0..node.min(2) {
            let mut one = beam(
                [dice.below(node), node],
                stiffness(sections[dice.below(sections.len())]),
            );
            one.depth_axis = std::array::from_fn(|_| dice.roll());
            one.offsets = std::array::from_fn(|_| std::array::from_fn(|_| 30.0 * dice.roll()));
            one.ends[1][dice.below(6)] = Fixity::Spring(1e6 * (1.5 + dice.roll()));
            frame.beams.push(one);
        }
    }
    frame.supports = vec![Support::fixed(0), pinned(1), pinned(2)];
    frame
}

fn any_case(seed: u64, frame: &Frame) -> LoadCase {
    let mut dice = Dice(seed ^ 0xABCD);
    let mut case = LoadCase::default();
    for node in 0..frame.nodes.len() {
        case.forces.push((
            node,
            [1.0, 1.0, 1.0, 300.0, 300.0, 300.0].map(|scale| 500.0 * scale * dice.roll()),
        ));
    }
    for beam in 0..frame.beams.len() {
        case.beam_loads
            .push((beam, std::array::from_fn(|_| 0.5 * dice.roll())));
        let [axial, y, z] = [1e-3, 1e-5, 1e-5].map(|scale| scale * dice.roll());
        case.strains.push((
            beam,
            InitialStrain {
                axial,
                curvature_y_per_mm: y,
                curvature_z_per_mm: z,
            },
        ));
    }
    case
}

/// A turn about an axis, as a matrix of rows.
fn turn(dice: &mut Dice) -> [[f64; 3]; 3] {
    let axis: [f64; 3] = std::array::from_fn(|_| dice.roll() + 1.5);
    let size = dot(axis, axis).sqrt();
    let axis = axis.map(|c| c / size);
    let (sin, cos) = (3.0 * dice.roll()).sin_cos();
    let unit = |k: usize| std::array::from_fn(|i| f64::from(i == k));
    let column = |k: usize| -> [f64; 3] {
        let (v, w) = (unit(k), cross(axis, unit(k)));
        std::array::from_fn(|i| cos * v[i] + sin * w[i] + (1.0 - cos) * dot(axis, v) * axis[i])
    };
    let columns = [column(0), column(1), column(2)];
    std::array::from_fn(|r| std::array::from_fn(|c| columns[c][r]))
}

fn turned(by: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    by.map(|row| dot(row, v))
}

fn turned_six(by: &[[f64; 3]; 3], v: [f64; 6]) -> [f64; 6] {
    let (a, b) = (
        turned(by, [v[0], v[1], v[2]]),
        turned(by, [v[3], v[4], v[5]]),
    );
    [a[0], a[1], a[2], b[0], b[1], b[2]]
}

fn greatest(shape: &Shape) -> f64 {
    shape
        .nodes
        .iter()
        .flatten()
        .fold(0.0, |m, v| m.max(v.abs()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_rigid_motion_puts_no_force_on_any_beam(seed in any::<u64>()) {
        let frame = any_frame(seed);
        let mut dice = Dice(seed);
        let (shift, about): ([f64; 3], [f64; 3]) = (std::array::from_fn(|_| dice.roll()), std::array::from_fn(|_| 1e-3 * dice.roll()));
        let nodes = frame.nodes.iter().map(|at| {
            let arc = cross(about, *at);
            [shift[0] + arc[0], shift[1] + arc[1], shift[2] + arc[2], about[0], about[1], about[2]]
        });
        let shape = Shape { nodes: nodes.collect() };
        for (k, beam) in frame.beams.iter().enumerate() {
            for force in end_forces(&frame, &shape, &LoadCase::default(), k).into_iter().flatten() {
                // Compared with the force of an elongation of the same size.
                prop_assert!(force.abs() < 1e-9 * beam.stiffness.axial_n, "{force}");
            }
        }
    }

    #[test]
    fn turning_the_whole_frame_turns_its_shape(seed in any::<u64>()) {
        let frame = any_frame(seed);
        let case = any_case(seed, &frame);
        let by = turn(&mut Dice(seed));
        let mut other = frame.clone();
        // Supports hold all directions alike, so they may stay.
        other.nodes.iter_mut().for_each(|v| *v = turned(&by, *v));
        for beam in &mut other.beams {
            beam.depth_axis = turned(&by, beam.depth_axis);
            beam.offsets = beam.offsets.map(|arm| turned(&by, arm));
        }
        let mut loads = case.clone();
        loads.forces.iter_mut().for_each(|(_, f)| *f = turned_six(&by, *f));
        loads.beam_loads.iter_mut().for_each(|(_, q)| *q = turned(&by, *q));
        let before = Structure::new(&frame).unwrap().solve(&case).unwrap();
        let after = Structure::new(&other).unwrap().solve(&loads).unwrap();
        for (a, b) in before.nodes.iter().zip(&after.nodes) {
            for (x, y) in turned_six(&by, *a).into_iter().zip(b) {
                prop_assert!((x - y).abs() < 1e-8 * greatest(&before), "{x} {y}");
            }
        }
    }

    #[test]
    fn beams_and_loads_balance_at_every_free_node(seed in any::<u64>()) {
        let frame = any_frame(seed);
        let case = any_case(seed, &frame);
        let structure = Structure::new(&frame).unwrap();
        let shape = structure.solve(&case).unwrap();
        let mut sum: Vec<[f64; 6]> = vec![[0.0; 6]; frame.nodes.len()];
        for (node, force) in &case.forces {
            sum[*node].iter_mut().zip(force).for_each(|(s, f)| *s += f);
        }
        let mut size = 1.0f64;
        for (k, beam) in frame.beams.iter().enumerate() {
            let local = end_forces(&frame, &shape, &case, k);
            let end = |e: usize| -> [f64; 3] { std::array::from_fn(|i| frame.nodes[beam.nodes[e]][i] + beam.offsets[e][i]) };
            let (a, b) = (end(0), end(1));
            let along: [f64; 3] = std::array::from_fn(|i| b[i] - a[i]);
            let unit = |v: [f64; 3]| v.map(|c| c / dot(v, v).sqrt());
            let x = unit(along);
            let y = unit(cross(beam.depth_axis, x));
            let axes = [x, y, cross(x, y)];
            let global = |v: [f64; 3]| -> [f64; 3] { std::array::from_fn(|i| (0..3).map(|r| axes[r][i] * v[r]).sum()) };
            for (e, f) in local.into_iter().enumerate() {
                let (force, own) = (global([f[0], f[1], f[2]]), global([f[3], f[4], f[5]]));
                let lever = cross(beam.offsets[e], force);
                let all = [force[0], force[1], force[2], own[0] + lever[0], own[1] + lever[1], own[2] + lever[2]];
                size = all.iter().fold(size, |m, v| m.max(v.abs()));
                sum[beam.nodes[e]].iter_mut().zip(all).for_each(|(s, f)| *s -= f);
            }
        }
        for (node, rest) in sum.iter().enumerate().skip(3) {
            prop_assert!(rest.iter().all(|r| r.abs() < 1e-8 * size), "node {node}: {rest:?} of {size}");
        }
    }

    #[test]
    fn work_is_reciprocal(seed in any::<u64>()) {
        // Betti 1872: what the first force does at the second place, the second does at the first.
        let frame = any_frame(seed);
        let mut dice = Dice(seed);
        let last = frame.nodes.len() - 1;
        let probe = |dice: &mut Dice, node: usize| {
            let at = std::array::from_fn(|i| frame.nodes[node][i] + 50.0 * dice.roll());
            Probe::displacement(&frame.nodes, node, at, std::array::from_fn(|_| dice.roll()))
        };
        let (a, b) = (probe(&mut dice, last), probe(&mut dice, 3));
        let structure = Structure::new(&frame).unwrap();
        let by = |p: &Probe| structure.solve(&LoadCase { along: vec![(p.clone(), 100.0)], ..LoadCase::default() }).unwrap();
        let (first, second) = (by(&a), by(&b));
        prop_assert!((first.read(&b) - second.read(&a)).abs() < 1e-9 * greatest(&first).max(greatest(&second)));
    }

    #[test]
    fn a_bar_cut_anywhere_into_any_pieces_moves_as_one(cuts in prop::collection::vec(0.02f64..0.98, 0..5)) {
        // The patch test: uniform strain, curvature and twist pass through any mesh.
        let s = stiffness("RHS 50x25x2");
        let tip = |mut cuts: Vec<f64>| {
            cuts.extend([0.0, 1.0]);
            cuts.sort_by(f64::total_cmp);
            cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
            let nodes = cuts.iter().map(|t| [300.0 * t, 400.0 * t, 1200.0 * t]).collect::<Vec<_>>();
            let last = nodes.len() - 1;
            let beams = (0..last).map(|k| beam([k, k + 1], s)).collect();
            let frame = Frame { nodes, beams, supports: vec![Support::fixed(0)], springs: vec![] };
            let strain = InitialStrain { axial: 2e-4, curvature_y_per_mm: 1e-6, curvature_z_per_mm: -3e-6 };
            let case = LoadCase {
                forces: vec![(last, [100.0, -50.0, 70.0, 3e4, 1e4, -2e4])],
                strains: (0..last).map(|k| (k, strain)).collect(),
                beam_loads: (0..last).map(|k| (k, [0.1, 0.0, -0.2])).collect(),
                ..LoadCase::default()
            };
            Structure::new(&frame).unwrap().solve(&case).unwrap().nodes[last]
        };
        let (cut, whole) = (tip(cuts), tip(vec![]));
        let scale = whole.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        for (a, b) in cut.into_iter().zip(whole) {
            prop_assert!((a - b).abs() < 1e-9 * scale, "{a} {b}");
        }
    }
}
