//! What a journal does about the cell that it is to write next: what must stay there stays, and what is refused is tried
//! again where it can do no harm.

use crate::cells::{event, layout, prepared, read};
use crate::search::{WRITTEN, pressed};
use crate::stubborn::Stubborn;
use coldsquare_core::journal::{CELL, CellBytes, CellHeader, Content, payload_mut, seal};
use coldsquare_core::record::EventKind;
use coldsquare_core::trouble::Trouble;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::store::{Store, StoreError};

const AREAS: [Content; 2] = [Content::Retained, Content::Log];

fn first(content: Content) -> u32 {
    match content {
        Content::Retained => layout().retained().first,
        _ => layout().ring().first,
    }
}

/// A cell of this journal with these bytes.
fn cell(content: Content, number: u32, offset: u64, bytes: &[u8]) -> CellBytes {
    cell_of(layout().journal, content, number, offset, bytes)
}

fn cell_of(journal: u32, content: Content, number: u32, offset: u64, bytes: &[u8]) -> CellBytes {
    let mut cell = [0; CELL];
    payload_mut(&mut cell)[..bytes.len()].copy_from_slice(bytes);
    let header = CellHeader {
        content,
        journal,
        number,
        offset,
        used: bytes.len() as u16,
        beads: 0,
        starts: 0,
    };
    seal(&header, &mut cell);
    cell
}

/// What comes of this in the next cell of an area: how many cells farther the next press went, or what is told.
fn met(content: Content, there: CellBytes) -> Result<u32, Option<Trouble>> {
    let mut journal = Journal::mount(pressed()).expect("sound");
    let place = (first(content) + WRITTEN) as usize;
    journal.medium().sectors().sectors[place] = there;
    journal
        .append(&event(WRITTEN, EventKind::PowerOn, 1))
        .expect("room");
    if journal.sync().is_err() {
        let why = journal.trouble();
        assert_eq!(journal.medium().sectors().sectors[place], there, "{why:?}");
        return Err(why);
    }
    let area = first(content)..first(content) + layout().ring().cells;
    let written = &journal.medium().sectors().written;
    let last = written.iter().rfind(|sector| area.contains(sector));
    Ok(last.expect("it was written") - area.start - WRITTEN)
}

#[test]
fn a_cell_is_written_only_where_nothing_lies_that_must_stay() {
    let end = Journal::mount(pressed())
        .expect("sound")
        .extent()
        .expect("a log")
        .end;
    let mut torn = cell(Content::Log, WRITTEN, end, &[1; 50]);
    torn[200..].fill(0x6B);
    let mut others = torn;
    others[0] = b'x';
    let (journal, wraps, other) = (
        layout().journal,
        Err(Some(Trouble::Wraps)),
        Err(Some(Trouble::OtherCard)),
    );
    for content in AREAS {
        let ours = |number, offset, bytes| cell(content, number, offset, bytes);
        let area = match content {
            Content::Log => Content::Retained,
            _ => Content::Log,
        };
        let round = layout().ring().cells;
        for (what, there, comes) in [
            ("nothing", [0; CELL], Ok(0)),
            ("a torn cell", torn, Ok(0)),
            ("no cell", others, Ok(1)),
            (
                "an earlier journal's",
                cell_of(journal - 1, content, WRITTEN, end, &[1]),
                Ok(0),
            ),
            (
                "one of after a clearing",
                cell_of(journal + 1, content, WRITTEN, end, &[1]),
                other,
            ),
            ("one of another place", ours(WRITTEN - 5, end, &[1]), wraps),
            (
                "one of the other area",
                cell(area, WRITTEN, end, &[1]),
                wraps,
            ),
            ("other bytes", ours(WRITTEN, end, &[9]), other),
            (
                "the same bytes of elsewhere",
                ours(WRITTEN, end + 1, &[0]),
                other,
            ),
            ("what was begun", ours(WRITTEN, end, &[0]), Ok(0)),
            (
                "one of the next round",
                ours(WRITTEN + round, end, &[1]),
                other,
            ),
            ("the layout", layout().to_cell(), wraps),
            ("settings", cell(Content::Settings, 5, 0, &[]), wraps),
        ] {
            assert_eq!(met(content, there), comes, "{what}, {content:?}");
        }
    }
}

/// What stays in force after a clearing must not be taken for a cell of before.
#[test]
fn the_layout_of_a_cleared_journal_is_never_written_over() {
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    journal.clear().expect("it writes");
    let place = layout().retained().first as usize;
    journal.medium().sectors().sectors[place] = layout().to_cell();
    journal
        .append(&event(0, EventKind::PowerOn, 1))
        .expect("room");
    assert_eq!(journal.sync(), Err(StoreError::Fault));
    assert_eq!(journal.trouble(), Some(Trouble::Wraps));
    assert_eq!(
        journal.medium().sectors().sectors[place],
        layout().to_cell()
    );
}

#[test]
fn a_card_full_of_what_no_journal_wrote_has_less_room_than_it_says() {
    for (foreign, told) in [
        (63, None),
        (64, Some(Trouble::Wraps)),
        (70, Some(Trouble::Wraps)),
    ] {
        let mut journal = Journal::mount(prepared()).expect("sound");
        let place = layout().ring().first as usize;
        journal.medium().sectors().sectors[place..place + foreign].fill([0xA5; CELL]);
        journal
            .append(&event(0, EventKind::PowerOn, 1))
            .expect("room");
        assert_eq!(journal.sync().is_ok(), told.is_none(), "{foreign}");
        assert_eq!(journal.trouble(), told, "{foreign}");
    }
}

/// Cells of an area that refuse, all of them, this many times each; a press was appended.
fn refused(content: Content, times: u32, does: bool) -> Journal<Card<Stubborn>> {
    let cells = first(content)..first(content) + layout().ring().cells;
    let refuses = cells.map(|cell| (cell, times)).collect();
    let mut card = Stubborn::new(pressed().into_sectors(), refuses);
    card.does = does;
    let mut journal = Journal::mount(Card::at(card, 0, 200)).expect("sound");
    journal
        .append(&event(WRITTEN, EventKind::PowerOn, 1))
        .expect("room");
    journal
}

#[test]
fn what_is_refused_is_tried_in_four_cells_and_then_in_the_last_of_them() {
    for content in AREAS {
        let mut journal = refused(content, u32::MAX, false);
        let next = first(content) + WRITTEN;
        let tried = |journal: &mut Journal<Card<Stubborn>>| {
            let synced = journal.sync();
            let asked = std::mem::take(&mut journal.medium().sectors().asked);
            let mut inside = asked;
            inside.retain(|cell| (first(content)..first(content) + 88).contains(cell));
            (synced, inside)
        };
        let failed = Err(StoreError::Fault);
        assert_eq!(tried(&mut journal), (failed, (next..next + 4).collect()));
        for _ in 0..3 {
            assert_eq!(tried(&mut journal), (failed, vec![next + 3; 4]));
        }
        // No card is said to wrap because it refuses.
        assert_eq!(journal.trouble(), None);
        journal.medium().sectors().refuses.clear();
        assert_eq!(tried(&mut journal), (Ok(()), vec![next + 3]));
        let mut journal = Journal::mount(journal.into_medium()).expect("sound");
        assert_eq!(journal.resume().sequence, WRITTEN + 1);
        assert!(read(&mut journal).ends_with(&event(WRITTEN, EventKind::PowerOn, 1)));
    }
}

#[test]
fn what_a_card_did_and_refused_does_not_stand_in_the_way_of_what_is_stored_next() {
    for content in AREAS {
        for times in 1..4 {
            let mut journal = refused(content, times, true);
            let mut sequence = WRITTEN;
            while journal.sync().is_err() {
                // The log goes on meanwhile.
                sequence += 1;
                assert!(sequence < WRITTEN + 4, "it never stores again");
                journal
                    .append(&event(sequence, EventKind::PowerOn, 1))
                    .expect("room");
                assert_eq!(journal.trouble(), None);
            }
            let log = read(&mut journal);
            let mut journal = Journal::mount(journal.into_medium()).expect("sound");
            assert_eq!(journal.resume().sequence, sequence + 1);
            assert!(read(&mut journal) == log);
        }
    }
}

/// A kept log with one cell left.
fn nearly_full() -> (Card<Stubborn>, u32) {
    let last = layout().retained().cells - 1;
    let mut card = prepared();
    let mut journal = Journal::mount(&mut card).expect("prepared");
    for sequence in 0..last {
        journal
            .append(&event(sequence, EventKind::PowerOn, 1))
            .expect("room");
        journal.sync().expect("it writes");
    }
    assert_eq!(journal.trouble(), None);
    drop(journal);
    let card = Stubborn::new(card.into_sectors(), vec![]);
    (Card::at(card, 0, 200), last)
}

#[test]
fn the_last_cell_of_the_kept_log_is_tried_until_it_takes_what_is_there() {
    let (mut card, last) = nearly_full();
    let cell = layout().retained().first + last;
    card.sectors().refuses = vec![(cell, 5)];
    let mut journal = Journal::mount(&mut card).expect("sound");
    journal
        .append(&event(last, EventKind::PowerOn, 1))
        .expect("room");
    assert_eq!(journal.sync(), Err(StoreError::Fault));
    assert_eq!(journal.medium().sectors().asked, [cell; 4]);
    assert_eq!(journal.sync(), Ok(()));
    assert_eq!(journal.trouble(), Some(Trouble::Full));
    assert_eq!(
        journal.append(&event(last, EventKind::PowerOn, 1)),
        Err(StoreError::Full)
    );
    drop(journal);
    let mut journal = Journal::mount(&mut card).expect("sound");
    assert_eq!(journal.resume().sequence, last + 1);
    assert!(read(&mut journal).ends_with(&event(last, EventKind::PowerOn, 1)));
}

/// The last cell holds something that no journal wrote, and is passed over: nothing is left.
#[test]
fn a_kept_log_without_another_cell_is_full() {
    let (mut card, last) = nearly_full();
    let mut journal = Journal::mount(&mut card).expect("sound");
    let place = layout().retained().first + last;
    journal.medium().sectors().card.sectors[place as usize] = [0xA5; CELL];
    journal
        .append(&event(last, EventKind::PowerOn, 1))
        .expect("room");
    assert_eq!(journal.sync(), Err(StoreError::Full));
    assert_eq!(journal.trouble(), Some(Trouble::Full));
}
