//! The journal's file on a card that the usual tools made: found where they put it, read back by them, and their check
//! of the file system finds nothing after any cut. Needs mkfs.fat and fsck.fat (Debian: dosfstools), mcopy and mdel
//! (mtools) and sfdisk (fdisk).

use coldsquare_core::journal::{CELL, CellBytes, Layout};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};
use coldsquare_firmware::journal::card::{Card, SEGMENT, Sectors};
use coldsquare_firmware::journal::fat::NotFound;
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::store::Store;
use std::fs::File;
use std::io::Write as _;
use std::os::unix::fs::FileExt;
use std::path::Path;
use std::process::{Command, Stdio};

/// A card image in a file, of which so many writes are done.
struct Image {
    file: File,
    writes_left: u32,
}

impl Sectors for Image {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let at = u64::from(sector) * CELL as u64;
        self.file
            .read_exact_at(into, at)
            .map_err(|_| MediumError::Fault)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        let at = u64::from(sector) * CELL as u64;
        if self.writes_left == 0 {
            return Err(MediumError::Fault);
        }
        self.writes_left -= 1;
        // The last one before the cut is torn in the middle.
        let done = if self.writes_left == 0 { 300 } else { CELL };
        let written = self.file.write_all_at(&bytes[..done], at);
        written.map_err(|_| MediumError::Fault)
    }
}

fn run(command: &str, arguments: &[&str], input: &str) -> String {
    let path = format!(
        "{}:/usr/sbin:/sbin",
        std::env::var("PATH").unwrap_or_default()
    );
    let mut child = Command::new(command)
        .args(arguments)
        .env("PATH", path)
        .env("MTOOLS_SKIP_CHECK", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{command}: {error}; install dosfstools, mtools and fdisk"));
    let mut stdin = child.stdin.take().expect("piped");
    let _ = stdin.write_all(input.as_bytes());
    drop(stdin);
    let output = child.wait_with_output().expect("runs");
    let said = format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(output.status.success(), "{command} {arguments:?}: {said}");
    said
}

const START: u64 = 2048;

/// An image with one FAT32 partition, or a file system without a table.
fn format(path: &Path, table: bool) -> String {
    File::create(path)
        .and_then(|file| file.set_len(40 << 20))
        .expect("room");
    let path = path.to_str().expect("plain path");
    let size = ["-F", "32", "-s", "1", "--offset"];
    if table {
        run("sfdisk", &["-q", path], "2048,,c\n");
        let sectors = ((40u64 << 20) / 512 - START) / 2;
        run(
            "mkfs.fat",
            &[&size[..], &["2048", path, &sectors.to_string()]].concat(),
            "",
        );
        format!("{path}@@1M")
    } else {
        run("mkfs.fat", &["-F", "32", "-s", "1", path], "");
        path.to_owned()
    }
}

fn fsck(path: &Path, table: bool) {
    if !table {
        run("fsck.fat", &["-n", path.to_str().expect("plain path")], "");
        return;
    }
    // The checker wants the file system alone.
    let bytes = std::fs::read(path).expect("image");
    let begin = (START * 512) as usize;
    let alone = path.with_extension("fs");
    std::fs::write(&alone, &bytes[begin..]).expect("room");
    run("fsck.fat", &["-n", alone.to_str().expect("plain path")], "");
}

fn prepared(folder: &Path) -> String {
    let cells = 4000;
    let layout = Layout::divide(7, cells, SEGMENT, 64).expect("large enough");
    let mut bytes = layout.to_cell().to_vec();
    bytes.resize(cells as usize * CELL, 0);
    let path = folder.join("COLDSQ.JNL");
    std::fs::write(&path, bytes).expect("room");
    path.to_str().expect("plain path").to_owned()
}

fn open(path: &Path, writes_left: u32) -> Result<Card<Image>, NotFound> {
    let file = File::options().read(true).write(true).open(path);
    Card::find(Image {
        file: file.expect("image"),
        writes_left,
    })
}

#[test]
fn the_usual_tools_find_nothing_wrong_whenever_the_plug_is_pulled() {
    for table in [true, false] {
        let folder = tempfile::tempdir().expect("temporary folder");
        let image = folder.path().join("card.img");
        let at = format(&image, table);
        let journal = prepared(folder.path());
        run("mcopy", &["-i", &at, &journal, "::COLDSQ.JNL"], "");
        let mut sequence = 0;
        for cut in [1, 2, 3, 10, 40] {
            let mut journal = Journal::mount(open(&image, cut).expect("found")).expect("mounted");
            assert!(journal.resume().sequence <= sequence, "nothing is made up");
            sequence = journal.resume().sequence;
            loop {
                let event = Event {
                    position: 5,
                    kind: EventKind::CurrentClipped,
                    value: 3,
                };
                let mut frame = [0; MAX_FRAME];
                let length = encode(sequence, &Record::Event(event), &mut frame).expect("fits");
                let taken = journal
                    .append(&frame[..length])
                    .and_then(|()| journal.sync());
                sequence += 1;
                if taken.is_err() {
                    break;
                }
            }
            if !table {
                fsck(&image, table);
            }
        }
        fsck(&image, table);
        // What the tools copy off the card is what the logger wrote.
        let copied = folder.path().join("copied.jnl");
        run(
            "mcopy",
            &[
                "-i",
                &at,
                "::COLDSQ.JNL",
                copied.to_str().expect("plain path"),
            ],
            "",
        );
        let bytes = std::fs::read(&copied).expect("copied");
        let card = open(&image, 0).expect("found");
        let (first, count) = (card.range().first as usize, card.range().count as usize);
        let all = std::fs::read(&image).expect("image");
        assert_eq!(bytes.len(), count * CELL);
        assert!(bytes == all[first * CELL..(first + count) * CELL]);
        assert!(
            bytes
                .chunks(CELL)
                .filter(|cell| cell.starts_with(b"CJ"))
                .count()
                > 20
        );
    }
}

#[test]
fn a_card_that_will_not_do_says_what_to_do() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let image = folder.path().join("card.img");
    let at = format(&image, true);
    let refused = |path: &Path| open(path, 0).err();
    assert_eq!(refused(&image), Some(NotFound::NoSuchFile));

    // A hole before the journal's place and a file behind it: the copy lies in pieces.
    let journal = prepared(folder.path());
    let small = folder.path().join("small");
    std::fs::write(&small, [1; 20_000]).expect("room");
    let small = small.to_str().expect("plain path");
    run("mcopy", &["-i", &at, small, "::A"], "");
    run("mcopy", &["-i", &at, small, "::B"], "");
    run("mdel", &["-i", &at, "::A"], "");
    run("mcopy", &["-i", &at, &journal, "::COLDSQ.JNL"], "");
    match refused(&image) {
        Some(NotFound::InPieces { first_piece }) => assert_eq!(first_piece, 40),
        // This tool goes on behind what it wrote last; then the file is in one piece.
        None => assert!(!run("mdir", &["-i", &at, "::"], "").is_empty()),
        other => panic!("{other:?}"),
    }
    std::fs::write(&image, vec![0; 4 << 20]).expect("room");
    assert_eq!(refused(&image), Some(NotFound::NotFat32));
}
