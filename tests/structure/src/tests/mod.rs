//! Tests on made-up workspaces of a few lines.

mod measures;
mod offered;
mod rules;

use crate::workspace::Workspace;

/// A workspace with these files.
fn workspace(files: &[(&str, &str)]) -> Workspace {
    let folder = tempfile::tempdir().expect("temporary folder");
    for (path, text) in files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, text).expect("written");
    }
    Workspace::read(folder.path()).expect("the files are right")
}

/// A workspace with one package, `shop`; paths are relative to its `src`.
fn shop(files: &[(&str, &str)]) -> Workspace {
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
    workspace(&all)
}
