//! The frames that the beam solver and two general frame programs are asked about.

use coldsquare_engine::structure::{
    Beam, BeamStiffness, Fixity, Frame, LoadCase, Probe, Spring, Structure, Support,
};
use serde_json::{Value, json};

const E: f64 = 210_000.0;
const G: f64 = E / 2.6;

/// A frame with its loads, written so that it can be put to each program.
#[derive(Default)]
pub struct Question {
    frame: Frame,
    case: LoadCase,
    /// Beams whose ends are pinned in bending.
    pinned: bool,
    /// Springs between two nodes at one place: stiffness and natural reading of the six components.
    links: Vec<(usize, usize, [f64; 6], [f64; 6])>,
    /// Node, component, stiffness.
    grounded: Vec<(usize, usize, f64)>,
}

/// Area, Iy, Iz, J of a tube of the size of SHS 40x40x3, made unequal so that a swap of axes shows.
const AREA: f64 = 420.8;
const IY: f64 = 93_236.0;
const IZ: f64 = 57_000.0;
const J: f64 = 157_545.0;

fn stiffness(shear: Option<[f64; 2]>) -> BeamStiffness {
    let [shear_y, shear_z] = shear.unwrap_or([f64::INFINITY; 2]);
    BeamStiffness {
        axial_n: E * AREA,
        bending_1_n_mm2: E * IY,
        bending_2_n_mm2: E * IZ,
        torsion_n_mm2: G * J,
        shear_1_n: G * shear_y,
        shear_2_n: G * shear_z,
        principal_angle_rad: 0.0,
        shear_centre_mm: [0.0; 2],
    }
}

impl Question {
    fn beam(&mut self, a: usize, b: usize, depth: [f64; 3], shear: Option<[f64; 2]>) -> &mut Beam {
        self.frame.beams.push(Beam::new(
            self.frame.beams.len(),
            [a, b],
            depth,
            stiffness(shear),
        ));
        self.frame.beams.last_mut().expect("just pushed")
    }

    fn hold(&mut self, node: usize) {
        self.frame.supports.push(Support::fixed(node));
    }

    fn ground(&mut self, node: usize, component: usize, stiffness: f64) {
        let mut fixity = [Fixity::Free; 6];
        fixity[component] = Fixity::Spring(stiffness);
        self.frame.supports.push(Support { node, fixity });
        self.grounded.push((node, component, stiffness));
    }

    fn link(&mut self, a: usize, b: usize, stiffness: [f64; 6], natural: [f64; 6]) {
        for component in 0..6 {
            let mut axis = [0.0; 3];
            axis[component % 3] = 1.0;
            let at = self.frame.nodes[a];
            let along = if component < 3 {
                Probe::opening(&self.frame.nodes, a, b, at, axis)
            } else {
                Probe::relative_rotation(a, b, axis)
            };
            self.case
                .natural
                .push((self.frame.springs.len(), natural[component]));
            self.frame.springs.push(Spring {
                along,
                stiffness: stiffness[component],
            });
        }
        self.links.push((a, b, stiffness, natural));
    }

    /// The question as `frames.py` reads it.
    pub fn asked(&self) -> Value {
        let spring = |held: Fixity| match held {
            Fixity::Spring(k) => k,
            // As good as rigid for a program that knows springs only, and not so stiff that it loses digits.
            Fixity::Fixed => 1e12,
            Fixity::Free => 0.0,
        };
        let beams = self.frame.beams.iter().map(|b| {
            let shear = [b.stiffness.shear_1_n / G, b.stiffness.shear_2_n / G].map(|a| a.is_finite().then_some(a));
            let sprung = b.ends.iter().flatten().any(|held| matches!(held, Fixity::Spring(_)));
            let springs = b.ends.map(|end| {
                if end.iter().all(|held| *held == Fixity::Fixed) { [0.0; 6] } else { end.map(spring) }
            });
            json!({
                "nodes": b.nodes, "depth": b.depth_axis, "A": AREA, "E": E, "G": G, "J": J, "Iy": IY, "Iz": IZ,
                "Ay": shear[0], "Az": shear[1], "pins": self.pinned,
                "offsets": (b.offsets != [[0.0; 3]; 2]).then_some(b.offsets),
                "springs": sprung.then_some(springs),
            })
        });
        let fixed = self
            .frame
            .supports
            .iter()
            .filter(|s| s.fixity.contains(&Fixity::Fixed));
        json!({
            "nodes": self.frame.nodes,
            "beams": beams.collect::<Vec<_>>(),
            "held": fixed.map(|s| json!([s.node, s.fixity.map(|h| h == Fixity::Fixed)])).collect::<Vec<_>>(),
            "grounded": self.grounded,
            "links": self.links,
            "forces": self.case.forces,
            "uniform": self.case.beam_loads,
        })
    }

    /// Where the nodes are.
    pub fn nodes(&self) -> &[[f64; 3]] {
        &self.frame.nodes
    }

    /// Our own answer.
    pub fn answered(&self) -> Vec<[f64; 6]> {
        Structure::new(&self.frame)
            .and_then(|s| s.solve(&self.case))
            .expect("the frame stands")
            .nodes
    }
}

/// A frame's name and how it is made.
type Named = (&'static str, fn() -> Question);

/// The frames by name.
pub const FRAMES: [Named; 10] = [
    ("gate", gate),
    ("skewed", skewed),
    ("uniformly_loaded", uniformly_loaded),
    ("pinned", pinned),
    ("eccentric", eccentric),
    ("shearing", shearing),
    ("soft_jointed", soft_jointed),
    ("shrinking", shrinking),
    ("of_102_members", of_102_members),
    ("on_legs", on_legs),
];

/// A garden gate leaf 900 x 1200 in its plane x-y with five bars, hung at two points of its left upright.
fn gate() -> Question {
    let mut q = Question::default();
    let columns = 7;
    for row in [0.0, 1200.0] {
        q.frame
            .nodes
            .extend((0..columns).map(|k| [150.0 * f64::from(k), row, 0.0]));
    }
    for k in (0..6).chain(7..13) {
        q.beam(k, k + 1, [0.0, 0.0, 1.0], None);
    }
    for k in 0..7 {
        let middle = q.frame.nodes.len();
        q.frame.nodes.push([150.0 * k as f64, 600.0, 0.0]);
        q.beam(k, middle, [0.0, 0.0, 1.0], None);
        q.beam(middle, k + 7, [0.0, 0.0, 1.0], None);
    }
    q.hold(0);
    q.hold(7);
    q.case.forces = vec![
        (6, [120.0, -900.0, 250.0, 0.0, 0.0, 0.0]),
        (13, [-80.0, 0.0, -310.0, 4e4, -2e4, 1e4]),
    ];
    q
}

/// Bars in no particular direction, each turned about itself.
fn skewed() -> Question {
    let mut q = Question::default();
    q.frame.nodes = vec![
        [0.0, 0.0, 0.0],
        [700.0, 90.0, -60.0],
        [650.0, 820.0, 110.0],
        [-70.0, 760.0, 40.0],
        [60.0, 50.0, 930.0],
        [730.0, -40.0, 870.0],
        [690.0, 800.0, 1010.0],
        [-30.0, 850.0, 900.0],
    ];
    let pairs = [
        [0, 4],
        [1, 5],
        [2, 6],
        [3, 7],
        [4, 5],
        [5, 6],
        [6, 7],
        [7, 4],
        [0, 5],
        [2, 7],
    ];
    for (k, [a, b]) in pairs.into_iter().enumerate() {
        let turn = 0.4 + 0.7 * k as f64;
        q.beam(a, b, [turn.cos(), turn.sin(), 0.3 - 0.1 * k as f64], None);
    }
    (0..4).for_each(|node| q.hold(node));
    q.case.forces = vec![
        (6, [900.0, -400.0, 300.0, 1e5, 2e4, -7e4]),
        (4, [0.0, 500.0, -800.0, 0.0, 3e4, 0.0]),
    ];
    q
}

/// The skewed frame under uniform loads.
fn uniformly_loaded() -> Question {
    let mut q = skewed();
    q.case.forces.clear();
    q.case.beam_loads = (0..10).map(|k| (k, [0.2, -0.1 * k as f64, -0.4])).collect();
    q
}

/// Bars pinned in bending, on a table that gives.
fn pinned() -> Question {
    let mut q = Question {
        pinned: true,
        ..Question::default()
    };
    q.frame.nodes = vec![
        [0.0; 3],
        [900.0, 0.0, 50.0],
        [850.0, 800.0, 0.0],
        [400.0, 300.0, 1100.0],
    ];
    for [a, b] in [[0, 1], [1, 2], [2, 0], [0, 3], [1, 3], [2, 3]] {
        let free = [
            Fixity::Fixed,
            Fixity::Fixed,
            Fixity::Fixed,
            Fixity::Fixed,
            Fixity::Free,
            Fixity::Free,
        ];
        q.beam(a, b, [0.3, 0.2, 1.0], None).ends = [free; 2];
    }
    for node in 0..3 {
        for component in 0..3 {
            q.ground(
                node,
                component,
                900.0 + 300.0 * (node * 3 + component) as f64,
            );
        }
    }
    // The bars leave the nodes free to turn.
    (0..4).for_each(|node| (3..6).for_each(|component| q.ground(node, component, 1e6)));
    q.case.forces = vec![(3, [700.0, -200.0, -1500.0, 0.0, 0.0, 1e4])];
    q
}

/// A table 700 x 500 on splayed legs, feet first (0 to 3), then the middles of the legs (4 to 7) with rails between them,
/// then the tops (8 to 11), anticlockwise from the front left. Welds pull: along the top rails off their middle, and at
/// the ends of the lower rails.
fn on_legs() -> Question {
    let mut q = Question::default();
    for (height, out) in [(0.0, 60.0), (200.0, 40.0), (600.0, 0.0)] {
        let corners = [
            [-out, -out],
            [700.0 + out, -out],
            [700.0 + out, 500.0 + out],
            [-out, 500.0 + out],
        ];
        q.frame.nodes.extend(corners.map(|[x, y]| [x, y, height]));
    }
    for leg in 0..4 {
        q.beam(leg, leg + 4, [1.0, 0.2, 0.0], None);
        q.beam(leg + 4, leg + 8, [1.0, 0.2, 0.0], None);
    }
    for level in [4, 8] {
        for side in 0..4 {
            q.beam(level + side, level + (side + 1) % 4, [0.0, 0.0, 1.0], None);
        }
    }
    q.hold(0);
    // A force F at an arm e from the centroid of a rail is F along it and F e about it, the other way at its other end.
    for (a, b, force, up, out) in [
        (8, 9, 9000.0, 15.0, 0.0),
        (9, 10, 7000.0, -15.0, 8.0),
        (10, 11, 8000.0, 15.0, -15.0),
        (6, 5, 3000.0, 0.0, 15.0),
        (0, 4, 4000.0, 15.0, 0.0),
    ] {
        let (p, r) = (q.frame.nodes[a], q.frame.nodes[b]);
        let line: [f64; 3] = std::array::from_fn(|k| r[k] - p[k]);
        let length = line.iter().map(|d| d * d).sum::<f64>().sqrt();
        let f = line.map(|d| d / length * force);
        // The arm, square to the line only where that is level; any arm makes a fair question.
        let arm = [out * line[1].signum(), -out * line[0].signum(), up];
        let m: [f64; 3] = std::array::from_fn(|k| {
            let (i, j) = ((k + 1) % 3, (k + 2) % 3);
            arm[i] * f[j] - arm[j] * f[i]
        });
        q.case
            .forces
            .push((a, [f[0], f[1], f[2], m[0], m[1], m[2]]));
        q.case
            .forces
            .push((b, [-f[0], -f[1], -f[2], -m[0], -m[1], -m[2]]));
    }
    q
}

/// The gate with rails and bars that pass beside each other on rigid arms.
fn eccentric() -> Question {
    let mut q = gate();
    for (k, beam) in q.frame.beams.iter_mut().enumerate() {
        let side = if k < 12 { 25.0 } else { -15.0 };
        beam.offsets = [[10.0, -8.0, side], [-12.0, 6.0, side]];
    }
    q
}

/// The skewed frame so small that shear counts.
fn shearing() -> Question {
    let mut q = skewed();
    q.frame.nodes.iter_mut().flatten().for_each(|c| *c *= 0.15);
    q.frame
        .beams
        .iter_mut()
        .for_each(|beam| beam.stiffness = stiffness(Some([180.0, 240.0])));
    q
}

/// The skewed frame with joints that give in all six ways.
fn soft_jointed() -> Question {
    let mut q = skewed();
    for (k, beam) in q.frame.beams.iter_mut().enumerate() {
        let soft = |k: f64| [4e3 * k, 6e3, 5e3 * k, 2e7, 3e7 * k, 1e7].map(Fixity::Spring);
        beam.ends = [soft(1.0 + k as f64), soft(2.5)];
    }
    q
}

/// Two halves of a frame with nodes of their own at the joint; springs between them shrink and turn.
fn shrinking() -> Question {
    let mut q = Question::default();
    q.frame.nodes = vec![
        [0.0; 3],
        [600.0, 0.0, 0.0],
        [600.0, 0.0, 0.0],
        [600.0, 500.0, 0.0],
        [600.0, 500.0, 0.0],
        [0.0, 480.0, 60.0],
    ];
    q.beam(0, 1, [0.0, 0.0, 1.0], None);
    q.beam(2, 3, [0.2, 0.0, 1.0], None);
    q.beam(4, 5, [0.0, 0.1, 1.0], None);
    q.hold(0);
    q.hold(5);
    let stiff = [8e4, 5e4, 6e4, 4e7, 3e7, 9e7];
    q.link(1, 2, stiff, [-0.8, 0.3, 0.0, 0.0, 2e-3, -1e-3]);
    q.link(3, 4, stiff, [0.0, -0.5, 0.1, 1e-3, 0.0, 3e-3]);
    q
}

/// Three storeys of 102 members in 204 pieces.
fn of_102_members() -> Question {
    let mut q = Question::default();
    let (counts, spacing) = ([5usize, 4, 3], [800.0, 700.0, 900.0]);
    let joint = |at: [usize; 3]| (at[2] * 4 + at[1]) * 5 + at[0];
    for k in 0..60 {
        let at = [k % 5, k / 5 % 4, k / 20];
        q.frame
            .nodes
            .push([0, 1, 2].map(|i| at[i] as f64 * spacing[i]));
    }
    for k in 0..60 {
        let at = [k % 5, k / 5 % 4, k / 20];
        for axis in 0..3 {
            if at[axis] + 1 == counts[axis] || (axis < 2 && at[2] == 0) {
                continue;
            }
            let mut to = at;
            to[axis] += 1;
            let (from, to) = (joint(at), joint(to));
            let middle = q.frame.nodes.len();
            let ends = [q.frame.nodes[from], q.frame.nodes[to]];
            q.frame
                .nodes
                .push([0, 1, 2].map(|i| f64::midpoint(ends[0][i], ends[1][i])));
            let depth = if axis == 2 {
                [1.0, 0.0, 0.0]
            } else {
                [0.0, 0.0, 1.0]
            };
            q.beam(from, middle, depth, None);
            q.beam(middle, to, depth, None);
        }
    }
    assert_eq!(q.frame.beams.len(), 204);
    (0..20).for_each(|node| q.hold(node));
    q.case.forces = (20..60)
        .map(|n| {
            (
                n,
                [90.0 * n as f64, -2000.0, 500.0, 1e4, -3e4, 40.0 * n as f64],
            )
        })
        .collect();
    q
}
