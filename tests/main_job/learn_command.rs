//! What a shop learned is kept only when asked, used by jobs that name it, listed, and can be gone back from.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_tests::command::{Ran, coldsquare};

struct Shop(tempfile::TempDir);

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let job = format!("shop = \"our-shop.toml\"\n{SMALL_FRAME}");
        std::fs::write(folder.path().join("gate.toml"), job).expect("written");
        std::fs::write(folder.path().join("weld.log"), small_log()).expect("written");
        Self(folder)
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    /// Words with a dot are files of the shop.
    fn run(&self, words: &str) -> Ran {
        let words = words.split(' ').map(|word| {
            if word.contains('.') {
                self.path(word)
            } else {
                word.to_owned()
            }
        });
        coldsquare(words.collect::<Vec<_>>().iter().map(String::as_str))
    }

    fn measured(&self) -> &Self {
        let (job, log) = (self.path("gate.toml"), self.path("weld.log"));
        let more = [
            "--width",
            "top=599.7",
            "--width",
            "bottom=599.7",
            "--height",
            "left=399.7",
            "--log",
            &log,
        ];
        let on = ["--on", "2026-05-05"];
        let ran = coldsquare(["measure", &job].into_iter().chain(more).chain(on));
        assert_eq!(ran.code, 0, "{}", ran.err);
        self
    }

    fn file(&self) -> Option<String> {
        std::fs::read_to_string(self.path("our-shop.toml")).ok()
    }
}

#[test]
fn nothing_is_learned_without_measurement_or_log_and_it_is_said() {
    let shop = Shop::new();
    let ran = shop.run("learn gate.toml");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("nothing was measured"), "{}", ran.out);
    assert!(ran.out.contains("do not support a change"), "{}", ran.out);
    assert_eq!(shop.run("learn gate.toml --keep").code, 1);
    let (job, width) = (shop.path("gate.toml"), "top=599.7");
    assert_eq!(coldsquare(["measure", &job, "--width", width]).code, 0);
    let ran = shop.run("learn gate.toml");
    assert!(ran.out.contains("no log"), "{}", ran.out);
    assert_eq!(shop.file(), None);
}

#[test]
fn a_log_that_is_not_the_one_measured_with_teaches_nothing() {
    let shop = Shop::new();
    shop.measured();
    std::fs::write(shop.path("weld.log"), b"another").expect("written");
    let ran = shop.run("learn gate.toml");
    assert!(
        ran.out.contains("is not the log that was there"),
        "{}",
        ran.out
    );
}

#[test]
fn what_was_learned_is_kept_used_listed_and_taken_back() {
    let shop = Shop::new();
    let published = shop.run("predict gate.toml").out;
    shop.measured();
    let shown = shop.run("learn gate.toml");
    assert_eq!((shown.code, shown.err.as_str()), (0, ""), "{}", shown.out);
    assert!(shown.out.contains("Nothing was written"), "{}", shown.out);
    assert!(shown.out.contains("Next build of"), "{}", shown.out);
    assert_eq!(shop.file(), None, "nothing is learned silently");

    assert_eq!(shop.run("learn gate.toml --keep --on 2026-05-06").code, 0);
    let first = shop.file().expect("kept");
    assert!(first.contains("sha256"), "{first}");
    let predicted = shop.run("predict gate.toml").out;
    assert!(
        predicted.contains("our-shop.toml, revision 1"),
        "{predicted}"
    );
    let plan = shop.run("plan gate.toml --effort 1").out;
    assert!(plan.contains("our-shop.toml, revision 1"), "{plan}");
    let check = shop.run("check gate.toml").out;
    assert!(check.contains("our-shop.toml, revision 1"), "{check}");

    // Without a job the recorded builds are read again, and none counts twice.
    assert_eq!(
        shop.run("learn --shop our-shop.toml --keep --on 2026-05-06")
            .code,
        0
    );
    let second = shop.file().expect("kept");
    assert!(second.starts_with(&first), "what was written stays");
    assert_eq!(
        second[first.len()..].trim(),
        first[first.find("[[revision]]").expect("one")..].trim()
    );

    assert_eq!(
        shop.run("learn --shop our-shop.toml --back 0 --on 2026-05-07")
            .code,
        0
    );
    assert!(shop.file().expect("kept").starts_with(&second));
    let back = shop.run("predict gate.toml").out;
    assert_eq!(back, published, "as before anything was learned");
    let history = shop.run("learn --shop our-shop.toml --history").out;
    assert!(
        history.contains("3  2026-05-07  back to the published factors"),
        "{history}"
    );

    let job = format!("shop_revision = 1\nshop = \"our-shop.toml\"\n{SMALL_FRAME}");
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    assert_eq!(shop.run("predict gate.toml").out, predicted);
    let job = format!("shop_revision = 9\nshop = \"our-shop.toml\"\n{SMALL_FRAME}");
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    let ran = shop.run("predict gate.toml");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("shop_revision = 9"), "{}", ran.err);
}

#[test]
fn a_file_changed_by_hand_is_refused_with_its_place() {
    let shop = Shop::new();
    shop.measured();
    assert_eq!(shop.run("learn gate.toml --keep").code, 0);
    let text = shop
        .file()
        .expect("kept")
        .replace("way = \"closing\"", "way = \"shutting\"");
    std::fs::write(shop.path("our-shop.toml"), text).expect("written");
    let ran = shop.run("predict gate.toml");
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("our-shop.toml:"), "{}", ran.err);
    assert_eq!(shop.run("learn gate.toml --keep").code, 1);
}
