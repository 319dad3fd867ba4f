//! The opening against other people's ways to the same answer: a linear program and a sweep of poses.

use crate::reference::ask;
use coldsquare_engine::file_error::Source;
use coldsquare_engine::opening::answer::answer;
use coldsquare_engine::opening::bring_in::{Channel, WayIn, way_in};
use coldsquare_engine::opening::gaps::Gap;
use coldsquare_engine::opening::model::{Readings, Side, Station, Walls};
use coldsquare_engine::opening::rectangle::{Shape, Wanted, depths_passed, largest};
use coldsquare_engine::opening::{adjust, from_source};
use coldsquare_engine::units::Units;
use coldsquare_tests::assert_close;
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{RngCore, SeedableRng};
use serde_json::{Value, json};

struct Dice(Xoshiro256PlusPlus);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.0.next_u64() as f64 / u64::MAX as f64)
    }

    fn one_of(&mut self, count: usize) -> usize {
        (self.between(0.0, count as f64) as usize).min(count - 1)
    }
}

/// An opening with places at random on crooked, leaning walls.
fn random_walls(dice: &mut Dice) -> Walls {
    let (wide, high) = (dice.between(400.0, 3000.0), dice.between(400.0, 2600.0));
    let lean = [(); 4].map(|()| dice.between(-0.012, 0.012));
    let names = ["front", "middle", "back"];
    let depths: Vec<(f64, &str)> = (0..1 + dice.one_of(3))
        .map(|k| (150.0 * k as f64, names[k]))
        .collect();
    let mut stations = Vec::new();
    for depth in 0..depths.len() {
        for (side, lean) in Side::ALL.into_iter().zip(lean) {
            let (base, long) = match side {
                Side::Left | Side::Floor => (0.0, if side == Side::Left { high } else { wide }),
                Side::Right => (wide, high),
                Side::Top => (high, wide),
            };
            // Its ends, and some places between, as the adjustment makes them.
            for place in 0..2 + dice.one_of(5) {
                let along_mm = [0.0, 1.05 * long, dice.between(0.0, long)][place.min(2)];
                let at_mm = base + lean * along_mm + dice.between(-8.0, 8.0);
                stations.push(Station {
                    side,
                    depth,
                    along_mm,
                    at_mm,
                    of: Vec::new(),
                    proud: false,
                });
            }
        }
    }
    stations.sort_by(|a, b| a.along_mm.total_cmp(&b.along_mm));
    Walls {
        units: Units::Metric,
        depths,
        stations,
        covariance: Vec::new(),
        assumed: Vec::new(),
    }
}

fn size(walls: &Walls, side: Side) -> f64 {
    let on = walls.stations.iter().filter(|one| one.side == side);
    on.map(|one| one.at_mm).fold(1.0, f64::max)
}

#[test]
fn the_largest_frame_is_that_of_an_independent_linear_program_in_five_hundred_openings() {
    let mut dice = Dice(Xoshiro256PlusPlus::seed_from_u64(19));
    let mut questions = Vec::new();
    let mut ours = Vec::new();
    for k in 0..500 {
        let walls = random_walls(&mut dice);
        let (shape, name) = [
            (Shape::Plumb, "plumb"),
            (Shape::Turned, "turned"),
            (Shape::Parallelogram, "parallelogram"),
        ][k % 3];
        let deep = dice.one_of(2) == 1;
        let wanted = Wanted {
            clearance_mm: dice.between(0.0, 6.0),
            on_floor: dice.one_of(2) == 1,
            depth_mm: if deep { 200.0 } else { 30.0 },
            at_front: false,
            shape,
        };
        let depths = depths_passed(&walls, &wanted);
        // A frame as deep as the way between two depths is at both at once.
        let groups: Vec<usize> = depths
            .iter()
            .map(|depth| if deep { 0 } else { *depth })
            .collect();
        let stations: Vec<Value> = walls
            .stations
            .iter()
            .map(|one| json!([one.side.name(), one.depth, one.along_mm, one.at_mm]))
            .collect();
        let (wide, high) = (size(&walls, Side::Right), size(&walls, Side::Top));
        questions.push(json!({
            "stations": stations, "groups": groups, "clearance": wanted.clearance_mm, "on_floor": wanted.on_floor,
            "shape": name, "wide": wide, "high": high,
        }));
        ours.push((
            largest(&walls, &wanted).expect("a frame goes in"),
            shape,
            wide,
            high,
        ));
    }
    let answers = ask("opening_linprog.py", &Value::from(questions));
    let answers = answers.as_array().expect("a list");
    assert_eq!(answers.len(), ours.len());
    for ((found, shape, wide, high), theirs) in ours.iter().zip(answers) {
        let number = |key: &str| theirs[key].as_f64().expect("a number");
        let height = found.height.expect("heights are there").value;
        let score = found.width.value / wide + height / high;
        assert_close(score, number("score"), 1e-8, 0.0);
        if *shape == Shape::Plumb {
            assert_close(found.width.value, number("width"), 1e-6, 0.0);
            assert_close(height, number("height"), 1e-6, 0.0);
        }
    }
}

#[test]
fn the_way_in_is_that_of_a_sweep_of_poses() {
    // Straight, under a lintel, over a threshold, and into a recess that a tilted frame jams in.
    let channels = [
        (vec![[0.0, 0.0, 600.0], [150.0, 0.0, 600.0]], 20.0),
        (
            vec![
                [0.0, 0.0, 600.0],
                [20.0, 0.0, 600.0],
                [24.0, 0.0, 680.0],
                [160.0, 0.0, 680.0],
            ],
            20.0,
        ),
        (
            vec![
                [0.0, 30.0, 600.0],
                [16.0, 30.0, 600.0],
                [20.0, 0.0, 640.0],
                [200.0, 0.0, 640.0],
            ],
            24.0,
        ),
        (
            vec![
                [0.0, 0.0, 500.0],
                [40.0, 0.0, 500.0],
                [44.0, 0.0, 560.0],
                [100.0, 0.0, 560.0],
            ],
            16.0,
        ),
    ];
    let mut questions = Vec::new();
    let mut expected = Vec::new();
    for ((at, depth), floor_outside) in channels.iter().flat_map(|one| [(one, false), (one, true)])
    {
        let end = at.last().expect("a back wall")[0];
        let channel = Channel {
            at: at.clone(),
            floor_outside,
        };
        let oversized = at.iter().map(|one| one[2]).fold(0.0, f64::max) + 5.0;
        let WayIn::No { take_off_mm } = way_in(&channel, oversized, *depth, end) else {
            panic!("nothing higher than the opening goes in");
        };
        let most = oversized - take_off_mm;
        for off in [-4.0, 4.0] {
            questions.push(json!({ "channel": at, "height": most + off, "depth": depth, "floor_outside": floor_outside }));
            expected.push((off < 0.0, most));
        }
    }
    let answers = ask("bring_in_sweep.py", &Value::from(questions));
    let answers = answers.as_array().expect("a list");
    for ((goes, most), theirs) in expected.iter().zip(answers) {
        assert_eq!(
            theirs.as_bool(),
            Some(*goes),
            "at most {most} mm: {answers:?}"
        );
    }
}

#[test]
fn the_size_to_build_leaves_the_clearance_at_every_place_of_every_opening() {
    let mut dice = Dice(Xoshiro256PlusPlus::seed_from_u64(21));
    for k in 0..200 {
        let walls = random_walls(&mut dice);
        let wanted = Wanted {
            clearance_mm: dice.between(0.0, 6.0),
            on_floor: dice.one_of(2) == 1,
            depth_mm: 30.0,
            at_front: false,
            shape: [Shape::Plumb, Shape::Parallelogram][k % 2],
        };
        let found = answer(&walls, &wanted, 1.0).expect("a frame goes in");
        let counts = |gap: &&Gap| !(wanted.on_floor && gap.station.side == Side::Floor);
        // Lean is counted to the first order: 0.05 mm a metre.
        let least = wanted.clearance_mm - 0.15;
        for gap in found.placed.gaps.iter().filter(counts) {
            assert!(gap.gap_mm.value > least, "{gap:?} of {wanted:?}");
        }
    }
}

#[test]
fn the_clear_width_is_within_its_uncertainty_nineteen_times_of_twenty() {
    let path = coldsquare_tests::golden("../../docs/examples/alcove.opening.toml");
    let source = Source::new(
        "alcove",
        std::fs::read_to_string(path).expect("the example"),
    );
    let readings = from_source(&source).expect("no errors");
    let wanted = Wanted {
        clearance_mm: 0.0,
        on_floor: true,
        depth_mm: 30.0,
        at_front: false,
        shape: Shape::Plumb,
    };
    let clear = |readings: &Readings| {
        let walls = adjust(readings, &source).ok()?;
        largest(&walls, &wanted).map(|found| (found.width, found.height.expect("heights are read")))
    };
    // The example's readings are those of an alcove to within their rounding; that alcove is taken as true.
    let (width, height) = clear(&readings).expect("a frame goes in");
    let mut dice = Dice(Xoshiro256PlusPlus::seed_from_u64(22));
    let (mut drawn, mut within) = (0, [0, 0]);
    for _ in 0..400 {
        let mut read = readings.clone();
        for one in &mut read.readings {
            // The sum of twelve even deviates less six is as good as normal.
            let normal: f64 = (0..12).map(|_| dice.between(0.0, 1.0)).sum::<f64>() - 6.0;
            one.mm += one.standard_mm * normal;
        }
        // What is told as a contradiction leads to no size.
        let Some((a, b)) = clear(&read) else { continue };
        drawn += 1;
        within[0] += usize::from((a.value - width.value).abs() <= a.expanded());
        within[1] += usize::from((b.value - height.value).abs() <= b.expanded());
    }
    assert!(
        drawn > 360,
        "{drawn} of 400 were not told as contradictions"
    );
    for count in within {
        let share = count as f64 / f64::from(drawn);
        assert!((0.91..=0.995).contains(&share), "{within:?} of {drawn}");
    }
}
