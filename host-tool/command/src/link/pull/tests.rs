//! What becomes of a download that was begun, damaged or overtaken: only the logger's own bytes get the final name.

use super::*;
use std::fs;

/// Longer than what is compared of a partial download.
const LOG: usize = 5 * COMPARED as usize;

/// A record, and then bytes that are none: what is in a log is not what is tested here.
fn log() -> Vec<u8> {
    let mut log: Vec<u8> = (0..LOG).map(|k| (k * 31 % 251) as u8 + 1).collect();
    let record = coldsquare_core::record::Record::Event(coldsquare_core::record::Event {
        position: 5,
        kind: coldsquare_core::record::EventKind::PowerOn,
        value: 1,
    });
    let mut frame = [0; coldsquare_core::record::MAX_FRAME];
    let length = coldsquare_core::record::encode(0, &record, &mut frame).expect("it fits");
    log[..length].copy_from_slice(&frame[..length]);
    log
}

struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("room");
        Self { folder }
    }

    fn out(&self) -> PathBuf {
        self.folder.path().join("weld.log")
    }

    /// Downloads after so much of a download was left there.
    fn pull_after(&self, left: &[u8]) -> Result<Pulled, Failure> {
        fs::write(part_of(&self.out()), left).expect("room");
        pull(&mut InMemory(log()), &self.out(), &mut |_| true)
    }

    fn files(&self) -> Vec<String> {
        let found = fs::read_dir(self.folder.path()).expect("a folder");
        let mut names: Vec<_> = found
            .map(|file| {
                file.expect("a file")
                    .file_name()
                    .into_string()
                    .expect("a name")
            })
            .collect();
        names.sort();
        names
    }
}

#[test]
fn what_was_damaged_in_the_middle_of_a_download_is_fetched_again() {
    let ends = [COMPARED as usize + 1, LOG - 1, LOG];
    for (end, at) in ends
        .into_iter()
        .flat_map(|end| [(end, 0), (end, end - COMPARED as usize - 1)])
    {
        let bench = Bench::new();
        let mut left = log()[..end].to_vec();
        left[at] ^= 0x55;
        let pulled = bench.pull_after(&left).expect("it is mended");
        assert_eq!((pulled.resumed_at, pulled.bytes), (end as u64, LOG as u64));
        assert!(pulled.left_aside.is_none());
        assert_eq!(
            fs::read(bench.out()).expect("a log"),
            log(),
            "byte {at} of {end}"
        );
        assert_eq!(bench.files(), ["weld.log"]);
    }
}

#[test]
fn another_logs_download_is_left_aside_and_kept() {
    let longer = [log(), vec![1]].concat();
    let mut other = log()[..COMPARED as usize].to_vec();
    *other.last_mut().expect("bytes") ^= 1;
    for left in [longer, other, vec![7]] {
        let bench = Bench::new();
        let pulled = bench
            .pull_after(&left)
            .expect("the log is fetched from its start");
        let aside = pulled.left_aside.expect("it may be the only copy");
        assert_eq!(fs::read(aside.kept).expect("it is kept"), left);
        assert_eq!(fs::read(bench.out()).expect("a log"), log());
        assert_eq!(pulled.resumed_at, 0);
    }
}

#[test]
fn a_file_of_the_final_name_that_appears_meanwhile_is_not_touched() {
    let bench = Bench::new();
    let out = bench.out();
    let mut appears = |_| {
        fs::write(&out, "somebody's").expect("room");
        true
    };
    let failure = pull(&mut InMemory(log()), &out, &mut appears).expect_err("it is taken");
    assert!(matches!(failure, Failure::Exists(_)), "{failure}");
    assert_eq!(fs::read(&out).expect("a file"), b"somebody's");
    assert_eq!(fs::read(part_of(&out)).expect("the download"), log());
}

/// A file that loses its end while it is compared, as on a stick that is pulled out and pushed in.
#[test]
fn a_download_that_became_shorter_is_fetched_again() {
    let bench = Bench::new();
    let (out, mut cut) = (bench.out(), false);
    let mut cuts = |progress: Progress| {
        if progress.done == progress.all && !cut {
            cut = true;
            let part = OpenOptions::new()
                .write(true)
                .open(part_of(&out))
                .expect("the download");
            part.set_len(100).expect("room");
        }
        true
    };
    pull(&mut InMemory(log()), &out, &mut cuts).expect("it is mended");
    assert_eq!(fs::read(&out).expect("a log"), log());
}

/// A logger that has dropped the beginning of its log since: what it gives comes from later, and is no proof that a
/// partial download is of this log.
#[test]
fn a_log_whose_beginning_was_dropped_does_not_go_on_with_what_cannot_be_compared() {
    struct Dropped;
    impl Source for Dropped {
        fn extent(&mut self) -> Result<(u64, u64), Failure> {
            Ok((0, LOG as u64))
        }

        fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure> {
            let from = from.max(COMPARED);
            Ok((from, log()[from as usize..].to_vec()))
        }
    }
    let bench = Bench::new();
    fs::write(part_of(&bench.out()), &log()[..100]).expect("room");
    // Of the record at its beginning nothing is left, so it gets no name.
    let _ = pull(&mut Dropped, &bench.out(), &mut |_| true);
    let kept = bench.folder.path().join("weld.log.part-1");
    assert_eq!(fs::read(kept).expect("it is kept"), log()[..100]);
}

#[test]
fn a_source_that_answers_with_nothing_ends_the_download() {
    struct Silent;
    impl Source for Silent {
        fn extent(&mut self) -> Result<(u64, u64), Failure> {
            Ok((0, LOG as u64))
        }

        fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure> {
            Ok((from, Vec::new()))
        }
    }
    let bench = Bench::new();
    fs::write(part_of(&bench.out()), &log()[..100]).expect("room");
    let failure = pull(&mut Silent, &bench.out(), &mut |_| true).expect_err("nothing comes");
    assert!(
        failure.to_string().contains("answers with 0 bytes"),
        "{failure}"
    );
    assert!(!bench.out().exists());
}

/// Its first 1000 bytes made room: the file begins with byte 1000, and so does what the user sees.
#[test]
fn the_progress_of_a_log_whose_beginning_was_dropped_ends_with_all_of_its_bytes() {
    struct Later;
    impl Source for Later {
        fn extent(&mut self) -> Result<(u64, u64), Failure> {
            Ok((1000, 1000 + LOG as u64))
        }

        fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure> {
            let rest = &log()[from as usize - 1000..];
            Ok((from, rest[..rest.len().min(LOG / 2)].to_vec()))
        }
    }
    let bench = Bench::new();
    let mut seen = Vec::new();
    let pulled = pull(&mut Later, &bench.out(), &mut |progress| {
        seen.push((progress.is_comparing, progress.done, progress.all));
        true
    });
    assert_eq!(pulled.expect("a log").first, 1000);
    let (half, all) = (LOG as u64 / 2, LOG as u64);
    let pass = |is_comparing| [(is_comparing, half, all), (is_comparing, all, all)];
    assert_eq!(seen, [pass(false), pass(true)].concat());
    assert_eq!(fs::read(bench.out()).expect("a log"), log());
}

/// As on a file system without hard links: a folder cannot have two names either.
#[test]
fn what_cannot_have_two_names_at_once_is_renamed() {
    let bench = Bench::new();
    let (part, out) = (part_of(&bench.out()), bench.out());
    fs::create_dir(&part).expect("room");
    name_it(&part, &out).expect("it is renamed");
    assert_eq!(bench.files(), ["weld.log"]);
    // But never over something that is there.
    fs::create_dir(&part).expect("room");
    name_it(&part, &out).expect_err("it is taken");
    assert_eq!(bench.files(), ["weld.log", "weld.log.part"]);
}
