//! The simulated logger for a test in a browser: bytes in hexadecimal on a line, what it answers on the next line.

use coldsquare::link::{Whereabouts, open};
use std::io::{BufRead, Write};
use std::time::Duration;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let welded = std::env::args().nth(1).as_deref() == Some("welded");
    let mut port = open(&Whereabouts::Simulated, welded).map_err(|error| error.to_string())?;
    let mut out = std::io::stdout();
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        let bytes: Result<Vec<u8>, _> = (0..line.len() / 2)
            .map(|k| u8::from_str_radix(&line[2 * k..2 * k + 2], 16))
            .collect();
        port.send(&bytes?)?;
        let mut piece = [0; 1024];
        loop {
            let count = port.receive(&mut piece, Duration::from_millis(20))?;
            if count == 0 {
                break;
            }
            for byte in &piece[..count] {
                write!(out, "{byte:02x}")?;
            }
        }
        writeln!(out)?;
        out.flush()?;
    }
    Ok(())
}
