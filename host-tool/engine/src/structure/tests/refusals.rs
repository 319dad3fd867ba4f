//! Bad frames get an answer that names the member and the motion.

use super::*;

fn bar() -> Frame {
    Frame {
        nodes: vec![[0.0; 3], [400.0, 0.0, 0.0], [800.0, 0.0, 0.0]],
        beams: [[0, 1], [1, 2]]
            .map(|n| beam(n, stiffness("SHS 40x40x3")))
            .to_vec(),
        ..Frame::default()
    }
}

fn refusal(frame: &Frame) -> StructureError {
    Structure::new(frame).err().expect("the frame is refused")
}

fn motions(frame: &Frame) -> Vec<Motion> {
    match refusal(frame) {
        StructureError::Mechanism(motions) => motions,
        other => panic!("{other}"),
    }
}

#[test]
fn a_bar_that_nothing_holds_can_move_in_six_ways() {
    let found = motions(&bar());
    assert_eq!(found.len(), 6);
    assert!(found.iter().all(|m| m.members == [0, 1]));
}

#[test]
fn a_bar_on_two_pins_spins_about_itself() {
    let mut frame = bar();
    frame.supports = vec![pinned(0), pinned(2)];
    let found = motions(&frame);
    assert_eq!(found.len(), 1);
    assert_eq!(
        (found[0].along, found[0].about),
        (None, Some([1.0, 0.0, 0.0]))
    );
    assert!(
        refusal(&frame).to_string().contains("turning about x"),
        "{}",
        refusal(&frame)
    );
}

#[test]
fn a_frame_on_rollers_slides_the_way_that_is_open() {
    use Fixity::{Fixed, Free};
    let mut frame = bar();
    let fixity = [Fixed, Free, Fixed, Fixed, Fixed, Fixed];
    frame.supports = vec![Support { node: 0, fixity }];
    let found = motions(&frame);
    assert_eq!(
        (found.len(), found[0].along, found[0].about),
        (1, Some([0.0, 1.0, 0.0]), None)
    );
}

#[test]
fn a_member_that_was_forgotten_is_named_with_the_node_it_should_be_joined_to() {
    let mut frame = bar();
    frame.supports = vec![Support::fixed(0)];
    frame.nodes.extend([[800.0, 0.0, 0.0], [800.0, 500.0, 0.0]]);
    frame.beams.push(Beam {
        member: 7,
        ..beam([3, 4], stiffness("SHS 40x40x3"))
    });
    let found = motions(&frame);
    assert!(
        found
            .iter()
            .all(|m| m.members == [7] && m.member == Some(7)),
        "{found:?}"
    );
    assert!(
        found.iter().any(|m| m.not_joined_to == Some(2)),
        "{found:?}"
    );
}

#[test]
fn a_large_frame_that_nothing_holds_is_found_loose_and_the_same_frame_held_is_not() {
    let mut dice = Dice(1);
    let (across, up) = (12, 9);
    let s = stiffness("SHS 40x40x3");
    let mut frame = Frame::default();
    for k in 0..across * up {
        let z = 10.0 * dice.roll();
        frame.nodes.push([
            (k % across) as f64 * 310.0 + 20.0 * dice.roll(),
            (k / across) as f64 * 270.0,
            z,
        ]);
    }
    for k in 0..across * up {
        if k % across + 1 < across {
            frame.beams.push(beam([k, k + 1], s));
        }
        if k / across + 1 < up {
            frame.beams.push(beam([k, k + across], s));
        }
    }
    assert_eq!(motions(&frame).len(), 6);
    frame.supports.push(Support::fixed(0));
    assert!(Structure::new(&frame).is_ok());
}

#[test]
fn a_slender_bar_in_many_pieces_is_not_taken_for_loose() {
    let s = stiffness("FL 20x3");
    let nodes = (0..=1000).map(|k| [6.0 * f64::from(k), 0.0, 0.0]).collect();
    let beams = (0..1000).map(|k| beam([k, k + 1], s)).collect();
    let frame = Frame {
        nodes,
        beams,
        supports: vec![Support::fixed(0)],
        springs: vec![],
    };
    let case = LoadCase {
        forces: vec![(1000, [0.0, 0.0, 0.01, 0.0, 0.0, 0.0])],
        ..LoadCase::default()
    };
    let tip = Structure::new(&frame).unwrap().solve(&case).unwrap().nodes[1000][2];
    close(
        tip,
        0.01 * (6000f64.powi(3) / (3.0 * s.bending_1_n_mm2) + 6000.0 / s.shear_2_n),
        1e-4,
    );
}

#[test]
fn a_bar_in_so_many_pieces_that_rounding_hides_its_stiffness_is_refused() {
    let s = stiffness("FL 20x3");
    for pieces in [10_000, 30_000] {
        let nodes = (0..=pieces)
            .map(|k| [6.0 * k as f64, 0.1 * k as f64, 0.02 * k as f64])
            .collect();
        let beams = (0..pieces).map(|k| beam([k, k + 1], s)).collect();
        let frame = Frame {
            nodes,
            beams,
            supports: vec![Support::fixed(0)],
            springs: vec![],
        };
        assert!(matches!(
            refusal(&frame),
            StructureError::NearZeroPivot { .. } | StructureError::Mechanism(_)
        ));
    }
}

#[test]
fn impossible_data_is_refused_by_name() {
    type Spoil = fn(&mut Frame);
    let cases: [(Spoil, &str); 12] = [
        (|f| f.nodes.clear(), "no nodes"),
        (
            |f| f.nodes[1] = [0.0; 3],
            "member 0 has no length between nodes 0 and 1",
        ),
        (|f| f.beams[1].nodes = [2, 2], "member 1 has no length"),
        (|f| f.nodes[1][2] = f64::NAN, "position of node 1"),
        (|f| f.nodes[1][2] = 1e9, "position of node 1"),
        (|f| f.beams[1].nodes[1] = 9, "beam 1 refers to node 9"),
        (
            |f| f.beams[0].depth_axis = [2.0, 0.0, 0.0],
            "depth axis of member 0",
        ),
        (
            |f| f.beams[0].stiffness.torsion_n_mm2 = 0.0,
            "torsional stiffness of member 0",
        ),
        (
            |f| f.beams[0].offsets[1][0] = f64::INFINITY,
            "end offset of member 0",
        ),
        (
            |f| f.beams[0].ends = [[Fixity::Free; 6]; 2],
            "slides along itself",
        ),
        (
            |f| {
                f.supports.push(Support {
                    node: 0,
                    fixity: [Fixity::Spring(-1.0); 6],
                })
            },
            "stiffness of support 0",
        ),
        (
            |f| f.supports.push(Support::fixed(44)),
            "support 0 refers to node 44",
        ),
    ];
    for (spoil, words) in cases {
        let mut frame = bar();
        spoil(&mut frame);
        let message = refusal(&frame).to_string();
        assert!(message.contains(words), "{message:?} lacks {words:?}");
    }
}

#[test]
fn ten_thousand_members_are_solved_and_more_than_memory_allows_are_refused() {
    let s = stiffness("SHS 40x40x3");
    let (across, up) = (100, 50);
    let nodes: Vec<[f64; 3]> = (0..across * up)
        .map(|k| {
            [
                (k % across) as f64 * 300.0,
                (k / across) as f64 * 300.0,
                0.0,
            ]
        })
        .collect();
    let right = (0..nodes.len())
        .filter(|k| k % across + 1 < across)
        .map(|k| beam([k, k + 1], s));
    let above = (0..nodes.len())
        .filter(|k| k / across + 1 < up)
        .map(|k| beam([k, k + across], s));
    let beams: Vec<Beam> = right.chain(above).collect();
    assert!(beams.len() > 9_800);
    let frame = Frame {
        nodes,
        beams,
        supports: vec![Support::fixed(0), Support::fixed(across - 1)],
        springs: vec![],
    };
    let case = LoadCase {
        forces: vec![(4_950, [0.0, 0.0, 1.0, 0.0, 0.0, 0.0])],
        ..LoadCase::default()
    };
    assert!(Structure::new(&frame).unwrap().solve(&case).unwrap().nodes[4_950][2] > 0.0);
    let crowd = Frame {
        nodes: vec![[0.0; 3]; Frame::MAX_ITEMS + 1],
        ..Frame::default()
    };
    assert!(matches!(
        refusal(&crowd),
        StructureError::TooLarge { what: "nodes", .. }
    ));
}

#[test]
fn loads_on_what_does_not_exist_are_refused() {
    let mut frame = bar();
    frame.supports.push(Support::fixed(0));
    let structure = Structure::new(&frame).unwrap();
    let on_node = LoadCase {
        forces: vec![(3, [0.0; 6])],
        ..LoadCase::default()
    };
    assert_eq!(
        structure.solve(&on_node),
        Err(StructureError::NoSuchItem {
            what: "node",
            index: 3
        })
    );
    let on_beam = LoadCase {
        strains: vec![(5, InitialStrain::default())],
        ..LoadCase::default()
    };
    assert_eq!(
        structure.solve(&on_beam),
        Err(StructureError::NoSuchItem {
            what: "beam",
            index: 5
        })
    );
    let nothing = LoadCase {
        forces: vec![(1, [f64::NAN; 6])],
        ..LoadCase::default()
    };
    assert!(matches!(
        structure.solve(&nothing),
        Err(StructureError::Load { .. })
    ));
}

#[test]
fn no_frame_however_broken_panics_or_gives_a_shape_that_is_not_a_number() {
    let odd = [
        0.0,
        -0.0,
        1.0,
        -3.0,
        250.0,
        1e-9,
        1e5,
        1e300,
        -1e300,
        f64::MIN_POSITIVE,
        f64::INFINITY,
        f64::NAN,
    ];
    let (mut stood, mut refused) = (0, 0);
    for seed in 0..4000 {
        let mut dice = Dice(seed);
        // Mostly sound numbers, so that some frames get as far as being solved.
        let mut number = |sound: f64| {
            if dice.below(40) == 0 {
                odd[dice.below(odd.len())]
            } else {
                sound * dice.roll()
            }
        };
        let mut frame = Frame {
            nodes: (0..5).map(|_| [0; 3].map(|_| number(500.0))).collect(),
            ..Frame::default()
        };
        for k in 0..6 {
            let ends = [[0, 1], [1, 3], [2, 0], [3, 2], [4, 0], [0, 1]];
            let mut one = beam(ends[k], stiffness("SHS 40x40x3"));
            one.depth_axis = [0; 3].map(|_| number(1.0));
            one.offsets[0] = [0; 3].map(|_| number(20.0));
            one.ends[1][k % 6] = Fixity::Spring(number(1e6).abs());
            one.stiffness.bending_1_n_mm2 = number(1e10).abs();
            one.stiffness.shear_2_n = number(1e7).abs();
            frame.beams.push(one);
        }
        let along = Probe::opening(
            &frame.nodes,
            0,
            3,
            [number(100.0); 3],
            [0; 3].map(|_| number(1.0)),
        );
        frame.springs.push(Spring {
            along,
            stiffness: number(1e5).abs(),
        });
        frame.supports = vec![
            Support::fixed(seed as usize % 6),
            Support {
                node: 1,
                fixity: [Fixity::Spring(number(1e4).abs()); 6],
            },
        ];
        let case = LoadCase {
            forces: vec![(2, [0; 6].map(|_| number(1e3)))],
            natural: vec![(0, number(1.0))],
            ..LoadCase::default()
        };
        match Structure::new(&frame).and_then(|s| s.solve(&case)) {
            Ok(shape) => {
                stood += 1;
                assert!(
                    shape.nodes.iter().flatten().all(|u| u.is_finite()),
                    "seed {seed}"
                );
            }
            Err(error) => {
                refused += 1;
                assert!(!error.to_string().is_empty());
            }
        }
    }
    assert!(
        stood > 300 && refused > 300,
        "{stood} stood, {refused} were refused"
    );
}
