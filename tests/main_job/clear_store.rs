//! A logger's store is emptied when its log is safe on the computer's disk, or when somebody names the logger; in no
//! other case is a byte lost.

use super::link::{Poor, build, framed, half_way, records};
use coldsquare::link::clear::clear_pulled;
use coldsquare::link::pull::{OverLink, pull};
use coldsquare::link::{Client, Port};
use coldsquare_core::link::{Capabilities, Chunk, Receiver, Refusal, Reply, Request};
use coldsquare_core::record::{Event, EventKind, MAX_FRAME, MarkerKind, Record, encode};
use coldsquare_firmware::sim::{ComputerEnd, Connected, Random, log_build, stranger};
use coldsquare_tests::command::coldsquare;
use std::cell::RefCell;
use std::collections::VecDeque;
use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

fn over(
    logger: &Rc<RefCell<Connected>>,
    cable: &ComputerEnd,
    seed: u64,
    harmed_in: u32,
) -> OverLink {
    let port = Poor {
        logger: Rc::clone(logger),
        cable: cable.clone(),
        chance: Random::new(seed),
        harmed_in,
        life: u64::MAX,
    };
    OverLink::new(Client::new(Box::new(port)), "bench")
}

fn pull_to(source: &mut OverLink, out: &Path) {
    for _ in 0..50 {
        if pull(source, out, &mut |_| true).is_ok() {
            return;
        }
    }
    panic!("it never gets there");
}

/// Over a good cable, and over one that loses, doubles and changes bytes: questions come twice and answers not at all.
#[test]
fn a_log_is_safe_before_the_logger_lets_go_of_it() {
    let alone = log_build(&build(), 3).expect("usable").0;
    for (seed, harmed_in) in [(1, 0), (2, 900), (3, 300), (4, 150)] {
        let folder = tempfile::tempdir().expect("a folder");
        let out = folder.path().join("weld.log");
        let (logger, cable) = half_way();
        let mut source = over(&logger, &cable, seed, harmed_in);
        pull_to(&mut source, &out);
        let first = std::fs::read(&out).expect("pulled");

        // In the middle of a bead it stays.
        let in_a_bead = records(&first)
            .iter()
            .rev()
            .find_map(|record| match record {
                Record::Window(window) => Some(window.arc_on),
                _ => None,
            });
        if in_a_bead == Some(true) {
            assert!(clear_pulled(&mut source, &out).is_err());
        }

        // Once the build is over, what came meanwhile is added to the file, and then the logger lets go of it.
        logger.borrow_mut().weld_all();
        let (bytes, tally) = clear_pulled(&mut source, &out).expect("at rest");
        let log = std::fs::read(&out).expect("pulled");
        assert_eq!(log.len() as u64, bytes);
        assert!(tally.is_whole());
        assert!(alone.starts_with(&log), "harmed 1 in {harmed_in}");
        let beads = |log: &[u8]| {
            let records = records(log);
            let beads = records
                .iter()
                .filter(|record| matches!(record, Record::Bead(_)));
            beads.count()
        };
        assert_eq!(beads(&log), beads(&alone));

        // The new log begins with its first record.
        let next = folder.path().join("next.log");
        pull_to(&mut source, &next);
        let new = records(&std::fs::read(&next).expect("pulled"));
        assert!(matches!(&new[0], Record::Header(header) if header.start == 0));
        assert!(
            matches!(&new[1], Record::Event(event) if event.kind == EventKind::StoreCleared && event.value == 0),
            "{:?}",
            new[1]
        );
        // It knows which weld the next bead is for, though the press was before.
        assert!(
            matches!(&new[2], Record::Marker(marker)
                if marker.kind == MarkerKind::NextWeld && marker.weld == Some(3)),
            "{:?}",
            new[2]
        );
    }
}

#[test]
fn another_log_than_the_one_that_was_pulled_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("weld.log");
    let (logger, cable) = half_way();
    logger.borrow_mut().weld_all();
    let mut source = over(&logger, &cable, 1, 0);
    pull_to(&mut source, &out);
    let log = std::fs::read(&out).expect("pulled");
    let mut other = log.clone();
    let at = other.len() - 20;
    other[at] ^= 1;
    // A byte in its middle, which no comparison of the ends would find.
    let mut early = log.clone();
    early[log.len() / 3] ^= 1;
    for other in [other, early, [log.as_slice(), &[0; 4]].concat()] {
        std::fs::write(&out, &other).expect("room");
        let why = clear_pulled(&mut source, &out).expect_err("not this log");
        assert!(why.to_string().contains("not cleared"), "{why}");
        assert!(std::fs::read(&out).expect("there") == other);
    }
    std::fs::write(&out, &log).expect("room");
    assert!(clear_pulled(&mut source, &out).is_ok());
}

#[test]
fn the_commands_keep_the_log_or_ask_for_a_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("weld.log");
    let name = out.to_str().expect("plain path");
    let ran = coldsquare(["pull", "sim:", name, "--then-clear"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(
        ran.out.contains("is the only copy of the old one"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("Nothing is missing."), "{}", ran.out);
    assert_eq!(coldsquare(["beads", name]).code, 0);
    // A card or a file is not emptied by pulling it, and nothing is pulled in vain.
    let copy = folder.path().join("copy.log");
    let ran = coldsquare([
        "pull",
        name,
        copy.to_str().expect("plain path"),
        "--then-clear",
    ]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("coldsquare card new"), "{}", ran.err);
    assert!(!copy.exists());

    let ran = coldsquare(["clear", "sim:"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("--then-clear") && ran.err.contains("--lose-log-of \"simulated logger\""),
        "{}",
        ran.err
    );
    let ran = coldsquare(["clear", "sim:", "--lose-log-of", "the other one"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("nothing cleared"), "{}", ran.err);
    let ran = coldsquare(["clear", "sim:", "--lose-log-of", "simulated logger"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("a new log has started"), "{}", ran.out);
}

/// A download without any record gets no name.
fn one_record() -> Vec<u8> {
    let event = Event {
        position: 0,
        kind: EventKind::PowerOn,
        value: 1,
    };
    let mut frame = [0; MAX_FRAME];
    let length = encode(0, &Record::Event(event), &mut frame).expect("a record");
    frame[..length].to_vec()
}

/// A logger that answers whole messages that make no sense together.
struct Confused {
    chance: Random,
    questions: Receiver<Request>,
    answers: VecDeque<u8>,
    /// Where it was asked to begin last, and what a sane one would answer: 0 done, 2 who it is, 8 a piece of the log.
    asked: u64,
    sane: u32,
}

impl Confused {
    fn answer(&mut self) -> Reply {
        let (asked, sane) = (self.asked, self.sane);
        let chance = &mut self.chance;
        let place = |chance: &mut Random| match chance.below(12) {
            0 => u64::from(chance.bits()) << 32 | u64::from(chance.bits()),
            1 => u64::MAX - u64::from(chance.below(3)),
            2 => chance.below(4000).into(),
            _ => asked,
        };
        let kind = if chance.below(8) > 0 {
            sane
        } else {
            chance.below(24)
        };
        match kind {
            0 => Reply::Done,
            1 => {
                Reply::Refused([Refusal::NotPulled, Refusal::PastTheEnd][chance.below(2) as usize])
            }
            2..=7 => {
                let first = u64::from(chance.below(3)) * 100;
                Reply::Identity(stranger(
                    (first, first + u64::from(chance.below(4000))),
                    Capabilities {
                        pull: true,
                        clear: true,
                        ..Capabilities::default()
                    },
                ))
            }
            _ => Reply::Chunk(Chunk {
                index: u8::from(chance.below(8) == 0),
                from: place(chance),
                bytes: one_record()
                    .into_iter()
                    .chain((0..chance.below(180)).map(|n| n as u8))
                    .collect(),
            }),
        }
    }
}

impl Port for Confused {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        for byte in bytes {
            if let Some((tag, Ok(request))) = self.questions.take(*byte) {
                self.sane = match request {
                    Request::Identify => 2,
                    Request::Pull { from, .. } => {
                        self.asked = from;
                        8
                    }
                    _ => 0,
                };
                for _ in 0..self.chance.below(4) {
                    let answer = self.answer();
                    self.answers.extend(framed(tag, &answer));
                }
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _wait: Duration) -> std::io::Result<usize> {
        let count = into.len().min(self.answers.len());
        for (to, from) in into.iter_mut().zip(self.answers.drain(..count)) {
            *to = from;
        }
        Ok(count)
    }
}

/// Whatever a logger answers, the computer does not panic, and a file that it names has what it says it has.
#[test]
fn a_confused_logger_gives_an_error_or_a_file_of_the_length_that_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut pulled_some = 0;
    for seed in 0..300 {
        let out = folder.path().join(format!("{seed}.log"));
        let confused = Confused {
            chance: Random::new(seed),
            questions: Receiver::new(),
            answers: VecDeque::new(),
            asked: 0,
            sane: 0,
        };
        let mut source = OverLink::new(Client::new(Box::new(confused)), "confused");
        if let Ok(pulled) = pull(&mut source, &out, &mut |_| true) {
            let length = std::fs::metadata(&out).expect("named").len();
            assert_eq!(length, pulled.bytes);
            pulled_some += 1;
            if let Ok((bytes, _)) = clear_pulled(&mut source, &out) {
                assert_eq!(std::fs::metadata(&out).expect("named").len(), bytes);
            }
        } else {
            assert!(!out.exists());
        }
    }
    assert!(pulled_some > 8, "{pulled_some}");
}
