//! The page of a correction: the options for each fault, with a drawing of where to press, heat or shim.

use super::html::{self, Fragment, Page, Part, panel, scroll};
use super::member_side::member_side;
use crate::correct::model::{Correction, Fault, RepairOption, SizeForecast};
use crate::format::Precision;
use crate::sanitise;
use crate::units::Units;
use maud::{Markup, PreEscaped, html};

/// A correction as a part of another page.
#[must_use]
pub fn correction_part(correction: &Correction) -> Part {
    Part::from(Fragment {
        lead: Markup::default(),
        main: main(correction),
        data: String::new(),
    })
}

/// A correction as one HTML file.
#[must_use]
pub fn correction_html(correction: &Correction) -> String {
    let title = format!("Straightening: {}", sanitise::short(&correction.title, 80));
    html::page(&Page {
        title: &title,
        body: body(correction),
        data: String::new(),
        scripts: Vec::new(),
    })
}

fn body(correction: &Correction) -> Markup {
    html! {
        header {
            p.kind { "Straightening, " (correction.basis) }
            (html::heading(&correction.title))
        }
        main #main { (main(correction)) }
    }
}

fn main(correction: &Correction) -> Markup {
    let units = correction.units;
    html! {
            @if correction.faults.is_empty() {
                section.panel { h2 { "Nothing to straighten" } p { "Everything checked is within tolerance." } }
            }
            @for (k, fault) in correction.faults.iter().enumerate() { (fault_panel(k, fault, units)) }
            @if !correction.sizes.is_empty() { (sizes(&correction.sizes, units)) }
            @if !correction.within_tolerance.is_empty() {
                section.panel { h2 { "Within tolerance" } p { (correction.within_tolerance.join(", ")) } }
            }
            (notes(correction))
    }
}

fn notes(correction: &Correction) -> Markup {
    let units = correction.units.length_name();
    let last = format!("All lengths in {units}; ± is k = 2, about 95 %.");
    let notes = correction.notes.iter().chain([&last]);
    panel("notes", "panel notes", "Notes", html::list(notes))
}

fn fault_panel(number: usize, fault: &Fault, units: Units) -> Markup {
    let drawn = |mm: f64| units.length(mm, Precision::Drawn);
    let possible = fault.options.iter().filter(|option| option.possible);
    let ruled_out: Vec<&RepairOption> = fault
        .options
        .iter()
        .filter(|option| !option.possible)
        .collect();
    let content = html! {
        p.big {
            b { (units.signed_length(fault.change_mm, Precision::Drawn)) }
            " ± " (drawn(fault.plus_minus_mm)) " " (units.length_symbol()) " " (fault.known_by())
            ", tolerance " (drawn(fault.tolerance_mm))
        }
        div.options {
            @for option in possible { (option_card(option, fault.length_mm, units)) }
            @if !ruled_out.is_empty() {
                div.option.ruled-out {
                    h3 { "Ruled out" }
                    ul {
                        @for option in ruled_out {
                            li { b { (option.kind.title()) } ". No. " (option.summary.first().map_or("", String::as_str)) }
                        }
                    }
                }
            }
        }
    };
    panel(&format!("fault-{number}"), "panel", &fault.name, content)
}

/// One option as a card that fits a phone: the sketch first, its cautions before the first step.
fn option_card(option: &RepairOption, length_mm: f64, units: Units) -> Markup {
    html! {
        div.option.keep {
            h3 { (option.kind.title()) }
            p.degrees { "Effort " b { (option.effort.name()) } ", risk " b { (option.risk.name()) } }
            @if !option.places.is_empty() {
                div.sketch role="group" aria-label={ "Sketch: " (option.kind.title()) } tabindex="0" {
                    (PreEscaped(member_side(length_mm, option, units)))
                }
            }
            @for sentence in &option.summary { p { (sentence) } }
            @for caution in &option.cautions { p.flag { (caution) } }
            @if !option.steps.is_empty() { ol { @for step in &option.steps { li { (step) } } } }
        }
    }
}

fn sizes(sizes: &[SizeForecast], units: Units) -> Markup {
    let calculated = |mm: f64| units.length(mm, Precision::Calculated);
    let added = |mm: f64| units.signed_length(mm, Precision::Calculated);
    let table = html! {
        table {
            thead {
                tr {
                    th scope="col" { "Size" }
                    @for column in ["Target", "As drawn", "Cut longer", "Pre-camber", "Both"] {
                        th.num scope="col" { (column) }
                    }
                }
            }
            tbody {
                @for size in sizes {
                    tr {
                        th scope="row" { (size.name) }
                        td.num { (units.length(size.target_mm, Precision::Tape)) }
                        td.num { (calculated(size.as_drawn_mm[0])) " ± " (calculated(size.as_drawn_mm[1])) }
                        td.num { (added(size.longer_mm)) }
                        td.num { (added(size.pre_camber_mm)) }
                        td.num { (calculated(size.corrected_mm[0])) " ± " (calculated(size.corrected_mm[1])) }
                    }
                }
            }
        }
    };
    let title = "Longer cuts and pre-camber together";
    panel("sizes", "panel keep", title, scroll("sizes", table))
}
