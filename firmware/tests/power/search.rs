//! Where a log goes on after cells that hold nothing, or that the card refuses to read: behind all that was stored.

use crate::cells::{event, frame, layout, prepared, rate};
use coldsquare_core::bead::Window;
use coldsquare_core::journal::{CELL, CellRange};
use coldsquare_core::record::{EventKind, Record};
use coldsquare_core::samples::{RawPair, WindowSums};
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::journal::{Journal, MountError};
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::{Resume, Store};

/// Cells written in each area.
pub const WRITTEN: u32 = 60;
const AREAS: [fn() -> CellRange; 2] = [|| layout().retained(), || layout().ring()];

/// A header and presses, each in a cell of its own.
pub fn pressed() -> Card<MemoryCard> {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    journal.append(&rate()).expect("room");
    for sequence in 1..WRITTEN {
        journal.sync().expect("it writes");
        journal
            .append(&event(sequence, EventKind::PowerOn, 1))
            .expect("room");
    }
    journal.sync().expect("it writes");
    drop(journal);
    card
}

/// Sectors from `first` on that refuse to be read for good.
fn refuses(card: &mut Card<MemoryCard>, first: u32, count: u32) {
    let card = card.sectors();
    card.unreadable
        .extend((first..first + count).map(|sector| (sector, u32::MAX)));
}

/// The cells of both areas into which the next press goes, by their number.
fn goes_on(card: &mut Card<MemoryCard>) -> Result<[u32; 2], MountError> {
    let mut journal = Journal::mount(&mut *card)?;
    let before = journal.medium().sectors().written.len();
    let press = event(journal.resume().sequence, EventKind::PowerOn, 1);
    journal.append(&press).expect("room");
    journal.sync().expect("it writes");
    let written = &journal.medium().sectors().written[before..];
    let [kept, ring] = written else {
        panic!("{written:?}")
    };
    Ok([
        kept - layout().retained().first,
        ring - layout().ring().first,
    ])
}

fn resume(card: &mut Card<MemoryCard>) -> (Resume, u64) {
    let mut journal = Journal::mount(card).expect("it answers");
    let end = journal.extent().expect("a log").end;
    journal.medium();
    (journal.resume(), end)
}

#[test]
fn seven_unwritten_cells_in_a_row_hide_nothing_that_was_written_after_them() {
    for area in AREAS.map(|area| area()) {
        for gap in 0..WRITTEN - 7 {
            let mut card = pressed();
            let begin = (area.first + gap) as usize;
            card.sectors().sectors[begin..begin + 7].fill([0; CELL]);
            assert_eq!(goes_on(&mut card), Ok([WRITTEN; 2]), "{gap} of {area:?}");
        }
    }
}

#[test]
fn four_refused_cells_hide_nothing_and_with_five_there_is_no_start() {
    for (index, area) in AREAS.map(|area| area()).into_iter().enumerate() {
        let mut waited = 0;
        for gap in 0..=WRITTEN - 4 {
            let mut card = pressed();
            refuses(&mut card, area.first + gap, 4);
            assert_eq!(goes_on(&mut card), Ok([WRITTEN; 2]), "{gap} of {area:?}");
        }
        for gap in 0..=WRITTEN - 5 {
            let mut card = pressed();
            refuses(&mut card, area.first + gap, 5);
            // Unless the search does not come by.
            match goes_on(&mut card) {
                Ok(at) => assert_eq!(at[index], WRITTEN, "{gap} of {area:?}"),
                Err(why) => {
                    assert_eq!(why, MountError::Fault);
                    waited += 1;
                }
            }
        }
        assert!(waited >= 3, "{waited} of {area:?}");
    }
}

#[test]
fn a_log_goes_on_behind_a_refused_cell_that_failed_writes_can_have_left() {
    for (index, area) in AREAS.map(|area| area()).into_iter().enumerate() {
        let refused = |places: &[u32]| {
            let mut card = pressed();
            for place in places {
                refuses(&mut card, area.first + WRITTEN + place, 1);
            }
            goes_on(&mut card).map(|at| at[index] - WRITTEN)
        };
        for (places, at) in [
            (&[0][..], Ok(1)),
            (&[1], Ok(2)),
            (&[2], Ok(3)),
            (&[3], Ok(4)),
            // Nothing was ever written so far behind the end.
            (&[4], Ok(0)),
            (&[0, 1, 2, 3], Ok(4)),
            (&[3, 4], Err(MountError::Fault)),
            (&[0, 4], Err(MountError::Fault)),
            (&[0, 1, 2, 3, 4], Err(MountError::Fault)),
        ] {
            assert_eq!(refused(places), at, "{places:?} of {area:?}");
        }
    }
}

/// Stores windows of these numbers, each in a cell of its own.
fn store_windows(card: &mut Card<MemoryCard>, numbers: std::ops::Range<u32>) {
    let mut journal = Journal::mount(card).expect("it answers");
    for number in numbers {
        let mut sums = WindowSums::EMPTY;
        sums.add_repeated(RawPair::new(3, 5), 100);
        let window = Window {
            start: 100 * u64::from(number),
            sums,
            ..Window::default()
        };
        let record = frame(number, &Record::Window(window));
        journal.append(&record).expect("room");
        journal.sync().expect("it writes");
    }
}

/// Failed writes leave cells of the round before, here seven and three in a row with a torn one between them. The latest
/// round is what stands behind them; taken for the end, they would hide it.
#[test]
fn cells_of_the_round_before_do_not_hide_the_latest_round() {
    let ring = layout().ring();
    let mut card = prepared();
    store_windows(&mut card, 0..ring.cells);
    let round_before = card.sectors().sectors.clone();
    store_windows(&mut card, ring.cells..ring.cells + 40);
    for at in 0..11 {
        let cell = (ring.first + at) as usize;
        card.sectors().sectors[cell] = round_before[cell];
    }
    card.sectors().sectors[ring.first as usize + 7][100] ^= 0xFF;
    store_windows(&mut card, ring.cells + 40..ring.cells + 41);
    let written = card.sectors().written.last();
    assert_eq!(written, Some(&(ring.first + 40)));
}

/// Of the last bead one of the two areas must tell.
#[test]
fn without_the_last_cell_of_both_areas_there_is_no_start() {
    let last = AREAS.map(|area| area().first + WRITTEN - 1);
    for (refused, at) in [
        (&last[..1], Ok([WRITTEN; 2])),
        (&last[1..], Ok([WRITTEN; 2])),
        (&last[..], Err(MountError::Fault)),
    ] {
        let mut card = pressed();
        for sector in refused {
            refuses(&mut card, *sector, 1);
        }
        assert_eq!(goes_on(&mut card), at, "{refused:?}");
    }
}

/// What a refused cell holds may be read some day: its bytes, records and time must be free.
#[test]
fn room_is_left_for_all_that_refused_cells_can_hold() {
    let left = |cells: u32| {
        let mut card = pressed();
        let sound = resume(&mut card);
        refuses(&mut card, layout().ring().first + WRITTEN - cells, cells);
        let now = resume(&mut card);
        [
            now.1 - sound.1,
            u64::from(now.0.sequence - sound.0.sequence),
            now.0.position - sound.0.position,
        ]
    };
    let one = left(1);
    // A payload has 476 bytes, and a window 13 at least and a second at most; a second has 8000 samples.
    let most_windows = 476 / 13;
    for (left, least) in one
        .into_iter()
        .zip([476, most_windows, most_windows * 8000])
    {
        assert!((least..=4 * least).contains(&left), "{one:?}");
    }
    for cells in 2..=4 {
        assert_eq!(left(cells), one.map(|left| left * u64::from(cells)));
    }
    assert_eq!(left(0), [0; 3]);
}

/// A damaged card takes longer; a sound one is ready at once.
#[test]
fn a_start_on_a_sound_card_reads_few_cells() {
    let mut reads = Vec::new();
    for mut card in [prepared(), pressed()] {
        card.sectors().reads = 0;
        Journal::mount(&mut card).expect("sound");
        reads.push(card.sectors().reads);
    }
    println!("{reads:?} reads");
    assert!(reads.iter().all(|reads| *reads < 200), "{reads:?}");
}
