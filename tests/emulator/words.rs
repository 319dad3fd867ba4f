//! What the logger says over defmt: a format string's number and its arguments go over the line, the strings themselves
//! stand in the program's file, and both are put together here.
//!
//! Only as much of the format is read as the logger uses (defmt book, "Implementation notes"; encoding "raw"): numbers and
//! strings by their types, and enumerations by the number of their variant.

use crate::board::{built, run_from_flash, wanted};
use crate::card::Image;
use crate::pulled_plug::shift;
use crate::stored::STAYS;
use std::collections::BTreeMap;
use std::path::Path;

/// The strings of a program by their numbers: symbols whose names are JSON objects (Tool Interface Standard, Executable and
/// Linking Format, 1.2, book I, for where symbols stand).
fn strings(file: &[u8]) -> BTreeMap<u16, String> {
    const SYMBOLS: usize = 2;
    let word =
        |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().expect("four bytes")) as usize;
    let half = |at: usize| usize::from(u16::from_le_bytes([file[at], file[at + 1]]));
    let section = |number: usize| word(32) + number * half(46);
    let sections = (0..half(48)).map(section);
    let mut found = BTreeMap::new();
    for symbols in sections.filter(|&at| word(at + 4) == SYMBOLS) {
        let names = word(section(word(symbols + 24)) + 16);
        let (first, size) = (word(symbols + 16), word(symbols + 20));
        for symbol in (first..first + size).step_by(16) {
            let name = &file[names + word(symbol)..];
            let name = name.split(|&byte| byte == 0).next().unwrap_or_default();
            let described = serde_json::from_slice::<serde_json::Value>(name);
            if let Some(text) = described
                .as_ref()
                .ok()
                .and_then(|json| json["data"].as_str())
            {
                found.insert(word(symbol + 4) as u16, text.to_owned());
            }
        }
    }
    found
}

/// What is left to be read of what was said.
struct Said<'a> {
    strings: &'a BTreeMap<u16, String>,
    bytes: &'a [u8],
}

impl Said<'_> {
    fn take<const N: usize>(&mut self) -> [u8; N] {
        let (taken, left) = self.bytes.split_first_chunk().expect("whole");
        self.bytes = left;
        *taken
    }

    /// The string whose number comes next, with its arguments put in.
    fn sentence(&mut self) -> String {
        let number = u16::from_le_bytes(self.take());
        let text = self.strings.get(&number);
        let text = text.unwrap_or_else(|| panic!("no string has the number {number}"));
        let variants: Vec<&str> = text.split('|').collect();
        match variants.as_slice() {
            [text] => self.filled(text),
            several => {
                let [variant] = self.take();
                self.filled(several[usize::from(variant)])
            }
        }
    }

    fn filled(&mut self, text: &str) -> String {
        let mut pieces = text.split('{');
        let mut filled = pieces.next().unwrap_or_default().to_owned();
        for piece in pieces {
            let (kind, rest) = piece.split_once('}').expect("closed");
            filled += &match kind {
                "=u8" => self.take::<1>()[0].to_string(),
                "=u32" | "=usize" => u32::from_le_bytes(self.take()).to_string(),
                "=u64" => u64::from_le_bytes(self.take()).to_string(),
                "=f64" => f64::from_le_bytes(self.take()).to_string(),
                "=str" => {
                    let length = u32::from_le_bytes(self.take()) as usize;
                    let (taken, left) = self.bytes.split_at(length);
                    self.bytes = left;
                    String::from_utf8_lossy(taken).into_owned()
                }
                "" | "=?" => self.sentence(),
                other => panic!("{other} is not read here"),
            };
            filled += rest;
        }
        filled
    }
}

fn sentences(program: &Path, said: &[u8]) -> Vec<String> {
    let file = std::fs::read(program).expect("the program was built");
    let strings = strings(&file);
    let mut said = Said {
        strings: &strings,
        bytes: said,
    };
    let mut sentences = Vec::new();
    while !said.bytes.is_empty() {
        sentences.push(said.sentence());
    }
    sentences
}

#[test]
fn the_emulated_logger_says_in_words_what_it_does() {
    if !wanted() {
        return;
    }
    let built = built("told");
    let program = Path::new(built.trim());
    let (feed, _) = shift(1);
    let folder = tempfile::tempdir().expect("a folder");
    let card = Image::of_64_mib(folder.path(), 1024);
    let run = || {
        let feed = [&STAYS[..], &feed].concat();
        let sent = run_from_flash(program, &feed, &card.drive());
        sentences(program, &sent.said)
    };
    let version = env!("CARGO_PKG_VERSION");
    let start = |number: u32| {
        format!("logger {version} on lm3s6965evb, start {number}, 1000 pairs a second")
    };
    let first = run();
    assert_eq!(first[0], "journal 1: 0 beads, continues at byte 0");
    assert_eq!(first[1], start(1));
    let beads: Vec<&String> = first
        .iter()
        .filter(|said| said.starts_with("bead "))
        .collect();
    assert_eq!(beads.len(), 3, "{first:#?}");
    assert!(
        beads
            .iter()
            .all(|said| said.ends_with(" samples, 0 records lost")),
        "{first:#?}"
    );
    // The same again on the same card: its journal is found, and its beads are counted on.
    let second = run();
    assert!(
        second[0].starts_with("journal 1: 3 beads, continues at byte "),
        "{second:#?}"
    );
    assert_eq!(second[1], start(2));
    assert!(
        second.iter().any(|said| said.starts_with("bead 6 of ")),
        "{second:#?}"
    );
}
