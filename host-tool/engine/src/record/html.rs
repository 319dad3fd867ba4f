//! The build record as one page to print: no script, nothing fetched.

use super::model::BuildRecord;
use super::table;
use crate::drawing::figure::Figures;
use crate::drawing::scene::Scene;
use crate::drawing::{self, palette};
use crate::format;
use crate::job::model::Job;
use crate::log::seal::Seal;
use crate::page::Part;
use crate::page::html::{self, Fragment, Page, mark, panel};
use crate::page::movement_table;
use crate::page::stills::stills;
use crate::procedure::text;
use crate::sanitise;
use maud::{Markup, html};

/// The page.
#[must_use]
pub fn html(job: &Job, record: &BuildRecord) -> String {
    let title = format!("Build record: {}", sanitise::short(&job.name, 80));
    html::page(&Page {
        title: &title,
        body: body(job, record),
        data: String::new(),
        scripts: Vec::new(),
    })
}

/// The record as a part of another page.
#[must_use]
pub fn part(job: &Job, record: &BuildRecord) -> Part {
    Part::from(Fragment {
        lead: tally(record),
        main: html! { div.record { (main(job, record)) } },
        data: String::new(),
    })
}

fn body(job: &Job, record: &BuildRecord) -> Markup {
    html! {
        (head(job, record))
        main.record { (main(job, record)) }
    }
}

fn main(job: &Job, record: &BuildRecord) -> Markup {
    html! {
            (panel("made", "panel", "What, when, by whom", html::facts(&made(job, record))))
            (drawings(job, record))
            (table::panel(job, record))
            (movement_table::panel(record.map.measured.as_ref(), job.units))
            (needs_attention(record))
            (notes(record))
            (procedures(job))
            (foot(record))
    }
}

fn tally(record: &BuildRecord) -> Markup {
    let tally = drawing::WORST_FIRST
        .map(|verdict| (verdict, drawing::count(&record.map, verdict)))
        .into_iter()
        .filter(|(_, count)| *count > 0);
    html! {
        ul.tally {
            @for (verdict, count) in tally {
                li { (mark(palette::class(verdict), "")) b { (count) } " " (verdict.name()) }
            }
        }
    }
}

fn head(job: &Job, record: &BuildRecord) -> Markup {
    html! {
        a.skip href="#welds" { "To the table of welds" }
        header {
            p.kind { "Build record" }
            (html::heading(&job.name))
            (tally(record))
        }
    }
}

fn drawings(job: &Job, record: &BuildRecord) -> Markup {
    let (scene, marks) = (Scene::of(job), drawing::marks(&record.map));
    html! {
        section.panel aria-label="Drawing" { (stills(&Figures::new(&scene, &marks))) }
    }
}

/// Who, what, when, with what.
fn made(job: &Job, record: &BuildRecord) -> Vec<(&'static str, String)> {
    let (source, made) = (&record.map.source, &record.made);
    let or = |text: &str, otherwise: &str| match text {
        "" => otherwise.to_owned(),
        text => text.to_owned(),
    };
    let when = source.started_unix_ms.map_or(
        "not known: the log has no clock".into(),
        format::date_and_time,
    );
    let calibrated = match source.calibrated_unix_s {
        Some(time) => format::date(time),
        None => {
            "not known: uncertainties are those of the sensors' class or as stated by hand".into()
        }
    };
    let percent = |gain: f64| format!("{:.1} %", 100.0 * gain);
    [
        ("material", job.material.name.clone()),
        ("welded from", when),
        ("welded by", or(&made.welder, "not stated")),
        (
            "measured with",
            source
                .device
                .as_deref()
                .unwrap_or("another instrument's recording")
                .to_owned(),
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
                "{}{}",
                format::date_and_time(1000 * made.at_unix_s),
                match made.by.as_str() {
                    "" => ", name not given".to_owned(),
                    name => format!(" by {name}"),
                }
            ),
        ),
        ("software", format!("coldsquare {}", source.software)),
        (
            "log",
            format!("{}, SHA-256 {}", source.log, made.log_sha256),
        ),
        (
            "seal",
            source.seal.as_ref().map_or_else(
                || "a recording: nothing shows whether it was changed".to_owned(),
                Seal::sentence,
            ),
        ),
        (
            "job file",
            format!("{}, SHA-256 {}", made.job_file, made.job_sha256),
        ),
    ]
    .into()
}

fn needs_attention(record: &BuildRecord) -> Markup {
    let sentences = record.needs_attention.iter().map(|item| match item.weld {
        Some(weld) => format!("weld {weld}: {}", item.what),
        None => item.what.clone(),
    });
    let content = html! {
        @if record.needs_attention.is_empty() { p { "Nothing." } } @else { (html::list(sentences)) }
    };
    panel("needs-attention", "panel notes", "Needs attention", content)
}

fn notes(record: &BuildRecord) -> Markup {
    if record.map.warnings.is_empty() {
        return Markup::default();
    }
    let warnings = record.map.warnings.iter().map(ToString::to_string);
    panel("notes", "panel notes keep", "Notes", html::list(warnings))
}

fn procedures(job: &Job) -> Markup {
    html! {
        @for (k, procedure) in job.procedures.iter().enumerate() {
            @let title = match job.procedures.len() {
                1 => "Procedure".to_owned(),
                _ => format!("Procedure {}", k + 1),
            };
            (panel(&format!("procedure-{k}"), "panel keep", &title, html::facts(&text::rows(procedure, job.units))))
        }
    }
}

fn foot(record: &BuildRecord) -> Markup {
    let totals = &record.map.totals;
    let sums = format!(
        "Arc time {:.1} s, energy {:.1} ± {:.1} kJ, {}.",
        totals.arc_time.0,
        totals.energy.value.0 / 1000.0,
        totals.energy.expanded.0 / 1000.0,
        format::count(totals.tacks, "tack"),
    );
    let content = html! {
        p { (sums) }
        div.sign-here { p { "Welder" } p { "Inspector" } p { "Date" } }
        p.how {
            "This record shows what was measured and what people wrote down. It replaces no inspection, no qualified \
             procedure and no certificate that the governing code requires."
        }
    };
    panel("sums", "panel keep", "Totals and signatures", content)
}
