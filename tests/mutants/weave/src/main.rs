//! Puts all changes that `cargo mutants` lists into a copy of the code at once, each behind a switch, so that the code is
//! built once and not once for each change.
//!
//! `weave TREE LIST LEFT_OUT`: the copy's folder; what `cargo mutants --list --json` says; a JSON object with the numbers of
//! changes to leave out (`ids`) and the names of functions that must stay constant (`constant`). A change's number is its
//! place in the list. Prints the numbers of the changes that are in the code now.

mod switch;
mod weaver;

use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use weaver::{Change, Weaver};

/// One line of the list.
#[derive(Deserialize)]
struct Listed {
    file: String,
    genre: String,
    replacement: String,
    span: Span,
}

#[derive(Deserialize)]
struct Span {
    start: Place,
}

#[derive(Deserialize)]
struct Place {
    line: usize,
    column: usize,
}

#[derive(Deserialize)]
struct LeftOut {
    ids: BTreeSet<u32>,
    constant: BTreeSet<String>,
}

fn read<T: for<'a> Deserialize<'a>>(path: &str) -> T {
    let text = std::fs::read_to_string(path).expect("the file can be read");
    serde_json::from_str(&text).expect("it is what was described")
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [tree, list, left_out] = &arguments[..] else {
        panic!("weave TREE LIST LEFT_OUT");
    };
    let listed: Vec<Listed> = read(list);
    let left_out: LeftOut = read(left_out);
    let mut files: BTreeMap<String, Vec<Change>> = BTreeMap::new();
    for (id, one) in (0..).zip(listed) {
        let changes = files.entry(one.file).or_default();
        if !left_out.ids.contains(&id) {
            changes.push(Change {
                id,
                genre: one.genre,
                replacement: one.replacement,
                line: one.span.start.line,
                column: one.span.start.column - 1,
            });
        }
    }
    let mut woven = Vec::new();
    for (file, changes) in files {
        let path = Path::new(tree).join(file);
        let mut source = syn::parse_file(&original(&path)).expect("it compiles");
        woven.extend(Weaver::new(changes, &left_out.constant).weave(&mut source));
        write(&path, &prettyplease::unparse(&source));
        switch::add(&path, write);
    }
    println!("{}", serde_json::to_string(&woven).expect("numbers"));
}

/// The text of a file before anything was put into it, which is kept beside it.
fn original(path: &Path) -> String {
    let kept = path.with_extension("rs.original");
    if !kept.exists() {
        std::fs::copy(path, &kept).expect("room");
    }
    std::fs::read_to_string(kept).expect("it was copied")
}

/// Writes a file only if it is another one: what did not change is not built again.
fn write(path: &Path, text: &str) {
    if std::fs::read_to_string(path).is_ok_and(|before| before == text) {
        return;
    }
    std::fs::write(path, text).expect("room");
}
