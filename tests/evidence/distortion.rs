//! How far welded tubes bow, beside a general finite element program that takes the same tube as a solid body.
//!
//! The outside judge is CalculiX CrunchiX (Dhondt, *The Finite Element Method for Three-Dimensional Thermomechanical
//! Applications*, 2004; Debian package calculix-ccx): 20-node bricks, one through the wall, the metal beside each weld
//! given an eigenstrain along the tube whose force is that of the starting rule. It judges how a force beside the
//! neutral axis becomes a bow, shear lag and all; it does not judge the force.

use crate::reference::ask;
use coldsquare_core::process::Process;
use coldsquare_core::units::{JoulesPerMillimetre, Millimetres, MillimetresPerSecond};
use coldsquare_engine::formulas::joint_shrinkage::JointCoefficients;
use coldsquare_engine::job::model::{EndCut, Job, Joint, Member, Point, Station, Weld, WeldKind};
use coldsquare_engine::limits::Limits;
use coldsquare_engine::material::Material;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::procedure::model::Procedure;
use coldsquare_engine::section::Section;
use coldsquare_engine::shop::factor::Factors;
use coldsquare_engine::units::Units;
use coldsquare_tests::{assert_blessed_section, assert_close};
use serde_json::{Value, json};

/// Net heat of the MAG fillet on 1.6 mm: docs/theory.md, shrinkage rules.
const HEAT_J_PER_MM: f64 = 172.0;
/// The starting rule: 0.2 kN for each J/mm.
const FORCE_N: f64 = 200.0 * HEAT_J_PER_MM;

fn p(x: f64, y: f64, z: f64) -> Point {
    Point::new(x, y, z)
}

/// A square tube along x, with what is welded to it.
struct Tube {
    job: Job,
    side: f64,
    wall: f64,
    outer_radius: f64,
    /// Strips of the solid.
    strips: Vec<Value>,
}

/// How a tube has moved, mm: the middle to the top and to the front of the line between the ends; the ends together.
#[derive(Clone, Copy, Debug)]
struct Movement {
    bow_top: f64,
    bow_front: f64,
    shortening: f64,
}

impl Tube {
    /// Outer corners twice the wall, as EN 10219-2:2006, table B.3 takes them up to 6 mm.
    fn new(side: f64, wall: f64, length: f64) -> Self {
        let mut tube = Self {
            job: Job {
                name: "tube".into(),
                units: Units::Metric,
                seen_from: Default::default(),
                material: Material::mild_steel(),
                members: Vec::new(),
                joints: Vec::new(),
                welds: Vec::new(),
                structural: coldsquare_engine::job::model::Structural::Nothing,
                procedures: vec![Procedure {
                    name: "MAG".into(),
                    process: Process::MagSolid,
                    voltage: Limits::OPEN,
                    current: Limits::OPEN,
                    travel_speed: Limits::OPEN,
                    heat_input: Limits::OPEN,
                    interpass: None,
                    planned_heat_input: JoulesPerMillimetre(HEAT_J_PER_MM),
                    planned_travel_speed: MillimetresPerSecond(9.2),
                    sheet: Default::default(),
                }],
                opening: None,
                clamps: Vec::new(),
                fixture: Default::default(),
                ripped: Vec::new(),
                finish: Default::default(),
                machine: None,
                prices: None,
                goal: Default::default(),
                shop_file: None,
                recording: Default::default(),
                shop: None,
            },
            side,
            wall,
            outer_radius: 2.0 * wall,
            strips: Vec::new(),
        };
        tube.member(
            &format!("SHS {side}x{side}x{wall}"),
            p(0.0, 0.0, 0.0),
            p(length, 0.0, 0.0),
        );
        tube
    }

    fn member(&mut self, section: &str, from: Point, to: Point) -> usize {
        self.job.members.push(Member {
            name: format!("member {}", self.job.members.len()),
            section: Section::parse(section).expect("a section"),
            from,
            to,
            depth_axis: p(0.0, 0.0, 1.0),
            ends: [EndCut::Square; 2],
            cut_length: Millimetres((to - from).length()),
            centre_length: Millimetres((to - from).length()),
            past_ends: [Millimetres(0.0); 2],
            plate: None,
        });
        self.job.members.len() - 1
    }

    fn joint(&mut self, at: Point, member: usize, tacks: Vec<Point>) -> usize {
        self.job.joints.push(Joint {
            name: format!("joint {}", self.job.joints.len()),
            at,
            members: vec![(0, Station::Start), (member, Station::Start)],
            tacks,
            sides: Vec::new(),
        });
        self.job.joints.len() - 1
    }

    fn weld(&mut self, joint: usize, other: usize, from: Point, to: Point, outward: Point) {
        let number = u16::try_from(self.job.welds.len() + 1).expect("few welds");
        self.job.welds.push(Weld {
            number,
            name: format!("weld {number}"),
            joint,
            members: [0, other],
            kind: WeldKind::Fillet {
                leg: Millimetres(3.0),
            },
            from,
            to,
            outward,
            procedure: 0,
            runs: 1,
            after: Vec::new(),
        });
    }

    fn length(&self) -> f64 {
        self.job.members[0].to.x
    }

    /// A thin wire welded along the front, `beside` mm above its middle, by welds of `piece` mm every `pitch` mm.
    fn with_wire(mut self, beside: f64, piece: f64, pitch: f64) -> Self {
        let (length, face) = (self.length(), self.side / 2.0);
        let level = p(0.0, beside, face + 1.0);
        let wire = self.member("FL 2x2", level, level + p(length, 0.0, 0.0));
        let on_face = |x: f64| p(x, beside, face);
        let tacks = (0..=8)
            .map(|k| on_face(length * f64::from(k) / 8.0))
            .collect();
        let joint = self.joint(on_face(0.0), wire, tacks);
        let mut start = 0.0;
        while start + piece <= length {
            self.weld(
                joint,
                wire,
                on_face(start),
                on_face(start + piece),
                p(0.0, 0.0, 1.0),
            );
            self.strips.push(json!({
                "face": "front", "from": start, "to": start + piece, "centre": beside, "width": 8.0, "force": FORCE_N,
            }));
            start += pitch;
        }
        self
    }

    /// Bars that stand on the top, each welded along its front edge only.
    fn with_bars(mut self, count: u32) -> Self {
        let (length, face) = (self.length(), self.side / 2.0);
        for k in 0..count {
            // To a whole centimetre, where the elements of the solid meet.
            let x = (length * f64::from(k + 1) / f64::from(count + 1) / 10.0).round() * 10.0;
            let foot = p(x, face, 0.0);
            let bar = self.member("SHS 20x20x2", foot, foot + p(0.0, 200.0, 0.0));
            let (front, back) = (p(0.0, 0.0, 10.0), p(0.0, 0.0, -10.0));
            let joint = self.joint(foot, bar, vec![foot + front, foot + back]);
            let half = p(10.0, 0.0, 0.0);
            self.weld(
                joint,
                bar,
                foot + front - half,
                foot + front + half,
                p(0.0, 0.0, 1.0),
            );
            // Half of the heat goes into the tube's wall.
            let share = 0.5;
            self.strips.push(json!({
                "face": "top", "from": x - 10.0, "to": x + 10.0, "centre": -10.0, "width": 8.0, "force": share * FORCE_N,
            }));
        }
        self
    }

    /// What our engine says.
    fn predicted(&self) -> Movement {
        let engine =
            MovementModel::with_coefficients(&self.job, &FORCE_AS_GIVEN).expect("it stands");
        let heat = vec![HEAT_J_PER_MM; self.job.welds.len()];
        let shrinkage = engine
            .shrinkage(&heat, &Factors::starting())
            .expect("in range");
        let order: Vec<usize> = (0..self.job.welds.len()).collect();
        let moved = engine
            .history(&order, &shrinkage)
            .expect("it stands")
            .released;
        let at = |along: f64| moved[engine.beam_model().node_near(0, along)];
        let (start, middle, end) = (at(0.0), at(self.length() / 2.0), at(self.length()));
        Movement {
            bow_top: middle.y - (start.y + end.y) / 2.0,
            bow_front: middle.z - (start.z + end.z) / 2.0,
            shortening: start.x - end.x,
        }
    }

    /// What the solid says.
    fn judged(&self) -> Movement {
        let answer = ask(
            "welded_tube.py",
            &json!({
                "side": self.side,
                "wall": self.wall,
                "outer_radius": self.outer_radius,
                "length": self.length(),
                "youngs_modulus": self.job.material.youngs_modulus_mpa,
                "poisson_ratio": self.job.material.poisson_ratio,
                "strips": self.strips,
            }),
        );
        let number = |name: &str| answer[name].as_f64().expect("a number");
        Movement {
            bow_top: number("bow_top"),
            bow_front: number("bow_front"),
            shortening: number("shortening"),
        }
    }
}

/// The judge is given the force of a tendon where it lies; what heat makes of it is judged elsewhere.
const FORCE_AS_GIVEN: JointCoefficients = JointCoefficients {
    tendon_relief: 0.0,
    tendon_outwards: 1.0,
    crowding: 0.0,
    ..JointCoefficients::FITTED
};

#[test]
fn the_judge_bends_a_tube_as_a_beam_bends() {
    // Before it judges: a strip along the whole tube is the textbook case F·e·L²/(8·E·I) and F·L/(E·A), with the
    // strip's own middle, half a wall under the surface.
    let tube = Tube::new(40.0, 3.0, 400.0).with_wire(0.0, 400.0, 400.0);
    let judged = tube.judged();
    let section = tube.job.members[0].section.properties();
    let arm = 18.5;
    assert_close(
        -judged.bow_front,
        FORCE_N * arm * 400.0 * 400.0 / (8.0 * 210_000.0 * section.second_moment_y_mm4),
        0.0,
        0.01,
    );
    assert_close(
        judged.shortening,
        FORCE_N * 400.0 / (210_000.0 * section.area_mm2),
        0.0,
        0.02,
    );
}

#[test]
fn welded_tubes_bow_as_the_solid_does() {
    let cases = [
        (
            "40x40x3, 1 m, welded along the middle of the front",
            Tube::new(40.0, 3.0, 1000.0).with_wire(0.0, 40.0, 40.0),
        ),
        (
            "the same, 40 mm in every 80 mm",
            Tube::new(40.0, 3.0, 1000.0).with_wire(0.0, 40.0, 80.0),
        ),
        (
            "40x40x3, 1 m, welded along the front, 10 mm above its middle",
            Tube::new(40.0, 3.0, 1000.0).with_wire(10.0, 40.0, 40.0),
        ),
        (
            "60x60x4, 1.5 m, welded along the middle of the front",
            Tube::new(60.0, 4.0, 1500.0).with_wire(0.0, 60.0, 60.0),
        ),
        (
            "40x40x3, 1.2 m, nine bars on its top, front edges welded",
            Tube::new(40.0, 3.0, 1200.0).with_bars(9),
        ),
    ];
    let mut table = String::from(
        "| tube and welds | to the top: beam, mm | solid, mm | to the front: beam, mm | solid, mm | shorter: beam, mm \
         | solid, mm |\n|---|--:|--:|--:|--:|--:|--:|\n",
    );
    // The solids take a while; side by side they take less.
    let judged = std::thread::scope(|scope| {
        let running: Vec<_> = cases
            .iter()
            .map(|(_, tube)| scope.spawn(|| tube.judged()))
            .collect();
        let results = running
            .into_iter()
            .map(|one| one.join().expect("it answers"));
        results.collect::<Vec<_>>()
    });
    for ((name, tube), judge) in cases.iter().zip(judged) {
        let ours = tube.predicted();
        table += &format!(
            "| {name} | {:.2} | {:.2} | {:.2} | {:.2} | {:.2} | {:.2} |\n",
            ours.bow_top + 0.0,
            judge.bow_top + 0.0,
            ours.bow_front,
            judge.bow_front,
            ours.shortening,
            judge.shortening
        );
        // Ours takes the pull at the surface, where the weld lies; the solid has it in the middle of the wall.
        let bow = ours.bow_front.hypot(ours.bow_top) / judge.bow_front.hypot(judge.bow_top);
        assert!((0.9..1.15).contains(&bow), "{name}: {bow} times the solid");
        let shorter = ours.shortening / judge.shortening;
        assert!((0.9..1.1).contains(&shorter), "{name}: {shorter}");
    }
    let table = table.replace("-0.00", "0.00");
    assert_blessed_section("docs/theory.md", "bow beside a solid", &table);
}
