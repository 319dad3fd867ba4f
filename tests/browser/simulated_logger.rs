//! The simulated logger for a test in a browser: bytes in hexadecimal on a line, what it answers on the next line.
//!
//! `welded`: it has a log. `no_card`: its card was taken out.

use coldsquare::link::{Whereabouts, open};
use coldsquare_core::link::{MAX_FRAME, Receiver, Reply, Request, encode};
use coldsquare_core::trouble::Trouble;
use std::io::{BufRead, Write};
use std::time::Duration;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let state = std::env::args().nth(1).unwrap_or_default();
    let welded = state == "welded";
    let mut asked = Receiver::<Request>::new();
    let mut port = open(&Whereabouts::Simulated, welded).map_err(|error| error.to_string())?;
    let mut out = std::io::stdout();
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        let bytes: Result<Vec<u8>, _> = (0..line.len() / 2)
            .map(|k| u8::from_str_radix(&line[2 * k..2 * k + 2], 16))
            .collect();
        let bytes = bytes?;
        let questions = bytes.iter().filter_map(|byte| asked.take(*byte));
        if state == "no_card"
            && let Some((tag, Ok(Request::Trouble))) = questions.last()
        {
            let mut frame = [0; MAX_FRAME];
            let reply = Reply::Trouble(Some(Trouble::NoCard));
            let length = encode(tag, &reply, &mut frame).ok_or("it is too long")?;
            writeln!(out, "{}", in_hexadecimal(&frame[..length]))?;
            out.flush()?;
            continue;
        }
        port.send(&bytes)?;
        let mut piece = [0; 1024];
        loop {
            let count = port.receive(&mut piece, Duration::from_millis(20))?;
            if count == 0 {
                break;
            }
            write!(out, "{}", in_hexadecimal(&piece[..count]))?;
        }
        writeln!(out)?;
        out.flush()?;
    }
    Ok(())
}

fn in_hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
