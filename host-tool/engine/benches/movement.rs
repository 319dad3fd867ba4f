//! How many orders of welding a second the movement engine tries, beside solving the whole frame anew after each weld.
//!
//! Both ways lay the same welds on the same frame and must agree to 1e-9 of the greatest movement before they are timed.
//! The table at the end is the one in docs/decisions/0006: the fastest of many runs each, because what else the machine
//! does can only slow a run down.

use coldsquare_engine::job::from_text;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::cost::Cost;
use coldsquare_engine::movement::effect::Factors;
use coldsquare_engine::movement::engine::{Engine, Shrinkage};
use coldsquare_engine::movement::resolve::lay_by_resolving;
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// A gate of four mitred members, four welds a corner, and bars with four welds each.
fn gate(welds: usize) -> Job {
    let bars = (welds - 16) / 4;
    let text = format!(
        r#"
units = "mm"
material = "steel"
[frame]
width = {}
height = 900
section = "SHS 40x40x3"
corners = "mitred"
[frame.bars]
count = {bars}
section = "SHS 20x20x2"
welded = ["front", "back"]
[procedure]
process = 135
volts = [17, 20]
amps = [95, 135]
travel_speed = [6, 9]
"#,
        400 + 60 * bars
    );
    let job = from_text("gate", &text).expect("a job");
    assert_eq!(job.welds.len(), welds);
    job
}

/// An order that jumps about the frame, another one for each `seed`.
fn order(welds: usize, seed: usize) -> Vec<usize> {
    // 7 and the numbers of welds share no factor.
    (0..welds).map(|k| (7 * k + seed) % welds).collect()
}

fn agree(job: &Job, engine: &Engine, shrinkage: &Shrinkage) {
    let order = order(job.welds.len(), 3);
    let fast = engine.lay(&order, shrinkage);
    let slow = lay_by_resolving(job, engine, &order, shrinkage).expect("it stands throughout");
    let scale = slow
        .released_mm
        .iter()
        .fold(0.0f64, |most, mm| most.max(mm.abs()));
    for (fast, slow) in fast.released_mm.iter().zip(&slow.released_mm) {
        assert!((fast - slow).abs() <= 1e-9 * scale, "{fast} against {slow}");
    }
}

fn movement(c: &mut Criterion) {
    for welds in [20, 60, 200] {
        let job = gate(welds);
        let engine = Engine::new(&job).expect("it stands");
        let heat = vec![172.0; welds];
        let shrinkage = engine
            .shrinkage(&heat, &Factors::starting())
            .expect("in range");
        agree(&job, &engine, &shrinkage);
        let mut group = c.benchmark_group(format!("{welds} welds"));
        let mut seed = 0;
        group.bench_function("one order", |b| {
            b.iter(|| {
                seed += 1;
                engine.lay(black_box(&order(welds, seed)), &shrinkage)
            });
        });
        group.bench_function("one order, with its worst on the way", |b| {
            b.iter(|| {
                seed += 1;
                let outcome = engine.lay_step_by_step(black_box(&order(welds, seed)), &shrinkage);
                Cost::default().of(engine.measures(), &outcome)
            });
        });
        group.bench_function("copy a build and lay one weld", |b| {
            let mut build = engine.start(&shrinkage, &[]);
            (0..welds / 2).for_each(|weld| build.lay(weld));
            b.iter(|| {
                let mut next = build.clone();
                next.lay(welds - 1);
                next.measures_mm()
            });
        });
        group.sample_size(10);
        group.bench_function("prepare", |b| b.iter(|| Engine::new(black_box(&job))));
        group.bench_function("one order, the frame solved anew each time", |b| {
            b.iter(|| lay_by_resolving(&job, &engine, black_box(&order(welds, 3)), &shrinkage));
        });
        group.finish();
    }
}

/// The fastest of as many runs as fit into a second, and at least of five, in ms.
fn fastest_ms<T>(mut run: impl FnMut(usize) -> T) -> f64 {
    let (begin, mut fastest) = (Instant::now(), Duration::MAX);
    for k in 0.. {
        if k >= 5 && begin.elapsed() > Duration::from_secs(1) {
            break;
        }
        let start = Instant::now();
        black_box(run(k));
        fastest = fastest.min(start.elapsed());
    }
    fastest.as_secs_f64() * 1e3
}

/// Printed unless other benchmarks are asked for by name: `cargo bench -p coldsquare --bench movement -- table`.
fn table(_: &mut Criterion) {
    let mut asked_for = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'));
    if asked_for.next().is_some_and(|name| name != "table") {
        return;
    }
    println!(
        "| welds | one order | with the shape after each weld | another second half | solved anew | times faster |"
    );
    println!("|--:|--:|--:|--:|--:|--:|");
    for welds in [20, 60, 200] {
        let job = gate(welds);
        let engine = Engine::new(&job).expect("it stands");
        let shrinkage = engine
            .shrinkage(&vec![172.0; welds], &Factors::starting())
            .expect("in range");
        let one = fastest_ms(|seed| engine.lay(&order(welds, seed), &shrinkage));
        let shapes = fastest_ms(|seed| engine.lay_step_by_step(&order(welds, seed), &shrinkage));
        let mut halfway = engine.start(&shrinkage, &[]);
        let (first, second) = (
            order(welds, 3)[..welds / 2].to_vec(),
            &order(welds, 3)[welds / 2..],
        );
        first.iter().for_each(|&weld| halfway.lay(weld));
        let half = fastest_ms(|_| {
            let mut build = halfway.clone();
            second.iter().rev().for_each(|&weld| build.lay(weld));
            build.release()
        });
        let anew =
            fastest_ms(|seed| lay_by_resolving(&job, &engine, &order(welds, seed), &shrinkage));
        println!(
            "| {welds} | {one:.3} ms | {shapes:.3} ms | {half:.3} ms | {anew:.1} ms | {:.0} |",
            anew / one
        );
    }
}

criterion_group!(benches, movement, table);
criterion_main!(benches);
