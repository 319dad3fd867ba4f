//! `coldsquare-image BOARD PROGRAM [OUT.uf2]`: how large a board's program is against its budget, and its file to drop
//! onto the board. Ends with 1 when it is too large.

use coldsquare_image::board::Board;
use coldsquare_image::{elf, uf2};
use std::error::Error;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match arguments.as_slice() {
        [board, program] => run(board, program, None),
        [board, program, out] => run(board, program, Some(out)),
        _ => Err("say BOARD PROGRAM [OUT.uf2]".into()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("coldsquare-image: {error}");
            ExitCode::FAILURE
        }
    }
}

fn run(name: &str, program: &str, out: Option<&str>) -> Result<(), Box<dyn Error>> {
    let board = Board::named(name).ok_or_else(|| format!("no board is called {name}"))?;
    let file = std::fs::read(program).map_err(|error| format!("{program}: {error}"))?;
    let segments = elf::segments(&file)?;
    let (flash, statics) = board.taken(&segments);
    println!(
        "{name}: flash {flash} bytes of at most {}, statics {statics} of at most {}",
        board.most_flash, board.most_statics
    );
    if flash > board.most_flash || statics > board.most_statics {
        return Err(format!(
            "the program of {name} is larger than its budget in firmware/image/src/board.rs"
        )
        .into());
    }
    let Some(out) = out else { return Ok(()) };
    std::fs::write(out, uf2::file(board, &segments)?).map_err(|error| format!("{out}: {error}"))?;
    println!("wrote {out}");
    println!(
        "next: hold BOOTSEL while the board's USB cable goes in, and drop that file onto the disk that appears"
    );
    Ok(())
}
