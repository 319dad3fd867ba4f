//! A stranger at the other end of the cable: each of its answers is nothing, noise, any message, a lie, or what a real
//! logger says. A download ends, takes no room on the disk that nobody sent, and leaves no file of the final name unless it
//! says so; a real logger's log then comes over whole in spite of what is left, and its store is cleared for that alone.
#![no_main]

use coldsquare::link::clear::clear_pulled;
use coldsquare::link::pull::{OverLink, part_of, pull};
use coldsquare::link::{Client, Port};
use coldsquare_core::link::{
    Capabilities, Checked, Chunk, MAX_FRAME, Receiver, Reply, Request, Stretch, VERSION, checksum_of_bytes, encode,
};
use coldsquare_core::process::Process;
use coldsquare_firmware::sim::{Build, ComputerEnd, Connected, SimulatedBead, Transfer, cable, stranger};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::rc::Rc;
use std::time::Duration;

const CRC: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
/// Reads of the port that one command may need at most.
const MOST_READS: u64 = 200_000;

struct Stranger {
    says: std::vec::IntoIter<u8>,
    asked: Receiver<Request>,
    answer: VecDeque<u8>,
    logger: Rc<RefCell<Connected>>,
    cable: ComputerEnd,
    sent: Rc<Cell<u64>>,
    reads: u64,
}

impl Stranger {
    fn byte(&mut self) -> u8 {
        self.says.next().unwrap_or(255)
    }

    /// A number that is often small or at an end.
    fn number(&mut self) -> u64 {
        match self.byte() {
            255 => u64::MAX,
            254 => (1 << 33) + 1,
            253 => 1 << self.byte().min(26),
            high @ 240.. => u64::from(high - 240) << 8 | u64::from(self.byte()),
            low => low.into(),
        }
    }

    fn bytes(&mut self) -> Vec<u8> {
        let count = usize::from(self.byte());
        self.says.by_ref().take(count).collect()
    }

    fn say(&mut self, tag: u8, reply: &Reply) {
        let mut frame = [0; MAX_FRAME];
        let length = encode(tag, reply, &mut frame).unwrap_or(0);
        self.answer.extend(&frame[..length]);
    }

    fn reply(&mut self, tag: u8, request: &Request) {
        match self.byte() % 16 {
            0 => {}
            1 => {
                let noise = self.bytes();
                self.answer.extend(noise);
            }
            2 => {
                let mut body = vec![VERSION, self.byte() % 12, tag];
                body.extend(self.bytes());
                body.extend(CRC.checksum(&body).to_le_bytes());
                self.answer.push_back(0);
                self.answer.extend(cobs::encode_vec(&body));
                self.answer.push_back(0);
            }
            3 | 4 => self.lie(tag, request),
            _ => self.pass_on(tag, request),
        }
    }

    fn lie(&mut self, tag: u8, request: &Request) {
        match request {
            Request::Identify => {
                let log = (self.number(), self.number());
                let can = Capabilities { pull: true, check: true, clear: true, ..Default::default() };
                self.say(tag, &Reply::Identity(stranger(log, can)));
            }
            Request::Pull { from, .. } => {
                for index in 0..1 + self.byte() % 3 {
                    let from = if self.byte() % 2 == 0 { *from } else { self.number() };
                    let bytes = self.bytes().into_iter().take(coldsquare_core::link::CHUNK).collect();
                    self.say(tag, &Reply::Chunk(Chunk { index, from, bytes }));
                }
            }
            Request::Check { from, until } => {
                let stretch = |from: u64, length: u64| Stretch { from, length: length as u16 };
                let mut stretches = vec![stretch(*from, self.number())];
                for _ in 0..self.byte() % 4 {
                    stretches.push(stretch(self.number(), self.number()));
                }
                let until = if self.byte() % 2 == 0 { *until } else { self.number() };
                let sum = if self.byte() % 2 == 0 { checksum_of_bytes(0, &[]) } else { self.number() as u32 };
                self.say(tag, &Reply::Checked(Checked { stretches: stretches.into_iter().collect(), sum, until }));
            }
            _ => self.say(tag, &Reply::Done),
        }
    }

    /// What a real logger answers.
    fn pass_on(&mut self, tag: u8, request: &Request) {
        let mut frame = [0; MAX_FRAME];
        let length = encode(tag, request, &mut frame).expect("it was received");
        self.cable.send(&frame[..length]);
        let mut quiet = 0;
        while quiet < 4 {
            self.logger.borrow_mut().turns(16);
            let came = self.cable.receive(8192);
            quiet = if came.is_empty() { quiet + 1 } else { 0 };
            self.answer.extend(came);
        }
    }
}

impl Port for Stranger {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        for &byte in bytes {
            if let Some((tag, Ok(request))) = self.asked.take(byte) {
                self.reply(tag, &request);
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> std::io::Result<usize> {
        self.reads += 1;
        assert!(self.reads < MOST_READS, "it never ends");
        let count = into.len().min(self.answer.len());
        for (to, from) in into.iter_mut().zip(self.answer.drain(..count)) {
            *to = from;
        }
        self.sent.set(self.sent.get() + count as u64);
        Ok(count)
    }

    fn rest(&mut self, _: Duration) {}
}

/// Bytes that a file has on the disk.
fn on_disk(path: &std::path::Path) -> u64 {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(path).map_or(0, |found| found.blocks() * 512)
}

libfuzzer_sys::fuzz_target!(|input: &[u8]| {
    let bead = SimulatedBead::new(Transfer::TigDirect, 12.0, 90.0, 0.3);
    let build = Build::new("fuzz", Process::Tig, 1000.0, vec![bead]);
    let (logger_end, cable) = cable(1 << 15);
    let mut logger = Connected::start(&build, 1, logger_end).expect("usable");
    logger.weld_all();
    let logger = Rc::new(RefCell::new(logger));
    let sent = Rc::new(Cell::new(0));
    let source = |says: &[u8]| {
        let stranger = Stranger {
            says: says.to_vec().into_iter(),
            asked: Receiver::new(),
            answer: VecDeque::new(),
            logger: Rc::clone(&logger),
            cable: cable.clone(),
            sent: Rc::clone(&sent),
            reads: 0,
        };
        OverLink::new(Client::new(Box::new(stranger)), "fuzz")
    };
    let folder = tempfile::tempdir().expect("room");
    let out = folder.path().join("weld.log");
    let first = pull(&mut source(input), &out, &mut |_| true);
    assert_eq!(first.is_ok(), out.exists());
    let room = on_disk(&out).max(on_disk(&part_of(&out)));
    // A chunk far from the others has a page of its own, and a frame of it at least 20 bytes.
    assert!(room <= 4096 * (sent.get() / 20) + 65_536, "{room} bytes for {} that were sent", sent.get());
    if first.is_ok() {
        std::fs::rename(&out, part_of(&out)).expect("room");
    }
    // A real logger, from what the stranger left.
    let mut real = source(&[]);
    if pull(&mut real, &out, &mut |_| true).is_err() {
        assert!(!out.exists());
        return;
    }
    let fresh = folder.path().join("fresh.log");
    pull(&mut real, &fresh, &mut |_| true).expect("nothing was there before");
    let [file, whole] = [&out, &fresh].map(|path| std::fs::read(path).expect("it was pulled"));
    // It may have grown meanwhile: by its seal.
    assert!(!file.is_empty() && whole.starts_with(&file));
    clear_pulled(&mut real, &out).expect("all of it is in the file");
});
