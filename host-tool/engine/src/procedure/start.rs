//! A procedure file to begin with, from published settings: starting points to be tried on scrap.

use crate::toml_comments::TomlLines;
use crate::units::Units;
use crate::formulas::metal::Metal;
use coldsquare_core::process::Process;
use crate::formulas::starting_points::{Joint, POINTS, Span, StartingPoint, nearest};
use coldsquare_core::units::{Amperes, Millimetres, MillimetresPerSecond, Volts};

/// Arc voltage of TIG in argon where a table gives none. Common practice, no source.
const TIG_VOLTS: (f64, f64) = (10.0, 14.0);
/// Travel speed of TIG by hand where a table gives none, mm/min. Common practice, no source.
const TIG_MM_MIN: (f64, f64) = (80.0, 160.0);
/// A single printed value becomes a range of this share to either side.
const ABOUT_ONE_VALUE: f64 = 0.05;

/// What to look up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Process.
    pub process: Process,
    /// Metal.
    pub metal: Metal,
    /// Thickness of the thinner part.
    pub thickness: Millimetres,
    /// Joint; without it a fillet, else the joint that there are settings for.
    pub joint: Option<Joint>,
    /// Units of the file.
    pub units: Units,
}

/// There are no published settings for what was wanted; the text says which there are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSettings(String);

impl std::fmt::Display for NoSettings {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(&self.0)
    }
}

impl std::error::Error for NoSettings {}

/// The words for a joint.
#[must_use]
pub const fn joint_words(joint: Joint) -> &'static str {
    match joint {
        Joint::Butt => "butt",
        Joint::Fillet => "fillet",
        Joint::Lap => "lap",
        Joint::Corner => "corner",
        Joint::TubeRoot => "tube root",
    }
}

/// The commented text of the file.
///
/// # Errors
/// [`NoSettings`] when no published row is within a quarter of the thickness.
pub fn file(wanted: &Wanted) -> Result<String, NoSettings> {
    let joints = match wanted.joint {
        Some(joint) => vec![joint],
        None => vec![Joint::Fillet, Joint::Lap, Joint::Corner, Joint::Butt],
    };
    let row = joints
        .into_iter()
        .find_map(|joint| nearest(wanted.process, wanted.metal, joint, wanted.thickness))
        .ok_or_else(|| none(wanted))?;
    Ok(write(wanted, row))
}

fn none(wanted: &Wanted) -> NoSettings {
    let rows = POINTS
        .iter()
        .filter(|row| row.process == wanted.process && row.metal == wanted.metal);
    let mut known: Vec<String> = rows
        .filter_map(|row| {
            Some(format!(
                "{} mm {}",
                row.thickness?.0,
                joint_words(row.joint)
            ))
        })
        .collect();
    known.dedup();
    let there = if known.is_empty() {
        "there are settings for MAG (135, 136) on steel and for TIG (141) on steel, stainless and aluminium".to_string()
    } else {
        format!("there are settings for {}", known.join(", "))
    };
    NoSettings(format!(
        "no published setting for {} ({}) on {:.1} mm of {}{}; {there}. Take yours from the machine's or wire maker's \
         table and write the file by hand (docs/guide/procedure.md)",
        wanted.process.name(),
        wanted.process.number(),
        wanted.thickness.0,
        wanted.metal.name(),
        wanted
            .joint
            .map_or(String::new(), |joint| format!(", {}", joint_words(joint))),
    ))
}

/// Group in ISO/TR 15608, from memory: 1.1 mild steel, 8.1 austenitic stainless, 22 non-heat-treatable aluminium.
const fn group(metal: Metal) -> &'static str {
    match metal {
        Metal::MildSteel => "1.1",
        Metal::Stainless => "8.1",
        Metal::Aluminium => "22",
    }
}

const fn material(metal: Metal) -> &'static str {
    match metal {
        Metal::MildSteel => "steel",
        Metal::Stainless => "stainless",
        Metal::Aluminium => "aluminium",
    }
}

const fn polarity(process: Process, metal: Metal) -> Option<&'static str> {
    match (process, metal) {
        (Process::Tig, Metal::Aluminium) => Some("AC"),
        (Process::Tig, _) => Some("DC-"),
        (
            Process::MagSolid | Process::MigSolid | Process::MagFluxCored | Process::MagMetalCored,
            _,
        ) => Some("DC+"),
        _ => None,
    }
}

/// Least and greatest, a little apart where only one value was printed.
fn ends(least: f64, greatest: f64) -> (f64, f64) {
    if greatest > least {
        (least, greatest)
    } else {
        (
            least * (1.0 - ABOUT_ONE_VALUE),
            greatest * (1.0 + ABOUT_ONE_VALUE),
        )
    }
}

/// Column of the remarks in a procedure.
const REMARKS_AT: usize = 34;

fn write(wanted: &Wanted, row: &StartingPoint) -> String {
    let inch = wanted.units == Units::UsCustomary;
    let mut lines = Lines::new(REMARKS_AT);
    lines.text("# Starting points, to be tried on scrap of the same section, gap and position. NOT a qualified procedure.");
    lines.text(&format!(
        "# From a published setting table: {}.",
        source_words(row)
    ));
    lines.text("# Work that people or loads depend on is welded to a qualified procedure, under the code that applies.");
    for caution in cautions(wanted.metal) {
        lines.text(&format!("# {caution}"));
    }
    lines.text("");
    let name = format!(
        "{}, {} {:.1} mm",
        wanted.process.name(),
        material(wanted.metal),
        wanted.thickness.0
    );
    lines.setting("name", &toml::Value::from(name).to_string(), "");
    lines.setting(
        "units",
        if inch { "\"inch\"" } else { "\"mm\"" },
        "of bare numbers; a text may carry its own unit",
    );
    lines.setting(
        "process",
        &wanted.process.number().to_string(),
        wanted.process.name(),
    );
    lines.setting(
        "material_group",
        &format!("\"{}\"", group(wanted.metal)),
        "ISO/TR 15608",
    );
    thickness(&mut lines, wanted, row);
    lines.setting("joint", &format!("\"{}\"", joint_words(row.joint)), "");
    lines.setting(
        "preparation",
        "\"square cut, clean bright metal, no gap\"",
        "yours",
    );
    lines.setting(
        "position",
        "\"PB\"",
        "ISO 6947: PA flat, PB horizontal fillet, PF up, PG down",
    );
    consumable(&mut lines, wanted, row);
    if let Some(polarity) = polarity(wanted.process, wanted.metal) {
        lines.setting(
            "polarity",
            &format!("\"{polarity}\""),
            "common practice; look at the wire's label",
        );
    }
    lines.text("");
    ranges(&mut lines, wanted, row);
    lines.text
}

/// The thickness for which the row is near: within a quarter.
fn thickness(lines: &mut Lines, wanted: &Wanted, row: &StartingPoint) {
    let known = row.thickness.unwrap_or(wanted.thickness);
    let remark = format!("the table's row is for {} mm", known.0);
    // Rounded outwards, so that the thickness asked for is always in it.
    let down = |t: f64, per: f64| (t / 1.25 * per + 1e-9).floor() / per;
    let up = |t: f64, per: f64| (t * 1.25 * per - 1e-9).ceil() / per;
    if wanted.units == Units::UsCustomary {
        let t = known.inches();
        lines.range("thickness", (down(t, 1000.0), up(t, 1000.0)), 3, &remark);
    } else {
        lines.range(
            "thickness",
            (down(known.0, 10.0), up(known.0, 10.0)),
            1,
            &remark,
        );
    }
}

fn consumable(lines: &mut Lines, wanted: &Wanted, row: &StartingPoint) {
    let inch = wanted.units == Units::UsCustomary;
    lines.setting("# consumable", "\"\"", "designation on the spool or box");
    let filler = row.rod.or(row
        .electrode
        .map(|span| span.least)
        .filter(|_| wanted.process != Process::Tig));
    match filler {
        Some(filler) => {
            let size = if inch {
                format!("{:.3}", filler.inches())
            } else {
                format!("{:.1}", filler.0)
            };
            lines.setting("wire", &size, "diameter");
        }
        None => lines.setting("# wire", if inch { "0.030" } else { "0.8" }, "diameter"),
    }
    lines.setting("gas", &toml::Value::from(row.gas).to_string(), "");
    if let Some(flow) = row.gas_l_min {
        let per = if inch { 60.0 / 28.316_846_592 } else { 1.0 };
        let (low, high) = (flow.least * per, flow.greatest * per);
        lines.range(
            "gas_flow",
            (low, high),
            usize::from(!inch),
            if inch { "cfh" } else { "l/min" },
        );
    }
}

fn ranges(lines: &mut Lines, wanted: &Wanted, row: &StartingPoint) {
    let inch = wanted.units == Units::UsCustomary;
    let practice = "the table gives none: common practice, no source";
    let volts = row
        .voltage
        .map(|span: Span<Volts>| ends(span.least.0, span.greatest.0));
    let amps = ends(row.current.least.0, row.current.greatest.0);
    let speed = row
        .travel_speed
        .map(|span| ends(span.least.0, span.greatest.0));
    let tig = wanted.process == Process::Tig;
    let by_practice = |(low, high): (f64, f64), unit: f64| tig.then_some((low * unit, high * unit));
    let volts_used = volts.or_else(|| by_practice(TIG_VOLTS, 1.0));
    let speed_used = speed.or_else(|| by_practice(TIG_MM_MIN, 1.0 / 60.0));
    if let Some(range) = volts_used {
        lines.range(
            "volts",
            range,
            1,
            if volts.is_some() { "" } else { practice },
        );
    }
    lines.range("amps", amps, 0, "");
    if let Ok(feed) = crate::formulas::consumables::wire_feed_for(
        Amperes((amps.0 + amps.1) / 2.0),
        row.electrode.map_or(Millimetres(0.0), |span| span.least),
    ) {
        let value = if inch {
            feed.inches_per_minute()
        } else {
            feed.millimetres_per_minute() / 1000.0
        };
        let remark = format!(
            "{}, from amps by the burn-off rule for the thinner wire",
            if inch { "in/min" } else { "m/min" }
        );
        let decimals = usize::from(!inch);
        lines.range("wire_speed", (0.9 * value, 1.1 * value), decimals, &remark);
    }
    let Some((slow, fast)) = speed_used else {
        return;
    };
    let unit = |speed: f64| {
        if inch {
            MillimetresPerSecond(speed).inches_per_minute()
        } else {
            speed
        }
    };
    let remark = format!(
        "{}{}",
        if inch { "in/min" } else { "mm/s" },
        if speed.is_some() {
            String::new()
        } else {
            format!(", {practice}")
        }
    );
    lines.range("travel_speed", (unit(slow), unit(fast)), 2, &remark);
    let Some((low, high)) = volts_used else {
        return;
    };
    let k = wanted.process.thermal_efficiency();
    let per = if inch { 25.4e-3 } else { 1e-3 };
    let heat = (
        k * low * amps.0 / fast * per,
        k * high * amps.1 / slow * per,
    );
    lines.range(
        "heat_input",
        heat,
        3,
        &format!(
            "{}, what the ranges above come to",
            if inch { "kJ/in" } else { "kJ/mm" }
        ),
    );
    lines.setting(
        "interpass",
        if inch { "300" } else { "150" },
        if inch {
            "°F, highest before the next run"
        } else {
            "°C, highest before the next run"
        },
    );
    lines.text("");
    lines.text("# [[run]]                          # what is different from a later run on");
    lines.text("# from = 2");
    lines.text("# amps = [90, 110]");
    lines.text("");
    lines.text("# [qualified]                      # the test that the procedure rests on, when there is one (ISO 15614-1)");
    lines.text("# record = \"number of the record\"");
    lines.setting(
        "# thickness",
        &if inch {
            "0.118".into()
        } else {
            format!("{:.1}", wanted.thickness.0)
        },
        "of the test piece",
    );
}

fn source_words(row: &StartingPoint) -> &'static str {
    use crate::formulas::starting_points::Source;
    match row.source {
        Source::MagInstructions => "operating instructions of a MAG power source",
        Source::MagManual => "manual of a MAG power source",
        Source::GasHandbook => "a gas maker's welder's handbook",
        Source::WeldingDictionary => "a welding dictionary, quoted in a power-source manual",
        Source::TigManual => "manual of a TIG power source",
        Source::PipeSettings => "manual of a TIG power source, settings for pipe",
    }
}

/// What to mind with a metal. Common practice, no source; local rules stand above it.
#[must_use]
pub const fn cautions(metal: Metal) -> &'static [&'static str] {
    match metal {
        Metal::MildSteel => &[
            "Galvanised or painted steel: take the coating off first, well past the weld; zinc fume makes ill. Extract fume at the arc.",
        ],
        Metal::Stainless => &[
            "Stainless fume holds chromium(VI) and nickel, which cause cancer: extract at the arc and wear a respirator.",
        ],
        Metal::Aluminium => {
            &["Aluminium gives much UV and ozone: cover skin, extract fume at the arc."]
        }
    }
}
