//! `coldsquare-structure [--list] [ROOT]`: measures the product code of a checkout and prints a table; `--list` adds the
//! locations. ROOT defaults to the workspace that this program was built in.

use coldsquare_structure::report::Report;
use coldsquare_structure::workspace::Workspace;
use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = std::env::args().skip(1);
    let (options, roots): (Vec<_>, Vec<_>) = arguments.partition(|word| word.starts_with('-'));
    if options.iter().any(|option| option != "--list") || roots.len() > 1 {
        eprintln!("usage: coldsquare-structure [--list] [ROOT]");
        return ExitCode::from(2);
    }
    let built_in = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let root = roots.first().map_or(built_in, String::as_str);
    match Workspace::read(Path::new(root)) {
        Ok(workspace) => {
            let mut report = Report::of(&workspace);
            report.with_locations = !options.is_empty();
            print!("{report}");
            ExitCode::SUCCESS
        }
        Err(cause) => {
            eprintln!("error: {cause}");
            ExitCode::FAILURE
        }
    }
}
