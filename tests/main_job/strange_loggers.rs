//! A logger that answers what no logger answers, whole messages all of them: the download ends, says why, fills no disk and
//! leaves no file of the final name.

use super::link::framed;
use coldsquare::link::pull::{OverLink, part_of, pull};
use coldsquare::link::{Client, Port};
use coldsquare_core::link::{
    CHUNK, Capabilities, Checked, Chunk, Identity, Receiver, Reply, Request,
};
use coldsquare_firmware::sim::stranger;
use std::collections::VecDeque;
use std::time::Duration;

/// What a logger says about itself and its log.
struct Strange {
    /// Where it says that its log ends.
    end: u64,
    /// The chunk it gives when asked for one, by its index and the byte asked for.
    chunk: fn(u8, u64) -> Chunk,
    checked: fn(u64, u64) -> Checked,
    questions: Receiver<Request>,
    answers: VecDeque<u8>,
}

impl Port for Strange {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        for byte in bytes {
            let Some((tag, Ok(request))) = self.questions.take(*byte) else {
                continue;
            };
            match request {
                Request::Identify => {
                    let identity = Reply::Identity(self.identity());
                    self.answers.extend(framed(tag, &identity));
                }
                Request::Pull { from, chunks } => {
                    for index in 0..chunks {
                        let chunk = Reply::Chunk((self.chunk)(index, from));
                        self.answers.extend(framed(tag, &chunk));
                    }
                }
                Request::Check { from, until } => {
                    let checked = Reply::Checked((self.checked)(from, until));
                    self.answers.extend(framed(tag, &checked));
                }
                _ => self.answers.extend(framed(tag, &Reply::Done)),
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> std::io::Result<usize> {
        let count = into.len().min(self.answers.len());
        for (to, from) in into.iter_mut().zip(self.answers.drain(..count)) {
            *to = from;
        }
        Ok(count)
    }
}

impl Strange {
    fn identity(&self) -> Identity {
        stranger(
            (0, self.end),
            Capabilities {
                pull: true,
                clear: true,
                check: true,
                ..Capabilities::default()
            },
        )
    }
}

fn at(index: u8, from: u64, length: usize) -> Chunk {
    Chunk {
        index,
        from,
        bytes: (0..length).map(|_| 0x11).collect(),
    }
}

fn all(index: u8, from: u64) -> Chunk {
    at(index, from + u64::from(index) * CHUNK as u64, CHUNK)
}

/// That nothing differs, of whatever it was asked about.
fn nothing(_: u64, until: u64) -> Checked {
    Checked {
        until,
        ..Checked::default()
    }
}

/// What the download says, and how much is on the disk.
fn pulled(
    end: u64,
    chunk: fn(u8, u64) -> Chunk,
    checked: fn(u64, u64) -> Checked,
) -> (String, u64) {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("weld.log");
    let strange = Strange {
        end,
        chunk,
        checked,
        questions: Receiver::new(),
        answers: VecDeque::new(),
    };
    let mut source = OverLink::new(Client::new(Box::new(strange)), "strange");
    let why = pull(&mut source, &out, &mut |_| true).expect_err("no logger answers so");
    assert!(!out.exists());
    let length = std::fs::metadata(part_of(&out)).map_or(0, |part| part.len());
    (why.to_string(), length)
}

#[test]
fn an_empty_answer_before_the_end_is_an_error() {
    let (why, length) = pulled(1000, |index, from| at(index, from, 0), nothing);
    assert!(why.contains("0 bytes from byte 0 on"), "{why}");
    assert_eq!(length, 0);
}

#[test]
fn an_offset_outside_the_log_makes_no_file_of_that_length() {
    for end in [1 << 20, 1 << 33] {
        let (why, length) = pulled(end, |index, _| at(index, (1 << 40) - 10, 5), nothing);
        assert!(why.contains("asked for byte 0"), "{why}");
        assert_eq!(length, 0);
    }
    // And none that goes back.
    let (_, length) = pulled(
        1 << 20,
        |index, from| {
            if from == 0 {
                all(index, 0)
            } else {
                at(index, 0, 5)
            }
        },
        nothing,
    );
    assert!(length < 1 << 16, "{length}");
}

#[test]
fn a_log_without_end_is_not_begun() {
    for end in [1 << 40, 1 << 62, u64::MAX] {
        let (why, length) = pulled(end, all, nothing);
        assert!(why.contains("more than any logger holds"), "{why}");
        assert_eq!(length, 0);
    }
}

#[test]
fn a_sum_that_never_agrees_ends_the_download() {
    let sums: [fn(u64, u64) -> Checked; 3] = [
        // Another sum, nothing compared at all, and an answer that goes nowhere.
        |from, until| Checked {
            stretches: [coldsquare_core::link::Stretch { from, length: 100 }]
                .into_iter()
                .collect(),
            sum: 1,
            until,
        },
        |from, _| nothing(from, from),
        |from, until| nothing(from, until + 1),
    ];
    for sum in sums {
        let (why, _) = pulled(5000, all, sum);
        assert!(
            why.contains("are not those of the logger") || why.contains("makes no sense"),
            "{why}"
        );
    }
}

#[test]
fn a_download_without_a_single_record_gets_no_name() {
    // It says that everything was dropped to make room, or sends what is no record.
    let all_dropped: fn(u8, u64) -> Chunk = |index, _| at(index, 5000, 0);
    for chunk in [all_dropped, all] {
        let (why, length) = pulled(5000, chunk, nothing);
        assert!(why.contains("no record in them"), "{why}");
        assert_eq!(length, 5000);
    }
}
