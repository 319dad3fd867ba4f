//! How many orders of welding a second the movement model simulates.
//!
//! The table at the end is the one in docs/decisions/0006: the fastest of many runs each, because what else the machine
//! does can only slow a run down. The time of solving the whole frame again after each weld is printed by a test:
//! `cargo test --release -p coldsquare-engine solved_again -- --ignored --nocapture`.

use coldsquare_engine::job::from_text;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::cost::MovementWeights;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::simulate::SimulationOptions;
use coldsquare_engine::shop::factor::Factors;
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

fn movement(c: &mut Criterion) {
    for welds in [20, 60, 200] {
        let job = gate(welds);
        let model = MovementModel::new(&job).expect("it stands");
        let heat = vec![172.0; welds];
        let shrinkage = model
            .shrinkage(&heat, &Factors::starting())
            .expect("in range");
        let mut group = c.benchmark_group(format!("{welds} welds"));
        let mut seed = 0;
        group.bench_function("one order", |b| {
            b.iter(|| {
                seed += 1;
                let sequence = model.whole_welds(black_box(&order(welds, seed)));
                model.simulate(&sequence, &shrinkage, &SimulationOptions::default())
            });
        });
        group.bench_function("one order, with its worst during welding", |b| {
            b.iter(|| {
                seed += 1;
                let sequence = model.whole_welds(black_box(&order(welds, seed)));
                let options = SimulationOptions::after_each_part();
                let outcome = model.simulate(&sequence, &shrinkage, &options);
                MovementWeights::default().of(model.measures(), &outcome)
            });
        });
        group.bench_function("copy a build state and apply one weld", |b| {
            let mut build = model.start(&shrinkage, &[]);
            (0..welds / 2).for_each(|weld| build.apply_part(&model.whole_weld(weld)));
            b.iter(|| {
                let mut next = build.clone();
                next.apply_part(&model.whole_weld(welds - 1));
                next.measures_mm()
            });
        });
        group.sample_size(10);
        group.bench_function("prepare", |b| {
            b.iter(|| MovementModel::new(black_box(&job)))
        });
        group.finish();
    }
}

/// The fastest of as many runs as fit into a second, at least five, in ms.
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

/// Printed unless other benchmarks are named: `cargo bench -p coldsquare-engine --bench movement -- table`.
fn table(_: &mut Criterion) {
    let mut named = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'));
    if named.next().is_some_and(|name| name != "table") {
        return;
    }
    println!("| welds | one order | with the measures after each weld | another second half |");
    println!("|--:|--:|--:|--:|");
    for welds in [20, 60, 200] {
        let job = gate(welds);
        let model = MovementModel::new(&job).expect("it stands");
        let shrinkage = model
            .shrinkage(&vec![172.0; welds], &Factors::starting())
            .expect("in range");
        let simulate = |seed: usize, options: &SimulationOptions<'_>| {
            model.simulate(&model.whole_welds(&order(welds, seed)), &shrinkage, options)
        };
        let one = fastest_ms(|seed| simulate(seed, &SimulationOptions::default()));
        let shapes = fastest_ms(|seed| simulate(seed, &SimulationOptions::after_each_part()));
        let mut halfway = model.start(&shrinkage, &[]);
        let (first, second) = (
            order(welds, 3)[..welds / 2].to_vec(),
            &order(welds, 3)[welds / 2..],
        );
        first
            .iter()
            .for_each(|&weld| halfway.apply_part(&model.whole_weld(weld)));
        let half = fastest_ms(|_| {
            let mut build = halfway.clone();
            second
                .iter()
                .rev()
                .for_each(|&weld| build.apply_part(&model.whole_weld(weld)));
            build.release()
        });
        println!("| {welds} | {one:.3} ms | {shapes:.3} ms | {half:.3} ms |");
    }
}

criterion_group!(benches, movement, table);
criterion_main!(benches);
