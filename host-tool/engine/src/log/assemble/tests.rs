//! Days of recording fit into memory: neighbours are put together, and nothing of their sums is lost.

use super::*;
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
