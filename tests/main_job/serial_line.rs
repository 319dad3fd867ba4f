//! The commands on a serial line of the system's own: a pseudo-terminal, with the logger at its other end.

use coldsquare_core::process::Process;
use coldsquare_firmware::link::Link;
use coldsquare_firmware::sim::{Build, Connected, SimulatedBead, Transfer};
use coldsquare_tests::command::coldsquare;
use serialport::{SerialPort, TTYPort};
use std::io::{Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::time::Duration;

/// The logger's end: asks first, so that it never waits.
struct Terminal(TTYPort);

impl Link for Terminal {
    fn receive(&mut self) -> Option<u8> {
        let waiting = self.0.bytes_to_read().ok()?;
        let mut byte = [0];
        (waiting > 0 && self.0.read(&mut byte).ok()? == 1).then_some(byte[0])
    }

    fn send(&mut self, bytes: &[u8]) -> usize {
        self.0.write(bytes).unwrap_or(0)
    }
}

/// A logger that has seen its whole build and then answers until it is told to stop; gives its log.
fn answer(terminal: Terminal, welded: &Sender<()>, stop: &AtomicBool) -> Vec<u8> {
    let beads = vec![SimulatedBead::new(Transfer::TigDirect, 12.0, 90.0, 4.0); 3];
    let build = Build::new("Serial line", Process::Tig, 2000.0, beads);
    let mut logger = Connected::start(&build, 5, terminal).expect("usable");
    logger.weld_all();
    welded.send(()).expect("the test waits");
    while !stop.load(Ordering::Relaxed) {
        logger.turns(64);
        std::thread::sleep(Duration::from_millis(1));
    }
    logger.finish()
}

#[test]
fn a_logger_on_a_serial_line_is_watched_set_and_pulled_byte_for_byte() {
    let (logger_end, ours) = TTYPort::pair().expect("a pseudo-terminal");
    let name = ours.name().expect("it has a name");
    // Each command opens it for itself alone.
    drop(ours);
    let stop = Arc::<AtomicBool>::default();
    let (tell, welded) = channel();
    let logger = {
        let stop = Arc::clone(&stop);
        std::thread::spawn(move || answer(Terminal(logger_end), &tell, &stop))
    };
    welded.recv().expect("the build ends");
    let live = coldsquare(["live", &name, "--lines", "2", "--every", "0.1", "--json"]);
    assert_eq!(live.code, 0, "{}", live.err);
    let line: serde_json::Value =
        serde_json::from_str(live.out.lines().next().expect("a line")).expect("JSON");
    assert_eq!(line["bead"], 3, "{line}");
    let set = coldsquare(["send", &name, "--clock"]);
    assert!(
        set.code == 0 && set.out.contains("Clock set: "),
        "{}{}",
        set.out,
        set.err
    );
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("weld.log");
    let pulled = coldsquare(["pull", &name, out.to_str().expect("text")]);
    assert!(
        pulled.code == 0 && pulled.out.contains("Nothing is missing."),
        "{}{}",
        pulled.out,
        pulled.err
    );
    stop.store(true, Ordering::Relaxed);
    let log = logger.join().expect("the logger ends");
    let got = std::fs::read(&out).expect("written");
    // When it ends it closes its last window; everything before is what was pulled.
    assert!(got.len() > 1000 && log.starts_with(&got));
}
