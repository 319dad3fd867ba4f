//! What a heading says: of what its column is, in which unit, and whether it is a command or a measurement.
//!
//! The words are in `words`.

use super::words::{AMPS, COMMANDS, DATE, OTHER, TIME, VOLTS};
use crate::recording::TimeUnit;

/// What a column holds, by its heading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Meaning {
    /// Nothing is known of it.
    Unknown,
    /// Time, in a unit if it is told.
    Time(Option<TimeUnit>),
    /// A date without its time of day.
    Date,
    /// Volts of the arc: volts for each 1 in the column, if the unit is told.
    Volts(Option<f64>),
    /// Amperes of the arc.
    Amps(Option<f64>),
    /// A current that is written in volts: what the clamp gives.
    AmpsAsVolts,
    /// A voltage or current that is set, not measured.
    Command,
    /// Something else: wire feed, gas, a counter.
    Other,
}

/// Words of at least so many letters count inside longer words too: Schweissspannung.
const LONG_WORD: usize = 5;

/// A heading with its words folded and its unit taken off.
pub(super) struct Heading<'a> {
    pub name: &'a str,
    pub unit: &'a str,
}

/// What a heading says.
pub(super) fn meaning(heading: &str) -> Meaning {
    let Heading { name, unit } = split_unit(heading);
    let words = words(name);
    // A lone letter says something only as the first word: "I arc", not "Channel A".
    let counts = |at: usize, word: &str| at == 0 || word.chars().count() > 1;
    let says = |list: &[&str]| {
        let mut words = words.iter().enumerate();
        words.any(|(at, word)| counts(at, word) && is_in(word, list))
    };
    let (volts, amps, time) = (says(&VOLTS), says(&AMPS), says(&TIME));
    let by_unit = (volts_of(unit), amps_of(unit), time_unit_of(unit));
    // Only a unit: "[V]".
    let alone = words.is_empty();
    if (volts || amps || by_unit.0.is_some() || by_unit.1.is_some()) && says(&COMMANDS) {
        return Meaning::Command;
    }
    if says(&OTHER) && !(volts || amps || time) {
        return Meaning::Other;
    }
    let other_power = [
        "motor", "supply", "mains", "battery", "primary", "wire", "netz", "draht",
    ];
    if (volts || amps)
        && words
            .iter()
            .any(|word| other_power.contains(&word.as_str()))
    {
        return Meaning::Other;
    }
    if amps && !volts && by_unit.0.is_some() && !alone {
        return Meaning::AmpsAsVolts;
    }
    match by_unit {
        (Some(scale), _, _) if !amps || alone => return Meaning::Volts(Some(scale)),
        (_, Some(scale), _) if !volts || alone => return Meaning::Amps(Some(scale)),
        (_, _, Some(unit)) if time || words.is_empty() => return Meaning::Time(Some(unit)),
        _ => {}
    }
    // A unit that nobody knows ("m/min", "mA·s"): not what its words say, unless they are clear.
    match (volts, amps, time) {
        (true, false, false) => Meaning::Volts(None),
        (false, true, false) => Meaning::Amps(None),
        (false, false, true) => Meaning::Time(None),
        (false, false, false) if says(&DATE) => Meaning::Date,
        (false, false, false) if !unit.is_empty() => Meaning::Other,
        _ => Meaning::Unknown,
    }
}

/// True for the cell of a row of units: a unit, in brackets or not, or nothing.
pub(super) fn is_unit(cell: &str) -> bool {
    let cell = cell
        .trim()
        .trim_start_matches(['(', '[', '<', '{'])
        .trim_end_matches([')', ']', '>', '}'])
        .trim();
    volts_of(cell).is_some()
        || amps_of(cell).is_some()
        || time_unit_of(cell).is_some()
        || matches!(
            cell.to_lowercase().as_str(),
            "" | "-"
                | "m/min"
                | "mm/s"
                | "l/min"
                | "w"
                | "kw"
                | "j"
                | "kj"
                | "°c"
                | "c"
                | "%"
                | "hz"
                | "1"
                | "bar"
                | "n"
                | "hh:mm:ss"
                | "mm:ss"
                | "date"
                | "bool"
                | "in/min"
                | "ipm"
                | "cfh"
                | "mm"
                | "cm/min"
                | "rpm"
        )
}

/// A heading and the unit at its end: `Voltage [mV]`, `time_ms`, `I / kA`, `U Brenner (V)`, `Strom in A`.
pub(super) fn split_unit(heading: &str) -> Heading<'_> {
    let heading = heading.trim();
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}'), ('<', '>')] {
        if let Some(inner) = heading.strip_suffix(close)
            && let Some((name, unit)) = inner.rsplit_once(open)
        {
            return Heading {
                name: name.trim_end_matches([' ', '_', '/', ',', ':']),
                unit: unit.trim(),
            };
        }
    }
    let known = |unit: &str| {
        volts_of(unit).is_some() || amps_of(unit).is_some() || time_unit_of(unit).is_some()
    };
    let at_end = heading.rsplit_once([' ', '_', '/', ',', '.', '-']);
    if let Some((name, unit)) =
        at_end.filter(|(name, unit)| !name.trim().is_empty() && known(unit.trim()))
    {
        let name = name.trim_end_matches([' ', '_', '/', ',', '.', '-']);
        return Heading {
            name: name.strip_suffix(" in").unwrap_or(name),
            unit: unit.trim(),
        };
    }
    Heading {
        name: heading,
        unit: "",
    }
}

/// The words of a name, folded: lower case, split at everything but letters; "CH1_Voltage" is "ch", "voltage".
fn words(name: &str) -> Vec<String> {
    let mut spaced = String::with_capacity(name.len() + 4);
    let mut before = ' ';
    for letter in name.chars() {
        // Words run together with capitals: "ArcVoltage".
        if before.is_lowercase() && letter.is_uppercase() {
            spaced.push(' ');
        }
        spaced.push(if letter.is_alphabetic() { letter } else { ' ' });
        before = letter;
    }
    spaced
        .split_whitespace()
        .map(|word| word.to_lowercase().replace('ß', "ss"))
        .collect()
}

fn is_in(word: &str, list: &[&str]) -> bool {
    list.iter().any(|known| {
        let long =
            known.chars().count() >= LONG_WORD || !known.is_ascii() && known.chars().count() >= 2;
        word == *known || long && word.contains(known)
    })
}

/// Volts for each 1 of a unit.
pub(super) fn volts_of(unit: &str) -> Option<f64> {
    scale_of(unit, &["v", "volt", "volts", "vdc", "v dc", "вольт", "в"])
}

/// Amperes for each 1 of a unit.
pub(super) fn amps_of(unit: &str) -> Option<f64> {
    scale_of(
        unit,
        &[
            "a",
            "amp",
            "amps",
            "ampere",
            "amperes",
            "adc",
            "a dc",
            "ампер",
            "ampère",
        ],
    )
}

/// A unit with a number or a prefix before it: "V", "0.1 A", "KA", "1/10 V", "mV".
fn scale_of(unit: &str, names: &[&str]) -> Option<f64> {
    let unit = unit.trim();
    let end = unit
        .find(|letter: char| !(letter.is_ascii_digit() || matches!(letter, '.' | ',' | '/' | ' ')))
        .unwrap_or(unit.len());
    let (number, symbol) = unit.split_at(end);
    let number = number.trim().replace(',', ".");
    let factor = match number.split_once('/') {
        _ if number.is_empty() => 1.0,
        Some((above, below)) => {
            above.trim().parse::<f64>().ok()? / below.trim().parse::<f64>().ok()?
        }
        None => number.parse().ok()?,
    };
    let symbol = symbol.trim().trim_start_matches(['*', '×']).trim();
    let is_name = |text: &str| names.contains(&text.to_lowercase().as_str());
    if is_name(symbol) {
        return Some(factor).filter(|factor| factor.is_normal());
    }
    let mut letters = symbol.chars();
    // "MV" and "MA" are left out: nobody welds with a million, and who meant thousandths must say so.
    let prefix = match letters.next()? {
        'm' => 1e-3,
        'c' => 1e-2,
        'd' => 1e-1,
        'k' | 'K' => 1e3,
        'µ' | 'μ' => 1e-6,
        _ => return None,
    };
    is_name(letters.as_str())
        .then_some(factor * prefix)
        .filter(|scale| scale.is_normal())
}

/// A unit of time.
pub(super) fn time_unit_of(unit: &str) -> Option<TimeUnit> {
    Some(match unit.trim().to_lowercase().as_str() {
        "s" | "sec" | "secs" | "second" | "seconds" | "sek" | "sekunde" | "sekunden" | "seg"
        | "segundos" | "secondi" | "secondes" | "с" | "сек" | "秒" => TimeUnit::S,
        "ms" | "msec" | "msecs" | "milliseconds" | "millisecond" | "millis" | "millisekunden"
        | "мс" => TimeUnit::Ms,
        "us" | "µs" | "μs" | "usec" | "microseconds" | "microsecond" | "micros" => TimeUnit::Us,
        "ns" | "nsec" | "nanoseconds" | "nanosecond" => TimeUnit::Ns,
        "min" | "mins" | "minute" | "minutes" | "minuten" | "minutos" | "minuti" => TimeUnit::Min,
        "h" | "hr" | "hrs" | "hour" | "hours" | "stunden" | "std" => TimeUnit::H,
        _ => return None,
    })
}
