//! The `coldsquare` command: hands arguments and streams to the library.

fn main() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
