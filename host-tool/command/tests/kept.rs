//! What the command calls saved survives a power cut: bytes are on the disk before they get their name, the name is before
//! the command ends, and a log is before its logger is told to clear its memory. The order is read from the calls that the
//! built command makes to the system, as `strace` sees them.
#![cfg(target_os = "linux")]

use coldsquare_core::process::Process;
use coldsquare_firmware::sim::{Build, Connected, SimulatedBead, Transfer, cable};
use std::collections::BTreeSet;
use std::io::{ErrorKind, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::Command;

/// What a power cut would take, call by call.
struct Unsafe<'a> {
    /// The folder that is watched.
    folder: &'a Path,
    /// Files with bytes that are not on the disk yet.
    files: BTreeSet<PathBuf>,
    /// Folders with names that are not.
    folders: BTreeSet<PathBuf>,
    /// Files that got their final name.
    named: Vec<PathBuf>,
    /// What was unsafe when the last message was sent; `None` when none was.
    at_last_message: Option<usize>,
}

impl<'a> Unsafe<'a> {
    /// Runs the command under `strace` in a folder, and follows its calls.
    fn after(folder: &'a Path, arguments: &[&str]) -> Self {
        let trace = tempfile::NamedTempFile::new().expect("temporary file");
        let ran = Command::new("strace")
            .args(["-f", "-y", "-s", "0", "-e"])
            .arg("trace=write,pwrite64,writev,ftruncate,fsync,fdatasync,rename,renameat,renameat2,link,linkat,sendto")
            .arg("-o")
            .arg(trace.path())
            .arg(env!("CARGO_BIN_EXE_coldsquare"))
            .args(arguments)
            .current_dir(folder)
            .output()
            .expect("strace is there (Debian: strace)");
        let said = String::from_utf8_lossy(&ran.stderr);
        assert_eq!(ran.status.code(), Some(0), "{arguments:?}: {said}");
        let mut found = Self {
            folder,
            files: BTreeSet::new(),
            folders: BTreeSet::new(),
            named: Vec::new(),
            at_last_message: None,
        };
        let calls = std::fs::read_to_string(trace.path()).expect("strace wrote it");
        calls.lines().for_each(|call| found.follow(call));
        found
    }

    fn follow(&mut self, line: &str) {
        let call = line.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' ');
        let Some((name, rest)) = call.split_once('(') else {
            return;
        };
        assert!(
            !rest.contains("unfinished"),
            "calls of threads are mixed: {line}"
        );
        if rest.contains(" = -1 ") {
            return;
        }
        match name {
            "sendto" => self.at_last_message = Some(self.files.len() + self.folders.len()),
            "fsync" | "fdatasync" => {
                let path = opened(rest);
                self.files.remove(&path);
                self.folders.remove(&path);
            }
            "write" | "pwrite64" | "writev" | "ftruncate" => {
                let path = opened(rest);
                if path.starts_with(self.folder) {
                    self.files.insert(path);
                }
            }
            _ => self.named(rest),
        }
    }

    /// A file got a name: all of its bytes must be on the disk.
    fn named(&mut self, rest: &str) {
        let mut names = rest.split('"').skip(1).step_by(2);
        let (Some(from), Some(to)) = (names.next(), names.next()) else {
            panic!("two names: {rest}");
        };
        let [from, to] = [from, to].map(|name| self.folder.join(name));
        assert!(
            !self.files.contains(&from),
            "{from:?} is named {to:?} and not synced"
        );
        let folder = to.parent().expect("it is in a folder");
        self.folders.insert(folder.to_owned());
        self.named.push(to);
    }

    fn is_empty(&self) -> bool {
        self.files.is_empty() && self.folders.is_empty()
    }
}

/// The path of the file that a call is given: `5</tmp/weld.log>, ...`.
fn opened(rest: &str) -> PathBuf {
    let path = rest
        .split_once('<')
        .and_then(|(_, rest)| rest.split_once('>'));
    path.map(|(path, _)| path.into()).unwrap_or_default()
}

/// A folder by the name that the system knows it by.
fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("temporary folder");
    let path = folder.path().canonicalize().expect("it is there");
    (folder, path)
}

/// New, replaced with `--force`, and a notebook that is begun and grows.
#[test]
fn what_is_saved_survives_a_power_cut() {
    let (_kept, folder) = folder();
    let inspect = ["inspect", "gate.toml", "1", "--result", "accepted"];
    let new = ["new", "gate.toml"];
    let commands: [(&[&str], &str); 4] = [
        (&new, "gate.toml"),
        (&[&new[..], &["--force"]].concat(), "gate.toml"),
        (&inspect, "gate-inspection.toml"),
        (&inspect, "gate-inspection.toml"),
    ];
    for (arguments, saved) in commands {
        let after = Unsafe::after(&folder, arguments);
        assert_eq!(after.named, [folder.join(saved)], "{arguments:?}");
        assert!(
            after.is_empty(),
            "{arguments:?}: {:?} {:?}",
            after.files,
            after.folders
        );
    }
}

/// A logger that has welded, behind a network socket, until the other end hangs up.
fn serve(line: &TcpListener) -> std::io::Result<()> {
    let bead = SimulatedBead::new(Transfer::TigDirect, 12.0, 90.0, 1.0);
    let build = Build::new("Gate", Process::Tig, 1000.0, vec![bead]);
    let (logger_end, cable) = cable(4096);
    let mut logger = Connected::start(&build, 1, logger_end).expect("usable");
    logger.weld_all();
    let (mut stream, _): (TcpStream, _) = line.accept()?;
    stream.set_nonblocking(true)?;
    let mut piece = [0; 1024];
    loop {
        match stream.read(&mut piece) {
            Ok(0) => return Ok(()),
            Ok(count) => cable.send(&piece[..count]),
            Err(cause) if cause.kind() == ErrorKind::WouldBlock => {}
            Err(_) => return Ok(()),
        }
        logger.turns(16);
        let answer = cable.receive(4096);
        stream.set_nonblocking(false)?;
        stream.write_all(&answer)?;
        stream.set_nonblocking(true)?;
    }
}

/// Pulls the log of such a logger, with these arguments besides.
fn pull<'a>(folder: &'a Path, more: &[&str]) -> Unsafe<'a> {
    let line = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = format!("tcp:{}", line.local_addr().expect("bound"));
    let logger = std::thread::spawn(move || serve(&line));
    let after = Unsafe::after(folder, &[&["pull", &address, "weld.log"], more].concat());
    logger.join().expect("no panic").expect("a good line");
    let log = std::fs::metadata(folder.join("weld.log")).expect("pulled");
    assert!(log.len() > 0);
    assert_eq!(after.named, [folder.join("weld.log")]);
    assert!(after.is_empty(), "{:?} {:?}", after.files, after.folders);
    after
}

#[test]
fn a_log_that_was_pulled_survives_a_power_cut() {
    let (_kept, folder) = folder();
    pull(&folder, &[]);
}

/// After `--then-clear` the file is the only copy. The last message to the logger is the one that clears its memory.
#[test]
fn a_logger_is_cleared_when_its_log_would_survive_a_power_cut() {
    let (_kept, folder) = folder();
    let after = pull(&folder, &["--then-clear"]);
    assert_eq!(
        after.at_last_message,
        Some(0),
        "files and folders not synced"
    );
}
