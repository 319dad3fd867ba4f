//! What an inspector saw stays beside the job, is never overwritten, and stands on the map.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_tests::command::{Ran, coldsquare};

struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("gate.toml"), SMALL_FRAME).expect("written");
        std::fs::write(folder.path().join("gate.log"), small_log()).expect("written");
        Self { folder }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    fn inspect(&self, more: &[&str]) -> Ran {
        let job = self.path("gate.toml");
        coldsquare(["inspect", &job].into_iter().chain(more.iter().copied()))
    }

    fn file(&self) -> String {
        std::fs::read_to_string(self.path("gate-inspection.toml")).expect("a file")
    }
}

#[test]
fn entries_are_added_and_the_latest_counts() {
    let shop = Shop::new();
    assert!(
        shop.inspect(&[])
            .out
            .contains("No inspections for this job yet")
    );
    let first = shop.inspect(&[
        "3,5-7",
        "--result",
        "rejected",
        "--found",
        "undercut",
        "--found",
        "burn-through",
        "--level",
        "C",
        "--by",
        "AB",
        "--on",
        "2026-05-04",
    ]);
    assert_eq!((first.code, first.err.as_str()), (0, ""));
    let before = shop.file();
    let again = shop.inspect(&[
        "5",
        "--result",
        "repaired",
        "--on",
        "2026-05-05",
        "--note",
        "ground out\nand rewelded",
    ]);
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(
        shop.file().starts_with(&before),
        "what was written stays: {}",
        shop.file()
    );
    let listed = shop.inspect(&[]).out;
    assert_eq!(listed.lines().count(), 5, "{listed}");
    assert!(
        listed.contains("weld 5  rejected: undercut, burn-through (2026-05-04, AB, level C)"),
        "{listed}"
    );
    let map = coldsquare([
        "map",
        &shop.path("gate.toml"),
        &shop.path("gate.log"),
        "--out",
        &shop.path(""),
        "--json",
        "--csv",
    ]);
    assert_eq!(map.code, 0, "{}", map.err);
    assert!(
        map.out
            .contains("weld 5: repaired (2026-05-05) - ground out"),
        "{}",
        map.out
    );
    assert!(!map.out.contains("weld 5: rejected"));
    let json = std::fs::read_to_string(shop.path("gate-map.json")).expect("written");
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["welds"][4]["inspection"]["result"], "repaired");
    assert_eq!(
        json["welds"][2]["inspection"]["found"],
        serde_json::json!(["undercut", "burn-through"])
    );
    assert_eq!(json["welds"][0]["inspection"], serde_json::Value::Null);
    assert_eq!(
        json["welds"][4]["verdict"], "out of limits",
        "what was measured stays what was measured"
    );
}

#[test]
fn what_cannot_be_is_refused_and_nothing_is_written() {
    let shop = Shop::new();
    for (welds, code) in [("0", 1), ("99", 1), ("5-3", 1), ("three", 1), ("3,", 1)] {
        let ran = shop.inspect(&[welds, "--result", "accepted"]);
        assert_eq!(ran.code, code, "{welds}: {}", ran.err);
        assert!(ran.err.contains("the job has welds 1 to 16"), "{}", ran.err);
    }
    assert_eq!(shop.inspect(&["3"]).code, 2, "a result is needed");
    assert_eq!(
        shop.inspect(&["3", "--result", "accepted", "--on", "yesterday"])
            .code,
        2
    );
    assert!(!std::path::Path::new(&shop.path("gate-inspection.toml")).exists());
    let entry = "[[inspection]]\nweld = 40\non = \"2026-05-04\"\nresult = \"accepted\"\n";
    std::fs::write(
        shop.path("gate-inspection.toml"),
        format!("{entry}\n{entry}"),
    )
    .expect("written");
    let ran = shop.inspect(&["3", "--result", "accepted"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("2 errors") && ran.err.contains("there is no weld 40"),
        "{}",
        ran.err
    );
    assert_eq!(shop.file(), format!("{entry}\n{entry}"));
    std::fs::write(
        shop.path("gate-inspection.toml"),
        "[[inspection]]\nweld = 4\non = \"x\"\nresult = \"fine\"\n",
    )
    .expect("written");
    let ran = shop.inspect(&[]);
    assert!(
        ran.code == 1 && ran.err.contains("gate-inspection.toml:4:10"),
        "{}",
        ran.err
    );
}

#[test]
fn twenty_inspectors_who_write_fifty_entries_each_at_the_same_time_lose_none() {
    let shop = Shop::new();
    std::thread::scope(|scope| {
        for inspector in 0..20 {
            let shop = &shop;
            scope.spawn(move || {
                for entry in 0..50 {
                    let by = format!("I{inspector} {entry}");
                    let added = shop.inspect(&["3", "--result", "accepted", "--by", &by]);
                    assert_eq!((added.code, added.err.as_str()), (0, ""));
                }
            });
        }
    });
    let file = shop.file();
    for inspector in 0..20 {
        // Each inspector's entries stand in the order in which they were made.
        let places = (0..50).map(|entry| file.find(&format!("by = \"I{inspector} {entry}\"")));
        let places: Option<Vec<usize>> = places.collect();
        assert!(
            places.expect("all fifty").is_sorted(),
            "inspector {inspector}"
        );
    }
    assert_eq!(file.matches("[[inspection]]").count(), 1000);
}

#[cfg(unix)]
#[test]
fn a_notebook_that_is_a_symbolic_link_stays_one() {
    let shop = Shop::new();
    let (kept, link) = (shop.path("kept.toml"), shop.path("gate-inspection.toml"));
    std::fs::write(&kept, "# kept elsewhere\n").expect("written");
    std::os::unix::fs::symlink(&kept, &link).expect("a link");
    assert_eq!(shop.inspect(&["3", "--result", "accepted"]).code, 0);
    assert!(
        std::fs::symlink_metadata(&link)
            .expect("there")
            .is_symlink()
    );
    let kept = std::fs::read_to_string(&kept).expect("a file");
    assert!(
        kept.starts_with("# kept elsewhere\n") && kept.contains("weld = 3"),
        "{kept}"
    );
}
