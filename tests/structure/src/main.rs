//! `coldsquare-structure [--list] [ROOT]`: measures the product in a checkout and prints a table, with `--list` the
//! places too. ROOT is the workspace that this program was built in, unless given.

use coldsquare_structure::house::House;
use coldsquare_structure::report::Report;
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let (options, roots): (Vec<_>, Vec<_>) = std::env::args()
        .skip(1)
        .partition(|word| word.starts_with('-'));
    let known = options.iter().all(|option| option == "--list");
    if !known || roots.len() > 1 {
        eprintln!("usage: coldsquare-structure [--list] [ROOT]");
        return ExitCode::from(2);
    }
    let here = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let root = roots.first().map_or(here, String::as_str);
    match House::read(&PathBuf::from(root)) {
        Ok(house) => {
            let mut report = Report::of(&house);
            report.with_places = !options.is_empty();
            print!("{report}");
            ExitCode::SUCCESS
        }
        Err(cause) => {
            eprintln!("error: {cause}");
            ExitCode::FAILURE
        }
    }
}
