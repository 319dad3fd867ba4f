//! A page as one file: everything in it, nothing fetched, and only our own script allowed to run.

use crate::drawing::{palette, svg};
use base64::Engine;
use serde::Serialize;
use sha2::{Digest, Sha256};

pub use svg::escape;

/// What a page is made of.
pub(super) struct Page<'a> {
    /// Title of the window: text.
    pub title: &'a str,
    /// Markup of the body.
    pub body: &'a str,
    /// What the script reads.
    pub data: String,
    /// The scripts, in order.
    pub scripts: &'a [&'a str],
}

/// The whole page.
pub(super) fn page(page: &Page<'_>) -> String {
    let style = format!(
        "{}{}{}",
        palette::properties(),
        crate::drawing::STYLE,
        include_str!("page.css")
    );
    let script = page.scripts.join("\n");
    // The browser runs what has these fingerprints and nothing else, whatever a name in the job says.
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{}'; script-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
        fingerprint(&style),
        fingerprint(&script)
    );
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<style>{style}</style>\n</head>\n<body>\n{}\n\
         <script type=\"application/json\" id=\"data\">{}</script>\n<script>{script}</script>\n</body>\n</html>\n",
        escape(page.title),
        page.body,
        page.data
    )
}

fn fingerprint(text: &str) -> String {
    base64::engine::general_purpose::STANDARD.encode(Sha256::digest(text.as_bytes()))
}

/// Data for a script element: JSON in which no character can end the element.
pub(super) fn data<T: Serialize>(value: &T) -> String {
    // Plain structs of numbers and text cannot fail to serialise; a page without data still shows drawing and table.
    let json = serde_json::to_string(value).unwrap_or_else(|_| "null".into());
    json.replace('<', "\\u003c")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

/// A mark as it stands in text: the shape of a verdict, with a label in it.
pub(super) fn mark(class: &str, label: &str) -> String {
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
