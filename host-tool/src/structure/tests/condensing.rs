//! A condensed structure gives what solving the whole frame anew gives.

use super::*;

/// A box of loose members: each has nodes of its own, tacked to its neighbours with soft springs.
struct Loose {
    frame: Frame,
    connectors: Vec<Probe>,
    outputs: Vec<Probe>,
    loads: Vec<LoadCase>,
}

fn loose_frame(dice: &mut Dice) -> Loose {
    let corners = [
        [0.0; 3],
        [1200.0, 0.0, 0.0],
        [1200.0, 900.0, 0.0],
        [0.0, 900.0, 0.0],
    ];
    let s = stiffness("SHS 40x40x3");
    let mut frame = Frame::default();
    for side in 0..4 {
        let (a, b): ([f64; 3], [f64; 3]) = (corners[side], corners[(side + 1) % 4]);
        let first = frame.nodes.len();
        frame
            .nodes
            .extend([0.0, 0.5, 1.0].map(|t| std::array::from_fn(|i| a[i] + t * (b[i] - a[i]))));
        frame.beams.extend([0, 1].map(|k| Beam {
            member: side,
            ..beam([first + k, first + k + 1], s)
        }));
    }
    let mut connectors = Vec::new();
    for side in 0..4 {
        let (end, start) = (3 * side + 2, (3 * side + 3) % 12);
        let corner = frame.nodes[end];
        for k in 0..6 {
            let mut axis = [0.0; 3];
            axis[k % 3] = 1.0;
            let tack = if k < 3 {
                Probe::opening(&frame, end, start, corner, axis)
            } else {
                Probe::turning(end, start, axis)
            };
            frame.springs.push(Spring {
                along: tack,
                stiffness: if k < 3 { 200.0 } else { 1e5 },
            });
        }
        for _ in 0..5 {
            let at = std::array::from_fn(|i| corner[i] + 30.0 * dice.roll());
            let direction = std::array::from_fn(|_| dice.roll());
            connectors.push(Probe::opening(&frame, end, start, at, direction));
        }
    }
    for node in 0..12 {
        let table = Probe::displacement(&frame, node, frame.nodes[node], [0.0, 0.0, 1.0]);
        frame.springs.push(Spring {
            along: table.clone(),
            stiffness: 50.0,
        });
        connectors.push(table);
    }
    // Three points on the table, as little as holds it: the rest is left to the connectors.
    use Held::{Fixed, Free};
    for (node, [x, y, z]) in [
        (0, [Fixed; 3]),
        (2, [Free, Fixed, Fixed]),
        (7, [Free, Free, Fixed]),
    ] {
        frame.supports.push(Support {
            node,
            held: [x, y, z, Free, Free, Free],
        });
    }
    let outputs = (0..12)
        .map(|n| Probe::displacement(&frame, n, frame.nodes[n], [0.3, -0.7, 0.6]))
        .collect();
    let strain = InitialStrain {
        axial: -1e-4,
        curvature_y_per_mm: 2e-6,
        curvature_z_per_mm: -1e-6,
    };
    let loads = vec![
        LoadCase {
            strains: vec![(1, strain), (4, strain)],
            ..LoadCase::default()
        },
        LoadCase {
            beam_loads: vec![(2, [0.1, 0.0, -0.3])],
            ..LoadCase::default()
        },
    ];
    Loose {
        frame,
        connectors,
        outputs,
        loads,
    }
}

/// The slow way: the frame with the active connectors built in as springs, solved anew.
struct Again<'a> {
    loose: &'a Loose,
    active: Vec<(usize, f64, f64)>,
    factors: [f64; 2],
}

impl Again<'_> {
    fn solve(&self) -> Shape {
        let mut frame = self.loose.frame.clone();
        let mut case = LoadCase::default();
        self.loose
            .loads
            .iter()
            .zip(self.factors)
            .for_each(|(load, factor)| case.add(factor, load));
        for (connector, stiffness, natural) in &self.active {
            case.natural.push((frame.springs.len(), *natural));
            frame.springs.push(Spring {
                along: self.loose.connectors[*connector].clone(),
                stiffness: *stiffness,
            });
        }
        Structure::new(&frame).unwrap().solve(&case).unwrap()
    }
}

fn compare(standing: &Standing<'_>, again: &Again<'_>) {
    let shape = again.solve();
    let scale = shape
        .nodes
        .iter()
        .flatten()
        .fold(0.0f64, |m, v| m.max(v.abs()));
    let check = |found: Vec<f64>, probes: &[Probe]| {
        for (value, probe) in found.into_iter().zip(probes) {
            assert!(
                (value - shape.read(probe)).abs() <= 1e-9 * scale,
                "{value} against {}",
                shape.read(probe)
            );
        }
    };
    check(standing.outputs(), &again.loose.outputs);
    check(standing.readings(), &again.loose.connectors);
    let forces = standing.forces();
    let largest = forces.iter().fold(0.0f64, |m, f| m.max(f.abs()));
    for (connector, stiffness, natural) in &again.active {
        let force = stiffness * (shape.read(&again.loose.connectors[*connector]) - natural);
        assert!(
            (forces[*connector] - force).abs() <= 1e-8 * largest,
            "{} against {force}",
            forces[*connector]
        );
    }
}

#[test]
fn any_history_of_welding_loading_and_releasing_equals_solving_the_frame_anew() {
    for seed in 0..6 {
        let mut dice = Dice(seed);
        let loose = loose_frame(&mut dice);
        let condensed = Structure::new(&loose.frame)
            .unwrap()
            .condense(&loose.connectors, &loose.outputs, &loose.loads)
            .unwrap();
        let mut standing = condensed.start();
        let mut again = Again {
            loose: &loose,
            active: vec![],
            factors: [0.0; 2],
        };
        for _ in 0..30 {
            let connector = dice.below(loose.connectors.len());
            let change = dice.roll();
            match again.active.iter().position(|(c, ..)| *c == connector) {
                None => {
                    let second = (connector + 1) % loose.connectors.len();
                    let mut together = vec![Activation {
                        connector,
                        stiffness: 2e4,
                        eigen: change,
                    }];
                    if !standing.is_active(second) {
                        together.push(Activation {
                            connector: second,
                            stiffness: 700.0,
                            eigen: -change / 2.0,
                        });
                    }
                    let before = again.solve();
                    again.active.extend(together.iter().map(|a| {
                        (
                            a.connector,
                            a.stiffness,
                            before.read(&loose.connectors[a.connector]) + a.eigen,
                        )
                    }));
                    standing.activate(&together).unwrap();
                }
                Some(slot) if change > 0.3 => {
                    again.active.remove(slot);
                    standing.release(&[connector]).unwrap();
                }
                Some(slot) => {
                    again.active[slot].2 += change;
                    standing.impose(&[(connector, change)]).unwrap();
                }
            }
            let load = dice.below(2);
            again.factors[load] += change;
            standing.apply(&[(load, change)]).unwrap();
            compare(&standing, &again);
        }
        let whole = Structure::new(&loose.frame)
            .unwrap()
            .solve(&standing.as_load_case())
            .unwrap();
        for (value, probe) in standing.outputs().into_iter().zip(&loose.outputs) {
            close(value, whole.read(probe), 1e-8);
        }
    }
}

#[test]
fn releasing_everything_gives_back_the_frame_as_it_lay() {
    let loose = loose_frame(&mut Dice(9));
    let structure = Structure::new(&loose.frame).unwrap();
    let condensed = structure
        .condense(&loose.connectors, &loose.outputs, &[])
        .unwrap();
    let mut standing = condensed.start();
    let all: Vec<usize> = (0..10).collect();
    for connector in &all {
        standing
            .activate(&[Activation {
                connector: *connector,
                stiffness: 1e5,
                eigen: -0.4,
            }])
            .unwrap();
    }
    assert!(standing.outputs().iter().any(|v| v.abs() > 0.01));
    standing.release(&all).unwrap();
    assert!(standing.outputs().iter().all(|v| v.abs() < 1e-12));
}

#[test]
fn resistance_is_the_force_that_a_unit_of_shrinking_raises() {
    let loose = loose_frame(&mut Dice(3));
    let condensed = Structure::new(&loose.frame)
        .unwrap()
        .condense(&loose.connectors, &[], &[])
        .unwrap();
    let mut standing = condensed.start();
    for connector in 0..8 {
        standing
            .activate(&[Activation {
                connector,
                stiffness: 1e4,
                eigen: 0.1,
            }])
            .unwrap();
    }
    let (before, resistance) = (standing.forces()[2], standing.resistance(2).unwrap());
    standing.impose(&[(2, -1.0)]).unwrap();
    close(standing.forces()[2] - before, resistance, 1e-9);
}

#[test]
fn a_refused_step_changes_nothing() {
    let loose = loose_frame(&mut Dice(5));
    let mut connectors = loose.connectors.clone();
    connectors.push(loose.connectors[0].clone().plus(1.0, &loose.connectors[1]));
    let condensed = Structure::new(&loose.frame)
        .unwrap()
        .condense(&connectors, &loose.outputs, &[])
        .unwrap();
    let mut standing = condensed.start();
    let rigid = |connector, eigen| Activation {
        connector,
        stiffness: f64::INFINITY,
        eigen,
    };
    standing.activate(&[rigid(0, -0.2), rigid(1, 0.1)]).unwrap();
    let before = (standing.outputs(), standing.forces());
    let last = connectors.len() - 1;
    assert_eq!(
        standing.activate(&[rigid(2, 1.0), rigid(last, 1.0)]),
        Err(ActivationError::Redundant(last))
    );
    assert_eq!(
        standing.activate(&[rigid(0, 1.0)]),
        Err(ActivationError::Active(0))
    );
    assert_eq!(
        standing.activate(&[rigid(3, 1.0), rigid(3, 1.0)]),
        Err(ActivationError::Active(3))
    );
    assert_eq!(
        standing.activate(&[rigid(3, f64::NAN)]),
        Err(ActivationError::Value(3))
    );
    assert_eq!(
        standing.impose(&[(0, 1.0), (9, 1.0)]),
        Err(ActivationError::NotActive(9))
    );
    assert_eq!(
        standing.release(&[0, 0]),
        Err(ActivationError::NotActive(0))
    );
    assert_eq!(
        standing.release(&[99]),
        Err(ActivationError::NoSuchConnector(99))
    );
    assert_eq!(
        standing.apply(&[(0, 1.0)]),
        Err(ActivationError::NoSuchLoad(0))
    );
    assert_eq!((standing.outputs(), standing.forces()), before);
}
