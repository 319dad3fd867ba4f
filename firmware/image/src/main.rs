//! `coldsquare-image BOARD PROGRAM [OUT.uf2]`: prints the size of a board's program against its budget, and writes its file
//! to drop onto the board. Exits with 1 if it is too large.

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
        _ => Err("usage: coldsquare-image BOARD PROGRAM [OUT.uf2]".into()),
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
    let board = Board::named(name).ok_or_else(|| {
        format!("there is no board {name}; the boards are lm3s6965evb, netduinoplus2 and pico2")
    })?;
    let file = std::fs::read(program).map_err(|error| format!("{program}: {error}"))?;
    let segments = elf::segments(&file)?;
    let (flash, statics) = board.usage(&segments);
    println!(
        "{name}: flash {flash} bytes of at most {}, statics {statics} of at most {}",
        board.max_flash, board.max_statics
    );
    if flash > board.max_flash || statics > board.max_statics {
        return Err(format!(
            "the program of {name} is larger than its budget in firmware/image/src/board.rs"
        )
        .into());
    }
    let Some(out) = out else { return Ok(()) };
    std::fs::write(out, uf2::file(board, &segments)?).map_err(|error| format!("{out}: {error}"))?;
    println!("wrote {out}");
    println!(
        "next: hold BOOTSEL while you plug in the board's USB cable, then drop that file onto the disk that appears"
    );
    Ok(())
}
