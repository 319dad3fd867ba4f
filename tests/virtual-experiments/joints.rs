//! Builds the joint of a virtual experiment as a job, welds it in the engine and reads the same results.
//!
//! The members are long enough to be straight beyond the joint, where the experiments are measured too. Results that a
//! beam model does not give (twist of a stub, how a section sinks) are left out.

#[path = "joint_job.rs"]
mod joint_job;

use coldsquare_core::process::Process;
use coldsquare_core::units::{JoulesPerMillimetre, Millimetres, MillimetresPerSecond};
use coldsquare_engine::formulas::joint_shrinkage::JointCoefficients;
use coldsquare_engine::geometry::Point;
use coldsquare_engine::job::model::{Clamp, Goal, Job, Station, Structural};
use coldsquare_engine::limits::Limits;
use coldsquare_engine::material::Material;
use coldsquare_engine::movement::joint_measures::BLADE_MM;
use coldsquare_engine::movement::measures::MeasureKind;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::shapes::{Moved, Shapes};
use coldsquare_engine::movement::shrinkage::Shrinkage;
use coldsquare_engine::movement::simulate::SimulationOptions;
use coldsquare_engine::procedure::model::Procedure;
use coldsquare_engine::section::{Section, Shape};
use coldsquare_engine::shop::factor::Factors;
use coldsquare_engine::units::Units;
use joint_job::{box_tube, join, member, square_tube, tacks_of, weld};
use serde_json::{Map, Value};
use std::f64::consts::FRAC_1_SQRT_2;

/// Length of a member on each side of the joint, mm.
const ARM_MM: f64 = 300.0;
const ROOT_2: f64 = std::f64::consts::SQRT_2;
const TACK_MM: f64 = 5.0;
/// Thickness of the strip that stands in for the bead on a tube, mm.
const STRIP_MM: f64 = 3.0;

fn p(x: f64, y: f64, z: f64) -> Point {
    Point::new(x, y, z)
}

/// What the engine says of a row: one entry after each weld, with the names of the results. Empty where it has no joint
/// of that kind.
pub fn answer(row: &Value, coefficients: &JointCoefficients, factors: &Factors) -> Vec<Value> {
    let case = Case { row, factors };
    match row["kind"].as_str() {
        Some("across" | "along") => case.bead(coefficients),
        Some("tee") => case.tee(coefficients),
        Some("mitre") => case.mitre(coefficients),
        Some("plain-tee") => case.plain_tee(coefficients),
        _ => Vec::new(),
    }
}

/// A row of the tables.
struct Case<'a> {
    row: &'a Value,
    factors: &'a Factors,
}

/// A seam: its two ends in the direction of welding, and out of the metal.
#[derive(Clone, Copy)]
struct Seam {
    from: Point,
    to: Point,
    outward: Point,
}

impl Case<'_> {
    fn number(&self, name: &str) -> f64 {
        self.row[name].as_f64().unwrap_or(0.0)
    }

    fn words(&self, name: &str) -> Vec<&str> {
        self.row[name]
            .as_str()
            .unwrap_or("")
            .split(' ')
            .filter(|word| !word.is_empty())
            .collect()
    }

    fn job(&self) -> Job {
        let mut material = Material::mild_steel();
        if self.row["steel"] == "1.4301" {
            material = Material::stainless_304();
        }
        material.yield_mpa = self.number("yield_mpa");
        let heat = JoulesPerMillimetre(self.number("heat_j_per_mm"));
        Job {
            name: "joint".into(),
            units: Units::Metric,
            seen_from: Default::default(),
            material,
            members: Vec::new(),
            joints: Vec::new(),
            welds: Vec::new(),
            structural: Structural::Nothing,
            procedures: vec![Procedure {
                name: "weld".into(),
                process: Process::MagSolid,
                voltage: Limits::OPEN,
                current: Limits::OPEN,
                travel_speed: Limits::OPEN,
                heat_input: Limits::OPEN,
                interpass: None,
                planned_heat_input: heat,
                planned_travel_speed: MillimetresPerSecond(self.number("speed_mm_s")),
                sheet: Default::default(),
            }],
            opening: None,
            goal: Goal::default(),
            clamps: Vec::new(),
            fixture: Default::default(),
            ripped: Vec::new(),
            finish: Default::default(),
            machine: None,
            prices: None,
            shop_file: None,
            recording: Default::default(),
            shop: None,
        }
    }

    fn bead(&self, coefficients: &JointCoefficients) -> Vec<Value> {
        // A bead joins nothing: a strip of no stiffness to speak of is welded on.
        let (side, wall) = (self.number("side_mm"), self.number("wall_mm"));
        let (length, offset) = (self.number("weld_length_mm"), self.number("offset_mm"));
        let across = self.row["kind"] == "across";
        let half = side / 2.0;
        let mut job = self.job();
        let tube = member(
            &mut job,
            "tube",
            square_tube(side, wall),
            [p(-ARM_MM, 0.0, 0.0), p(ARM_MM, 0.0, 0.0)],
            p(0.0, 1.0, 0.0),
        );
        let seam = if across {
            [
                p(0.0, half, offset - length / 2.0),
                p(0.0, half, offset + length / 2.0),
            ]
        } else {
            [
                p(-length / 2.0, half, offset),
                p(length / 2.0, half, offset),
            ]
        };
        let model = bead_model(&mut job, tube, seam, coefficients);
        let Some((model, job)) = model else {
            return Vec::new();
        };
        let shapes = self.welded(&job, &model);
        let moved = &shapes.released;
        let [left, right] = ends_of_line(&shapes, moved, 0);
        let turn = right.slope - left.slope;
        let mut found = Map::new();
        add(&mut found, "kink_towards_bead_mrad", 1e3 * turn.y);
        if across {
            add(&mut found, "kink_sideways_mrad", 1e3 * turn.z);
        }
        add(&mut found, "shortening_mm", left.at.x - right.at.x);
        vec![found.into()]
    }

    fn tee(&self, coefficients: &JointCoefficients) -> Vec<Value> {
        let (side, wall) = (self.number("rail_side_mm"), self.number("rail_wall_mm"));
        let (along, across) = (self.number("bar_along_mm"), self.number("bar_across_mm"));
        let half = side / 2.0;
        let mut job = self.job();
        let depth = p(0.0, 0.0, 1.0);
        let rail = member(
            &mut job,
            "rail",
            square_tube(side, wall),
            [p(-ARM_MM, 0.0, 0.0), p(ARM_MM, 0.0, 0.0)],
            depth,
        );
        let bar_wall = self.number("bar_wall_mm");
        let (section, centroid) = match self.row["bar_section"].as_str() {
            Some("flat bar") => (
                Shape::Bar {
                    depth_mm: across,
                    width_mm: along,
                },
                p(0.0, 0.0, 0.0),
            ),
            // The heel to the front left: its legs lie along "front" and "left".
            Some("angle") => (
                Shape::Angle {
                    depth_mm: across,
                    width_mm: along,
                    thickness_mm: bar_wall,
                    root_radius_mm: 0.0,
                    toe_radius_mm: 0.0,
                },
                p(0.0, 0.0, 0.0),
            ),
            _ => (box_tube(across, along, bar_wall), p(0.0, 0.0, 0.0)),
        };
        let section = Section::new("bar", section).expect("a section");
        // An angle's depth runs from its heel: to the back.
        let is_angle = self.row["bar_section"] == "angle";
        let bar_depth = if is_angle { p(0.0, 0.0, -1.0) } else { depth };
        let mut foot = p(0.0, half, 0.0) + centroid;
        if is_angle {
            let [y, z] = section.properties().centroid_from_corner_mm;
            // local y is depth x axis: (0,0,-1) x (0,1,0) = (1,0,0)
            foot = p(y - along / 2.0, half, across / 2.0 - z);
        }
        let bar = member(
            &mut job,
            "bar",
            section,
            [foot, foot + p(0.0, ARM_MM, 0.0)],
            bar_depth,
        );
        let (order, tacked) = (self.words("order"), self.words("tacks"));
        let weld_length = self.number("weld_length_mm");
        let seam = |name: &str| {
            let (front_or_right, along_rail) = (
                name == "front" || name == "right",
                name == "front" || name == "back",
            );
            let sign = if front_or_right { 1.0 } else { -1.0 };
            let full = if along_rail { along } else { across };
            let run = if weld_length > 0.0 {
                weld_length.min(full)
            } else {
                full
            } / 2.0;
            let (from, to, outward) = if along_rail {
                (
                    p(-run, half, sign * across / 2.0),
                    p(run, half, sign * across / 2.0),
                    p(0.0, 0.0, sign),
                )
            } else {
                (
                    p(sign * along / 2.0, half, -run),
                    p(sign * along / 2.0, half, run),
                    p(sign, 0.0, 0.0),
                )
            };
            // The four runs go round the bar, front from left to right.
            if name == "right" || name == "back" {
                Seam {
                    from: to,
                    to: from,
                    outward,
                }
            } else {
                Seam { from, to, outward }
            }
        };
        let tacks = tacked
            .iter()
            .flat_map(|name| tacks_of(seam(name), order.contains(name), true))
            .collect();
        join(
            &mut job,
            [
                (rail, Station::Along(Millimetres(ARM_MM))),
                (bar, Station::Start),
            ],
            tacks,
        );
        for name in &order {
            weld(&mut job, [rail, bar], seam(name), self.number("leg_mm"));
        }
        self.after_each(&job, coefficients, |shapes, moved| {
            let [left, right] = ends_of_line(shapes, moved, 0);
            let turn = right.slope - left.slope;
            let mean = (right.slope + left.slope) * 0.5;
            let [_, bar] = ends_of_line(shapes, moved, 1);
            let mut found = Map::new();
            add(&mut found, "rail_kink_towards_bar_mrad", 1e3 * turn.y);
            add(&mut found, "rail_kink_to_front_mrad", 1e3 * turn.z);
            add(&mut found, "rail_shortening_mm", left.at.x - right.at.x);
            // The rail turns the bar with it: a slope up to the right leans it to the left.
            add(
                &mut found,
                "bar_lean_to_right_mrad",
                1e3 * (bar.slope.x + mean.y),
            );
            found
        })
    }

    fn mitre(&self, coefficients: &JointCoefficients) -> Vec<Value> {
        if self.number("gap_mm") > 0.0 {
            return Vec::new();
        }
        let (side, wall) = (self.number("side_mm"), self.number("wall_mm"));
        let half = side / 2.0;
        let mut job = self.job();
        let depth = p(0.0, 0.0, 1.0);
        let far = |sign: f64| p(sign, -1.0, 0.0) * (ARM_MM * FRAC_1_SQRT_2);
        let legs = [-1.0, 1.0].map(|sign| {
            let ends = [p(0.0, 0.0, 0.0), far(sign)];
            member(
                &mut job,
                if sign < 0.0 { "left leg" } else { "right leg" },
                square_tube(side, wall),
                ends,
                depth,
            )
        });
        let order = self.words("order");
        let seam = |name: &str| {
            let corner = half * ROOT_2;
            // Outer and inner run from front to back, the faces from the outer corner to the inner one.
            match name {
                "outer" => Seam {
                    from: p(0.0, corner, half),
                    to: p(0.0, corner, -half),
                    outward: p(0.0, 1.0, 0.0),
                },
                "inner" => Seam {
                    from: p(0.0, -corner, half),
                    to: p(0.0, -corner, -half),
                    outward: p(0.0, -1.0, 0.0),
                },
                "front" => Seam {
                    from: p(0.0, corner, half),
                    to: p(0.0, -corner, half),
                    outward: p(0.0, 0.0, 1.0),
                },
                _ => Seam {
                    from: p(0.0, corner, -half),
                    to: p(0.0, -corner, -half),
                    outward: p(0.0, 0.0, -1.0),
                },
            }
        };
        let tacks = self
            .words("tacks")
            .iter()
            .flat_map(|name| tacks_of(seam(name), false, false))
            .collect();
        join(
            &mut job,
            [(legs[0], Station::Start), (legs[1], Station::Start)],
            tacks,
        );
        for name in &order {
            weld(&mut job, legs, seam(name), wall);
        }
        if self.number("clamped") > 0.0 {
            for (leg, sign) in legs.into_iter().zip([-1.0, 1.0]) {
                for share in [0.6, 0.6] {
                    job.clamps.push(Clamp::firm(leg, far(sign) * share));
                }
                job.clamps.push(Clamp::firm(leg, far(sign)));
                job.clamps
                    .push(Clamp::firm(leg, far(sign) + p(0.0, 0.0, half)));
            }
        }
        self.after_each(&job, coefficients, |_, _| Map::new())
    }

    fn plain_tee(&self, coefficients: &JointCoefficients) -> Vec<Value> {
        // The base and the stiffener as bars along the weld; only the lean across it is compared.
        let (base, stiff) = (
            self.number("base_thickness_mm"),
            self.number("stiffener_thickness_mm"),
        );
        let (width, height, length) = (
            self.number("base_width_mm"),
            self.number("stiffener_height_mm"),
            self.number("length_mm"),
        );
        let mut job = self.job();
        let flat = Section::new(
            "base",
            Shape::Bar {
                depth_mm: width,
                width_mm: base,
            },
        )
        .expect("a section");
        let web = Section::new(
            "stiffener",
            Shape::Bar {
                depth_mm: stiff,
                width_mm: height,
            },
        )
        .expect("a section");
        let z = p(0.0, 0.0, 1.0);
        let line = |y: f64| [p(-length / 2.0, y, 0.0), p(length / 2.0, y, 0.0)];
        let base_member = member(&mut job, "base", flat, line(-base / 2.0), z);
        let web_member = member(&mut job, "stiffener", web, line(height / 2.0), z);
        let seam = |name: &str| {
            let sign = if name == "front" { 1.0 } else { -1.0 };
            Seam {
                from: p(-length / 2.0, 0.0, sign * stiff / 2.0),
                to: p(length / 2.0, 0.0, sign * stiff / 2.0),
                outward: z * sign,
            }
        };
        let order = self.words("order");
        let tacks = order
            .iter()
            .flat_map(|name| tacks_of(seam(name), true, true))
            .collect();
        join(
            &mut job,
            [(base_member, Station::Start), (web_member, Station::Start)],
            tacks,
        );
        for name in &order {
            weld(
                &mut job,
                [base_member, web_member],
                seam(name),
                self.number("leg_mm"),
            );
        }
        self.after_each(&job, coefficients, |shapes, moved| {
            let [start, end] = ends_of_line(shapes, moved, 0);
            let mut found = Map::new();
            add(
                &mut found,
                "ends_kink_towards_stiffener_mrad",
                1e3 * (end.slope - start.slope).y,
            );
            add(&mut found, "shortening_mm", start.at.x - end.at.x);
            found
        })
    }

    fn after_each(
        &self,
        job: &Job,
        coefficients: &JointCoefficients,
        read: impl Fn(&Shapes, &Moved) -> Map<String, Value>,
    ) -> Vec<Value> {
        let model = MovementModel::with_coefficients(job, coefficients).expect("the joint stands");
        let shapes = self.welded(job, &model);
        let outcome = model.simulate(
            &model.whole_welds(&order_of(job)),
            &self.shrinkage(job, &model),
            &SimulationOptions::after_each_part(),
        );
        if !job.clamps.is_empty() {
            // While it is clamped the experiment is read beside the clamps, where it cannot turn.
            let unread = Value::from(Map::new());
            let mut found = vec![unread; job.welds.len()];
            found.push(self.read_step(
                &model,
                read(&shapes, &shapes.released),
                &outcome.released_mm,
            ));
            return found;
        }
        let steps = shapes
            .steps
            .iter()
            .map(|(_, moved)| moved)
            .zip(&outcome.steps_mm);
        steps
            .map(|(moved, measures_mm)| self.read_step(&model, read(&shapes, moved), measures_mm))
            .collect()
    }

    /// The shrinkage with the heat of the job.
    fn shrinkage(&self, job: &Job, model: &MovementModel) -> Shrinkage {
        let heat = job.procedures[0].planned_heat_input.0;
        model
            .shrinkage(&vec![heat; job.welds.len()], self.factors)
            .expect("the heat is in range")
    }

    /// The shapes of the welds in the order in which the job lists them.
    fn welded(&self, job: &Job, model: &MovementModel) -> Shapes {
        Shapes::new(job, model, &order_of(job), &self.shrinkage(job, model))
            .expect("the joint stands")
    }

    /// Adds the leans and corners of a step.
    fn read_step(
        &self,
        model: &MovementModel,
        mut found: Map<String, Value>,
        measures_mm: &[f64],
    ) -> Value {
        for (measure, mm) in model.measures().iter().zip(measures_mm) {
            let mrad = 1e3 * mm / BLADE_MM;
            match measure.kind {
                MeasureKind::Lean if measure.name.ends_with("towards the front") => {
                    add(&mut found, "bar_lean_to_front_mrad", mrad)
                }
                MeasureKind::Corner if measure.name.ends_with("opens") => {
                    add(&mut found, "corner_opens_mrad", mrad)
                }
                MeasureKind::Corner => add(&mut found, "legs_fold_to_front_mrad", mrad),
                _ => {}
            }
        }
        found.into()
    }
}

/// A joint of a tube and a short light strip that carries the bead.
fn bead_model(
    job: &mut Job,
    tube: usize,
    [from, to]: [Point; 2],
    coefficients: &JointCoefficients,
) -> Option<(MovementModel, Job)> {
    // The strip takes half of the heat, so the heat is doubled.
    let run = to - from;
    let (depth_mm, width_mm) = (run.z.abs().max(STRIP_MM), run.x.abs().max(STRIP_MM));
    let strip = Section::new("strip", Shape::Bar { depth_mm, width_mm }).ok()?;
    let heat = &mut job.procedures[0].planned_heat_input;
    *heat = JoulesPerMillimetre(2.0 * heat.0);
    let middle = (from + to) * 0.5;
    let foot = middle;
    let bar = member(
        job,
        "strip",
        strip,
        [foot, foot + p(0.0, 60.0, 0.0)],
        p(0.0, 0.0, 1.0),
    );
    join(
        job,
        [
            (tube, Station::Along(Millimetres(ARM_MM))),
            (bar, Station::Start),
        ],
        vec![middle],
    );
    weld(
        job,
        [tube, bar],
        Seam {
            from,
            to,
            outward: p(0.0, 1.0, 0.0),
        },
        3.0,
    );
    let model = MovementModel::with_coefficients(job, coefficients)
        .map_err(|error| eprintln!("{error:?}"))
        .ok()?;
    Some((model, job.clone()))
}

fn order_of(job: &Job) -> Vec<usize> {
    (0..job.welds.len()).collect()
}

/// How the end of a member moved: by slope of the straight part there, and at the joint if that part went on to it.
struct End {
    slope: Point,
    at: Point,
}

/// Start and end of a member's line.
fn ends_of_line(shapes: &Shapes, moved: &Moved, member: usize) -> [End; 2] {
    let points = &shapes.lines[member].points;
    let moved = &moved[member];
    let last = points.len() - 1;
    let end = |outer: usize, inner: usize| {
        let length = (points[outer] - points[inner]).length();
        let sign = if outer > inner { 1.0 } else { -1.0 };
        End {
            slope: (moved[outer] - moved[inner]) * (sign / length),
            at: moved[outer],
        }
    };
    [end(0, 1), end(last, last - 1)]
}

fn add(found: &mut Map<String, Value>, name: &str, value: f64) {
    found.insert(name.into(), value.into());
}
