//! What is read back beside what cannot be read, and after windows made room.

use crate::cells::{layout, prepared, rate};
use crate::each_sector::{Bursts, Pen};
use coldsquare_core::journal::{CELL, open};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_firmware::store::{Store, StoreError};

/// A log of windows whose ring has gone round five times.
fn gone_round() -> Card<MemoryCard> {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    journal.append(&rate()).expect("room");
    let mut pen = Pen {
        sequence: 1,
        position: 0,
    };
    let ring = u64::from(layout().ring().cells) * CELL as u64;
    while journal.extent().expect("a log").end < 5 * ring {
        pen.windows(&mut journal, 100);
    }
    drop(journal);
    card
}

#[test]
fn the_newest_windows_of_a_ring_that_went_round_are_all_read() {
    let mut journal = Journal::mount(gone_round()).expect("sound");
    let end = journal.extent().expect("a log").end;
    let (mut at, mut begin, mut piece) = (0, 0, [0; 400]);
    while at < end {
        let (place, length) = journal.read(at, &mut piece).expect("it answers");
        assert!(
            place >= at && length > 0,
            "{length} bytes at {place} for {at}"
        );
        if place > at {
            begin = place;
        }
        at = place + length as u64;
    }
    // Four cells may be written next; a cell has 440 bytes of windows at least.
    let cells = u64::from(layout().ring().cells) - 6;
    assert!(end - begin >= cells * 400, "{begin} to {end}");
}

/// A card that was pushed in again answers sooner; a sector that is lost must not stand in the way for ever.
#[test]
fn what_is_refused_is_asked_for_eight_times_before_reading_goes_on_behind_it() {
    let mut card = gone_round();
    let ring = layout().ring().first;
    let sector = ring + 40;
    let lost = open(&card.sectors().sectors[sector as usize]).expect("whole");
    let behind = lost.offset + u64::from(lost.used);
    let mut journal = Journal::mount(card).expect("sound");
    let mut pen = Pen::after(&mut journal);
    let mut piece = [0; 100];
    for from in [lost.offset, lost.offset + 50] {
        // Refused, answered, refused again.
        for is_refused in [true, false, true] {
            // What was read is forgotten when something is written.
            pen.windows(&mut journal, 1);
            let refused = if is_refused { u32::MAX } else { 0 };
            journal.medium().sectors().unreadable = vec![(sector, refused)];
            for _ in 1..8 {
                let read = journal.read(from, &mut piece);
                match is_refused {
                    true => assert_eq!(read, Err(StoreError::Fault)),
                    false => assert_eq!(read.map(|(at, _)| at), Ok(from)),
                }
            }
            let at = if is_refused { behind } else { from };
            assert_eq!(journal.read(from, &mut piece).map(|(at, _)| at), Ok(at));
            // And it stays so.
            assert_eq!(journal.read(from, &mut piece).map(|(at, _)| at), Ok(at));
        }
    }
}

/// At the first refusal it is said; no answer is empty, and none is past what is there.
#[test]
fn a_read_during_which_the_card_stops_answering_says_so_or_gives_what_is_there() {
    let mut card = gone_round().into_sectors();
    let cells = layout().ring().first..layout().ring().first + layout().ring().cells;
    let headers = cells.filter_map(|cell| open(&card.sectors[cell as usize]).ok());
    let newest = headers.max_by_key(|header| header.offset).expect("a log");
    card.answers_all = false;
    let bursts = Bursts::new(card, 0, 0);
    let mut journal = Journal::mount(Card::at(bursts, 0, 200)).expect("sound");
    let (mut refused, mut given) = (0, 0);
    for back in [0, 1, 30_000, 20_000] {
        let from = newest.offset - back;
        for count in (1..30).chain((30..1500).step_by(7)) {
            for at in 0..4 {
                let mut piece = [0; 100];
                // Where the read before went decides where this one begins.
                for near in [from.saturating_sub(5000), from] {
                    journal.medium().sectors().refused = 0..0;
                    let sound = journal.read(near, &mut piece);
                    assert!(
                        matches!(sound, Ok((place, 1..)) if place == near),
                        "{sound:?}"
                    );
                    // What was read is forgotten.
                    let _ = journal.read(newest.offset - 10_000, &mut piece);
                    let begin = journal.medium().sectors().asked + at;
                    journal.medium().sectors().refused = begin..begin + count;
                    match journal.read(from, &mut piece) {
                        Err(StoreError::Fault) => refused += 1,
                        Ok((place, 1..)) if place == from => given += 1,
                        other => {
                            panic!("{other:?} for {from}: {count} reads refused from the {at}th on")
                        }
                    }
                }
            }
        }
    }
    assert!(
        refused > 100 && given > 1000,
        "{refused} refused, {given} given"
    );
}

/// It was read a moment ago, and is no cell any more: nothing is gained by asking again.
#[test]
fn a_cell_that_is_lost_is_passed_over_at_once() {
    let mut card = gone_round();
    let sector = layout().ring().first + 40;
    let lost = open(&card.sectors().sectors[sector as usize]).expect("whole");
    let behind = lost.offset + u64::from(lost.used);
    let mut journal = Journal::mount(card).expect("sound");
    let mut piece = [0; 100];
    let sound = journal.read(lost.offset, &mut piece);
    assert_eq!(sound, Ok((lost.offset, 100)));
    // What was read is forgotten when something is written.
    Pen::after(&mut journal);
    journal.medium().sectors().sectors[sector as usize] = [0xA5; CELL];
    let next = journal.read(lost.offset, &mut piece);
    assert_eq!(next, Ok((behind, 100)));
}
