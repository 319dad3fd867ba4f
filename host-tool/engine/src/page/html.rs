//! A page as one file: everything in it, nothing fetched, and only our own script allowed to run.
//!
//! To make a page: write its body with [`maud::html!`], which escapes every text, put a name from the job in a `bdi`
//! where it stands among our own words, and hand the body to [`page()`]. `page.css` and docs/design-language.md say what
//! the classes look like: `panel` for a sheet with its square corner, `facts` for names and values, `scroll` around a
//! table, `keep` for what stays together on paper, `screen` for what is not printed. No `style` and no `on…`
//! attributes: the policy of the page refuses them.

use crate::drawing::palette;
use crate::sanitise;
use base64::Engine;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// What a page is made of.
pub(crate) struct Page<'a> {
    /// Title of the window, and the running foot on paper.
    pub title: &'a str,
    /// The body.
    pub body: Markup,
    /// What the script reads, from [`data`]; empty for a page without scripts.
    pub data: String,
    /// The scripts, in order; empty for a page that runs nothing.
    pub scripts: Vec<&'a str>,
}

/// The whole page, sanitised: whatever a name holds, the text only shows it.
pub(crate) fn page(page: &Page<'_>) -> String {
    let style = super::style() + &running_foot(page.title);
    let script = script(&page.scripts);
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(&style, &script));
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (page.title) }
                style { (PreEscaped(style)) }
            }
            body {
                (page.body)
                @if !script.is_empty() {
                    script type="application/json" id="data" { (PreEscaped(&page.data)) }
                    script { (PreEscaped(script)) }
                }
            }
        }
    };
    sanitised(&document.into_string())
}

/// A page with a style of its own and nothing of ours around it: for what is printed to scale.
pub(crate) fn bare(title: &str, style: &str, body: &Markup) -> String {
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(style, ""));
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    sanitised(&document.into_string())
}

/// A part of a page that another page can take in: what stands beside the heading, what stands below it, and the data
/// that the script reads, as JSON.
pub(crate) struct Fragment {
    pub lead: Markup,
    pub main: Markup,
    pub data: String,
}

/// A part of a page as text: markup of ours in which every name is only text.
#[derive(Clone, Debug, Serialize)]
pub struct Part {
    /// What stands above everything else: counts, a sum.
    pub lead: String,
    /// The panels.
    pub main: String,
    /// What the script of the page reads, as JSON; empty for a page without one.
    pub data: String,
}

impl From<Fragment> for Part {
    fn from(fragment: Fragment) -> Self {
        Self {
            lead: sanitised(&fragment.lead.into_string()),
            main: sanitised(&fragment.main.into_string()),
            data: fragment.data,
        }
    }
}

fn sanitised(text: &str) -> String {
    text.replace(|c| sanitise::is_unsafe(c) && c != '\n', "\u{FFFD}")
}

/// Modules joined into one script, in the order in which they need each other: all their names are different, so that
/// neither imports nor exports are needed.
fn script(modules: &[&str]) -> String {
    if modules.is_empty() {
        return String::new();
    }
    let mut script = String::from("\"use strict\";\n");
    let lines = modules.iter().flat_map(|module| module.lines());
    for line in lines.filter(|line| !line.starts_with("import ")) {
        script += line.strip_prefix("export ").unwrap_or(line);
        script.push('\n');
    }
    script
}

/// The browser runs what has these fingerprints and nothing else, whatever a name in the job says.
fn policy(style: &str, script: &str) -> String {
    let scripts = match script.is_empty() {
        true => String::new(),
        false => format!(" script-src 'sha256-{}';", fingerprint(script)),
    };
    format!(
        "default-src 'none'; style-src 'sha256-{}';{scripts} base-uri 'none'; form-action 'none'",
        fingerprint(style),
    )
}

fn fingerprint(text: &str) -> String {
    base64::engine::general_purpose::STANDARD.encode(Sha256::digest(text.as_bytes()))
}

/// The title at the foot of every printed sheet, so that a loose sheet can be put back with its job.
fn running_foot(title: &str) -> String {
    let mut quoted = String::new();
    for c in title.chars().filter(|c| !sanitise::is_unsafe(*c)) {
        // A character written as its number cannot end the string.
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
}

/// The name of a job as the heading of its page; long ones in smaller type.
pub(crate) fn heading(name: &str) -> Markup {
    let long = name.chars().count() >= 50;
    html! { h1.long[long] { bdi { (name) } } }
}

/// A sheet with a heading. The heading's id is `ID-title`.
pub(crate) fn panel(id: &str, class: &str, title: &str, content: Markup) -> Markup {
    html! {
        section class=(class) aria-labelledby={ (id) "-title" } {
            h2 id={ (id) "-title" } { (title) }
            (content)
        }
    }
}

/// What may be wider than the window, named by the heading of the panel `id` and within reach of the keyboard.
pub(crate) fn scroll(id: &str, content: Markup) -> Markup {
    html! {
        div.scroll role="group" aria-labelledby={ (id) "-title" } tabindex="0" { (content) }
    }
}

/// Names and values.
pub(crate) fn facts<N: AsRef<str>>(rows: &[(N, String)]) -> Markup {
    html! {
        dl.facts {
            @for (name, value) in rows {
                div { dt { (name.as_ref()) } dd { bdi { (value) } } }
            }
        }
    }
}

/// A list of sentences.
pub(crate) fn list<T: AsRef<str>>(sentences: impl IntoIterator<Item = T>) -> Markup {
    html! {
        ul { @for sentence in sentences { li { (sentence.as_ref()) } } }
    }
}

/// A mark as it stands in text: the shape of a verdict, with a label in it.
pub(crate) fn mark(class: &str, label: &str) -> Markup {
    let three = label.chars().count() > 2;
    html! {
        svg class="figure sign" viewBox="-22 -18 44 36" width="44" height="36" aria-hidden="true" {
            g.mark.(class).three[three] { path d=(palette::outline(class)) {} text { (label) } }
        }
    }
}
