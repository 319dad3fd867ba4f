//! A computer on the emulated logger's link while readings come in: it identifies the logger, sends a plan, watches, and
//! pulls the log. Also the cost of replanning.

use crate::board::{Pace, program, run, wanted};
use crate::budget::within;
use crate::same_log::{fed, records};
use coldsquare::link::plan::{portions, send};
use coldsquare::link::pull::{OverLink, pull};
use coldsquare::link::{Client, Whereabouts, open};
use coldsquare_core::record::Record;
use coldsquare_core::units::Celsius;
use coldsquare_engine::job;
use std::io::Write;
use std::net::TcpListener;
use std::process::{Command, Stdio};
use std::time::Duration;

/// Instructions of the longest slice: the temperature that one weld leaves, in floating point by hand.
const MAX_IN_A_SLICE: u32 = 50_000;
/// Instructions of replanning 62 welds and of the wait, all slices together.
const MAX_TO_REPLAN: u32 = 12_000_000;
/// Bytes of the plan with all that is worked out from it.
const MAX_PLAN_BYTES: u32 = 8 * 1024;

#[test]
fn replanning_on_the_logger_fits_its_budget() {
    if !wanted() {
        return;
    }
    let sent = run(&program("replan"), Pace::Counted, Vec::new());
    within(
        "Cortex-M3: instructions of the longest slice of planning again",
        sent.number("replan_longest_slice"),
        MAX_IN_A_SLICE,
    );
    within(
        "Cortex-M3: instructions of planning 62 welds again",
        sent.number("replan_whole"),
        MAX_TO_REPLAN,
    );
    within(
        "Cortex-M3: bytes of a plan",
        sent.number("plan_bytes"),
        MAX_PLAN_BYTES,
    );
}

#[test]
fn a_computer_asks_plans_watches_and_pulls_while_the_emulated_logger_takes_every_reading() {
    if !wanted() {
        return;
    }
    let (here, feed) = fed();
    // A port that is free: QEMU listens there.
    let port = TcpListener::bind("127.0.0.1:0")
        .and_then(|listener| listener.local_addr())
        .expect("a free port")
        .port();
    let folder = tempfile::tempdir().expect("a folder");
    let report = folder.path().join("report");
    let mut emulator = Command::new("timeout")
        .args([
            "900",
            "qemu-system-arm",
            "-machine",
            "lm3s6965evb",
            "-cpu",
            "cortex-m3",
        ])
        .args([
            "-display",
            "none",
            "-monitor",
            "none",
            "-semihosting-config",
            "enable=on,target=native",
        ])
        .arg("-serial")
        .arg(format!("tcp:127.0.0.1:{port},server=on,wait=on,nodelay=on"))
        .args(["-serial", "stdio", "-serial"])
        .arg(format!("file:{}", report.display()))
        .arg("-kernel")
        .arg(program("linked"))
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .expect("qemu-system-arm can be run");
    let name = format!("tcp:127.0.0.1:{port}");
    let at = Whereabouts::of(&name);
    let connect = || {
        (0..100).find_map(|_| {
            std::thread::sleep(Duration::from_millis(50));
            open(&at, false).ok()
        })
    };
    let mut client = Client::new(connect().expect("the emulator listens"));
    let mut stdin = emulator.stdin.take().expect("piped");
    // The end of the feed is kept back until the computer has what it wants.
    let (most, last) = feed.split_at(feed.len() - 1);
    let most = most.to_vec();
    let feeder = std::thread::spawn(move || {
        stdin
            .write_all(&most)
            .expect("the logger takes the readings");
        stdin
    });
    let identity = client.identify().expect("it says who it is");
    assert_eq!(identity.board, "lm3s6965evb");
    let job = job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE).expect("sound");
    let drawn: Vec<String> = job
        .welds
        .iter()
        .map(|weld| weld.number.to_string())
        .collect();
    let part = portions(&job, &drawn.join(","), Celsius(20.0))
        .expect("an order")
        .remove(0);
    send(&mut client, &part, &mut |_| {}).expect("it takes the plan");
    let (mut position, mut lit) = (0, 0);
    while !feeder.is_finished() {
        let live = client.live().expect("it measures");
        assert!(live.position >= position);
        position = live.position;
        lit += u32::from(live.arc_on);
    }
    let mut stdin = feeder.join().expect("all readings were taken");
    let live = client.live().expect("it measures");
    assert!(live.next.is_some() && live.beads > 0 && lit > 0, "{live:?}");
    let out = folder.path().join("weld.log");
    let mut source = OverLink::new(client, &name);
    let pulled = pull(&mut source, &out, &mut |_| true).expect("it gives its log");
    stdin.write_all(last).expect("the feed ends");
    drop(stdin);
    assert!(emulator.wait().expect("it ends").success());
    let got = std::fs::read(&out).expect("pulled");
    assert!(pulled.tally.is_whole(), "{pulled:?}");
    // Not a sample was lost to the computer: the same windows and beads as in the log made here without one, up to
    // what was still open.
    let measured = |log: &[u8]| {
        let mut records = records(log);
        records.retain(|record| matches!(record, Record::Window(_) | Record::Bead(_)));
        records
    };
    let (got_measured, here_measured) = (measured(&got), measured(&here));
    assert!(got_measured.len() + 2 >= here_measured.len());
    assert!(here_measured.starts_with(&got_measured));
    let report = std::fs::read_to_string(&report).expect("written");
    println!(
        "{} bytes pulled of {}; {}",
        got.len(),
        here.len(),
        report.trim().replace('\n', ", ")
    );
}
