//! Made-up workspaces of a few lines, with one thing wrong or nothing.

mod measures;
mod rules;

use crate::house::House;

/// A workspace of these files.
fn house(files: &[(&str, &str)]) -> House {
    let folder = tempfile::tempdir().expect("temporary folder");
    for (path, text) in files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, text).expect("written");
    }
    House::read(folder.path()).expect("the files are right")
}

/// A workspace of one package `shop`, its files given from its folder `src`.
fn shop(files: &[(&str, &str)]) -> House {
    let manifest = (
        "shop/Cargo.toml".to_owned(),
        "[package]\nname = \"shop\"".to_owned(),
    );
    let sources = files
        .iter()
        .map(|(path, text)| (format!("shop/src/{path}"), (*text).to_owned()));
    let all = std::iter::once(manifest).chain(sources).collect::<Vec<_>>();
    let all = all
        .iter()
        .map(|(path, text)| (path.as_str(), text.as_str()))
        .collect::<Vec<_>>();
    house(&all)
}
