//! A file of readings of an opening, garbled: read or refused with its place, never a panic and never a size that is no
//! number.

use coldsquare_engine::file_error::Source;
use coldsquare_engine::opening::answer::answer;
use coldsquare_engine::opening::rectangle::{Shape, Wanted};
use coldsquare_engine::opening::{adjust, from_source};
use proptest::prelude::*;

const EXAMPLE: &str = include_str!("../../docs/examples/alcove.opening.toml");

fn look(text: &str) {
    let source = Source::new("garbled.toml", text);
    let Ok(readings) = from_source(&source) else {
        return;
    };
    let Ok(walls) = adjust(&readings, &source) else {
        return;
    };
    let wanted = Wanted {
        clearance_mm: 3.0,
        on_floor: false,
        depth_mm: 30.0,
        at_front: false,
        shape: Shape::Turned,
    };
    if let Some(found) = answer(&walls, &wanted, 1.0) {
        assert!(
            found.width.build_mm.is_finite() && found.width.build_mm > 0.0,
            "{text}"
        );
        assert!(found.width.clear.standard.is_finite(), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_number_changed_anywhere_is_read_or_refused(which in 0_usize..60, value in prop_oneof![-1e6..1e6_f64, -10.0..10.0_f64]) {
        let mut seen = 0;
        let mut text = String::new();
        let mut rest = EXAMPLE;
        while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
            let end = rest[at..].find(|c: char| !c.is_ascii_digit() && c != '.').map_or(rest.len(), |n| at + n);
            text += &rest[..at];
            text += &if seen == which { format!("{value:.2}") } else { rest[at..end].to_owned() };
            seen += 1;
            rest = &rest[end..];
        }
        text += rest;
        look(&text);
    }

    #[test]
    fn a_line_left_out_or_written_twice_is_read_or_refused(line in 0_usize..24, twice: bool) {
        let lines = EXAMPLE.lines().enumerate().flat_map(|(k, text)| {
            let times = if k == line { if twice { 2 } else { 0 } } else { 1 };
            std::iter::repeat_n(text, times)
        });
        look(&lines.collect::<Vec<_>>().join("\n"));
    }
}
