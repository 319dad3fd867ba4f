//! Names are what somebody typed: shown as text by every command in every form, never as markup, formula or control.

use super::map::{SMALL_FRAME, small_log};
use coldsquare::png::png;
use coldsquare_tests::command::{Ran, coldsquare};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

fn names() -> Vec<(&'static str, String)> {
    vec![
        ("script", "</script><script>alert(1)</script>".into()),
        (
            "image",
            "\"><img src=x onerror=alert(1)> <!-- ]]> ' &amp;".into(),
        ),
        ("right to left", "\u{202E}gnp.exe \u{2066}سلام عليكم".into()),
        ("long", "gate ".repeat(40)),
        ("long word", "x".repeat(200)),
        ("emoji", "🔥👩\u{200D}🔧 gate 🚪".into()),
        (
            "control",
            "\u{1b}[31mred\u{7}\u{8}\u{9b}2J \u{0}x\r\n\tnext".into(),
        ),
        ("formula", "=HYPERLINK(\"http://x\",\"y\")".into()),
        ("plus", "+1+1".into()),
        ("minus", "-2+3".into()),
        ("at", "@SUM(A1)".into()),
        ("tab formula", "\t=1+1".into()),
        ("style", "</style></title></textarea><b onclick=x>".into()),
        ("style of print", "\" }} @page {{ content: \"\\A".into()),
    ]
}

/// A basic string of TOML: JSON escapes the same characters in the same way.
fn quoted(name: &str) -> String {
    serde_json::to_string(name)
        .expect("text")
        .replace('\u{7f}', "\\u007f")
}

static LOG: LazyLock<Vec<u8>> = LazyLock::new(small_log);

struct Shop {
    folder: PathBuf,
}

impl Shop {
    /// The small frame, with the name wherever a job takes one.
    fn new(name: &str, folder: PathBuf) -> Self {
        std::fs::create_dir_all(&folder).expect("a folder");
        let name = quoted(name);
        let job = SMALL_FRAME
            .replace("\"Small frame\"", &name)
            .replace("[procedure]", &format!("[procedure]\nname = {name}"));
        let job = format!(
            "{job}\n[[member]]\nname = {name}\nsection = \"SHS 20x20x2\"\nfrom = \"bottom rail at 200\"\nto = \"top rail at 200\"\n"
        );
        std::fs::write(folder.join("job.toml"), job).expect("written");
        std::fs::write(folder.join("job.log"), &*LOG).expect("written");
        Self { folder }
    }

    fn run(&self, words: &[&str]) -> Ran {
        let typed: Vec<String> = words
            .iter()
            .map(|word| match *word {
                "JOB" => self.path("job.toml"),
                "LOG" => self.path("job.log"),
                "OUT" => self.path(""),
                _ => match word.strip_prefix("FILE:") {
                    Some(file) => self.path(file),
                    None => (*word).to_string(),
                },
            })
            .collect();
        coldsquare(typed.iter().map(String::as_str))
    }

    fn path(&self, name: &str) -> String {
        self.folder.join(name).display().to_string()
    }
}

/// Every command that prints a name, in every form.
fn everything(shop: &Shop, name: &str) -> Vec<(String, Ran)> {
    let (by, welder) = (format!("--by={name}"), format!("--welder={name}"));
    let commands: Vec<Vec<&str>> = vec![
        vec!["check", "JOB"],
        vec!["check", "JOB", "--json"],
        vec!["plan", "JOB", "--balance"],
        vec!["plan", "JOB", "--balance", "--json"],
        vec!["plan", "JOB", "--balance", "--out", "FILE:plan.html"],
        vec!["plan", "JOB", "--balance", "--out", "FILE:plan.svg"],
        vec!["predict", "JOB"],
        vec!["predict", "JOB", "--json"],
        vec!["cost", "JOB", "--welds"],
        vec!["cost", "JOB", "LOG", "--json"],
        vec!["inspect", "JOB", "1", "--result", "repaired", &by],
        vec!["inspect", "JOB"],
        vec![
            "map", "JOB", "LOG", "--html", "--svg", "--csv", "--json", "--draw", "--out", "OUT",
        ],
        vec!["record", "JOB", "LOG", &by, &welder, "--out", "OUT"],
        vec!["measure", "JOB", "--diagonals", "721.1, 720.3", &by],
        vec!["measure", "JOB"],
        vec!["beads", "LOG", "--csv"],
        vec!["metal", "--material", name],
        vec!["procedure", "check", name],
    ];
    let run = |words: &Vec<&str>| (words[..words.len().min(2)].join(" "), shop.run(words));
    commands.iter().map(run).collect()
}

/// What a terminal obeys instead of showing: controls but for the line break, and marks that turn the direction of writing.
fn obeyed(c: char) -> bool {
    (c.is_control() && c != '\n') || matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

fn files(shop: &Shop, ending: &str) -> Vec<(String, String)> {
    let entries = std::fs::read_dir(&shop.folder).expect("a folder");
    let mut files: Vec<(String, String)> = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|found| found == ending))
        .map(|path| {
            (
                file_name(&path),
                std::fs::read_to_string(&path).expect("text"),
            )
        })
        .collect();
    files.sort();
    files
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

/// A name, the folder of its job, and what every command said.
struct Tried {
    kind: &'static str,
    name: String,
    shop: Shop,
    ran: Vec<(String, Ran)>,
}

/// All names, tried once for all tests.
fn tried() -> &'static [Tried] {
    static TRIED: LazyLock<Vec<Tried>> = LazyLock::new(|| {
        // What is shared by all tests has no end at which it could be swept up, so it stands beside what was built.
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("hostile-names");
        let _ = std::fs::remove_dir_all(&folder);
        let plain = ("plain", "Gate".to_string());
        let names = std::iter::once(plain).chain(names());
        let tried = names.enumerate().map(|(number, (kind, name))| {
            let shop = Shop::new(&name, folder.join(number.to_string()));
            let ran = everything(&shop, &name);
            Tried {
                kind,
                name,
                shop,
                ran,
            }
        });
        tried.collect()
    });
    &TRIED
}

#[test]
fn whatever_a_name_is_the_terminal_shows_it_and_obeys_nothing() {
    for Tried { kind, ran, .. } in tried() {
        for (command, ran) in ran {
            for text in [&ran.out, &ran.err] {
                let bad = text.chars().find(|c| obeyed(*c));
                assert_eq!(
                    bad,
                    None,
                    "{kind}: {command} prints {bad:?}\n{}",
                    text.escape_debug()
                );
            }
        }
    }
}

#[test]
fn whatever_a_name_is_pages_and_drawings_take_it_as_text() {
    let plain = &tried()[0].shop;
    let elements = |text: &str| text.matches('<').count();
    for Tried {
        kind, name, shop, ..
    } in tried()
    {
        let pages = files(shop, "html");
        let drawings = files(shop, "svg");
        assert_eq!(
            (pages.len(), drawings.len()),
            (3, 2),
            "{kind}: a job with such a name is a job"
        );
        let as_usual = files(plain, "html").into_iter().chain(files(plain, "svg"));
        for ((file, text), (_, usual)) in pages.iter().chain(&drawings).zip(as_usual) {
            assert_eq!(
                elements(text),
                elements(&usual),
                "{kind}: {file} has as many tags as with any name"
            );
            for never in [
                "<img",
                "<script>alert",
                "<b onclick",
                "<!--",
                "\u{1b}",
                "\u{0}",
            ] {
                assert!(!text.contains(never), "{kind}: {file} holds {never:?}");
            }
            let turns = text
                .chars()
                .find(|c| obeyed(*c) && *c != '\t' && *c != '\r');
            assert_eq!(turns, None, "{kind}: {file}");
            // A letter, a digit or a word of it is there to be read.
            let word = name
                .split(|c: char| !c.is_alphanumeric())
                .max_by_key(|word| word.len());
            let word: String = word.unwrap_or_default().chars().take(12).collect();
            assert!(text.contains(&word), "{kind}: {file} shows {word:?}");
        }
        for (file, text) in &drawings {
            assert!(png(text, 0.1).is_ok(), "{kind}: {file} is not well formed");
        }
    }
}

#[test]
fn whatever_a_name_is_a_spreadsheet_takes_it_as_text() {
    for Tried { kind, shop, .. } in tried() {
        let tables = files(shop, "csv");
        assert_eq!(tables.len(), 2, "{kind}");
        for (file, text) in tables {
            let mut rows = csv::ReaderBuilder::new()
                .has_headers(false)
                .from_reader(text.as_bytes());
            for row in rows.records() {
                for cell in &row.expect("rows of equal length") {
                    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
                    assert!(
                        !formula || cell.parse::<f64>().is_ok(),
                        "{kind}: {file}: {cell:?}"
                    );
                    assert_eq!(
                        cell.chars().find(|c| obeyed(*c)),
                        None,
                        "{kind}: {file}: {cell:?}"
                    );
                }
            }
        }
    }
}

#[test]
fn whatever_a_name_is_json_gives_it_back_as_it_was_typed() {
    for Tried {
        kind,
        name,
        shop,
        ran,
    } in tried()
    {
        let printed = ran.iter().filter(|(_, ran)| ran.out.starts_with('{'));
        let mut texts: Vec<(String, String)> = printed
            .map(|(command, ran)| (command.clone(), ran.out.clone()))
            .collect();
        texts.extend(files(shop, "json"));
        assert!(texts.len() >= 6, "{kind}: {} texts", texts.len());
        for (file, text) in texts {
            let value: Value = serde_json::from_str(&text)
                .unwrap_or_else(|error| panic!("{kind}: {file}: {error}"));
            // The sums of a cost are of no weld.
            assert!(
                holds(&value, name) || file == "cost JOB",
                "{kind}: {file} does not hold the name"
            );
            assert_eq!(text.chars().find(|c| obeyed(*c)), None, "{kind}: {file}");
        }
    }
}

fn holds(value: &Value, name: &str) -> bool {
    match value {
        Value::String(text) => text.contains(name),
        Value::Array(values) => values.iter().any(|value| holds(value, name)),
        Value::Object(values) => values.values().any(|value| holds(value, name)),
        _ => false,
    }
}
