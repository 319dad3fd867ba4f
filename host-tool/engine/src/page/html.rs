//! A page as one file: everything in it, nothing fetched, and only our own script allowed to run.
//!
//! To make a page: write its body as markup, every text of the job through [`escape`] (in a `<bdi>` where it stands
//! among our own words), and hand it to [`page()`]. What the classes look like stands in `page.css` and
//! docs/design-language.md: `panel` for a sheet with its square corner, `facts` for names and values, `scroll` around a
//! table, `keep` for what is not to be parted on paper, `screen` for what is not printed. No `style` and no `on…`
//! attributes: the policy of the page refuses them.

use crate::drawing::{palette, svg};
use base64::Engine;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write;

pub(crate) use svg::escape;

/// What a page is made of.
pub(crate) struct Page<'a> {
    /// Title of the window, and the running foot on paper: text.
    pub title: &'a str,
    /// Markup of the body.
    pub body: &'a str,
    /// What the script reads, from [`data`]; empty for a page without scripts.
    pub data: String,
    /// The scripts, in order; empty for a page that runs nothing.
    pub scripts: &'a [&'a str],
}

/// The whole page.
pub(crate) fn page(page: &Page<'_>) -> String {
    let style = format!(
        "{}{}{}{}",
        palette::properties(),
        crate::drawing::STYLE,
        include_str!("page.css"),
        running_foot(page.title)
    );
    let script = page.scripts.join("\n");
    // The browser runs what has these fingerprints and nothing else, whatever a name in the job says.
    let scripts_allowed = match script.is_empty() {
        true => String::new(),
        false => format!(" script-src 'sha256-{}';", fingerprint(&script)),
    };
    let scripts = match script.is_empty() {
        true => String::new(),
        false => format!(
            "<script type=\"application/json\" id=\"data\">{}</script>\n<script>{script}</script>\n",
            page.data
        ),
    };
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{}';{scripts_allowed} base-uri 'none'; form-action 'none'",
        fingerprint(&style),
    );
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<style>{style}</style>\n</head>\n<body>\n{}\n{scripts}</body>\n</html>\n",
        escape(page.title),
        page.body,
    )
}

fn fingerprint(text: &str) -> String {
    base64::engine::general_purpose::STANDARD.encode(Sha256::digest(text.as_bytes()))
}

/// The title at the foot of every printed sheet, so that loose sheets find back to their job.
fn running_foot(title: &str) -> String {
    let mut quoted = String::new();
    for c in title.chars().filter(|c| !crate::sanitise::is_unsafe(*c)) {
        // By its number no character can end the string, whatever it is.
        let _ = match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' => write!(quoted, "{c}"),
            c => write!(quoted, "\\{:06x}", u32::from(c)),
        };
    }
    format!("@page{{@bottom-left{{content:\"{quoted}\";font:9pt system-ui,sans-serif}}}}\n")
}

/// Data for a script element: JSON in which no character can end the element.
pub(crate) fn data<T: Serialize>(value: &T) -> String {
    // Plain structs of numbers and text cannot fail to serialise; a page without data still shows drawing and table.
    let json = serde_json::to_string(value).unwrap_or_else(|_| "null".into());
    json.replace('<', "\\u003c")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

/// The name of a job as the heading of its page; long ones in smaller type.
pub(crate) fn heading(name: &str) -> String {
    let class = match name.chars().count() {
        0..50 => "",
        _ => " class=\"long\"",
    };
    format!(
        "<h1{class}><bdi>{}</bdi></h1>",
        escape(&crate::sanitise::plain(name))
    )
}

/// A mark as it stands in text: the shape of a verdict, with a label in it.
pub(crate) fn mark(class: &str, label: &str) -> String {
    let three = if label.chars().count() > 2 {
        " three"
    } else {
        ""
    };
    format!(
        "<svg class=\"figure sign\" viewBox=\"-22 -18 44 36\" width=\"44\" height=\"36\" aria-hidden=\"true\">\
         <g class=\"mark {class}{three}\"><path d=\"{}\"/><text>{}</text></g></svg>",
        palette::outline(class),
        escape(label)
    )
}
