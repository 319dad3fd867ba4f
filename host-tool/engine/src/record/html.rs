//! The build record as one page to print: no script, nothing fetched.

use super::model::BuildRecord;
use super::table;
use crate::drawing::figure::Figures;
use crate::drawing::scene::Scene;
use crate::drawing::{self, palette};
use crate::job::model::Job;
use crate::page::html::{self, Page, escape, mark};
use crate::page::movement_table;
use crate::page::stills::stills;
use crate::procedure::text;
use crate::format;
use crate::sanitise;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// The page.
#[must_use]
pub fn html(job: &Job, record: &BuildRecord) -> String {
    let title = format!("Build record: {}", sanitise::short(&job.name, 80));
    let mut body = String::new();
    head(&mut body, job, record);
    put!(body, "<main class=\"record\">");
    panel(&mut body, "made", "What, when, by whom", "", &|out| {
        facts(out, &made(job, record));
    });
    drawings(&mut body, job, record);
    table::welds(&mut body, job, record);
    movement_table::panel(&mut body, record.map.measured.as_ref(), job.units);
    deviations(&mut body, record);
    for (k, procedure) in job.procedures.iter().enumerate() {
        let title = match job.procedures.len() {
            1 => "Procedure".into(),
            _ => format!("Procedure {}", k + 1),
        };
        panel(
            &mut body,
            &format!("procedure-{k}"),
            &title,
            " keep",
            &|out| {
                facts(out, &text::rows(procedure, job.units));
            },
        );
    }
    foot(&mut body, record);
    put!(body, "</main>");
    html::page(&Page {
        title: &title,
        body: &body,
        data: String::new(),
        scripts: &[],
    })
}

fn panel(out: &mut String, id: &str, title: &str, class: &str, content: &dyn Fn(&mut String)) {
    put!(
        out,
        "<section class=\"panel{class}\" aria-labelledby=\"{id}\"><h2 id=\"{id}\">{}</h2>",
        escape(title)
    );
    content(out);
    put!(out, "</section>");
}

fn head(out: &mut String, job: &Job, record: &BuildRecord) {
    put!(
        out,
        "<a class=\"skip\" href=\"#welds\">To the table of welds</a>\n<header><p class=\"kind\">Build record</p>\
         {}<ul class=\"tally\">",
        html::heading(&job.name)
    );
    for verdict in drawing::WORST_FIRST {
        let count = drawing::count(&record.map, verdict);
        if count > 0 {
            put!(
                out,
                "<li>{}<b>{count}</b> {}</li>",
                mark(palette::class(verdict), ""),
                verdict.words()
            );
        }
    }
    put!(out, "</ul></header>");
}

fn drawings(out: &mut String, job: &Job, record: &BuildRecord) {
    let (scene, marks) = (Scene::of(job), drawing::marks(&record.map));
    put!(
        out,
        "<section class=\"panel\" aria-label=\"Drawing\">{}</section>",
        stills(&Figures::new(&scene, &marks))
    );
}

/// Who, what, when, with what.
fn made(job: &Job, record: &BuildRecord) -> Vec<(String, String)> {
    let (source, made) = (&record.map.source, &record.made);
    let or = |text: &str, otherwise: &str| {
        if text.is_empty() {
            otherwise.to_string()
        } else {
            sanitise::plain(text)
        }
    };
    let when = source.started_unix_ms.map_or(
        "not known: the log has no clock".into(),
        format::date_and_time,
    );
    let calibrated = match source.calibrated_unix_s {
        Some(time) => format::date(time),
        None => "not known: doubts are those of the sensors' class or as stated by hand".into(),
    };
    let percent = |gain: f64| format!("{:.1} %", 100.0 * gain);
    [
        ("material", sanitise::plain(&job.material.name)),
        ("welded from", when),
        ("welded by", or(&made.welder, "not stated")),
        (
            "measured with",
            source
                .device
                .as_deref()
                .map_or("another instrument's recording".into(), sanitise::plain),
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
            "record made",
            format!(
                "{} by {}",
                format::date_and_time(1000 * made.at_unix_s),
                or(&made.by, "no name given")
            ),
        ),
        ("software", format!("coldsquare {}", source.software)),
        (
            "log",
            format!("{}, SHA-256 {}", sanitise::plain(&source.log), made.log_sha256),
        ),
        (
            "job file",
            format!(
                "{}, SHA-256 {}",
                sanitise::plain(&made.job_file),
                made.job_sha256
            ),
        ),
    ]
    .map(|(name, value)| (name.to_string(), value))
    .into()
}

fn facts(out: &mut String, rows: &[(String, String)]) {
    put!(out, "<dl class=\"facts\">");
    for (name, value) in rows {
        put!(
            out,
            "<div><dt>{}</dt><dd><bdi>{}</bdi></dd></div>",
            escape(name),
            escape(value)
        );
    }
    put!(out, "</dl>");
}

fn deviations(out: &mut String, record: &BuildRecord) {
    panel(out, "deviations", "Deviations", " notes", &|out| {
        if record.deviations.is_empty() {
            put!(out, "<p>None.</p>");
            return;
        }
        let sentences = record.deviations.iter().map(|deviation| {
            let weld = deviation.weld;
            let weld = weld.map_or(String::new(), |weld| format!("weld {weld}: "));
            format!("{weld}{}", deviation.what)
        });
        list(out, sentences);
    });
    if !record.map.warnings.is_empty() {
        panel(out, "warnings", "To bear in mind", " notes keep", &|out| {
            list(out, record.map.warnings.iter().map(ToString::to_string));
        });
    }
}

fn list(out: &mut String, sentences: impl Iterator<Item = String>) {
    put!(out, "<ul>");
    for sentence in sentences {
        put!(out, "<li>{}</li>", escape(&sentence));
    }
    put!(out, "</ul>");
}

fn foot(out: &mut String, record: &BuildRecord) {
    let totals = &record.map.totals;
    panel(out, "sums", "Sums and signatures", " keep", &|out| {
        put!(
            out,
            "<p>Arc time {:.1} s, energy {:.1} ± {:.1} kJ, {} tacks.</p>\n<div class=\"sign-here\"><p>Welder</p><p>Inspector</p>\
             <p>Date</p></div>\n<p class=\"how\">This record shows what was measured and what people wrote down. It replaces no \
             inspection, no qualified procedure and no certificate that the code which applies asks for.</p>",
            totals.arc_time.0,
            totals.energy.value.0 / 1000.0,
            totals.energy.expanded.0 / 1000.0,
            totals.tacks,
        );
    });
}
