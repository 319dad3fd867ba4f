//! A card for the emulated board: made by the usual tools, read by the host, checked by the usual tool.

use coldsquare_core::journal::{CELL, CellBytes, Layout};
use coldsquare_firmware::journal::card::{Card, SEGMENT, Sectors};
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::store::Store;
use std::fs::File;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Where the partition begins, sectors.
const START: u64 = 2048;

/// An image of a card with a journal on it.
pub struct Image {
    pub path: PathBuf,
    table: bool,
}

fn tool(command: &str, arguments: &[&str], input: &Path) -> std::process::Output {
    Command::new(command)
        .args(arguments)
        .env(
            "PATH",
            format!(
                "{}:/usr/sbin:/sbin",
                std::env::var("PATH").unwrap_or_default()
            ),
        )
        .env("MTOOLS_SKIP_CHECK", "1")
        .stdin(File::open(input).expect("a file"))
        .output()
        .unwrap_or_else(|error| panic!("{command}: {error}; install dosfstools, mtools and fdisk"))
}

fn made(command: &str, arguments: &[&str], input: &Path) {
    let output = tool(command, arguments, input);
    assert!(
        output.status.success(),
        "{command} {arguments:?}: {output:?}"
    );
}

impl Image {
    /// A card of a shop: 4 GiB, most of them a hole, with a partition.
    pub fn of_4_gib(folder: &Path, cells: u32) -> Self {
        Self::new(folder, 4 << 30, true, cells)
    }

    /// A small card without a partition table, quick to check.
    pub fn of_64_mib(folder: &Path, cells: u32) -> Self {
        Self::new(folder, 64 << 20, false, cells)
    }

    fn new(folder: &Path, bytes: u64, table: bool, cells: u32) -> Self {
        let path = folder.join("card.img");
        File::create(&path)
            .and_then(|file| file.set_len(bytes))
            .expect("room for a card");
        let name = path.to_str().expect("a plain path");
        let nothing = Path::new("/dev/null");
        let at = if table {
            let partition = folder.join("partition");
            std::fs::write(&partition, format!("{START},,c\n")).expect("written");
            made("sfdisk", &["-q", name], &partition);
            let kib = ((bytes / 512 - START) / 2).to_string();
            let start = START.to_string();
            made(
                "mkfs.fat",
                &["-F", "32", "--offset", &start, name, &kib],
                nothing,
            );
            format!("{name}@@{}", START * 512)
        } else {
            made("mkfs.fat", &["-F", "32", "-s", "1", name], nothing);
            name.to_owned()
        };
        let file = folder.join("COLDSQ.JNL");
        let layout = Layout::divide(1, cells, SEGMENT, 64).expect("large enough");
        let mut journal = layout.to_cell().to_vec();
        journal.resize(cells as usize * CELL, 0);
        std::fs::write(&file, journal).expect("room");
        made(
            "mcopy",
            &[
                "-i",
                &at,
                file.to_str().expect("a plain path"),
                "::COLDSQ.JNL",
            ],
            nothing,
        );
        Self { path, table }
    }

    /// How the emulator is told of it.
    pub fn drive(&self) -> [String; 2] {
        let path = self.path.display();
        ["-drive".into(), format!("if=sd,format=raw,file={path}")]
    }

    /// The log that is on it.
    pub fn log(&self) -> Vec<u8> {
        let file = File::open(&self.path).expect("the image");
        let card = Card::find(OnHost(file)).expect("the journal's file is found");
        let mut journal = Journal::mount(card).expect("the journal can be read");
        let (mut log, mut from, mut piece) = (Vec::new(), 0, [0; 4096]);
        loop {
            // Windows that no sync had promised may be missing after a cut, and then it goes on behind them.
            let (at, length) = journal.read(from, &mut piece).expect("sound");
            if length == 0 {
                return log;
            }
            log.extend_from_slice(&piece[..length]);
            from = at + length as u64;
        }
    }

    /// Panics unless the file system is whole.
    pub fn check(&self) {
        assert!(!self.table, "the checker wants the file system alone");
        made(
            "fsck.fat",
            &["-n", self.path.to_str().expect("a plain path")],
            Path::new("/dev/null"),
        );
    }
}

struct OnHost(File);

impl Sectors for OnHost {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        let at = u64::from(sector) * CELL as u64;
        self.0
            .read_exact_at(into, at)
            .map_err(|_| MediumError::Fault)
    }

    fn write(&mut self, _: u32, _: &CellBytes) -> Result<(), MediumError> {
        Err(MediumError::Fault)
    }
}
