//! Textbook answers. Where no source is named the formula is common practice and follows from beam theory.

use super::*;
use std::f64::consts::PI;

fn solved(frame: &Frame, case: &LoadCase) -> Shape {
    Structure::new(frame).unwrap().solve(case).unwrap()
}

/// A member from `from` to `to` in equal pieces; gives its nodes.
fn member(
    frame: &mut Frame,
    from: [f64; 3],
    to: [f64; 3],
    pieces: usize,
    stiffness: BeamStiffness,
) -> Vec<usize> {
    let first = frame.nodes.len();
    let at =
        |k: usize| std::array::from_fn(|i| from[i] + (to[i] - from[i]) * k as f64 / pieces as f64);
    frame.nodes.extend((0..=pieces).map(at));
    let along = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
    let depth = if along[0].abs() + along[1].abs() > 1e-9 {
        [0.0, 0.0, 1.0]
    } else {
        [1.0, 0.0, 0.0]
    };
    for k in first..first + pieces {
        frame.beams.push(Beam {
            depth_axis: depth,
            ..beam([k, k + 1], stiffness)
        });
    }
    (first..=first + pieces).collect()
}

#[test]
fn a_cantilever_bends_shears_stretches_and_twists_as_in_the_textbook() {
    let s = stiffness("RHS 50x30x3");
    let (length, force) = (800.0, 350.0);
    let mut frame = Frame::default();
    member(&mut frame, [0.0; 3], [length, 0.0, 0.0], 4, s);
    frame.supports.push(Support::fixed(0));
    let tip = |load: [f64; 6]| {
        solved(
            &frame,
            &LoadCase {
                forces: vec![(4, load)],
                ..LoadCase::default()
            },
        )
        .nodes[4]
    };
    let cubic = force * length.powi(3) / 3.0;
    // Timoshenko: PL³/3EI + PL/GAs.
    close(
        tip([0.0, 0.0, force, 0.0, 0.0, 0.0])[2],
        cubic / s.bending_1_n_mm2 + force * length / s.shear_2_n,
        1e-9,
    );
    close(
        tip([0.0, force, 0.0, 0.0, 0.0, 0.0])[1],
        cubic / s.bending_2_n_mm2 + force * length / s.shear_1_n,
        1e-9,
    );
    close(
        tip([0.0, 0.0, force, 0.0, 0.0, 0.0])[4],
        -force * length.powi(2) / (2.0 * s.bending_1_n_mm2),
        1e-9,
    );
    close(
        tip([force, 0.0, 0.0, 0.0, 0.0, 0.0])[0],
        force * length / s.axial_n,
        1e-9,
    );
    close(
        tip([0.0, 0.0, 0.0, 1e5, 0.0, 0.0])[3],
        1e5 * length / s.torsion_n_mm2,
        1e-9,
    );
    close(
        tip([0.0, 0.0, 0.0, 0.0, 0.0, 1e5])[1],
        1e5 * length * length / (2.0 * s.bending_2_n_mm2),
        1e-9,
    );
}

#[test]
fn a_uniform_load_gives_five_and_one_over_384() {
    let s = without_shear(stiffness("SHS 40x40x3"));
    let (length, load) = (2000.0, 0.7);
    for (ends, factor) in [(Fixity::Free, 5.0), (Fixity::Fixed, 1.0)] {
        let mut frame = Frame::default();
        member(&mut frame, [0.0; 3], [length, 0.0, 0.0], 6, s);
        let mut fixity = [Fixity::Fixed; 6];
        fixity[4] = ends;
        frame.supports = vec![Support { node: 0, fixity }, Support { node: 6, fixity }];
        let beam_loads = (0..6).map(|k| (k, [0.0, 0.0, -load])).collect();
        let shape = solved(
            &frame,
            &LoadCase {
                beam_loads,
                ..LoadCase::default()
            },
        );
        close(
            shape.nodes[3][2],
            -factor * load * length.powi(4) / (384.0 * s.bending_1_n_mm2),
            1e-9,
        );
    }
}

#[test]
fn a_portal_sways_as_kleinlogel_says() {
    // Kleinlogel, Rahmenformeln, frame with clamped feet under a force H at the corner: with k = Ib h / Ic l the
    // corner moves H h³ (3k + 2) / (12 E Ic (6k + 1)), axial strain left out. From memory; follows from slope-deflection.
    let (height, width, force) = (900.0, 1400.0, 1000.0);
    let (column, rail) = (
        without_shear(stiffness("SHS 40x40x3")),
        without_shear(stiffness("RHS 50x30x3")),
    );
    let sway = |axial_n: f64| {
        let mut frame = Frame {
            nodes: vec![
                [0.0; 3],
                [0.0, 0.0, height],
                [width, 0.0, height],
                [width, 0.0, 0.0],
            ],
            supports: vec![Support::fixed(0), Support::fixed(3)],
            ..Frame::default()
        };
        let column = BeamStiffness { axial_n, ..column };
        for (nodes, s, depth_axis) in [
            ([0, 1], column, [1.0, 0.0, 0.0]),
            ([1, 2], BeamStiffness { axial_n, ..rail }, [0.0, 0.0, 1.0]),
            ([2, 3], column, [1.0, 0.0, 0.0]),
        ] {
            frame.beams.push(Beam {
                depth_axis,
                ..beam(nodes, s)
            });
        }
        let case = LoadCase {
            forces: vec![(1, [force, 0.0, 0.0, 0.0, 0.0, 0.0])],
            ..LoadCase::default()
        };
        solved(&frame, &case).nodes[1][0]
    };
    // What axial strain adds is nearly proportional to 1/EA: two values give the limit.
    let rigid = 2.0 * sway(2e10) - sway(1e10);
    let k = rail.bending_1_n_mm2 * height / (column.bending_1_n_mm2 * width);
    close(
        rigid,
        force * height.powi(3) * (3.0 * k + 2.0)
            / (12.0 * column.bending_1_n_mm2 * (6.0 * k + 1.0)),
        1e-9,
    );
}

#[test]
fn a_ring_pulled_across_its_diameter_opens_as_timoshenko_says() {
    // Timoshenko, Strength of Materials, part I, 3rd ed. 1955, art. 80: the diameter along the force P grows by
    // (π/4 − 2/π) P R³/EI by bending and (π/4) P R/EA by axial strain. From memory. The ring is a polygon: the error falls with the square of the
    // pieces, so two polygons give the limit.
    let s = without_shear(stiffness("FL 40x5"));
    let (radius, force) = (300.0, 200.0);
    let grows = |pieces: usize| {
        let at = |k: usize| (2.0 * PI * k as f64 / pieces as f64).sin_cos();
        let frame = Frame {
            nodes: (0..pieces)
                .map(|k| [radius * at(k).1, radius * at(k).0, 0.0])
                .collect(),
            beams: (0..pieces)
                .map(|k| beam([k, (k + 1) % pieces], s))
                .collect(),
            supports: vec![Support::fixed(0)],
            springs: vec![],
        };
        let case = LoadCase {
            forces: vec![(pieces / 2, [-force, 0.0, 0.0, 0.0, 0.0, 0.0])],
            ..LoadCase::default()
        };
        // By symmetry the section under each force does not turn: one may be clamped.
        -solved(&frame, &case).nodes[pieces / 2][0]
    };
    let (coarse, middle, fine) = (grows(64), grows(128), grows(256));
    let (first, second) = ((4.0 * middle - coarse) / 3.0, (4.0 * fine - middle) / 3.0);
    let limit = (16.0 * second - first) / 15.0;
    let bending = (PI / 4.0 - 2.0 / PI) * force * radius.powi(3) / s.bending_2_n_mm2;
    close(limit, bending + PI / 4.0 * force * radius / s.axial_n, 1e-9);
}

#[test]
fn a_tendon_force_bows_a_free_bar_into_an_arc() {
    // Okerblom 1958: curvature F·e / EI, shortening F / EA; bow of a free bar κ L² / 8.
    let s = stiffness("SHS 40x40x3");
    let (length, force, lever) = (1000.0, 5000.0, 20.0);
    let mut frame = Frame::default();
    member(&mut frame, [0.0; 3], [length, 0.0, 0.0], 8, s);
    let mut ends = [
        Fixity::Fixed,
        Fixity::Fixed,
        Fixity::Fixed,
        Fixity::Fixed,
        Fixity::Free,
        Fixity::Free,
    ];
    frame.supports.push(Support {
        node: 0,
        fixity: ends,
    });
    ends[0] = Fixity::Free;
    ends[3] = Fixity::Free;
    frame.supports.push(Support {
        node: 8,
        fixity: ends,
    });
    for (at, component, sign) in [([0.0, lever], 2, 1.0), ([lever, 0.0], 1, 1.0)] {
        let strain = InitialStrain::tendon(force, at, &s);
        let case = LoadCase {
            strains: (0..8).map(|k| (k, strain)).collect(),
            ..LoadCase::default()
        };
        let shape = solved(&frame, &case);
        let bow = -sign * force * lever * length * length / (8.0 * s.bending_1_n_mm2);
        close(shape.nodes[4][component], bow, 1e-9);
        close(shape.nodes[8][0], -force * length / s.axial_n, 1e-9);
    }
}

#[test]
fn heating_one_bar_of_a_clamped_pair_stresses_it_by_alpha_e_t() {
    let s = stiffness("SHS 40x40x3");
    let mut frame = Frame::default();
    member(&mut frame, [0.0; 3], [500.0, 0.0, 0.0], 2, s);
    frame.supports = vec![Support::fixed(0), Support::fixed(2)];
    let strain = InitialStrain {
        axial: 12e-6 * 50.0,
        ..InitialStrain::default()
    };
    let case = LoadCase {
        strains: vec![(0, strain), (1, strain)],
        ..LoadCase::default()
    };
    let structure = Structure::new(&frame).unwrap();
    let shape = structure.solve(&case).unwrap();
    let [start, end] = end_forces(&frame, &shape, &case, 0);
    close(start[0], s.axial_n * strain.axial, 1e-9);
    close(end[0], -s.axial_n * strain.axial, 1e-9);
}

#[test]
fn an_eccentric_end_adds_the_lever_and_an_end_spring_its_turn() {
    let s = without_shear(stiffness("SHS 40x40x3"));
    let (length, force, lever, spring) = (600.0, 400.0, 25.0, 3e7);
    let mut ends = [[Fixity::Fixed; 6]; 2];
    ends[0][4] = Fixity::Spring(spring);
    let frame = Frame {
        nodes: vec![[0.0, 0.0, -lever], [length, 0.0, 0.0]],
        beams: vec![Beam {
            offsets: [[0.0, 0.0, lever], [0.0; 3]],
            ends,
            ..beam([0, 1], s)
        }],
        supports: vec![Support {
            fixity: [Fixity::Fixed; 6],
            node: 0,
        }],
        springs: vec![],
    };
    let case = LoadCase {
        forces: vec![(1, [0.0, 0.0, force, 0.0, 0.0, 0.0])],
        ..LoadCase::default()
    };
    let expected =
        force * length.powi(3) / (3.0 * s.bending_1_n_mm2) + force * length * length / spring;
    close(solved(&frame, &case).nodes[1][2], expected, 1e-9);
    // The arm itself: a node that may turn against a spring carries the beam's axial force off its line.
    let mut fixity = [Fixity::Fixed; 6];
    fixity[4] = Fixity::Spring(spring);
    let on_arm = Frame {
        supports: vec![Support { node: 0, fixity }],
        ..frame
    };
    let pull = LoadCase {
        forces: vec![(1, [force, 0.0, 0.0, 0.0, 0.0, 0.0])],
        ..LoadCase::default()
    };
    let moved = solved(&on_arm, &pull).nodes[1];
    // The support turns by F·e/c; the beam's line lies `lever` above it.
    close(
        moved[0],
        force * length / s.axial_n + force * lever * lever / spring,
        1e-9,
    );
}

#[test]
fn a_force_through_the_shear_centre_of_a_channel_does_not_twist_it() {
    let s = stiffness("U 50x38x5");
    let mut frame = Frame::default();
    member(&mut frame, [0.0; 3], [700.0, 0.0, 0.0], 3, s);
    frame.supports.push(Support::fixed(0));
    let push = |y: f64| {
        let at = [700.0, y, 0.0];
        let along = vec![(
            Probe::displacement(&frame.nodes, 3, at, [0.0, 0.0, 1.0]),
            100.0,
        )];
        solved(
            &frame,
            &LoadCase {
                along,
                ..LoadCase::default()
            },
        )
        .nodes[3][3]
    };
    let [from_centroid, _] = s.shear_centre_mm;
    assert!(push(from_centroid).abs() < 1e-9 * push(0.0).abs());
    close(
        push(0.0),
        100.0 * -from_centroid * 700.0 / s.torsion_n_mm2,
        1e-9,
    );
}

#[test]
fn an_angle_loaded_down_moves_sideways_as_its_product_of_inertia_says() {
    let section = Section::parse("L 50x30x4").unwrap();
    let s = without_shear(stiffness("L 50x30x4"));
    let mut frame = Frame::default();
    member(&mut frame, [0.0; 3], [500.0, 0.0, 0.0], 1, s);
    frame.supports.push(Support::fixed(0));
    let [ys, zs] = s.shear_centre_mm;
    let at = [500.0, ys, zs];
    let along = vec![(
        Probe::displacement(&frame.nodes, 1, at, [0.0, 0.0, 1.0]),
        100.0,
    )];
    let moved = solved(
        &frame,
        &LoadCase {
            along,
            ..LoadCase::default()
        },
    )
    .nodes[1];
    // Unsymmetric bending: w = P L³ Iz / 3E(Iy Iz − Iyz²), v = −P L³ Iyz / 3E(…).
    let p = section.properties();
    let det = p.second_moment_y_mm4 * p.second_moment_z_mm4 - p.product_moment_mm4.powi(2);
    let common = 100.0 * 500f64.powi(3) / (3.0 * 210_000.0 * det);
    close(moved[2], common * p.second_moment_z_mm4, 1e-9);
    close(moved[1], -common * p.product_moment_mm4, 1e-9);
}
