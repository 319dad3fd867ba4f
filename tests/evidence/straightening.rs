//! What `correct` tells about pressing, carried out on bars that it knows nothing of.
//!
//! The bars are this file's own: a section cut into fibres, each with the plastic strain and the hardening it has been
//! left with; a beam cut into short lengths, each with its fibres; loaded, let go and loaded again by the law of the
//! metal alone. Nothing of the product is in it, not even that a second push goes on where the first one ended.

use crate::evidence::bending::kept_per_mm;
use coldsquare_engine::correct::bar::{HARDENING, profile};
use coldsquare_engine::correct::press::{MAX_SPRINGINESS, next, springiness, usual_span_mm};
use coldsquare_engine::correct::press_curve::PressCurve;
use coldsquare_engine::formulas::bending::{Bar, BarMetal, Press, strain_limit};
use coldsquare_engine::section::Section;
use coldsquare_tests::assert_close;

/// A metal with linear hardening (Simo and Hughes, *Computational Inelasticity*, 1998, 1.3 and 1.4: return mapping in
/// one dimension; from memory).
#[derive(Clone, Copy, Debug)]
struct Metal {
    modulus: f64,
    yields: f64,
    /// Slope beyond yield over Young's modulus.
    slope: f64,
    /// Whether yield moves with the stress (Bauschinger) or grows to both sides.
    kinematic: bool,
}

#[derive(Clone, Copy, Debug)]
struct Fibre {
    /// Height, mm, and area, mm².
    at: f64,
    area: f64,
    plastic: f64,
    /// Back stress or growth of the yield, MPa.
    hardened: f64,
}

impl Fibre {
    /// The fibre strained so far, its stress and its tangent.
    fn strained(mut self, strain: f64, metal: Metal) -> (Self, f64, f64) {
        let elastic = metal.modulus * (strain - self.plastic);
        let (over, sign) = if metal.kinematic {
            let moved = elastic - self.hardened;
            (moved.abs() - metal.yields, moved.signum())
        } else {
            (
                elastic.abs() - metal.yields - self.hardened,
                elastic.signum(),
            )
        };
        // What was just left at yield is elastic on the way back; rounding must not say otherwise.
        if over <= 1e-9 * metal.yields {
            return (self, elastic, metal.modulus);
        }
        let hardening = metal.modulus * metal.slope / (1.0 - metal.slope);
        let flow = over / (metal.modulus + hardening);
        self.plastic += flow * sign;
        self.hardened += hardening * flow * if metal.kinematic { sign } else { 1.0 };
        let stress = elastic - metal.modulus * flow * sign;
        (self, stress, metal.modulus * metal.slope)
    }
}

/// One short length of the bar.
#[derive(Clone, Debug)]
struct Slice {
    fibres: Vec<Fibre>,
    /// Strain at height nothing, and curvature.
    bent: [f64; 2],
}

impl Slice {
    /// Axial force and moment, and their derivatives, at a strain and curvature.
    fn carries(&self, bent: [f64; 2], metal: Metal) -> ([f64; 2], [f64; 3]) {
        let (mut force, mut rates) = ([0.0; 2], [0.0; 3]);
        for fibre in &self.fibres {
            let (_, stress, tangent) = fibre.strained(bent[0] + bent[1] * fibre.at, metal);
            force[0] += stress * fibre.area;
            force[1] += stress * fibre.area * fibre.at;
            rates[0] += tangent * fibre.area;
            rates[1] += tangent * fibre.area * fibre.at;
            rates[2] += tangent * fibre.area * fibre.at * fibre.at;
        }
        (force, rates)
    }

    /// Strain and curvature under a moment and no axial force, from the state it is in.
    fn under(&self, moment: f64, metal: Metal) -> [f64; 2] {
        let mut bent = self.bent;
        let scale: f64 =
            self.fibres.iter().map(|f| f.area * f.at.abs()).sum::<f64>() * metal.yields;
        for _ in 0..60 {
            let (force, [a, s, i]) = self.carries(bent, metal);
            let (n, m) = (-force[0], moment - force[1]);
            if m.abs() < 1e-9 * scale && n.abs() < 1e-7 * a * metal.yields / metal.modulus {
                return bent;
            }
            let whole = a * i - s * s;
            bent = [
                bent[0] + (i * n - s * m) / whole,
                bent[1] + (a * m - s * n) / whole,
            ];
        }
        panic!("no equilibrium under {moment}: {bent:?}");
    }

    /// The moment that a curvature takes, with no axial force.
    fn moment(&self, curvature: f64, metal: Metal) -> f64 {
        let mut strain = self.bent[0];
        for _ in 0..60 {
            let (force, rates) = self.carries([strain, curvature], metal);
            if force[0].abs() < 1e-7 * rates[0] * metal.yields / metal.modulus {
                return force[1];
            }
            strain -= force[0] / rates[0];
        }
        panic!("no equilibrium at {curvature}: {strain}");
    }

    /// Brings it to a moment for good.
    fn settle(&mut self, moment: f64, metal: Metal) {
        self.bent = self.under(moment, metal);
        let bent = self.bent;
        for fibre in &mut self.fibres {
            *fibre = fibre.strained(bent[0] + bent[1] * fibre.at, metal).0;
        }
    }
}

/// A bar on two blocks, half of it: the length between the presses, and short lengths from there to the block.
struct Workpiece {
    metal: Metal,
    middle: Slice,
    /// Each with its distance from the block.
    arm: Vec<(f64, Slice)>,
    span: f64,
    apart: f64,
    length: f64,
    /// Bow of the stress-free bar over its length.
    bow: f64,
}

const SHORT_LENGTHS: usize = 20;

impl Workpiece {
    fn new(fibres: &[Fibre], metal: Metal, [span, apart, length]: [f64; 3], bow: f64) -> Self {
        let slice = Slice {
            fibres: fibres.to_vec(),
            bent: [0.0; 2],
        };
        let short = 0.5 * (span - apart) / SHORT_LENGTHS as f64;
        let arm = (0..SHORT_LENGTHS).map(|k| ((k as f64 + 0.5) * short, slice.clone()));
        Self {
            metal,
            arm: arm.collect(),
            middle: slice,
            span,
            apart,
            length,
            bow,
        }
    }

    fn arm_length(&self) -> f64 {
        0.5 * (self.span - self.apart)
    }

    /// How far the middle stands from the straight line of the bar as it was made, against points so far beyond the
    /// blocks, with curvatures as given: middle first.
    fn sag(&self, beyond: f64, middle: f64, arm: &[f64]) -> f64 {
        let short = self.arm_length() / SHORT_LENGTHS as f64;
        let of_arm: f64 = (self.arm.iter().zip(arm))
            .map(|((at, _), curvature)| curvature * (at + beyond) * short)
            .sum();
        let even = 0.5 * self.apart;
        of_arm + middle * even * (self.arm_length() + 0.5 * even + beyond)
    }

    fn rests(&self, beyond: f64) -> f64 {
        let arm: Vec<f64> = self.arm.iter().map(|(_, slice)| slice.bent[1]).collect();
        self.sag(beyond, self.middle.bent[1], &arm)
    }

    /// Pushes the middle this far from where it stands and lets go; tells the bow over the length.
    fn push(&mut self, travel: f64) -> f64 {
        let stands = self.rests(0.0);
        let reach = self.arm_length();
        let pushed = |curvature: f64| {
            let moment = self.middle.moment(curvature, self.metal);
            let arm: Vec<f64> = (self.arm.iter())
                .map(|(at, slice)| slice.under(moment * at / reach, self.metal)[1])
                .collect();
            (self.sag(0.0, curvature, &arm) - stands, moment)
        };
        // False position, the end that stays halved.
        let rest = self.middle.bent[1];
        let (mut low, mut high) = ((rest, -travel), (rest, 0.0));
        while high.1 <= 0.0 {
            high.0 += 12.0 * travel / (self.span * self.span);
            high.1 = pushed(high.0).0 - travel;
        }
        let mut exact = high.0;
        for _ in 0..40 {
            exact = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
            let off = pushed(exact).0 - travel;
            if off.abs() < 1e-4 {
                break;
            }
            if off < 0.0 {
                (low, high.1) = ((exact, off), 0.5 * high.1);
            } else {
                (high, low.1) = ((exact, off), 0.5 * low.1);
            }
        }
        let moment = pushed(exact).1;
        for load in [moment, 0.0] {
            self.middle.settle(load, self.metal);
            for (at, slice) in &mut self.arm {
                slice.settle(load * *at / reach, self.metal);
            }
        }
        self.left()
    }

    fn left(&self) -> f64 {
        self.bow - self.rests(0.5 * (self.length - self.span))
    }
}

/// Fibres between heights, as many as given, of a width at each height.
fn fibres(layers: &[(f64, f64, usize)], width: impl Fn(f64) -> f64) -> Vec<Fibre> {
    let mut all = Vec::new();
    for &(low, high, count) in layers {
        let thick = (high - low) / count as f64;
        for k in 0..count {
            let at = low + (k as f64 + 0.5) * thick;
            all.push(Fibre {
                at,
                area: width(at) * thick,
                plastic: 0.0,
                hardened: 0.0,
            });
        }
    }
    all
}

/// Width at a height from the middle of a rectangle with rounded corners; a circle has a radius of half its size.
fn rounded(at: f64, depth: f64, width: f64, radius: f64) -> f64 {
    let to_edge = depth / 2.0 - at.abs();
    if to_edge < 0.0 {
        return 0.0;
    }
    let into = (radius - to_edge).max(0.0);
    width - 2.0 * (radius - (radius * radius - into * into).max(0.0).sqrt())
}

/// A tube of depth, width and wall; corners of EN 10219-2: two walls outside, one inside.
fn tube(depth: f64, width: f64, wall: f64) -> Vec<Fibre> {
    let (edge, inner) = (depth / 2.0, depth / 2.0 - wall);
    let layers = [(-edge, -inner, 7), (-inner, inner, 16), (inner, edge, 7)];
    fibres(&layers, |at| {
        rounded(at, depth, width, 2.0 * wall)
            - rounded(at, depth - 2.0 * wall, width - 2.0 * wall, wall)
    })
}

fn round_tube(diameter: f64, wall: f64) -> Vec<Fibre> {
    let inside = diameter - 2.0 * wall;
    let (edge, inner) = (diameter / 2.0, inside / 2.0);
    let near = 0.8 * inner;
    let layers = [
        (-edge, -inner, 12),
        (-inner, -near, 10),
        (-near, near, 20),
        (near, inner, 10),
        (inner, edge, 12),
    ];
    fibres(&layers, |at| {
        rounded(at, diameter, diameter, edge) - rounded(at, inside, inside, inner)
    })
}

fn flat(depth: f64, width: f64) -> Vec<Fibre> {
    fibres(&[(-depth / 2.0, depth / 2.0, 26)], |_| width)
}

/// An angle without its fillet, one leg flat below, guided so that it bends in the plane of the other.
fn angle(leg: f64, thick: f64) -> Vec<Fibre> {
    fibres(&[(0.0, thick, 6), (thick, leg, 24)], |at| {
        if at < thick { leg } else { thick }
    })
}

/// What is pressed: its designation, whether in its width, and its fibres.
fn stock() -> Vec<(&'static str, bool, Vec<Fibre>)> {
    vec![
        ("SHS 40x40x3", false, tube(40.0, 40.0, 3.0)),
        ("SHS 25x25x2", false, tube(25.0, 25.0, 2.0)),
        ("SHS 50x50x5", false, tube(50.0, 50.0, 5.0)),
        ("RHS 50x30x3", false, tube(50.0, 30.0, 3.0)),
        ("RHS 50x30x3", true, tube(30.0, 50.0, 3.0)),
        ("CHS 42.4x3", false, round_tube(42.4, 3.0)),
        ("FL 40x8", false, flat(40.0, 8.0)),
        ("FL 40x8", true, flat(8.0, 40.0)),
        ("L 40x40x4", false, angle(40.0, 4.0)),
    ]
}

/// Grades as they are sold (Young's modulus and least yield, MPa; EN 1993-1-1, EN 10088-2, EN 1999-1-1, from memory), and
/// how much stronger than that a bar may be: mild steel up to 40 % (common practice, no source).
const GRADES: [(&str, f64, f64, f64); 4] = [
    ("S235", 210e3, 235.0, 1.4),
    ("S355", 210e3, 355.0, 1.25),
    ("304", 200e3, 210.0, 1.4),
    ("6061-T6", 68.9e3, 276.0, 1.15),
];

/// Numbers between 0 and 1 that look random, the same each time (Knuth's multiplier for 64 bits).
struct Shuffled(u64);

impl Shuffled {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// The model itself, against what is known of it by hand: elastic until it yields, a rectangle's plastic moment, elastic
/// when let go, and the Bauschinger effect on the way back.
#[test]
fn the_bars_of_this_test_obey_the_textbook() {
    let metal = Metal {
        modulus: 200e3,
        yields: 240.0,
        slope: 1e-6,
        kinematic: true,
    };
    let mut slice = Slice {
        fibres: fibres(&[(-60.0, 60.0, 2000)], |_| 50.0),
        bent: [0.0; 2],
    };
    // Beer and Johnston, examples 4.05 and 4.06 (from memory): radius 33.3 m loaded, 225 m let go.
    let loaded = slice.under(36.8e6, metal)[1];
    assert_close(1e-3 / loaded, 33.333, 0.0, 1e-3);
    slice.settle(36.8e6, metal);
    slice.settle(0.0, metal);
    assert_close(1e-3 / slice.bent[1], 225.0, 0.0, 2e-3);
    // Surface stress 66.7 MPa of the other sign.
    let edge = slice.fibres.last().expect("fibres");
    let strain = slice.bent[0] + slice.bent[1] * edge.at;
    assert_close(edge.strained(strain, metal).1, -66.7, 0.5, 0.0);

    // Stretched to twice its yield and pushed back, yield that moves gives way after twice the first yield.
    let soft = Metal {
        slope: 0.1,
        ..metal
    };
    let fibre = Fibre {
        at: 0.0,
        area: 1.0,
        plastic: 0.0,
        hardened: 0.0,
    };
    let (stretched, stress, _) = fibre.strained(0.01, soft);
    let back = |stress_change: f64| 0.01 - stress_change / soft.modulus;
    assert!(stretched.strained(back(479.0), soft).2 > 0.99 * soft.modulus);
    assert!(stretched.strained(back(481.0), soft).2 < 0.11 * soft.modulus);
    let grown = Metal {
        kinematic: false,
        ..soft
    };
    let stretched = fibre.strained(0.01, grown).0;
    assert!(stretched.strained(back(2.0 * stress - 1.0), grown).2 > 0.99 * soft.modulus);
}

/// The product's moment at a curvature, and what stays of it, against fibres: every section, and an angle whose neutral
/// line moves as it yields. Letting go is elastic: what springs back is M/(E·I).
#[test]
fn moment_and_what_stays_are_those_of_fibres_for_every_section() {
    for slope in [0.0005, 0.01] {
        let metal = Metal {
            modulus: 210e3,
            yields: 235.0,
            slope,
            kinematic: true,
        };
        for (designation, in_width, fibres) in stock() {
            let section = Section::parse(designation).expect("a section");
            let grade = BarMetal {
                modulus_mpa: 210e3,
                yield_mpa: 235.0,
                hardening: slope,
            };
            let bar =
                Bar::new(profile(&section, in_width).expect("a profile"), grade).expect("a bar");
            for times in [0.7, 1.1, 1.5, 3.0, 8.0] {
                let curvature = times * bar.yield_curvature_per_mm();
                let mut slice = Slice {
                    fibres: fibres.clone(),
                    bent: [0.0; 2],
                };
                let moment = slice.moment(curvature, metal);
                assert_close(bar.moment_n_mm(curvature), moment, 0.0, 0.01);
                slice.settle(moment, metal);
                slice.settle(0.0, metal);
                let yields = bar.yield_curvature_per_mm();
                assert_close(
                    kept_per_mm(&bar, curvature),
                    slice.bent[1],
                    0.012 * yields,
                    0.01,
                );
            }
        }
    }
}

/// A bar straightened as told.
struct Straightened {
    /// Share of the bow that is left.
    left: f64,
    /// The same after the first push.
    after_one: f64,
    /// What it was, in words.
    what: String,
}

/// One invented bar, bowed and straightened in three pushes at most; `None` where the advice refuses.
fn straightened(case: usize) -> Option<Straightened> {
    let (stock, mut random) = (stock(), Shuffled(case as u64 + 1));
    // An angle's neutral line is sought anew at every curvature, which takes ten times as long: one case in twenty.
    let kind = if case % 20 == 19 { 8 } else { case % 8 };
    let (designation, in_width, fibres) = &stock[kind];
    let (grade, modulus_mpa, yield_mpa, strongest) = GRADES[case / 8 % GRADES.len()];
    let section = Section::parse(designation).expect("a section");
    let grade_metal = BarMetal {
        modulus_mpa,
        yield_mpa,
        hardening: HARDENING,
    };
    let bar = Bar::new(
        profile(&section, *in_width).expect("a profile"),
        grade_metal,
    )
    .expect("a bar");
    random.next();
    let metal = Metal {
        modulus: modulus_mpa,
        yields: yield_mpa * random.between(0.85, strongest),
        slope: random.between(0.003, 0.02),
        kinematic: case.is_multiple_of(2),
    };
    let length = random.between(600.0, 2400.0);
    // Out of tolerance (EN ISO 13920, class E, from memory), and no more than a two hundredth.
    let tolerated = if length <= 1000.0 {
        1.5
    } else if length <= 2000.0 {
        2.0
    } else {
        3.0
    };
    let bow = random.between(1.1 * tolerated, (length / 200.0).max(2.0 * tolerated));
    // Blocks as told, or a little closer.
    let span_mm = usual_span_mm(&bar, length, bow) * random.between(0.8, 1.0);
    let press = Press {
        span_mm,
        apart_mm: span_mm / 3.0,
        length_mm: length,
    };
    if springiness(&bar, &press, bow) > MAX_SPRINGINESS {
        return None;
    }
    let mut workpiece = Workpiece::new(fibres, metal, [span_mm, press.apart_mm, length], bow);
    let curve = PressCurve::of_bar(&bar, press);
    let mut measured = vec![bow];
    for _ in 0..3 {
        let Some(told) = next(&curve, &measured, 0.0, 1.0) else {
            break;
        };
        if told.step.strain > strain_limit(bar.profile(), grade_metal) {
            return None;
        }
        let left = workpiece.push(told.step.travel_mm);
        measured.push(left + random.between(-0.05, 0.05));
    }
    Some(Straightened {
        left: workpiece.left().abs() / bow,
        after_one: measured.get(1).map_or(1.0, |first| first.abs() / bow),
        what: format!(
            "case {case}, {designation} (in width: {in_width}) of {grade}, {length:.0} long, blocks {span_mm:.0} apart, {metal:?}, measured {measured:.2?}"
        ),
    })
}

/// Three pushes as told leave at most a tenth of the bow, whatever the bar really is: nine sections, four metals with
/// yields of their own, hardening to one side or to both, other lengths, spans and bows, read to ± 0.05 mm.
#[test]
fn three_steps_leave_at_most_a_tenth_of_the_bow() {
    let cases: Vec<Straightened> = (0..360).filter_map(straightened).collect();
    assert!(cases.len() >= 300, "{}", cases.len());
    for case in &cases {
        assert!(case.left <= 0.1, "{:.3} left: {}", case.left, case.what);
    }
    // It takes the measuring in between: one push alone often leaves more.
    let more = cases.iter().filter(|case| case.after_one > 0.1).count();
    assert!(2 * more > cases.len(), "{more} of {}", cases.len());
}
