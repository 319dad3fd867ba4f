//! The log off a card is the log that the logger would have kept in memory, byte for byte, and off the image of a whole
//! card too; what will not do says so.

use coldsquare_core::journal::{CELL, Layout};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{
    Build, MemoryCard, MemoryStore, SimulatedBead, Transfer, log_build_to,
};
use coldsquare_firmware::store::Store;
use coldsquare_tests::command::coldsquare;
use std::path::PathBuf;

fn build() -> Build {
    let short = Transfer::ShortCircuit { shorts_hz: 80.0 };
    let bead = SimulatedBead {
        press: Some(Input::Next),
        ..SimulatedBead::new(short, 19.0, 120.0, 3.0)
    };
    Build::new(
        "Gate between two piers",
        Process::MagSolid,
        2000.0,
        vec![bead; 12],
    )
}

/// A build's log in a journal of so many cells, and as it is in memory.
fn welded(cells: u32, kept_256ths: u8) -> (Vec<u8>, Vec<u8>) {
    let (memory, _) = log_build_to(&build(), 7, MemoryStore::new()).expect("usable");
    let mut card = MemoryCard::new(cells, 1);
    let layout = Layout::divide(99, cells, 4, kept_256ths).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let journal = Journal::mount(Card::at(card, 0, cells)).expect("mounted");
    let (journal, _) = log_build_to(&build(), 7, journal).expect("usable");
    let card = journal.into_medium().into_sectors();
    (card.sectors.concat(), memory.into_bytes())
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("temporary folder"))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn name(&self, name: &str) -> String {
        self.path(name).to_str().expect("plain path").to_owned()
    }

    fn write(&self, name: &str, bytes: &[u8]) -> String {
        std::fs::write(self.path(name), bytes).expect("room");
        self.name(name)
    }
}

/// Everything but windows.
fn kept(log: &[u8]) -> Vec<Record> {
    let (mut reader, mut rest) = (Reader::new(), log);
    let mut records = Vec::new();
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record {
                record: Record::Window(_),
                ..
            } => {}
            Entry::Record { record, .. } => records.push(record),
            Entry::Damage { .. } => panic!("{entry:?}"),
        }
    }
    records
}

#[test]
fn the_log_off_a_card_is_the_logger_s_byte_for_byte() {
    let (journal, memory) = welded(4096, 64);
    let folder = Folder::new();
    let (file, log) = (
        folder.write("COLDSQ.JNL", &journal),
        folder.name("gate.log"),
    );
    let ran = coldsquare(["pull", &file, &log]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(ran.out.contains("Nothing is missing."), "{}", ran.out);
    assert!(std::fs::read(&log).expect("pulled") == memory);
    // The journal itself is read like the log that is in it.
    let beads = |of: &str| coldsquare(["beads", of, "--csv"]);
    assert_eq!(beads(&file).code, 0, "{}", beads(&file).err);
    assert_eq!(beads(&file).out, beads(&log).out);
    // What is there is not touched, and a pull that was cut short goes on.
    assert_eq!(coldsquare(["pull", &file, &log]).code, 4);
    let half = folder.name("half.log");
    folder.write("half.log.part", &memory[..5000]);
    let ran = coldsquare(["pull", &file, &half]);
    assert!(
        ran.out.contains("Resumed after 5000 bytes."),
        "{}{}",
        ran.out,
        ran.err
    );
    assert!(std::fs::read(&half).expect("pulled") == memory);
}

/// A card whose journal was emptied over the link, and what was welded before that is in another file.
#[test]
fn an_emptied_card_gives_the_log_that_came_after() {
    let memory = log_build_to(&build(), 8, MemoryStore::new())
        .expect("usable")
        .0;
    let memory = memory.into_bytes();
    let mut card = MemoryCard::new(4096, 1);
    card.sectors[0] = Layout::divide(99, 4096, 4, 64)
        .expect("large enough")
        .to_cell();
    let mut journal = Journal::mount(Card::at(card, 0, 4096)).expect("mounted");
    for seed in [6, 7] {
        journal = log_build_to(&build(), seed, journal).expect("usable").0;
        assert!(journal.can_clear() && journal.clear().is_ok());
    }
    let journal = log_build_to(&build(), 8, journal).expect("usable").0;
    let card = journal.into_medium().into_sectors().sectors.concat();
    let folder = Folder::new();
    let (file, log) = (folder.write("COLDSQ.JNL", &card), folder.name("gate.log"));
    // A part of the log before it is not mixed with this one, and not lost either.
    let before = [0x55; 300];
    folder.write("gate.log.part", &before);
    let ran = coldsquare(["pull", &file, &log]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out
            .contains("gate.log.part-1: its end is not in the logger's log"),
        "{}",
        ran.out
    );
    assert!(std::fs::read(&log).expect("pulled") == memory);
    assert!(std::fs::read(folder.path("gate.log.part-1")).expect("kept") == before);
}

/// The card's file system here has one cluster a sector and the journal behind its root folder; the usual tools make
/// theirs in `firmware/tests/power`.
fn image(journal: &[u8], table: bool) -> Vec<u8> {
    let sectors = (journal.len() / CELL) as u32;
    let fat_sectors = (sectors + 3).div_ceil(128);
    let reserved = 32;
    let start = if table { 64 } else { 0 };
    let data = reserved + fat_sectors;
    let mut boot = [0u8; CELL];
    boot[0] = 0xEB;
    boot[11..13].copy_from_slice(&512u16.to_le_bytes());
    boot[13] = 1;
    boot[14..16].copy_from_slice(&(reserved as u16).to_le_bytes());
    boot[16] = 1;
    boot[32..36].copy_from_slice(&(data + 1 + sectors).to_le_bytes());
    boot[36..40].copy_from_slice(&fat_sectors.to_le_bytes());
    boot[44..48].copy_from_slice(&2u32.to_le_bytes());
    boot[510..].copy_from_slice(&[0x55, 0xAA]);
    let mut root = [0u8; CELL];
    root[..11].copy_from_slice(b"COLDSQ  JNL");
    root[26] = 3;
    root[28..32].copy_from_slice(&(journal.len() as u32).to_le_bytes());
    let end = 0x0FFF_FFFFu32;
    let chain = (4..sectors + 3).chain([end]);
    let fat: Vec<u8> = [0x0FFF_FFF8, end, end]
        .into_iter()
        .chain(chain)
        .flat_map(u32::to_le_bytes)
        .collect();
    let mut image = vec![0; (start + data) as usize * CELL];
    if table {
        image[450] = 0x0C;
        image[454..458].copy_from_slice(&start.to_le_bytes());
        image[510..512].copy_from_slice(&[0x55, 0xAA]);
    }
    let at = start as usize * CELL;
    image[at..at + CELL].copy_from_slice(&boot);
    let at = at + reserved as usize * CELL;
    image[at..at + fat.len()].copy_from_slice(&fat);
    image.extend_from_slice(&root);
    image.extend_from_slice(journal);
    image
}

#[test]
fn the_image_of_a_whole_card_gives_the_same_log() {
    let (journal, memory) = welded(4096, 64);
    let folder = Folder::new();
    for table in [true, false] {
        let image = image(&journal, table);
        let (card, log) = (folder.write("card.img", &image), folder.name("gate.log"));
        let ran = coldsquare(["pull", &card, &log]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
        assert!(std::fs::read(&log).expect("pulled") == memory);
        std::fs::remove_file(&log).expect("there");
        let told = coldsquare(["beads", &card]);
        assert_eq!(told.code, 1);
        assert!(told.err.contains("coldsquare pull"), "{}", told.err);
        // An image that was cut short is refused rather than read in part.
        let short = folder.write("short.img", &image[..image.len() - 100 * CELL]);
        let told = coldsquare(["pull", &short, &log]);
        assert_eq!(told.code, 1);
        assert!(told.err.contains("the image is incomplete"), "{}", told.err);
    }
}

/// When a card is too small for all windows, the oldest are gone, it says so, and every bead is there as it was.
#[test]
fn a_small_card_loses_its_oldest_windows_and_no_bead() {
    let (journal, memory) = welded(256, 192);
    let folder = Folder::new();
    let (file, log) = (
        folder.write("COLDSQ.JNL", &journal),
        folder.name("gate.log"),
    );
    let ran = coldsquare(["pull", &file, &log]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("replaced the oldest"), "{}", ran.out);
    let pulled = std::fs::read(&log).expect("pulled");
    assert!(pulled.len() < memory.len());
    assert_eq!(kept(&pulled), kept(&memory));
    assert_eq!(coldsquare(["beads", &log]).code, 0);
}

#[test]
fn a_card_s_file_is_made_once_and_says_what_to_do_next() {
    let folder = Folder::new();
    let file = folder.name("COLDSQ.JNL");
    let ran = coldsquare(["card", "new", &file, "--size", "1"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("FAT32") && ran.out.contains("coldsquare pull"));
    let bytes = std::fs::read(&file).expect("made");
    assert_eq!(bytes.len(), 1 << 20);
    let layout = Layout::of_cell(bytes.first_chunk().expect("a cell"), 2048).expect("readable");
    assert!(layout.cells() > 1900);
    assert_eq!(coldsquare(["card", "new", &file]).code, 4);
    // Nothing was logged yet.
    let told = coldsquare(["beads", &file]);
    assert_eq!(told.code, 1);
    assert!(told.err.contains("nothing was recorded"), "{}", told.err);
}

/// A card that is full of what is never dropped says so as its last word; what it has until then is all there.
#[test]
fn a_full_card_says_so_as_its_last_word() {
    let (journal, memory) = welded(140, 24);
    let folder = Folder::new();
    let (file, log) = (
        folder.write("COLDSQ.JNL", &journal),
        folder.name("gate.log"),
    );
    assert_eq!(coldsquare(["pull", &file, &log]).code, 0);
    let (pulled, memory) = (kept(&std::fs::read(&log).expect("pulled")), kept(&memory));
    let Some((Record::Event(last), before)) = pulled.split_last() else {
        panic!("{pulled:?}")
    };
    assert_eq!(last.kind, EventKind::StoreFull);
    assert!(
        before.len() > 3 && before.len() < memory.len(),
        "{} of {} records",
        before.len(),
        memory.len()
    );
    assert_eq!(before, &memory[..before.len()]);
}
