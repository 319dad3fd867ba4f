//! A file of readings of an opening is written by hand: any text is read or refused with its place, and from what was read
//! follow walls, a size and a way in, or an error, without a panic.

#![no_main]

use coldsquare_engine::file_error::Source;
use coldsquare_engine::opening::answer::answer;
use coldsquare_engine::opening::rectangle::{Shape, Wanted};
use coldsquare_engine::opening::{adjust, from_source};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let source = Source::new("fuzzed.toml", text);
    let Ok(readings) = from_source(&source) else { return };
    let Ok(walls) = adjust(&readings, &source) else { return };
    for shape in [Shape::Plumb, Shape::Turned] {
        let wanted = Wanted { clearance_mm: 3.0, on_floor: true, depth_mm: 30.0, at_front: false, shape };
        if let Some(answer) = answer(&walls, &wanted, 1.0) {
            assert!(answer.width.build_mm > 0.0);
            let _ = answer.json(&walls).to_string();
        }
    }
});
