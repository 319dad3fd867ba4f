//! Nothing that a computer sends, or does not take, costs the logger a sample or its log a record.

use super::link::{build, framed, records};
use coldsquare_core::link::{Consent, Receiver, Reply, Request};
use coldsquare_core::process::Process;
use coldsquare_core::record::{EventKind, Record};
use coldsquare_firmware::link::{Link, MAX_IN, MAX_OUT};
use coldsquare_firmware::sim::{ComputerEnd, Connected, Random, cable, log_build};
use std::rc::Rc;

#[test]
fn a_slow_absent_or_flooding_computer_costs_not_one_sample() {
    let (alone, truth) = log_build(&build(), 3).expect("the build suits its settings");
    let readings = truth.samples.len() as u64;
    let flood: Vec<u8> = (0..4000_u64)
        .flat_map(|n| {
            framed(
                n as u8,
                &Request::Pull {
                    from: n,
                    chunks: 255,
                },
            )
        })
        .collect();
    for room in [0, 1, 100] {
        for taken in [0, 1] {
            let (logger_end, cable) = cable(room);
            let mut logger = Connected::start(&build(), 3, logger_end).expect("usable");
            for at in 0..readings {
                // One turn, one reading: the link has never kept it from taking the next.
                logger.turns(1);
                if cable.unread() < 2000 {
                    let from = (at as usize * 37) % (flood.len() - 64);
                    cable.send(&flood[from..from + 64]);
                }
                let _ = cable.receive(taken);
            }
            assert!(
                logger.finish() == alone,
                "room {room}, {taken} bytes taken a turn"
            );
        }
    }
}

/// A computer that floods the line and never takes a byte. It counts how often it is touched in a turn: a logger that
/// waited for it would touch it for ever.
struct NeverTakes {
    flood: std::iter::Cycle<std::vec::IntoIter<u8>>,
    touched: Rc<std::cell::Cell<usize>>,
}

impl NeverTakes {
    fn touch(&self) {
        let touched = self.touched.get() + 1;
        assert!(
            touched <= MAX_IN + MAX_OUT,
            "the logger waits for the computer"
        );
        self.touched.set(touched);
    }
}

impl Link for NeverTakes {
    fn receive(&mut self) -> Option<u8> {
        self.touch();
        self.flood.next()
    }
    fn send(&mut self, _bytes: &[u8]) -> usize {
        self.touch();
        0
    }
}

#[test]
fn a_turn_of_the_logger_touches_the_link_so_often_and_no_more() {
    let pull = framed(
        1,
        &Request::Pull {
            from: 0,
            chunks: 255,
        },
    );
    let touched = Rc::<std::cell::Cell<usize>>::default();
    let link = NeverTakes {
        flood: pull.into_iter().cycle(),
        touched: Rc::clone(&touched),
    };
    let mut logger = Connected::start(&build(), 3, link).expect("usable");
    let mut most = 0;
    for _ in 0..20_000 {
        logger.turns(1);
        most = most.max(touched.replace(0));
    }
    assert!(most > 1, "it was touched at all");
}

/// Cases of the random conversation: a share each time, millions with this variable.
fn cases() -> u64 {
    let asked = std::env::var("COLDSQUARE_LINK_CASES").ok();
    asked.map_or(20_000, |text| text.parse().expect("a number of cases"))
}

/// A whole frame of a kind and payload of chance: what no checksum keeps out. Written after docs/link.md, section 1.
fn sealed_by_chance(chance: &mut Random) -> Vec<u8> {
    let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
    let mut body = vec![0x81, 1 + (chance.bits() % 9) as u8];
    let length = chance.bits() % 160;
    // Mostly small numbers, as most fields hold, and now and then anything.
    let byte = |chance: &mut Random| match chance.bits() % 4 {
        0 => chance.bits() as u8,
        _ => (chance.bits() % 4) as u8,
    };
    body.extend((0..=length).map(|_| byte(chance)));
    body.extend(crc.checksum(&body).to_le_bytes());
    [vec![0], cobs::encode_vec(&body), vec![0]].concat()
}

/// Some bytes that may be nothing, noise, a message, half of one, one with a changed byte or one that makes no sense.
fn anything(chance: &mut Random) -> Vec<u8> {
    let long = |chance: &mut Random| u64::from(chance.bits()) << 32 | u64::from(chance.bits());
    let request = match chance.bits() % 9 {
        0 => Request::Identify,
        1 => Request::Live,
        2 => Request::Pull {
            from: long(chance) >> (chance.bits() % 64),
            chunks: 1 + (chance.bits() % 255) as u8,
        },
        3 => Request::SetClock {
            unix_ms: long(chance),
        },
        4 => Request::PlanEnds {
            checksum: chance.bits(),
        },
        5 => Request::Clear {
            end: long(chance) >> (chance.bits() % 64),
            consent: Consent::Pulled { sum: chance.bits() },
        },
        // By what is welded already, or by chance: refused while a bead is made, and looked for as before otherwise.
        7 => Request::Process([None, Some(Process::MagSolid)][chance.bits() as usize % 2]),
        6 => Request::Clear {
            end: long(chance) >> (chance.bits() % 64),
            consent: Consent::Named("somebody else's".try_into().expect("short")),
        },
        _ => Request::Live,
    };
    let mut bytes = framed(chance.bits() as u8, &request);
    let at = chance.bits() as usize % bytes.len();
    match chance.bits() % 6 {
        5 => bytes = sealed_by_chance(chance),
        0 => bytes.truncate(at),
        1 => bytes[at] ^= chance.bits() as u8,
        2 => {
            bytes = (0..chance.bits() % 300)
                .map(|_| chance.bits() as u8)
                .collect()
        }
        3 => drop(bytes.drain(..at)),
        _ => {}
    }
    bytes
}

/// Cases of one conversation: as many as a build lasts.
const CASES_A_BUILD: u64 = 400;

/// What was measured: beads and windows.
fn measured(records: &[Record]) -> Vec<&Record> {
    let records = records.iter();
    records
        .filter(|record| matches!(record, Record::Bead(_) | Record::Window(_)))
        .collect()
}

/// After whatever it was, the next whole question is answered.
fn assert_answers(logger: &mut Connected, cable: &ComputerEnd, client: &mut Receiver<Reply>) {
    cable.send(&framed(200, &Request::Identify));
    let mut answered = false;
    for _ in 0..4000 {
        logger.turns(8);
        for byte in cable.receive(200) {
            answered |= matches!(client.take(byte), Some((200, Ok(Reply::Identity(_)))));
        }
        if answered && cable.unread() == 0 {
            return;
        }
    }
    panic!("no answer");
}

/// While it welds, and when it rests: beads and windows are those of a logger that nobody speaks to.
#[test]
fn any_bytes_both_ways_leave_a_logger_that_answers_and_a_log_without_a_hole() {
    let alone = records(&log_build(&build(), 3).expect("usable").0);
    let mut chance = Random::new(11);
    for _ in 0..cases().div_ceil(CASES_A_BUILD) {
        let (logger_end, cable) = cable(500);
        let mut logger = Connected::start(&build(), 3, logger_end).expect("usable");
        let mut client = Receiver::<Reply>::new();
        for case in 0..CASES_A_BUILD {
            cable.send(&anything(&mut chance));
            logger.turns(u64::from(chance.bits() % 64));
            for byte in cable.receive(chance.bits() as usize % 200) {
                // The computer meets noise too.
                let harmed = if chance.bits().is_multiple_of(200) {
                    chance.bits() as u8
                } else {
                    byte
                };
                client.take(harmed);
            }
            if case % 64 == 0 {
                assert_answers(&mut logger, &cable, &mut client);
            }
        }
        assert_answers(&mut logger, &cable, &mut client);
        logger.weld_all();
        let log = logger.finish();
        let mut reader = coldsquare_core::record::Reader::new();
        let mut rest = log.as_slice();
        while reader.next(&mut rest).is_some() {}
        assert!(reader.counts().is_whole(), "{:?}", reader.counts());
        assert!(measured(&records(&log)) == measured(&alone));
    }
}

/// Time within a log is counted in samples: a clock that jumps by an hour, back or forth, or by thirty years, is told
/// with its step and changes no bead.
#[test]
fn a_clock_that_jumps_is_told_and_moves_no_bead() {
    const STARTED_MS: i64 = 1_750_000_000_000;
    let beads = |records: &[Record]| -> Vec<_> {
        let bead = |record: &Record| match record {
            Record::Bead(bead) => Some(*bead),
            _ => None,
        };
        records.iter().filter_map(bead).collect()
    };
    let alone = beads(&records(&log_build(&build(), 3).expect("usable").0));
    for step_ms in [-3_600_000, 3_600_000, -946_080_000_000] {
        let (logger_end, cable) = cable(1000);
        let mut logger = Connected::start(&build(), 3, logger_end).expect("usable");
        logger.turns(1000);
        // Half a second has passed.
        let unix_ms = u64::try_from(STARTED_MS + 500 + step_ms).expect("after 1970");
        cable.send(&framed(1, &Request::SetClock { unix_ms }));
        logger.weld_all();
        let records = records(&logger.finish());
        assert_eq!(beads(&records), alone);
        let told: Vec<_> = records
            .iter()
            .filter_map(|record| match record {
                Record::Event(event) if event.kind == EventKind::ClockSet => Some(event.value),
                _ => None,
            })
            .collect();
        assert_eq!(told.len(), 1);
        assert!((told[0] - step_ms).abs() < 50, "{told:?}");
    }
}
