//! How long it takes to put welds in order: 20 exactly, 60 and 200 by search.

use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::{Item, Side};
use coldsquare_engine::plan::search::{Search, exact};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

/// Welds by a fixed recipe: moments and places that fill their range evenly, both faces.
fn welds(count: u32) -> (Vec<[i32; 7]>, Vec<Item>) {
    let part = |k: u32, n: u32| {
        let spread = k
            .wrapping_mul(2_654_435_761)
            .wrapping_add(n.wrapping_mul(40_503_019));
        (spread >> 12) as i32 - (1 << 19)
    };
    let moments = (0..count)
        .map(|k| std::array::from_fn(|n| part(k, n as u32)))
        .collect();
    let items = (0..count)
        .map(|k| Item {
            side: [Side::Front, Side::Back, Side::Either][k as usize % 3],
            at_mm: std::array::from_fn(|n| part(k, n as u32) >> 9),
            ..Item::default()
        })
        .collect();
    (moments, items)
}

fn exactly(bencher: &mut Criterion, flips: u16) {
    let (moments, items) = welds(20);
    let balance = ShrinkageBalance::new(&moments);
    bencher.bench_function(&format!("20 welds exactly, {flips} flips"), |b| {
        b.iter(|| exact::solve(&balance, black_box(&items), flips));
    });
}

fn searched(bencher: &mut Criterion, count: u32) {
    let (moments, items) = welds(count);
    let balance = ShrinkageBalance::new(&moments);
    bencher.bench_function(&format!("{count} welds, 10 000 orders tried"), |b| {
        b.iter(|| {
            let search = Search::building(&balance, black_box(&items), 3, 1);
            search.map(|mut search| {
                search.run(10_000, |_| true);
                search.best().1
            })
        });
    });
}

fn orders(bencher: &mut Criterion) {
    exactly(bencher, 3);
    searched(bencher, 60);
    searched(bencher, 200);
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = orders
}
criterion_main!(benches);
