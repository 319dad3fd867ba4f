//! A procedure file to start from, with published starting settings to try on scrap.

use crate::formulas::metal::Metal;
use crate::formulas::starting_points::{Joint, POINTS, Source, Span, StartingPoint, nearest};
use crate::toml_comments::TomlLines;
use crate::units::{LITRES_PER_CUBIC_FOOT, Units};
use coldsquare_core::process::Process;
use coldsquare_core::units::{
    Amperes, MILLIMETRES_PER_INCH, Millimetres, MillimetresPerSecond, Volts,
};

/// Arc voltage of TIG in argon where a table gives none. Common practice, no source.
const TIG_VOLTS: (f64, f64) = (10.0, 14.0);
/// Travel speed of TIG by hand where a table gives none, mm/min. Common practice, no source.
const TIG_MM_MIN: (f64, f64) = (80.0, 160.0);
/// Where one value is printed, the range goes this far to either side, as a share of it.
const SINGLE_VALUE_SPREAD: f64 = 0.05;

/// Stick welding of steel with rutile electrodes: thickness, electrode, current. Common practice, no source.
const STICK: [(f64, f64, (f64, f64)); 4] = [
    (2.0, 2.0, (40.0, 60.0)),
    (3.0, 2.5, (65.0, 90.0)),
    (4.5, 3.2, (90.0, 130.0)),
    (7.0, 4.0, (140.0, 180.0)),
];
/// Arc voltage and travel speed of stick welding, mm/min. Common practice, no source.
const STICK_VOLTS: (f64, f64) = (21.0, 25.0);
const STICK_MM_MIN: (f64, f64) = (120.0, 240.0);

/// The weld to start a procedure for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Process.
    pub process: Process,
    /// Metal.
    pub metal: Metal,
    /// Thickness of the thinner member.
    pub thickness: Millimetres,
    /// Joint; without it a fillet weld, or else the first joint with settings.
    pub joint: Option<Joint>,
    /// Units of the file.
    pub units: Units,
}

/// Nothing published for this weld; the text says what there is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSettings(String);

impl std::fmt::Display for NoSettings {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(&self.0)
    }
}

impl std::error::Error for NoSettings {}

/// The name of a joint.
#[must_use]
pub const fn joint_name(joint: Joint) -> &'static str {
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
    let wanted = &as_the_trade_says(wanted);
    match row(wanted) {
        Some(row) => Ok(write(wanted, &row)),
        None => Err(none(wanted)),
    }
}

/// MIG on steel, as many shops call it, is welded with an active gas: MAG.
fn as_the_trade_says(wanted: &Wanted) -> Wanted {
    let process = match (wanted.process, wanted.metal) {
        (Process::MigSolid, Metal::MildSteel) => Process::MagSolid,
        (process, _) => process,
    };
    Wanted { process, ..*wanted }
}

/// The settings for a weld; those of stick are common practice.
fn row(wanted: &Wanted) -> Option<StartingPoint> {
    let joints = match wanted.joint {
        Some(joint) => vec![joint],
        None => vec![Joint::Fillet, Joint::Lap, Joint::Corner, Joint::Butt],
    };
    let printed = joints
        .into_iter()
        .find_map(|joint| nearest(wanted.process, wanted.metal, joint, wanted.thickness));
    printed.copied().or_else(|| stick(wanted))
}

const fn span<T>(least: T, greatest: T) -> Span<T> {
    Span { least, greatest }
}

fn stick(wanted: &Wanted) -> Option<StartingPoint> {
    let is_stick = wanted.process == Process::ManualMetalArc && wanted.metal == Metal::MildSteel;
    let ratio = |known: f64| (known / wanted.thickness.0).ln().abs();
    let (thickness, electrode, (low, high)) = STICK
        .into_iter()
        .filter(|(known, ..)| is_stick && ratio(*known) <= 1.25f64.ln() + 1e-9)
        .min_by(|a, b| ratio(a.0).total_cmp(&ratio(b.0)))?;
    Some(StartingPoint {
        process: wanted.process,
        metal: wanted.metal,
        joint: wanted.joint.unwrap_or(Joint::Fillet),
        thickness: Some(Millimetres(thickness)),
        leg: None,
        electrode: Some(span(Millimetres(electrode), Millimetres(electrode))),
        rod: None,
        current: span(Amperes(low), Amperes(high)),
        voltage: Some(span(Volts(STICK_VOLTS.0), Volts(STICK_VOLTS.1))),
        travel_speed: Some(span(
            MillimetresPerSecond(STICK_MM_MIN.0 / 60.0),
            MillimetresPerSecond(STICK_MM_MIN.1 / 60.0),
        )),
        gas: "",
        gas_l_min: None,
        source: Source::Practice,
    })
}

/// Ranges for the procedure of a new job: those of all its walls together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Arc voltage, V.
    pub volts: (f64, f64),
    /// Current, A.
    pub amps: (f64, f64),
    /// Travel speed, mm/s.
    pub travel_speed_mm_s: (f64, f64),
    /// Heat input, J/mm: what the three can give.
    pub heat_input_j_mm: (f64, f64),
}

/// Settings of MAG with solid wire on steel that suit all these walls; `None` where the tables have none for one of them.
#[must_use]
pub fn settings_for(walls: &[Millimetres]) -> Option<Settings> {
    let wider = |a: (f64, f64), b: (f64, f64)| (a.0.min(b.0), a.1.max(b.1));
    let mut all: Option<[(f64, f64); 3]> = None;
    for &thickness in walls {
        let row = row(&Wanted {
            process: Process::MagSolid,
            metal: Metal::MildSteel,
            thickness,
            joint: None,
            units: Units::Metric,
        })?;
        let (volts, speed) = (row.voltage?, row.travel_speed?);
        let own = [
            ends(volts.least.0, volts.greatest.0),
            ends(row.current.least.0, row.current.greatest.0),
            ends(speed.least.0, speed.greatest.0),
        ];
        all = Some(match all {
            Some([v, a, s]) => [wider(v, own[0]), wider(a, own[1]), wider(s, own[2])],
            None => own,
        });
    }
    let [volts, amps, speed] = all?;
    let k = Process::MagSolid.thermal_efficiency();
    Some(Settings {
        volts,
        amps,
        travel_speed_mm_s: speed,
        heat_input_j_mm: (
            k * volts.0 * amps.0 / speed.1,
            k * volts.1 * amps.1 / speed.0,
        ),
    })
}

fn none(wanted: &Wanted) -> NoSettings {
    let rows = POINTS
        .iter()
        .filter(|row| row.process == wanted.process && row.metal == wanted.metal);
    let mut known: Vec<String> = rows
        .filter_map(|row| Some(format!("{} mm {}", row.thickness?.0, joint_name(row.joint))))
        .collect();
    known.dedup();
    let there = if known.is_empty() {
        "there are settings for MAG (135, 136) and stick (111) on steel and for TIG (141) on steel, stainless and aluminium"
            .to_string()
    } else {
        format!("there are settings for {}", known.join(", "))
    };
    NoSettings(format!(
        "no published setting for {} ({}) on {:.1} mm of {}{}; {there}. Take the setting from the table of your machine or \
         wire, and write the file by hand (docs/guide/procedure.md)",
        wanted.process.name(),
        wanted.process.number(),
        wanted.thickness.0,
        wanted.metal.name(),
        wanted
            .joint
            .map_or(String::new(), |joint| format!(", {}", joint_name(joint))),
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

/// The ends of a range, spread a little where one value is printed.
fn ends(low: f64, high: f64) -> (f64, f64) {
    if high > low {
        (low, high)
    } else {
        (
            low * (1.0 - SINGLE_VALUE_SPREAD),
            high * (1.0 + SINGLE_VALUE_SPREAD),
        )
    }
}

/// Column of the comments in the file.
const COMMENT_COLUMN: usize = 34;

fn write(wanted: &Wanted, row: &StartingPoint) -> String {
    let mut lines = TomlLines::new(COMMENT_COLUMN);
    heading(&mut lines, wanted, row);
    contents(&mut lines, wanted, row);
    lines.text("");
    ranges(&mut lines, wanted, row);
    examples(&mut lines, wanted);
    lines.text
}

fn heading(lines: &mut TomlLines, wanted: &Wanted, row: &StartingPoint) {
    lines.text("# Starting settings: try them on scrap of the same section, gap and position. NOT a qualified procedure.");
    lines.text(&match row.source {
        Source::Practice => "# Common practice, without a published table behind it: the box of electrodes says more.".into(),
        _ => format!("# From a published setting table: {}.", source_name(row)),
    });
    if row.process == Process::MagSolid {
        lines.text("# What many shops call MIG on steel: the gas is active (argon with CO2), so by ISO 4063 it is MAG, 135.");
    }
    lines.text("# Work that people or loads depend on is welded to a qualified procedure, under the code that applies.");
    for caution in cautions(wanted.metal) {
        lines.text(&format!("# {caution}"));
    }
    lines.text("");
}

fn contents(lines: &mut TomlLines, wanted: &Wanted, row: &StartingPoint) {
    let (process, metal) = (wanted.process, wanted.metal);
    let name = format!(
        "{}, {} {:.1} mm",
        process.name(),
        material(metal),
        wanted.thickness.0
    );
    let quoted = |text: &str| format!("\"{text}\"");
    let units = match wanted.units {
        Units::Metric => "mm",
        Units::UsCustomary => "inch",
    };
    lines.setting("name", &toml::Value::from(name).to_string(), "");
    let comment = "of bare numbers; text may have its own unit";
    lines.setting("units", &quoted(units), comment);
    let number = process.number().to_string();
    lines.setting("process", &number, process.name());
    lines.setting("material_group", &quoted(group(metal)), "ISO/TR 15608");
    thickness(lines, wanted, row);
    lines.setting("joint", &quoted(joint_name(row.joint)), "");
    let preparation = "square cut, clean bright metal, no gap";
    lines.setting("preparation", &quoted(preparation), "yours");
    let comment = "ISO 6947: PA flat, PB horizontal fillet, PF up, PG down";
    lines.setting("position", &quoted("PB"), comment);
    consumable(lines, wanted, row);
    if let Some(polarity) = polarity(process, metal) {
        let comment = "common practice; look at the label of the wire";
        lines.setting("polarity", &quoted(polarity), comment);
    }
}

/// The thickness that the row is for, give or take a quarter.
fn thickness(lines: &mut TomlLines, wanted: &Wanted, row: &StartingPoint) {
    let known = row.thickness.unwrap_or(wanted.thickness);
    let comment = format!("the row of the table is for {} mm", known.0);
    // Rounded outwards, so that the thickness wanted is always in it.
    let down = |t: f64, per: f64| (t / 1.25 * per + 1e-9).floor() / per;
    let up = |t: f64, per: f64| (t * 1.25 * per - 1e-9).ceil() / per;
    if wanted.units == Units::UsCustomary {
        let t = known.inches();
        lines.range("thickness", (down(t, 1000.0), up(t, 1000.0)), 3, &comment);
    } else {
        lines.range(
            "thickness",
            (down(known.0, 10.0), up(known.0, 10.0)),
            1,
            &comment,
        );
    }
}

fn consumable(lines: &mut TomlLines, wanted: &Wanted, row: &StartingPoint) {
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
    if !row.gas.is_empty() {
        lines.setting("gas", &toml::Value::from(row.gas).to_string(), "");
    }
    if let Some(flow) = row.gas_l_min {
        let per = if inch {
            60.0 / LITRES_PER_CUBIC_FOOT
        } else {
            1.0
        };
        let (low, high) = (flow.least * per, flow.greatest * per);
        lines.range(
            "gas_flow",
            (low, high),
            usize::from(!inch),
            if inch { "cfh" } else { "l/min" },
        );
    }
}

/// What goes into the file where the table has no value.
const PRACTICE: &str = "not in the table: common practice, no source";

fn ranges(lines: &mut TomlLines, wanted: &Wanted, row: &StartingPoint) {
    let is_inch = wanted.units == Units::UsCustomary;
    let is_tig = wanted.process == Process::Tig;
    let by_practice =
        |(low, high): (f64, f64), unit: f64| is_tig.then_some((low * unit, high * unit));
    let printed = row
        .voltage
        .map(|span: Span<Volts>| ends(span.least.0, span.greatest.0));
    let volts = printed.or_else(|| by_practice(TIG_VOLTS, 1.0));
    if let Some(range) = volts {
        let comment = if printed.is_some() { "" } else { PRACTICE };
        lines.range("volts", range, 1, comment);
    }
    let amps = ends(row.current.least.0, row.current.greatest.0);
    lines.range("amps", amps, 0, "");
    wire_speed(lines, row, amps, is_inch);
    let printed = row
        .travel_speed
        .map(|span| ends(span.least.0, span.greatest.0));
    let Some(speed) = printed.or_else(|| by_practice(TIG_MM_MIN, 1.0 / 60.0)) else {
        return;
    };
    let unit = if is_inch { "in/min" } else { "mm/s" };
    let comment = match printed {
        Some(_) => unit.to_owned(),
        None => format!("{unit}, {PRACTICE}"),
    };
    let in_units = |speed: f64| {
        if is_inch {
            MillimetresPerSecond(speed).inches_per_minute()
        } else {
            speed
        }
    };
    let in_units = (in_units(speed.0), in_units(speed.1));
    lines.range("travel_speed", in_units, 2, &comment);
    if let Some(volts) = volts {
        heat_input(lines, wanted.process, [volts, amps, speed], is_inch);
    }
}

fn wire_speed(lines: &mut TomlLines, row: &StartingPoint, amps: (f64, f64), is_inch: bool) {
    let thinner_wire = row.electrode.map_or(Millimetres(0.0), |span| span.least);
    let middle = Amperes((amps.0 + amps.1) / 2.0);
    if row.process == Process::ManualMetalArc {
        return;
    }
    let Ok(feed) = crate::formulas::consumables::wire_feed_for(middle, thinner_wire) else {
        return;
    };
    let (value, unit) = if is_inch {
        (feed.inches_per_minute(), "in/min")
    } else {
        (feed.millimetres_per_minute() / 1000.0, "m/min")
    };
    let comment = format!("{unit}, from amps by the burn-off rule for the thinner wire");
    let range = (0.9 * value, 1.1 * value);
    lines.range("wire_speed", range, usize::from(!is_inch), &comment);
}

fn heat_input(
    lines: &mut TomlLines,
    process: Process,
    [volts, amps, (slow, fast)]: [(f64, f64); 3],
    is_inch: bool,
) {
    let k = process.thermal_efficiency();
    let (per, unit, interpass, degrees) = if is_inch {
        (MILLIMETRES_PER_INCH / 1000.0, "kJ/in", "300", "°F")
    } else {
        (1e-3, "kJ/mm", "150", "°C")
    };
    let heat = (
        k * volts.0 * amps.0 / fast * per,
        k * volts.1 * amps.1 / slow * per,
    );
    let comment = format!("{unit}, what the ranges above come to");
    lines.range("heat_input", heat, 3, &comment);
    let comment = format!("{degrees}, highest before the next run");
    lines.setting("interpass", interpass, &comment);
}

/// Tables that the file may have too, commented out.
fn examples(lines: &mut TomlLines, wanted: &Wanted) {
    lines.text("");
    lines.text("# [[run]]                          # what changes from a later run on");
    lines.text("# from = 2");
    lines.text("# amps = [90, 110]");
    lines.text("");
    lines.text("# [qualified]                      # the test that the procedure rests on, if there is one (ISO 15614-1)");
    lines.text("# record = \"number of the record\"");
    let thickness = match wanted.units {
        Units::UsCustomary => "0.118".into(),
        Units::Metric => format!("{:.1}", wanted.thickness.0),
    };
    lines.setting("# thickness", &thickness, "of the test piece");
}

fn source_name(row: &StartingPoint) -> &'static str {
    match row.source {
        Source::Practice => "common practice",
        Source::MagInstructions => "operating instructions of a MAG power source",
        Source::MagManual => "manual of a MAG power source",
        Source::GasHandbook => "a welder's handbook of a gas maker",
        Source::WeldingDictionary => "a welding dictionary, quoted in a power-source manual",
        Source::TigManual => "manual of a TIG power source",
        Source::PipeSettings => "manual of a TIG power source, settings for pipe",
    }
}

/// Cautions for a metal. Common practice, no source; local rules come first.
#[must_use]
pub const fn cautions(metal: Metal) -> &'static [&'static str] {
    match metal {
        Metal::MildSteel => &[
            "Galvanised or painted steel: take the coating off first, well past the weld; zinc fume makes you ill. Extract fume at the arc.",
        ],
        Metal::Stainless => &[
            "Stainless fume contains chromium(VI) and nickel, which cause cancer: extract at the arc and wear a respirator.",
        ],
        Metal::Aluminium => {
            &["Aluminium gives off strong UV and ozone: cover skin, extract fume at the arc."]
        }
    }
}
