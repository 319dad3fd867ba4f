//! Logger and computer at the two ends of a cable: the log comes over whole, whatever the cable does, and who answers is
//! told apart.

use coldsquare::link::pull::{OverLink, part_of, pull};
use coldsquare::link::{Client, LinkError, Port};
use coldsquare_core::link::{
    Advice, Checked, Chunk, Consent, Live, MAX_FRAME, Message, Refusal, Reply, Request, Stretch,
    encode,
};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, Reader, Record};
use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};
use coldsquare_engine::failure::Failure;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{
    Build, ComputerEnd, Connected, Random, SimulatedBead, Transfer, cable, log_build,
};
use coldsquare_tests::assert_blessed_section;
use std::cell::RefCell;
use std::io::{ErrorKind, Result};
use std::rc::Rc;
use std::time::Duration;

pub(super) fn build() -> Build {
    let bead = |arc_s| SimulatedBead {
        press: Some(Input::Next),
        ..SimulatedBead::new(
            Transfer::ShortCircuit { shorts_hz: 80.0 },
            19.0,
            120.0,
            arc_s,
        )
    };
    let beads = vec![bead(3.0), bead(1.0), bead(4.0)];
    Build::new("Gate between two piers", Process::MagSolid, 2000.0, beads)
}

pub(super) fn framed(tag: u8, message: &impl Message) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(tag, message, &mut frame).expect("it fits");
    frame[..length].to_vec()
}

/// A cable that loses, doubles and changes bytes, and can be pulled out.
pub(super) struct Poor {
    pub logger: Rc<RefCell<Connected>>,
    pub cable: ComputerEnd,
    pub chance: Random,
    /// One byte in so many comes to harm; 0 for none.
    pub harmed_in: u32,
    /// Bytes that still come through before somebody trips over the cable.
    pub life: u64,
}

impl Poor {
    fn harm(&mut self, bytes: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        for &byte in bytes {
            if self.harmed_in == 0 || !self.chance.bits().is_multiple_of(self.harmed_in) {
                out.push(byte);
                continue;
            }
            match self.chance.bits() % 4 {
                0 => {}
                1 => out.extend([byte, byte]),
                2 => out.push(byte ^ (1 << (self.chance.bits() % 8))),
                _ => out.push(0),
            }
        }
        out
    }
}

impl Port for Poor {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        let bytes = self.harm(bytes);
        self.cable.send(&bytes);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _wait: Duration) -> Result<usize> {
        self.logger.borrow_mut().turns(200);
        let came = self.cable.receive(into.len() / 3);
        let came = self.harm(&came);
        self.life = self.life.saturating_sub(came.len() as u64);
        if self.life == 0 {
            return Err(ErrorKind::BrokenPipe.into());
        }
        into[..came.len()].copy_from_slice(&came);
        Ok(came.len())
    }
}

/// A logger half-way through its build.
pub(super) fn half_way() -> (Rc<RefCell<Connected>>, ComputerEnd) {
    let (logger_end, cable) = cable(1000);
    let mut logger =
        Connected::start(&build(), 3, logger_end).expect("the build suits its settings");
    logger.turns(20_000);
    (Rc::new(RefCell::new(logger)), cable)
}

#[test]
fn a_log_pulled_over_a_poor_cable_in_many_tries_is_the_loggers_byte_for_byte() {
    let (logger, cable) = half_way();
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("weld.log");
    let mut tries = 0;
    let pulled = loop {
        tries += 1;
        assert!(tries < 200, "it never gets there");
        let port = Poor {
            logger: Rc::clone(&logger),
            cable: cable.clone(),
            chance: Random::new(tries),
            harmed_in: 700,
            life: 6000,
        };
        let mut source = OverLink::new(Client::new(Box::new(port)), "poor cable");
        match pull(&mut source, &out, &mut |_| true) {
            Ok(pulled) => break pulled,
            Err(Failure::File { .. } | Failure::Input(_)) => {
                assert!(!out.exists(), "only a whole log gets its name");
            }
            Err(other) => panic!("{other}"),
        }
    };
    assert!(
        tries > 3 && pulled.resumed_at > 0,
        "{tries} tries, {pulled:?}"
    );
    let got = std::fs::read(&out).expect("pulled");
    assert!(!part_of(&out).exists());
    assert!(pulled.tally.is_whole());
    let logger = Rc::into_inner(logger)
        .expect("nobody else holds it")
        .into_inner();
    let whole = logger.finish();
    // It went on logging: what was pulled is the beginning of what it has now.
    assert!(
        got.len() > 5000 && whole.starts_with(&got),
        "{} of {}",
        got.len(),
        whole.len()
    );
}

/// What a log says, with its damage if there is any.
pub(super) fn records(log: &[u8]) -> Vec<Record> {
    let (mut reader, mut rest, mut records) = (Reader::new(), log, Vec::new());
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record { record, .. } => records.push(record),
            Entry::Damage { cause, .. } => panic!("{cause}"),
        }
    }
    records
}

#[test]
fn silence_noise_and_another_version_are_told_apart() {
    struct Says(Vec<u8>);
    impl Port for Says {
        fn send(&mut self, _bytes: &[u8]) -> Result<()> {
            Ok(())
        }
        fn receive(&mut self, into: &mut [u8], _wait: Duration) -> Result<usize> {
            let count = self.0.len().min(into.len());
            into[..count].copy_from_slice(&self.0.drain(..count).collect::<Vec<_>>());
            Ok(count)
        }
    }
    let asked = |bytes: &[u8]| Client::new(Box::new(Says(bytes.to_vec()))).identify();
    assert!(matches!(
        asked(&[]),
        Err(LinkError::Silence { noise: false })
    ));
    let noise = [b"hello, I am a printer\0".as_slice()].concat();
    assert!(matches!(
        asked(&noise),
        Err(LinkError::Silence { noise: true })
    ));
    // A record of a log is a whole frame of another version.
    let record = log_build(&build(), 3).expect("usable").0;
    assert!(matches!(
        asked(&record[..400]),
        Err(LinkError::OtherVersion(1))
    ));
}

/// The bytes of some messages, as the page of the link shows them. Once released they are read for ever.
#[test]
fn the_page_of_the_link_shows_its_bytes() {
    let hex = |bytes: &[u8]| {
        bytes
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect::<Vec<_>>()
            .join(" ")
    };
    let chunk = Chunk {
        index: 2,
        from: 300,
        bytes: [0, 1, 2, 0].into_iter().collect(),
    };
    let live = Live {
        position: 1000,
        arc_on: true,
        voltage: Volts(18.5),
        current: Amperes(115.0),
        power: Watts(2200.0),
        beads: 3,
        bead_energy: Joules(1500.0),
        bead_arc_time: Seconds(0.75),
        weld_energy: Joules(1500.0),
        planned_energy: Joules(21_500.0),
        weld: Some(300),
        next: Some(7),
        advice: Advice::Wait(40),
        left: 12,
        last_alarm: None,
        lost: 0,
    };
    let mut text = String::from("```text\n");
    let mut show = |what: &str, frame: Vec<u8>| {
        text += &format!("{what}\n");
        for line in frame.chunks(24) {
            text += &format!("  {}\n", hex(line));
        }
    };
    show("identify, tag 1", framed(1, &Request::Identify));
    show(
        "four chunks of the log from byte 300 on, tag 2",
        framed(
            2,
            &Request::Pull {
                from: 300,
                chunks: 4,
            },
        ),
    );
    show(
        "a chunk, the third, byte 300 on, bytes 00 01 02 00, tag 2",
        framed(2, &Reply::Chunk(chunk)),
    );
    show("live readings, tag 3", framed(3, &Reply::Live(live)));
    let clear = |consent| Request::Clear { end: 300, consent };
    show(
        "clear the store, all 300 bytes were downloaded and checked, tag 5",
        framed(5, &clear(Consent::Pulled { sum: 0x1234_5678 })),
    );
    show(
        "the same, unread, by the name \"window\", tag 6",
        framed(
            6,
            &clear(Consent::Named("window".try_into().expect("short"))),
        ),
    );
    show(
        "check the log from byte 300 on and before byte 1000, tag 8",
        framed(
            8,
            &Request::Check {
                from: 300,
                until: 1000,
            },
        ),
    );
    let held = |from, length| Stretch { from, length };
    show(
        "bytes 300 to 319 and 400 to 999 are held, tag 8",
        framed(
            8,
            &Reply::Checked(Checked {
                stretches: [held(300, 20), held(400, 600)].into_iter().collect(),
                sum: 0x1234_5678,
                until: 1000,
            }),
        ),
    );
    show(
        "use the process TIG from now on, tag 7",
        framed(7, &Request::Process(Some(Process::Tig))),
    );
    show(
        "the process is TIG, tag 7",
        framed(7, &Reply::Process(Some(Process::Tig))),
    );
    show(
        "refused, the arc burns, tag 4",
        framed(4, &Reply::Refused(Refusal::ArcBurns)),
    );
    text += "```\n";
    assert_blessed_section("docs/link.md", "worked bytes", &text);
}
