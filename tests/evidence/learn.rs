//! A shop learns its own factors: the closed loop in simulation, the laws of learning, and the estimator against numpy.

use crate::reference::ask;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::job::{self, model::Job};
use coldsquare_engine::learn::build::{Build, Read};
use coldsquare_engine::learn::estimate::{Gaussian, Linear, farthest};
use coldsquare_engine::learn::{Learned, learn};
use coldsquare_engine::movement::measures::MeasureKind;
use coldsquare_engine::movement::predict::{Predicted, planned_net_heat, predict, predict_with};
use coldsquare_engine::shop::factor::Factors;
use coldsquare_engine::shop::factors::{Knowledge, published_uncertainties, times};
use coldsquare_engine::shop::factors::{OF_THE_BUILD, OF_THE_PLACE};
use coldsquare_tests::assert_close;
use serde_json::json;

/// What straightedge and feeler gauge of the invented shops are good for, mm (k = 1).
const RULER_MM: f64 = 0.1;

/// Even and normal numbers from a seed (splitmix64, Steele, Lea and Flood 2014; Box and Muller 1958).
struct Dice(u64);

impl Dice {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.even()).cos()
    }
}

/// Frames of the invented shops: bars on one face, so that there is a bow to measure.
fn frame(width: u32, height: u32, bars: u32) -> Job {
    let text = format!(
        "[frame]\nwidth = {width}\nheight = {height}\nsection = \"SHS 30x30x2\"\n[frame.bars]\ncount = {bars}\n\
         section = \"SHS 20x20x2\"\nwelded = [\"front\"]\n[procedure]\nprocess = 135\nvolts = [17, 20]\n\
         amps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n"
    );
    job::from_text("frame.toml", &text).expect("a good job")
}

/// A build without readings yet, all sizes, twist and bows that a maker can reach named.
fn prepared(job: &Job) -> Build {
    let order = (0..job.welds.len()).collect();
    let mut build = Build::new("a build", job, order, planned_net_heat(job)).expect("it stands");
    let measures = build.engine.measures();
    let wanted = |kind| {
        matches!(
            kind,
            MeasureKind::Size | MeasureKind::Twist | MeasureKind::Bow
        )
    };
    build.readings = (0..measures.len())
        .filter(|&m| wanted(measures[m].kind) && !measures[m].name.contains("bar"))
        .map(|measure| Read {
            measure,
            clamped: false,
            change_mm: Uncertain {
                value: 0.0,
                standard: RULER_MM,
            },
        })
        .collect();
    build
}

/// What really happens: the shop's factors, single welds that scatter, fit-up and clamping.
fn really(build: &Build, factors: &Factors, dice: &mut Dice) -> Vec<f64> {
    let heat = build.heat.iter();
    let heat: Vec<f64> = heat
        .map(|h| h.value * (1.0 + 0.15 * dice.normal()))
        .collect();
    let each = vec![*factors; heat.len()];
    let moved = build.would_read(&heat, &each).expect("in range");
    let common = 1.0 + OF_THE_BUILD * dice.normal();
    moved
        .into_iter()
        .map(|mm| mm * (common + OF_THE_PLACE * dice.normal()))
        .collect()
}

fn read(build: &Build, factors: &Factors, dice: &mut Dice) -> Build {
    let truth = really(build, factors, dice);
    let mut build = build.clone();
    for (reading, mm) in build.readings.iter_mut().zip(truth) {
        reading.change_mm.value = mm + RULER_MM * dice.normal();
    }
    build
}

fn learned(builds: &[Build]) -> Learned {
    learn(builds).expect("in range")
}

/// How the invented shops are spread about the published factors.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Spread {
    /// Evenly over ±50 %, far more than the published uncertainties say.
    Evenly,
    /// As the published uncertainties say, none beyond ±50 %.
    AsPublished,
}

fn invented(spread: Spread, dice: &mut Dice) -> Factors {
    let uncertainties = published_uncertainties();
    times(std::array::from_fn(|way| match spread {
        Spread::Evenly => 0.5 + dice.even(),
        Spread::AsPublished => loop {
            let factor = (uncertainties[way] * dice.normal()).exp();
            if (0.5..=1.5).contains(&factor) {
                break factor;
            }
        },
    }))
}

struct Outcome {
    /// Share of shops whose next bow lies in the interval that three builds let state.
    bow_inside: f64,
    /// Shares of all movements of the next builds within 1 and 2 standard uncertainties.
    within: [f64; 2],
    /// Mean of the stated uncertainty of the bow after three builds over that before.
    narrower: f64,
    /// Shops in which a build was called a misfit.
    misfits: usize,
}

fn closed_loop(spread: Spread, shops: u64) -> Outcome {
    let taught =
        [frame(1200, 900, 2), frame(900, 900, 1), frame(1500, 800, 2)].map(|j| prepared(&j));
    let job = frame(1300, 1000, 2);
    let next = prepared(&job);
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let heat = planned_net_heat(&job);
    let shares = [OF_THE_BUILD, OF_THE_PLACE];
    let stated = |known: &Knowledge| {
        predict_with(
            &job,
            &next.engine,
            &order,
            &heat,
            &known.for_welds(&job.classes()),
            shares,
        )
        .expect("in range")
    };
    let before = stated(&Knowledge::starting(Vec::new()));
    let bows = before
        .measures
        .iter()
        .filter(|m| m.kind == MeasureKind::Bow && !m.name.contains("bar"));
    let bow = bows
        .max_by(|a, b| {
            let size = |m: &Predicted| m.released_mm.value.abs();
            size(a).total_cmp(&size(b))
        })
        .expect("bows")
        .name
        .clone();
    let (mut inside, mut within, mut all, mut narrower, mut misfits) = (0, [0, 0], 0, 0.0, 0);
    for seed in 1..=shops {
        let dice = &mut Dice(seed);
        let factors = invented(spread, dice);
        let builds = taught.each_ref().map(|build| read(build, &factors, dice));
        let learned = learned(&builds);
        misfits += usize::from(!learned.misfits.is_empty());
        let after = stated(&learned.knowledge);
        let truth = really(&next, &factors, dice);
        for (reading, mm) in next.readings.iter().zip(truth) {
            let name = &next.engine.measures()[reading.measure].name;
            let said = after
                .measures
                .iter()
                .find(|m| m.name == *name)
                .expect("predicted")
                .released_mm;
            let off = (mm - said.value).abs() / said.standard;
            all += 1;
            within[0] += usize::from(off <= 1.0);
            within[1] += usize::from(off <= 2.0);
            if *name == bow {
                inside += usize::from(off <= 2.0);
                let was = before
                    .measures
                    .iter()
                    .find(|m| m.name == *name)
                    .expect("predicted");
                narrower += said.standard / was.released_mm.standard;
            }
        }
    }
    let share = |count: usize, of: usize| count as f64 / of as f64;
    let shops = usize::try_from(shops).expect("few");
    Outcome {
        bow_inside: share(inside, shops),
        within: within.map(|count| share(count, all)),
        narrower: narrower / shops as f64,
        misfits,
    }
}

/// Runs as many shops of both kinds, side by side, and says what came out.
fn both_loops(evenly: u64, as_published: u64) -> [Outcome; 2] {
    let both = std::thread::scope(|both| {
        let even = both.spawn(|| closed_loop(Spread::Evenly, evenly));
        let published = closed_loop(Spread::AsPublished, as_published);
        [even.join().expect("it ends"), published]
    });
    for one in &both {
        println!(
            "bow {} within {:?} narrower {} misfits {}",
            one.bow_inside, one.within, one.narrower, one.misfits
        );
    }
    both
}

/// Common practice, no source, for the bounds: 95 % is claimed at k = 2 (JCGM 100:2008, 6.3.3) and 68 % at k = 1; 500
/// shops tell 95 % to ± 2 %.
///
/// Single welds, fit-up and clamping of the next frame stay in its interval whatever was learned: here it narrows by a
/// twentieth.
#[test]
#[ignore = "takes minutes: cargo test --release -p coldsquare-tests --test all after_three_builds -- --ignored --nocapture"]
fn after_three_builds_the_bow_is_where_it_was_said_to_be() {
    // The published spread needs fewer: it is looked at over all movements.
    let [even, published] = both_loops(500, 250);
    assert!(even.bow_inside >= 0.90, "{}", even.bow_inside);
    assert!(
        (0.92..=0.99).contains(&published.bow_inside),
        "{}",
        published.bow_inside
    );
    assert!(
        (0.92..=0.98).contains(&published.within[1]),
        "{:?}",
        published.within
    );
    assert!(
        (0.60..=0.78).contains(&published.within[0]),
        "{:?}",
        published.within
    );
    assert!(published.narrower < 0.97, "{}", published.narrower);
    assert!(
        published.misfits <= 10,
        "{} honest shops called misfits",
        published.misfits
    );
}

/// The first shops of the 500, each time the tests run. A true share of 95 % shows 85 % or less in one of 120 runs of 28
/// shops (binomial); the seeds are fixed.
#[test]
fn the_first_shops_are_where_they_were_said_to_be() {
    let [even, published] = both_loops(28, 12);
    assert!(even.bow_inside >= 0.85, "{}", even.bow_inside);
    // Movements of one frame go together: fewer shops tell less than their number of movements.
    for outcome in [&even, &published] {
        assert!(
            (0.86..=1.0).contains(&outcome.within[1]),
            "{:?}",
            outcome.within
        );
        assert!(
            (0.50..=0.90).contains(&outcome.within[0]),
            "{:?}",
            outcome.within
        );
    }
    assert!(published.narrower < 1.0, "{}", published.narrower);
    assert!(published.misfits <= 2, "{}", published.misfits);
}

#[test]
fn without_data_the_published_factors_stand_and_the_prediction_is_the_same() {
    let job = frame(1200, 900, 2);
    let nothing = learned(&[]);
    assert_eq!(nothing.knowledge, nothing.start);
    let known = learned(&[Build {
        readings: Vec::new(),
        ..prepared(&job)
    }])
    .knowledge;
    let (order, heat): (Vec<usize>, _) = ((0..job.welds.len()).collect(), planned_net_heat(&job));
    let engine = &prepared(&job).engine;
    let with = predict_with(
        &job,
        engine,
        &order,
        &heat,
        &known.for_welds(&job.classes()),
        [0.0; 2],
    )
    .expect("in range");
    let without = predict(&job, engine, &order, &heat, &Factors::starting()).expect("in range");
    // Mitres and bars are two classes: what each has of its own no longer cancels between them.
    for (a, b) in with.measures.iter().zip(&without.measures) {
        assert_close(a.released_mm.value, b.released_mm.value, 1e-12, 1e-12);
        assert!(a.released_mm.standard >= 0.9 * b.released_mm.standard);
    }
}

#[test]
fn more_builds_never_widen_and_their_order_does_not_matter() {
    let jobs = [frame(1200, 900, 2), frame(900, 900, 1), frame(1500, 800, 2)];
    let dice = &mut Dice(7);
    let factors = times([1.1, 0.9, 1.15, 0.9, 1.0]);
    let builds = jobs
        .each_ref()
        .map(|job| read(&prepared(job), &factors, dice));
    let uncertainty = |known: &Knowledge, way| known.factor(0, way).relative_uncertainty;
    let mut before = learned(&[]).knowledge.with_classes(&builds[0].classes);
    for count in 1..=3 {
        let after = learned(&builds[..count]).knowledge;
        for way in 0..5 {
            // The line is drawn anew about what was learned: what yields bends it by a little.
            assert!(
                uncertainty(&after, way) <= 1.03 * uncertainty(&before, way),
                "{count} builds, way {way}"
            );
        }
        before = after;
    }
    let [a, b, c] = builds;
    let one = learned(&[a.clone(), b.clone(), c.clone()]).knowledge;
    let other = learned(&[c, a, b]).knowledge;
    for (x, y) in one.mean.iter().zip(&other.mean) {
        assert_close(*x, *y, 1e-9, 1e-9);
    }
}

#[test]
fn a_build_that_does_not_fit_is_named_and_the_others_teach_as_without_it() {
    let dice = &mut Dice(5);
    let factors = times([1.1, 0.9, 1.15, 0.9, 1.0]);
    let mut builds: Vec<Build> = [frame(1200, 900, 2), frame(900, 900, 1), frame(1500, 800, 2)]
        .iter()
        .map(|job| read(&prepared(job), &factors, dice))
        .collect();
    // Read in inches, noted as millimetres.
    for reading in &mut builds[1].readings {
        reading.change_mm.value *= 25.4;
    }
    let all = learned(&builds);
    assert_eq!(all.misfits.len(), 1, "{:?}", all.misfits);
    assert_eq!(all.misfits[0].build, 1);
    assert_eq!(all.used, [0, 2]);
    let words =
        coldsquare_engine::learn::text::describe_misfit(&builds, &all.misfits[0], &all.knowledge);
    assert!(words.contains("inches"), "{words}");
    let without = learned(&[builds[0].clone(), builds[2].clone()]);
    assert_eq!(all.knowledge.mean, without.knowledge.mean);
}

fn example() -> (Gaussian, Vec<Linear>) {
    let prior = Gaussian {
        mean: vec![0.1, 0.0, -0.2],
        covariance: vec![
            vec![0.04, 0.01, 0.0],
            vec![0.01, 0.09, 0.0],
            vec![0.0, 0.0, 0.16],
        ],
    };
    let one = Linear {
        jacobian: vec![vec![2.0, 0.5, 0.0], vec![0.3, -1.0, 0.0]],
        read: vec![0.9, -0.1],
        noise: vec![vec![0.05, 0.01], vec![0.01, 0.08]],
    };
    let two = Linear {
        jacobian: vec![vec![1.0, 1.0, 0.4]],
        read: vec![0.6],
        noise: vec![vec![0.02]],
    };
    (prior, vec![one, two])
}

#[test]
fn the_estimator_is_that_of_numpy_in_the_exact_gaussian_case() {
    let (prior, builds) = example();
    let ours = prior.given(&builds).expect("positive");
    let rows: Vec<_> = builds
        .iter()
        .map(|b| json!({"jacobian": b.jacobian, "read": b.read, "noise": b.noise}))
        .collect();
    let theirs = ask(
        "gaussian.py",
        &json!({"mean": prior.mean, "covariance": prior.covariance, "builds": rows}),
    );
    for i in 0..3 {
        assert_close(
            ours.mean[i],
            theirs["mean"][i].as_f64().expect("a number"),
            1e-12,
            1e-10,
        );
        for j in 0..3 {
            let entry = theirs["covariance"][i][j].as_f64().expect("a number");
            assert_close(ours.covariance[i][j], entry, 1e-12, 1e-10);
        }
    }
    for (k, quantile) in theirs["chi2_999"]
        .as_array()
        .expect("a list")
        .iter()
        .enumerate()
    {
        // Wilson and Hilferty come within 3 % of the exact quantile, 5 % for one reading.
        assert_close(
            farthest(k + 1),
            quantile.as_f64().expect("a number"),
            0.0,
            0.05,
        );
    }
}

#[test]
fn the_unit_of_the_readings_does_not_matter() {
    let (prior, mut builds) = example();
    let plain = prior.given(&builds).expect("positive");
    let inches = 1.0 / 25.4;
    for build in &mut builds {
        build
            .jacobian
            .iter_mut()
            .flatten()
            .for_each(|entry| *entry *= inches);
        build.read.iter_mut().for_each(|entry| *entry *= inches);
        build
            .noise
            .iter_mut()
            .flatten()
            .for_each(|entry| *entry *= inches * inches);
    }
    let scaled = prior.given(&builds).expect("positive");
    for (a, b) in plain.mean.iter().zip(&scaled.mean) {
        assert_close(*a, *b, 1e-12, 1e-10);
    }
}
