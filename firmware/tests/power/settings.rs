//! The settings: calibration, process, and how often the log was cleared. They stand in four cells of two segments, of
//! which two are enough.

use crate::cells::{event, frame, layout, prepared, read};
use crate::life::header;
use crate::stubborn::Stubborn;
use coldsquare_core::journal::{CELL, CellHeader, Content, open, seal};
use coldsquare_core::process::Process;
use coldsquare_core::record::{EventKind, Header, Record};
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::journal::{Journal, MountError};
use coldsquare_firmware::store::{Store, StoreError};

/// The cells of the first segment, and of the second.
const FIRST: [u32; 2] = [8, 12];
const SECOND: [u32; 2] = [16, 20];
const ALL: [u32; 4] = [8, 12, 16, 20];

fn card(refuses: Vec<(u32, u32)>) -> Card<Stubborn> {
    assert_eq!(layout().settings(), [FIRST, SECOND]);
    Card::at(Stubborn::new(prepared().into_sectors(), refuses), 0, 200)
}

fn tell(journal: &mut Journal<&mut Card<Stubborn>>, header: &Header) -> Result<(), StoreError> {
    let sequence = journal.resume().sequence;
    journal.append(&frame(sequence, &Record::Header(header.clone())))?;
    journal.sync()
}

/// Cells of the settings that were to be written since this was asked last.
fn asked(card: &mut Card<Stubborn>) -> Vec<u32> {
    let asked = std::mem::take(&mut card.sectors().asked);
    asked
        .into_iter()
        .filter(|cell| ALL.contains(cell))
        .collect()
}

/// The journal numbers in the cells of the settings that are whole.
fn numbers(card: &mut Card<Stubborn>) -> Vec<u32> {
    let sectors = &card.sectors().card.sectors;
    let whole = |cell: &u32| open(&sectors[*cell as usize]).ok();
    ALL.iter()
        .filter_map(whole)
        .map(|cell| cell.journal)
        .collect()
}

/// A start and a long rest.
fn rest(card: &mut Card<Stubborn>) {
    let mut journal = Journal::mount(&mut *card).expect("it answers");
    (0..1000).for_each(|_| journal.idle());
}

#[test]
fn settings_are_written_when_one_of_them_changes_and_at_no_other_time() {
    let mut card = card(vec![]);
    rest(&mut card);
    assert!(card.sectors().asked.is_empty(), "nothing was measured yet");
    let mut journal = Journal::mount(&mut card).expect("prepared");
    let mut now = header(0, 7);
    assert_eq!(tell(&mut journal, &now), Ok(()));
    assert_eq!(asked(journal.medium()), ALL);
    // Each start writes a header.
    now.start = 9000;
    now.title = "frame".try_into().expect("short");
    assert_eq!(tell(&mut journal, &now), Ok(()));
    assert!(asked(journal.medium()).is_empty());
    drop(journal);
    let changes: [fn(&mut Header); 4] = [
        |header| header.calibration.current.gain_per_count = 0.5,
        |header| header.calibrated_unix_s = 8,
        |header| header.arc.striking = 77,
        |header| header.process = Some(Process::Tig),
    ];
    for change in changes {
        let mut journal = Journal::mount(&mut card).expect("sound");
        change(&mut now);
        assert_eq!(tell(&mut journal, &now), Ok(()));
        assert_eq!(asked(journal.medium()), ALL);
        drop(journal);
        let journal = Journal::mount(&mut card).expect("sound");
        assert_eq!(journal.last_header(), Some(&now));
    }
    rest(&mut card);
    assert!(asked(&mut card).is_empty(), "all four stand");
}

#[test]
fn two_cells_are_enough_and_the_others_are_written_when_they_can_be() {
    let mut card = card(FIRST.map(|cell| (cell, u32::MAX)).to_vec());
    let mut journal = Journal::mount(&mut card).expect("prepared");
    assert_eq!(tell(&mut journal, &header(0, 7)), Ok(()));
    // The one segment is left alone until there is no hope for the other.
    let tried: Vec<_> = [FIRST; 4].concat().into_iter().chain(SECOND).collect();
    assert_eq!(asked(journal.medium()), tried);
    assert_eq!(journal.clear(), Ok(()));
    drop(journal);
    assert_eq!(numbers(&mut card), [4, 4]);
    let mut journal = Journal::mount(&mut card).expect("sound");
    assert_eq!(journal.cleared(), 1);
    assert_eq!(journal.last_header(), Some(&header(0, 7)));
    let mut next = header(0, 8);
    next.process = Some(Process::Tig);
    assert_eq!(tell(&mut journal, &next), Ok(()));
    journal.medium().sectors().refuses.clear();
    (0..10).for_each(|_| journal.idle());
    drop(journal);
    assert_eq!(numbers(&mut card), [4; 4]);
    let journal = Journal::mount(&mut card).expect("sound");
    assert_eq!(journal.last_header(), Some(&next));
}

/// While nothing else has the calibration, its cells are not touched.
#[test]
fn the_second_segment_is_written_only_once_the_first_has_taken_the_settings() {
    let mut card = card(FIRST.map(|cell| (cell, 1)).to_vec());
    let mut journal = Journal::mount(&mut card).expect("prepared");
    assert_eq!(tell(&mut journal, &header(0, 7)), Ok(()));
    assert_eq!(
        asked(journal.medium()),
        [&FIRST[..], &FIRST, &SECOND].concat()
    );
    drop(journal);
    // Both cells of the first segment are lost, for good.
    for cell in FIRST {
        card.sectors().card.sectors[cell as usize].fill(0xA5);
    }
    card.sectors().refuses = FIRST.map(|cell| (cell, u32::MAX)).to_vec();
    rest(&mut card);
    let tried = asked(&mut card);
    assert!(
        !tried.is_empty() && tried.iter().all(|cell| FIRST.contains(cell)),
        "{tried:?}"
    );
    let journal = Journal::mount(&mut card).expect("sound");
    assert_eq!(journal.last_header(), Some(&header(0, 7)));
}

#[test]
fn a_worn_cell_of_the_settings_is_tried_a_few_times_a_start() {
    let mut card = card(vec![(8, u32::MAX)]);
    let mut journal = Journal::mount(&mut card).expect("prepared");
    assert_eq!(tell(&mut journal, &header(0, 7)), Ok(()));
    drop(journal);
    asked(&mut card);
    rest(&mut card);
    assert_eq!(asked(&mut card).len(), 3 * 4);
}

#[test]
fn settings_whose_writing_was_cut_off_are_the_same_in_all_cells_after_the_next_start() {
    for is_clear in [false, true] {
        let mut card = card(vec![]);
        let mut journal = Journal::mount(&mut card).expect("prepared");
        assert_eq!(tell(&mut journal, &header(0, 7)), Ok(()));
        // Two cells, then the plug is pulled.
        let date = if is_clear {
            journal
                .medium()
                .sectors()
                .card
                .power
                .goes_after(2 * CELL as u64);
            let _ = journal.clear();
            7
        } else {
            let changed = frame(1, &Record::Header(header(0, 8)));
            journal
                .medium()
                .sectors()
                .card
                .power
                .goes_after(2 * CELL as u64);
            let _ = journal.append(&changed);
            8
        };
        drop(journal);
        card.sectors().card.power.comes_back();
        let number = 3 + u32::from(is_clear);
        let journal = Journal::mount(&mut card).expect("sound");
        assert_eq!(journal.last_header(), Some(&header(0, date)));
        drop(journal);
        assert_eq!(numbers(&mut card), [number; 4]);
        let sectors = &card.sectors().card.sectors;
        let payload = |cell: u32| &sectors[cell as usize][20..508];
        assert!(ALL.iter().all(|cell| payload(*cell) == payload(8)));
    }
}

/// What a refused cell holds may be the number in force; the log can say so too, if one of its areas can be asked.
#[test]
fn while_the_number_in_force_is_not_certain_there_is_no_start() {
    let (kept, ring) = (layout().retained().first + 3, layout().ring().first + 5);
    for (refused, starts) in [
        (&[8][..], true),
        (&[8, kept], true),
        (&[8, ring], true),
        (&[kept, ring], true),
        (&[8, kept, ring], false),
        (&ALL, false),
    ] {
        let mut card = card(vec![]);
        let mut journal = Journal::mount(&mut card).expect("prepared");
        assert_eq!(tell(&mut journal, &header(0, 7)), Ok(()));
        drop(journal);
        card.sectors().card.unreadable = refused.iter().map(|cell| (*cell, u32::MAX)).collect();
        let why = Journal::mount(&mut card).err();
        assert_eq!(why, (!starts).then_some(MountError::Fault), "{refused:?}");
    }
}

#[test]
fn a_cell_of_another_area_puts_no_number_in_force() {
    let mut card = card(vec![]);
    let mut journal = Journal::mount(&mut card).expect("prepared");
    let press = event(0, EventKind::PowerOn, 1);
    journal.append(&press).expect("room");
    journal.sync().expect("it writes");
    drop(journal);
    let header = CellHeader {
        content: Content::Retained,
        journal: layout().journal + 3,
        number: 2,
        offset: 0,
        used: 5,
        beads: 0,
        starts: 0,
    };
    let place = layout().ring().first + 2;
    seal(&header, &mut card.sectors().card.sectors[place as usize]);
    let mut journal = Journal::mount(&mut card).expect("sound");
    assert_eq!(journal.cleared(), 0);
    assert!(read(&mut journal) == press);
}
