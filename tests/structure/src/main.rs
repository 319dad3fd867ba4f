//! `coldsquare-structure [--list] [ROOT]`: measures the product code of a checkout and prints a table; `--list` adds the
//! locations. ROOT defaults to the workspace that this program was built in.

use coldsquare_structure::layers::Layers;
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
    match measure(Path::new(root)) {
        Ok(mut report) => {
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

/// Measures a checkout. One without `layers.toml` offers nothing.
fn measure(root: &Path) -> Result<Report, String> {
    let workspace = Workspace::read(root)?;
    let text = std::fs::read_to_string(root.join("tests/structure/layers.toml"));
    let layers = Layers::from_text(&text.unwrap_or_default())?;
    Ok(Report::of(&workspace, layers))
}
