//! The switch: each crate has one, and all of them obey the same variables of the environment.

use std::path::Path;

/// What a crate's root gets. `MUTANT` is the number of the change that is on; with `MUTANT_REACH`, a file, none is, and the
/// numbers of all that are come by are added to it.
const SWITCH: &str = r#"
#[doc(hidden)]
#[allow(missing_docs, unused, clippy::all)]
pub mod mutant_switch {
    extern crate std;
    use std::io::Write;
    use std::sync::atomic::{AtomicBool, AtomicU32, Ordering::Relaxed};
    const NONE: u32 = u32::MAX - 2;
    const REACH: u32 = u32::MAX - 1;
    const UNKNOWN: u32 = u32::MAX;
    static CHOSEN: AtomicU32 = AtomicU32::new(UNKNOWN);
    static SEEN: [AtomicBool; 65536] = [const { AtomicBool::new(false) }; 65536];
    #[inline(always)]
    pub fn on(id: u32) -> bool {
        let chosen = CHOSEN.load(Relaxed);
        if chosen < REACH { chosen == id } else { ask(id) }
    }
    #[cold]
    fn ask(id: u32) -> bool {
        if CHOSEN.load(Relaxed) == REACH && SEEN[id as usize].load(Relaxed) {
            return false;
        }
        let reach = std::env::var_os("MUTANT_REACH");
        if CHOSEN.load(Relaxed) == UNKNOWN {
            let number = std::env::var("MUTANT").ok().and_then(|text| text.parse().ok());
            CHOSEN.store(if reach.is_some() { REACH } else { number.unwrap_or(NONE) }, Relaxed);
        }
        if let Some(file) = reach {
            if !SEEN[id as usize].swap(true, Relaxed) {
                let file = std::fs::OpenOptions::new().create(true).append(true).open(file);
                file.expect("a file").write_all(std::format!("{id}\n").as_bytes()).expect("room");
            }
            return false;
        }
        CHOSEN.load(Relaxed) == id
    }
}
"#;

/// Adds the switch to the crate that a file is part of.
pub fn add(file: &Path, write: fn(&Path, &str)) {
    let root = file
        .ancestors()
        .map(|folder| folder.join("lib.rs"))
        .find(|root| root.exists())
        .expect("each is part of a library");
    let text = std::fs::read_to_string(&root).expect("a file");
    if !text.contains("mod mutant_switch") {
        write(&root, &(text + SWITCH));
    }
}
