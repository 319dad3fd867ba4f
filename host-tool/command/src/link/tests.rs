//! What a user is told of a line and of the logger at its other end, whatever comes over it.

use super::open::hint;
use super::port::{Port, Socket};
use super::pull::{InMemory, OverLink};
use super::source::{Source, check_by_reading};
use super::verify::{REPAIRS, Verified};
use super::words::noticed;
use super::{Client, LinkError};
use coldsquare_core::link::{
    Capabilities, Checked, Chunk, Consent, MAX_FRAME, Receiver, Reply, Request, Stretch,
    checksum_of_bytes, encode,
};
use coldsquare_core::record::EventKind;
use coldsquare_engine::failure::Failure;
use coldsquare_firmware::sim::stranger;
use std::collections::{BTreeSet, VecDeque};
use std::io::{ErrorKind, Result, Write};
use std::net::{TcpListener, TcpStream};
use std::time::{Duration, Instant};

const SOON: Duration = Duration::from_millis(20);

/// Both ends of a connection.
fn connected() -> (Socket, TcpStream) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let here = TcpStream::connect(listener.local_addr().expect("bound")).expect("it listens");
    (Socket(here), listener.accept().expect("it connects").0)
}

#[test]
fn a_silent_connection_is_no_error_and_a_closed_one_is() {
    let (mut here, mut there) = connected();
    let mut piece = [0; 8];
    assert_eq!(here.receive(&mut piece, SOON).expect("nothing came"), 0);
    there.write_all(&[7, 8]).expect("it listens");
    assert_eq!(
        here.receive(&mut piece, Duration::from_secs(5))
            .expect("two bytes"),
        2
    );
    drop(there);
    let why = here
        .receive(&mut piece, Duration::from_secs(5))
        .expect_err("it is closed");
    assert_eq!(why.to_string(), "the other end closed the connection");
}

/// A logger whose plug is pulled out of the adapter, not one that ends the connection.
#[test]
fn a_connection_that_breaks_is_not_called_closed() {
    let (mut here, there) = connected();
    here.send(&[7; 8]).expect("it listens");
    there.peek(&mut [0; 8]).expect("eight bytes");
    // Whoever closes with something unread breaks the connection.
    drop(there);
    let why = here
        .receive(&mut [0; 8], Duration::from_secs(5))
        .expect_err("it is broken");
    assert_eq!(why.kind(), ErrorKind::ConnectionReset, "{why}");
}

#[test]
fn whoever_has_no_room_gets_nothing_of_an_open_connection() {
    let (mut here, mut there) = connected();
    there.write_all(&[7]).expect("it listens");
    let none = here.receive(&mut [], Duration::from_secs(5));
    assert_eq!(none.expect("it is open"), 0);
    let mut piece = [0; 8];
    let one = here.receive(&mut piece, Duration::from_secs(5));
    assert_eq!(one.expect("it is open"), 1);
}

/// Does nothing but say what was asked of it.
#[derive(Default)]
struct Line {
    /// Bytes that come at each read.
    noise: usize,
    reads: usize,
    rested: Duration,
    fails: bool,
}

impl Port for Line {
    fn send(&mut self, _: &[u8]) -> Result<()> {
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> Result<usize> {
        self.reads += 1;
        if self.fails {
            return Err(ErrorKind::ConnectionReset.into());
        }
        let count = self.noise.min(into.len());
        for (place, byte) in into[..count].iter_mut().enumerate() {
            *byte = (place % 7) as u8;
        }
        Ok(count)
    }

    fn rest(&mut self, time: Duration) {
        self.rested += time;
    }
}

/// At the wrong speed a port never falls silent.
#[test]
fn a_line_full_of_noise_is_given_up_after_so_many_bytes_and_a_silent_one_after_so_long() {
    let mut noisy = Line {
        noise: 1024,
        ..Line::default()
    };
    let why = Client::new(Box::new(&mut noisy))
        .identify()
        .expect_err("noise");
    assert!(matches!(why, LinkError::Silence { noise: true }), "{why}");
    assert_eq!(noisy.reads, 8 * 32);
    let mut silent = Line::default();
    let why = Client::new(Box::new(&mut silent))
        .identify()
        .expect_err("silence");
    assert!(matches!(why, LinkError::Silence { noise: false }), "{why}");
    assert_eq!(silent.reads, 8 * 20);
}

#[test]
fn a_port_that_fails_is_no_silence() {
    let mut broken = Line {
        fails: true,
        ..Line::default()
    };
    let why = Client::new(Box::new(&mut broken))
        .identify()
        .expect_err("it fails");
    assert!(matches!(why, LinkError::Port(_)), "{why}");
}

#[test]
fn a_rest_is_one_of_the_port_and_lasts() {
    let mut line = Line::default();
    Client::new(Box::new(&mut line)).rest(SOON);
    assert_eq!(line.rested, SOON);
    let (mut socket, _there) = connected();
    let began = Instant::now();
    socket.rest(SOON);
    assert!(began.elapsed() >= SOON);
}

#[test]
fn whoever_cannot_open_a_port_is_told_what_to_try() {
    let denied = hint(ErrorKind::PermissionDenied, &["ttyACM0"]);
    assert!(denied.contains("dialout"), "{denied}");
    let none = hint(ErrorKind::NotFound, &[]);
    assert!(none.contains("is the logger plugged in?"), "{none}");
    let others = hint(ErrorKind::NotFound, &["ttyACM0", "ttyACM1"]);
    assert_eq!(others, "; available ports: ttyACM0, ttyACM1");
}

#[test]
fn each_alarm_has_words_of_its_own() {
    let kinds = [
        EventKind::SamplesDropped,
        EventKind::VoltageClipped,
        EventKind::CurrentClipped,
        EventKind::VoltageLeadOpen,
        EventKind::ClampReversed,
        EventKind::VoltageStuck,
        EventKind::CurrentStuck,
        EventKind::PowerOn,
        EventKind::PowerFailing,
        EventKind::ClockSet,
        EventKind::StoreFull,
        EventKind::StoreFault,
        EventKind::CalibrationChanged,
        EventKind::StoreCleared,
    ];
    let words: BTreeSet<_> = kinds.into_iter().map(noticed).collect();
    assert_eq!(words.len(), kinds.len());
    assert_eq!(noticed(EventKind::ClampReversed), "the clamp is reversed");
}

/// A logger that can do these things.
struct Can {
    can: Capabilities,
    asked: Receiver<Request>,
    answer: VecDeque<u8>,
}

fn logger_that_can(can: Capabilities) -> OverLink {
    let logger = Can {
        can,
        asked: Receiver::new(),
        answer: VecDeque::new(),
    };
    OverLink::new(Client::new(Box::new(logger)), "bench")
}

impl Port for Can {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        for byte in bytes {
            let Some((tag, Ok(_))) = self.asked.take(*byte) else {
                continue;
            };
            let identity = stranger((0, 10), self.can);
            let mut frame = [0; MAX_FRAME];
            let length = encode(tag, &Reply::Identity(identity), &mut frame).expect("it fits");
            self.answer.extend(&frame[..length]);
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> Result<usize> {
        let count = into.len().min(self.answer.len());
        for (to, from) in into.iter_mut().zip(self.answer.drain(..count)) {
            *to = from;
        }
        Ok(count)
    }
}

/// A logger that answers a request with so many chunks at once.
struct Gives {
    chunks: u8,
    asked: Receiver<Request>,
    answer: VecDeque<u8>,
    /// How often nothing came.
    waits: usize,
}

impl Port for Gives {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        for byte in bytes {
            let Some((tag, Ok(_))) = self.asked.take(*byte) else {
                continue;
            };
            for index in 0..self.chunks {
                let bytes = [5; 10].as_slice().try_into().expect("it fits");
                let from = 10 * u64::from(index);
                let chunk = Reply::Chunk(Chunk { from, index, bytes });
                let mut frame = [0; MAX_FRAME];
                let length = encode(tag, &chunk, &mut frame).expect("it fits");
                self.answer.extend(&frame[..length]);
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> Result<usize> {
        let count = into.len().min(self.answer.len());
        for (to, from) in into.iter_mut().zip(self.answer.drain(..count)) {
            *to = from;
        }
        self.waits += usize::from(count == 0);
        Ok(count)
    }
}

/// At 64 chunks a request, 0.4 s of waiting after each would make a download take twice as long.
#[test]
fn once_all_that_was_asked_for_is_there_nobody_waits_for_more() {
    let pull = |chunks| {
        let mut logger = Gives {
            chunks,
            asked: Receiver::new(),
            answer: VecDeque::new(),
            waits: 0,
        };
        let found = Client::new(Box::new(&mut logger)).pull(0, 3);
        (found.expect("chunks").len(), logger.waits)
    };
    assert_eq!(pull(3), (3, 0));
    assert_eq!(pull(2), (2, 20), "the third was lost: 0.4 s in 20 ms");
}

#[test]
fn a_logger_is_cleared_only_if_it_can_tell_that_the_download_is_whole() {
    let all = Capabilities {
        pull: true,
        clear: true,
        check: true,
        ..Capabilities::default()
    };
    let may_clear = |can| logger_that_can(can).check_clear();
    assert!(!may_clear(all).expect("it can"));
    assert!(
        may_clear(Capabilities {
            confirm: true,
            ..all
        })
        .expect("with consent")
    );
    let old = may_clear(Capabilities {
        check: false,
        ..all
    })
    .expect_err("it cannot check");
    assert!(old.to_string().contains("update it"), "{old}");
    for check in [false, true] {
        let never = may_clear(Capabilities {
            clear: false,
            check,
            ..all
        })
        .expect_err("it cannot clear");
        assert!(
            never
                .to_string()
                .contains("cannot be cleared over the link"),
            "{never}"
        );
    }
    let file = InMemory(vec![1])
        .clear(1, Consent::Pulled { sum: 0 })
        .expect_err("it is a file");
    assert!(matches!(file, Failure::Usage(_)), "{file}");
}

/// Answers about a log of ten bytes, of which the file has all.
struct Says(Checked);

impl Source for Says {
    fn extent(&mut self) -> std::result::Result<(u64, u64), Failure> {
        Ok((0, 10))
    }

    fn read(&mut self, from: u64) -> std::result::Result<(u64, Vec<u8>), Failure> {
        Ok((from, vec![5; 10 - from as usize]))
    }

    fn check(&mut self, _: u64, _: u64) -> std::result::Result<Checked, Failure> {
        Ok(self.0.clone())
    }
}

#[test]
fn an_answer_about_anything_but_what_was_asked_makes_no_sense() {
    let folder = tempfile::tempdir().expect("room");
    let file = folder.path().join("weld.log");
    std::fs::write(&file, [5; 10]).expect("room");
    let told = |stretches: &[(u64, u16)], until| {
        let bytes: usize = stretches.iter().map(|stretch| usize::from(stretch.1)).sum();
        let checked = Checked {
            stretches: stretches
                .iter()
                .map(|&(from, length)| Stretch { from, length })
                .collect(),
            sum: checksum_of_bytes(0, &vec![5; bytes]),
            until,
        };
        let mut steps = Vec::new();
        let compared =
            Verified::nothing(0).go_on(&mut Says(checked), &file, 10, REPAIRS, &mut |done| {
                steps.push(done);
                true
            });
        compared
            .map(|()| steps)
            .map_err(|failure| failure.to_string())
    };
    assert_eq!(told(&[(0, 4), (4, 6)], 10), Ok(vec![10]));
    assert_eq!(told(&[(2, 4)], 10), Ok(vec![10]), "the rest was dropped");
    for (stretches, until) in [
        // Nowhere, past the end, a stretch past what it is about, two that overlap, one from before.
        (&[][..], 0),
        (&[(0, 10)][..], 11),
        (&[(0, 10)][..], 9),
        (&[(0, 6), (5, 5)][..], 10),
        (&[(6, 4), (0, 6)][..], 10),
    ] {
        let why = told(stretches, until).expect_err("it makes no sense");
        assert!(
            why.contains("makes no sense"),
            "{stretches:?} until {until}: {why}"
        );
    }
}

/// A log that is read from these bytes on, whatever byte is asked for, and of which nothing more is known.
struct Reads {
    from: u64,
    bytes: Vec<u8>,
}

impl Source for Reads {
    fn extent(&mut self) -> std::result::Result<(u64, u64), Failure> {
        Ok((0, 10))
    }

    fn read(&mut self, _: u64) -> std::result::Result<(u64, Vec<u8>), Failure> {
        Ok((self.from, self.bytes.clone()))
    }
}

#[test]
fn an_older_logger_that_gives_nothing_or_from_before_has_confirmed_nothing() {
    let told = |from, bytes: &[u8]| {
        let bytes = bytes.to_vec();
        check_by_reading(&mut Reads { from, bytes }, 4, 10).expect("an answer")
    };
    for (from, bytes) in [(4, &[][..]), (7, &[]), (10, &[]), (2, &[5; 8])] {
        assert_eq!(told(from, bytes), Checked::default(), "from byte {from}");
    }
    // Bytes 4 and 5 were dropped, and what was logged since does not count.
    let rest = told(6, &[5; 8]);
    let stretch = Stretch { from: 6, length: 4 };
    assert_eq!(rest.stretches[..], [stretch]);
    assert_eq!((rest.until, rest.sum), (10, checksum_of_bytes(0, &[5; 4])));
}

const LOGGED: [u8; 10] = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];

fn checked_from(from: u64) -> Checked {
    let length = 10 - from as u16;
    Checked {
        stretches: [Stretch { from, length }].into_iter().collect(),
        sum: checksum_of_bytes(0, &LOGGED[from as usize..]),
        until: 10,
    }
}

/// A logger that is asked about all of its log, and drops what is before a byte right after that.
struct MakesRoom {
    first: u64,
    has_dropped: bool,
    reads: usize,
}

impl Source for MakesRoom {
    fn extent(&mut self) -> std::result::Result<(u64, u64), Failure> {
        Ok((0, 10))
    }

    fn read(&mut self, asked: u64) -> std::result::Result<(u64, Vec<u8>), Failure> {
        self.reads += 1;
        assert!(self.reads < 100, "asked for byte {asked} again and again");
        let left = LOGGED[asked.max(self.first) as usize..].to_vec();
        let from = if left.is_empty() {
            asked
        } else {
            asked.max(self.first)
        };
        Ok((from, left))
    }

    fn check(&mut self, _: u64, _: u64) -> std::result::Result<Checked, Failure> {
        let first = if self.has_dropped { self.first } else { 0 };
        self.has_dropped = true;
        Ok(checked_from(first))
    }
}

#[test]
fn what_was_dropped_while_it_was_compared_is_not_filled_with_other_bytes() {
    let folder = tempfile::tempdir().expect("room");
    let file = folder.path().join("weld.log");
    let mended = |first| {
        // The second byte and the ninth were damaged on the disk.
        std::fs::write(&file, [1, 0, 3, 4, 5, 6, 7, 8, 0, 10]).expect("room");
        let mut source = MakesRoom {
            first,
            has_dropped: false,
            reads: 0,
        };
        Verified::nothing(0)
            .go_on(&mut source, &file, 10, REPAIRS, &mut |_| true)
            .expect("the rest is as the logger has it");
        std::fs::read(&file).expect("a log")
    };
    assert_eq!(mended(0), LOGGED);
    assert_eq!(mended(4), [1, 0, 3, 4, 5, 6, 7, 8, 9, 10]);
    assert_eq!(mended(10), [1, 0, 3, 4, 5, 6, 7, 8, 0, 10]);
}

/// A folder has no bytes to read, like a stick that was pulled out.
#[test]
fn a_download_that_cannot_be_read_is_not_called_different() {
    let folder = tempfile::tempdir().expect("room");
    let mut source = Says(checked_from(0));
    let why = Verified::nothing(0)
        .go_on(&mut source, folder.path(), 10, 0, &mut |_| true)
        .expect_err("it cannot be read");
    assert!(matches!(why, Failure::File { action: "read", .. }), "{why}");
}
