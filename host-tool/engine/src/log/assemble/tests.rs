//! Days of recording fit into memory: neighbours are put together, and nothing of their sums is lost.

mod arcs;
mod measured;
mod order;

use super::*;
use crate::log::tests::window;
use coldsquare_core::samples::{RawPair, WindowSums};

/// So many windows of two samples; the arc goes on and out every so many.
fn kept(windows: usize, turns: usize) -> Vec<Window> {
    let mut kept = Vec::new();
    let mut sums = WindowSums::EMPTY;
    sums.add_repeated(RawPair::new(3, 5), 2);
    for k in 0..windows {
        let window = Window {
            start: 2 * k as u64,
            arc_on: k / turns % 2 == 1,
            sums,
            ..Window::default()
        };
        keep_window(&mut kept, window);
    }
    kept
}

fn samples(windows: &[Window]) -> u64 {
    windows.iter().map(|window| u64::from(window.sums.n)).sum()
}

#[test]
fn a_day_is_kept_as_it_is_and_a_month_in_coarser_windows() {
    let day = kept(MOST_WINDOWS - 1, 600);
    assert_eq!(day.len(), MOST_WINDOWS - 1);
    for count in [MOST_WINDOWS, 3 * MOST_WINDOWS] {
        let kept = kept(count, 600);
        assert!(kept.len() < MOST_WINDOWS, "{} of {count}", kept.len());
        assert_eq!(samples(&kept), 2 * count as u64);
        let mut at = 0;
        for window in &kept {
            assert_eq!(window.start, at, "they follow one another");
            assert_eq!(window.arc_on, window.start / 1200 % 2 == 1);
            at += window.span();
        }
    }
}

/// Room grows where little can be put together, so that each window is not compared with all others again.
#[test]
fn windows_that_cannot_be_put_together_are_all_kept() {
    let count = 2 * MOST_WINDOWS + 5;
    let kept = kept(count, 1);
    assert_eq!(kept.len(), count);
    assert!(kept.capacity() >= count && kept.capacity() <= 8 * MOST_WINDOWS);
}

/// As many windows as are kept as they are, of which the first so many pairs can be put together, and no others.
fn full(pairs: usize) -> Vec<Window> {
    let one = |k: usize| window(2 * k as u64, k >= 2 * pairs && k.is_multiple_of(2), 2, 0);
    let mut kept = Vec::with_capacity(MOST_WINDOWS);
    kept.extend((0..MOST_WINDOWS - 1).map(one));
    assert_eq!(kept.capacity(), MOST_WINDOWS);
    keep_window(&mut kept, one(MOST_WINDOWS - 1));
    kept
}

/// A quarter of the room is to be free after it, or there is room for as many again.
#[test]
fn room_grows_only_where_less_than_a_quarter_becomes_free() {
    let (quarter, half) = (MOST_WINDOWS / 4, MOST_WINDOWS / 2);
    for (pairs, grows) in [
        (half, false),
        (quarter + 1, false),
        (quarter, false),
        (quarter - 1, true),
        (0, true),
    ] {
        let kept = full(pairs);
        assert_eq!(kept.len(), MOST_WINDOWS - pairs);
        let room = if grows {
            kept.len() + MOST_WINDOWS
        } else {
            MOST_WINDOWS
        };
        assert!(kept.capacity() >= room, "{pairs}");
        assert_eq!(kept.capacity() > MOST_WINDOWS, grows, "{pairs}");
    }
}

#[test]
fn nothing_is_put_together_while_there_is_room() {
    let one = |k: usize| window(2 * k as u64, false, 2, 0);
    let mut few = Vec::with_capacity(4);
    (0..4).for_each(|k| keep_window(&mut few, one(k)));
    assert_eq!((few.len(), few.capacity()), (4, 4));
    let mut many = Vec::with_capacity(2 * MOST_WINDOWS);
    many.extend((0..MOST_WINDOWS).map(one));
    keep_window(&mut many, one(MOST_WINDOWS));
    assert_eq!(many.len(), MOST_WINDOWS + 1);
}

#[test]
fn only_neighbours_that_follow_one_another_in_one_state_of_the_arc_become_one() {
    let mut windows = vec![
        window(0, false, 100, 0),
        window(100, false, 90, 10),
        // The arc is lit, and goes out.
        window(200, true, 100, 0),
        window(300, false, 50, 50),
        window(400, false, 100, 0),
        // A sample is missing between them.
        window(500, true, 100, 0),
        window(601, true, 100, 0),
        // More than a window holds.
        window(701, true, 65_500, 0),
        window(66_201, true, 10, 0),
        window(66_211, false, 1, 0),
    ];
    thin(&mut windows);
    let found: Vec<_> = windows
        .iter()
        .map(|window| (window.start, window.arc_on, window.sums.n, window.dropped))
        .collect();
    assert_eq!(
        found,
        [
            (0, false, 190, 10),
            (200, true, 100, 0),
            (300, false, 150, 50),
            (500, true, 100, 0),
            (601, true, 100, 0),
            (701, true, 65_510, 0),
            (66_211, false, 1, 0),
        ]
    );
    // 100 and 65 510 samples of 24 V and 150 A: 2400 and 1500 counts.
    assert_eq!(windows[5].sums.vi, 65_510 * 2400 * 1500);
}
