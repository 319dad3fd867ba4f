//! The build record as one page to print: no script, nothing fetched.

use super::model::BuildRecord;
use crate::drawing::svg::escape;
use crate::job::model::{Job, Units};
use crate::map::model::MappedWeld;
use crate::map::words;
use crate::procedure::text;
use crate::verdict::{Estimate, Judged};
use std::fmt::Write;

/// The page.
#[must_use]
pub fn html(job: &Job, record: &BuildRecord) -> String {
    let title = format!("Build record: {}", words::short(&job.name, 80));
    let mut body = format!("<h1>{}</h1>\n", escape(&title));
    body += &facts(&head(job, record));
    body += &format!(
        "<figure>{}</figure>\n",
        crate::drawing::weld_map_svg(job, &record.map)
    );
    body += &welds(job, record);
    body += &deviations(record);
    for procedure in &job.procedures {
        body += "<section><h2>Procedure</h2>\n";
        body += &facts(&text::rows(procedure, job.units));
        body += "</section>\n";
    }
    body += &foot(record);
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; style-src 'unsafe-inline'\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n<style>{}</style>\n</head>\n<body>\n{body}</body>\n\
         </html>\n",
        escape(&title),
        include_str!("record.css")
    )
}

/// Who, what, when, with what.
fn head(job: &Job, record: &BuildRecord) -> Vec<(String, String)> {
    let (source, made) = (&record.map.source, &record.made);
    let or = |text: &str, otherwise: &str| {
        if text.is_empty() {
            otherwise.to_string()
        } else {
            words::plain(text)
        }
    };
    let when = source.started_unix_ms.map_or(
        "not known: the log has no clock".into(),
        words::date_and_time,
    );
    let calibrated = match source.calibrated_unix_s {
        Some(time) => words::date(time),
        None => "not known: doubts are those of the sensors' class or as stated by hand".into(),
    };
    let percent = |gain: f64| format!("{:.1} %", 100.0 * gain);
    [
        ("job", words::plain(&job.name)),
        ("material", words::plain(&job.material.name)),
        ("welded from", when),
        ("welded by", or(&made.welder, "not stated")),
        (
            "measured with",
            source
                .device
                .as_deref()
                .map_or("another instrument's recording".into(), words::plain),
        ),
        ("calibrated", calibrated),
        (
            "gain uncertainty (k = 2)",
            format!(
                "voltage {}, current {}",
                percent(source.voltage_gain_expanded),
                percent(source.current_gain_expanded)
            ),
        ),
        (
            "log",
            format!("{}, SHA-256 {}", words::plain(&source.log), made.log_sha256),
        ),
        (
            "job file",
            format!(
                "{}, SHA-256 {}",
                words::plain(&made.job_file),
                made.job_sha256
            ),
        ),
        (
            "record made",
            format!(
                "{} by {}",
                words::date_and_time(1000 * made.at_unix_s),
                or(&made.by, "no name given")
            ),
        ),
        ("software", format!("coldsquare {}", source.software)),
    ]
    .map(|(name, value)| (name.to_string(), value))
    .into()
}

fn facts(rows: &[(String, String)]) -> String {
    let mut out = String::from("<table class=\"facts\">\n");
    for (name, value) in rows {
        let _ = writeln!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td></tr>",
            escape(name),
            escape(value)
        );
    }
    out + "</table>\n"
}

fn welds(job: &Job, record: &BuildRecord) -> String {
    let (heat, _) = words::heat(job.units);
    let (speed, _) = words::speed(job.units);
    let mut out = format!(
        "<section><h2>Welds</h2>\n<p>Heat input is energy over length times thermal efficiency (EN 1011-1); ± is the expanded \
         uncertainty, k = 2. Where the log has no clock, times count from its first sample.</p>\n<table class=\"welds\">\n<thead><tr><th>no.</th>\
         <th>weld</th><th>began</th><th>verdict</th><th>heat input, {}</th><th>allowed</th><th>V</th><th>A</th><th>{}</th>\
         <th>arc, s</th><th>inspection</th></tr></thead>\n<tbody>\n",
        heat.symbol, speed.symbol
    );
    for weld in &record.map.welds {
        let cells = row(weld, job.units, record.map.source.started_unix_ms)
            .map(|cell| format!("<td>{}</td>", escape(&cell)));
        let _ = writeln!(out, "<tr>{}</tr>", cells.concat());
    }
    out + "</tbody>\n</table></section>\n"
}

/// The time of day where the log has a clock, else the time from its first sample.
fn began(weld: &MappedWeld, started_unix_ms: Option<u64>) -> String {
    match (weld.start, started_unix_ms) {
        (None, _) => "-".into(),
        (Some(start), None) => format!("{:.1} s", start.0),
        (Some(start), Some(log)) => {
            words::date_and_time(log.saturating_add((1000.0 * start.0) as u64))
        }
    }
}

fn row(weld: &MappedWeld, units: Units, started_unix_ms: Option<u64>) -> [String; 11] {
    let (heat, heat_in) = words::heat(units);
    let (speed, speed_in) = words::speed(units);
    let measured = weld.start.is_some();
    [
        weld.number.to_string(),
        words::plain(&weld.name),
        began(weld, started_unix_ms),
        words::verdict(weld),
        with_doubt(&weld.heat_input, heat.decimals, heat_in),
        words::limits(weld.heat_input.limits, heat.decimals, heat_in),
        with_doubt(&weld.voltage, 1, |volts| volts.0),
        with_doubt(&weld.current, 0, |amperes| amperes.0),
        with_doubt(&weld.travel_speed, speed.decimals, speed_in),
        if measured {
            format!("{:.1}", weld.arc_time.0)
        } else {
            "-".into()
        },
        weld.inspection
            .as_ref()
            .map_or("not inspected".into(), |seen| {
                words::plain(&seen.to_string())
            }),
    ]
}

fn with_doubt<T: Copy>(judged: &Judged<T>, decimals: usize, number: impl Fn(T) -> f64) -> String {
    judged
        .estimate
        .map_or("-".into(), |Estimate { value, expanded }| {
            format!(
                "{:.decimals$} ± {:.decimals$}",
                number(value),
                number(expanded)
            )
        })
}

fn deviations(record: &BuildRecord) -> String {
    let mut out = String::from("<section><h2>Deviations</h2>\n");
    if record.deviations.is_empty() {
        out += "<p>None.</p>\n";
    } else {
        out += "<ul>\n";
        for deviation in &record.deviations {
            let weld = deviation
                .weld
                .map_or(String::new(), |weld| format!("weld {weld}: "));
            let _ = writeln!(
                out,
                "<li>{}</li>",
                escape(&format!("{weld}{}", deviation.what))
            );
        }
        out += "</ul>\n";
    }
    if !record.map.warnings.is_empty() {
        out += "<h3>To bear in mind</h3>\n<ul>\n";
        for warning in &record.map.warnings {
            let _ = writeln!(out, "<li>{}</li>", escape(&warning.to_string()));
        }
        out += "</ul>\n";
    }
    out + "</section>\n"
}

fn foot(record: &BuildRecord) -> String {
    let totals = &record.map.totals;
    format!(
        "<section><h2>Sums</h2>\n<p>Arc time {:.1} s, energy {:.1} ± {:.1} kJ, {} tacks.</p></section>\n\
         <section class=\"sign\"><p>Welder</p><p>Inspector</p><p>Date</p></section>\n\
         <p class=\"caution\">This record shows what was measured and what people wrote down. It replaces no inspection, no \
         qualified procedure and no certificate that the code which applies asks for.</p>\n",
        totals.arc_time.0,
        totals.energy.value.0 / 1000.0,
        totals.energy.expanded.0 / 1000.0,
        totals.tacks,
    )
}
