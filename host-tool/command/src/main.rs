//! The `coldsquare` command: hands arguments and streams to the library.

use std::io::{IsTerminal, Write};
use std::process::ExitCode;

fn main() -> ExitCode {
    let (stdout, stderr) = (std::io::stdout(), std::io::stderr());
    let interactive = stderr.is_terminal();
    let mut out = std::io::BufWriter::new(stdout.lock());
    let mut err = stderr.lock();
    let code = coldsquare::run::run(
        std::env::args_os(),
        &mut coldsquare::command::Io {
            out: &mut out,
            err: &mut err,
            interactive,
        },
    );
    match out.flush() {
        Err(cause) if cause.kind() != std::io::ErrorKind::BrokenPipe => {
            let _ = writeln!(err, "error: cannot write standard output: {cause}");
            ExitCode::from(3)
        }
        _ => ExitCode::from(code),
    }
}
