//! Builds the emulated board's programs and runs them.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::thread;
use std::time::Duration;

/// Ends an emulator that hangs. A run takes seconds, minutes on a busy machine.
const GIVE_UP_S: &str = "900";

/// True when these tests are asked for.
pub fn wanted() -> bool {
    let wanted = std::env::var_os("COLDSQUARE_EMULATOR").is_some_and(|value| value == "1");
    if !wanted {
        eprintln!("not run: COLDSQUARE_EMULATOR is not 1");
    }
    wanted
}

/// Builds a board's programs; what the script prints.
pub fn built(board: &str) -> String {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../firmware/boards/build");
    let built = Command::new(script)
        .arg(board)
        // Cargo tells its tests which compiler built them; a board needs its own.
        .env_remove("RUSTUP_TOOLCHAIN")
        .stderr(Stdio::inherit())
        .output()
        .expect("firmware/boards/build can be run");
    assert!(
        built.status.success(),
        "the programs of {board} cannot be built"
    );
    String::from_utf8_lossy(&built.stdout).into_owned()
}

/// A board that is emulated. Its first serial line gives the log, its second takes the feed, its third gives figures.
pub struct Machine {
    name: &'static str,
    processor: &'static str,
    /// It loses what is sent to it before its program listens, which then says so in its figures.
    says_when_it_listens: bool,
}

/// The first.
pub const FIRST: Machine = Machine {
    name: "lm3s6965evb",
    processor: "cortex-m3",
    says_when_it_listens: false,
};

/// The second.
pub const SECOND: Machine = Machine {
    name: "netduinoplus2",
    processor: "cortex-m4",
    says_when_it_listens: true,
};

/// A program of the first emulated board, built.
pub fn program(name: &str) -> PathBuf {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| PathBuf::from(built("emulated").trim()));
    folder.join(name)
}

/// A program of the second emulated board, built.
pub fn second_program(name: &str) -> PathBuf {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| PathBuf::from(built("second").trim()));
    folder.join(name)
}

/// What a program sent.
pub struct Sent {
    /// Out of the first serial line.
    pub log: Vec<u8>,
    /// Out of the third: a name and a number a line.
    report: String,
    /// On the emulator's console.
    pub said: Vec<u8>,
}

impl Sent {
    /// Whether the report has a number of this name.
    pub fn says(&self, name: &str) -> bool {
        let mut lines = self.report.lines();
        lines.any(|line| line.split_once(' ').is_some_and(|(found, _)| found == name))
    }

    /// A number of the report.
    pub fn number(&self, name: &str) -> u32 {
        self.report
            .lines()
            .filter_map(|line| line.split_once(' '))
            .find_map(|(found, number)| (found == name).then(|| number.parse().ok()).flatten())
            .unwrap_or_else(|| panic!("no {name} in the report:\n{}", self.report))
    }
}

/// Runs the program that counts instructions on a Cortex-M33; it tells them on the emulator's console.
pub fn run_m33(program: &Path) -> Sent {
    let ran = Command::new("timeout")
        .args([GIVE_UP_S, "qemu-system-arm"])
        .args(["-machine", "mps2-an505", "-cpu", "cortex-m33"])
        .args(["-display", "none", "-monitor", "none", "-serial", "null"])
        .args(["-semihosting-config", "enable=on,target=native"])
        .args(["-icount", "shift=0", "-kernel"])
        .arg(program)
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .output()
        .expect("qemu-system-arm can be run (Debian: qemu-system-arm)");
    assert!(
        ran.status.success(),
        "the program ended with {}",
        ran.status
    );
    Sent {
        log: Vec::new(),
        report: String::from_utf8_lossy(&ran.stdout).into_owned(),
        said: Vec::new(),
    }
}

/// How the emulator's time passes.
#[derive(Clone, Copy, Debug)]
pub enum Pace {
    /// As fast as it can.
    Fast,
    /// One nanosecond an instruction, so that the board's timer counts them.
    Counted,
}

/// Runs a program of the first board, with `feed` into UART 1, until it ends by itself.
pub fn run(program: &Path, pace: Pace, feed: Vec<u8>) -> Sent {
    run_with(program, pace, feed, &[])
}

/// The same with the feed in the board's flash: it waits for nobody. And with more hardware.
pub fn run_from_flash(program: &Path, feed: &[u8], hardware: &[String]) -> Sent {
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), [b"FEED", feed].concat()).expect("written");
    assert!(
        feed.len() < 0x1_0000 - 4,
        "{} bytes are too many",
        feed.len()
    );
    let shelf = format!(
        "loader,file={},addr=0x30000,force-raw=on",
        file.path().display()
    );
    let hardware = [hardware, &["-device".into(), shelf]].concat();
    run_with(program, Pace::Counted, Vec::new(), &hardware)
}

/// The same with more hardware.
pub fn run_with(program: &Path, pace: Pace, feed: Vec<u8>, hardware: &[String]) -> Sent {
    run_on(&FIRST, program, pace, feed, hardware)
}

/// Waits until a file has something in it.
fn wait_for(file: &Path) {
    let listens = || std::fs::metadata(file).is_ok_and(|file| file.len() > 0);
    for _ in 0..60_000 {
        if listens() {
            return;
        }
        thread::sleep(Duration::from_millis(2));
    }
}

/// Runs a program of a board, with `feed` into its second serial line and more hardware, until it ends by itself.
pub fn run_on(
    machine: &Machine,
    program: &Path,
    pace: Pace,
    feed: Vec<u8>,
    hardware: &[String],
) -> Sent {
    let folder = tempfile::tempdir().expect("a folder");
    let (log, report) = (folder.path().join("log"), folder.path().join("report"));
    let to = |path: &Path| format!("file:{}", path.display());
    let mut emulator = Command::new("timeout")
        .args([GIVE_UP_S, "qemu-system-arm"])
        .args(["-machine", machine.name, "-cpu", machine.processor])
        .args(["-display", "none", "-monitor", "none"])
        .args(["-semihosting-config", "enable=on,target=native"])
        .args(match pace {
            Pace::Fast => [].as_slice(),
            Pace::Counted => &["-icount", "shift=0"],
        })
        .args([
            "-serial",
            &to(&log),
            "-serial",
            "stdio",
            "-serial",
            &to(&report),
        ])
        .args(hardware)
        .arg("-kernel")
        .arg(program)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .expect("qemu-system-arm can be run (Debian: qemu-system-arm)");
    let mut stdin = emulator.stdin.take().expect("piped");
    // Written from beside, because the emulator takes the feed no faster than the logger does. A program that ends
    // early closes the pipe; its exit status says what happened.
    let listens = machine.says_when_it_listens.then(|| report.clone());
    let feeder = thread::spawn(move || {
        if let Some(report) = listens {
            wait_for(&report);
        }
        drop(stdin.write_all(&feed));
    });
    let ended = emulator.wait_with_output().expect("the emulator ends");
    feeder.join().expect("the feed was written");
    assert!(
        ended.status.success(),
        "the program ended with {}",
        ended.status
    );
    let read = |path: &Path| std::fs::read(path).expect("the emulator wrote it");
    Sent {
        log: read(&log),
        report: String::from_utf8_lossy(&read(&report)).into_owned(),
        said: ended.stdout,
    }
}
