//! How long a frame of 102 members takes to prepare and to solve. `tests/reference/bench_frame.py` puts this beside
//! general frame programs.

use coldsquare_engine::structure::{Beam, BeamStiffness, Frame, LoadCase, Structure, Support};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

/// Square bar 40 mm, E 210 GPa, ν 0.3, no shear deformation.
fn bar() -> BeamStiffness {
    let (side, e) = (40.0_f64, 210_000.0);
    let second_moment = side.powi(4) / 12.0;
    BeamStiffness {
        axial_n: e * side * side,
        bending_1_n_mm2: e * second_moment,
        bending_2_n_mm2: e * second_moment,
        torsion_n_mm2: e / 2.6 * 0.1406 * side.powi(4),
        shear_1_n: f64::INFINITY,
        shear_2_n: f64::INFINITY,
        principal_angle_rad: 0.0,
        shear_centre_mm: [0.0; 2],
    }
}

/// Members of several elements between the joints of a grid; the nodes of the joints come first.
struct Grid {
    frame: Frame,
    counts: [usize; 3],
    members: usize,
}

impl Grid {
    fn new(counts: [usize; 3], spacing: [f64; 3]) -> Self {
        let mut frame = Frame::default();
        for k in 0..counts[0] * counts[1] * counts[2] {
            let at = [
                k % counts[0],
                k / counts[0] % counts[1],
                k / counts[0] / counts[1],
            ];
            frame
                .nodes
                .push([0, 1, 2].map(|i| at[i] as f64 * spacing[i]));
        }
        Self {
            frame,
            counts,
            members: 0,
        }
    }

    fn joint(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.counts[1] + j) * self.counts[0] + i
    }

    fn member(&mut self, from: [usize; 3], axis: usize, pieces: usize) {
        let mut to = from;
        to[axis] += 1;
        let (a, b) = (self.joint(from), self.joint(to));
        let (start, end) = (self.frame.nodes[a], self.frame.nodes[b]);
        let depth = if axis == 2 {
            [1.0, 0.0, 0.0]
        } else {
            [0.0, 0.0, 1.0]
        };
        let mut last = a;
        for piece in 1..=pieces {
            let next = if piece == pieces {
                b
            } else {
                let t = piece as f64 / pieces as f64;
                self.frame
                    .nodes
                    .push([0, 1, 2].map(|i| start[i] + t * (end[i] - start[i])));
                self.frame.nodes.len() - 1
            };
            self.frame
                .beams
                .push(Beam::new(self.members, [last, next], depth, bar()));
            last = next;
        }
        self.members += 1;
    }
}

/// 5 x 4 x 3 joints, 102 members, 244 beams, 202 nodes of which 20 are held: 1092 unknowns.
fn reference_frame() -> Frame {
    let mut grid = Grid::new([5, 4, 3], [800.0, 700.0, 900.0]);
    for k in 0..3 {
        for j in 0..4 {
            for i in 0..5 {
                if k > 0 && i < 4 {
                    grid.member([i, j, k], 0, 2);
                }
                if k > 0 && j < 3 {
                    grid.member([i, j, k], 1, 2);
                }
                if k < 2 {
                    grid.member([i, j, k], 2, 3);
                }
            }
        }
    }
    grid.frame.supports = (0..20).map(Support::fixed).collect();
    assert_eq!(
        (grid.members, grid.frame.beams.len(), grid.frame.nodes.len()),
        (102, 244, 202)
    );
    grid.frame
}

/// Six loads spread over the upper joints, as in `bench_frame.py`.
fn loads() -> LoadCase {
    let one = |n: usize| {
        let f = n as f64;
        (
            20 + 7 * n,
            [
                300.0 - 90.0 * f,
                50.0 * f,
                -200.0 - 10.0 * f,
                1e4,
                2e3 * f,
                -3e3,
            ],
        )
    };
    LoadCase {
        forces: (0..6).map(one).collect(),
        ..LoadCase::default()
    }
}

fn structure(c: &mut Criterion) {
    let (frame, case) = (reference_frame(), loads());
    c.bench_function("frame 102/prepare", |b| {
        b.iter(|| Structure::new(black_box(&frame)))
    });
    let prepared = Structure::new(&frame).expect("the frame stands");
    let moved = prepared
        .solve(&case)
        .expect("the loads lie on the frame")
        .nodes[59][0];
    // What the two general programs find for the same frame (printed by `bench_frame.py`).
    assert!(
        (moved + 0.004_372_251_071).abs() < 1e-12,
        "another frame than that of bench_frame.py: {moved}"
    );
    c.bench_function("frame 102/solve", |b| {
        b.iter(|| prepared.solve(black_box(&case)))
    });
    c.bench_function("frame 102/prepare and solve", |b| {
        b.iter(|| Structure::new(black_box(&frame)).and_then(|s| s.solve(&case)));
    });
}

criterion_group!(benches, structure);
criterion_main!(benches);
