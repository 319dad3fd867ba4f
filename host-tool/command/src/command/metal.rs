//! `coldsquare metal`: carbon equivalents, preheat, cooling time and the wait between welds, for one case.

use super::Io;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::interpass::{Conduction, HeatPulse, STILL_AIR_W_M2K, TubeJoint};
use coldsquare_core::units::{
    Celsius, FAHRENHEIT_PER_KELVIN, JoulesPerMillimetre, Millimetres, Seconds,
};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::format;
use coldsquare_engine::formulas::carbon::Composition;
use coldsquare_engine::formulas::cooling::{Cooling, HeatFlow, JointRun, ShapeFactors};
use coldsquare_engine::formulas::metal::Metal;
use coldsquare_engine::formulas::preheat::{PreheatAdvice, PreheatCase, advise};
use coldsquare_engine::material::Material;
use coldsquare_engine::units::Units;
use serde_json::{Map, Value, json};

/// Arguments of `metal`. Bare numbers are mm, kJ/mm and °C; a text may carry its unit, as in "8 kJ/in".
#[derive(Debug, clap::Args)]
#[command(after_help = CAUTIONS)]
pub struct Arguments {
    /// Give per cent by mass from the mill certificate: "C 0.17, Si 0.2, Mn 1.3"
    #[arg(long, value_name = "ELEMENTS", value_parser = composition)]
    pub composition: Option<Composition>,
    /// Use a typical analysis instead of a certificate: S235 or S355
    #[arg(long, value_parser = grade, conflicts_with = "composition")]
    pub grade: Option<Composition>,
    /// Give the thickness of the thicker part, for preheat and cooling time
    #[arg(long, value_parser = super::procedure::thickness)]
    pub thickness: Option<Millimetres>,
    /// Give the heat input of a run: 0.25 or "6 kJ/in"
    #[arg(long, value_name = "HEAT", value_parser = heat)]
    pub heat_input: Option<JoulesPerMillimetre>,
    /// Give the diffusible hydrogen, ml per 100 g of weld metal: about 5 for MAG and TIG with dry wire
    #[arg(long, value_name = "ML", default_value_t = 5.0)]
    pub hydrogen: f64,
    /// Give the temperature of the work before the run
    #[arg(long, value_name = "TEMPERATURE", default_value = "20", allow_negative_numbers = true, value_parser = degrees)]
    pub work: Celsius,
    /// Choose the joint and run: plate, tee, cruciform, corner, lap, v-root, double-v-root, fill or cap
    #[arg(long, default_value = "plate", value_parser = joint)]
    pub joint: JointRun,
    /// Ask how long to wait until below this temperature; needs girth, wall thickness and length
    #[arg(long, value_name = "TEMPERATURE", value_parser = degrees, requires_all = ["girth", "length", "thickness", "heat_input"])]
    pub interpass: Option<Celsius>,
    /// Give the girth of the tube: four times its side
    #[arg(long, value_parser = super::procedure::thickness)]
    pub girth: Option<Millimetres>,
    /// Give the length of the weld just made
    #[arg(long, value_parser = super::procedure::thickness)]
    pub length: Option<Millimetres>,
    /// Give the number of walls that carry heat away: 2 for a butt or corner, 3 for a T
    #[arg(long, default_value_t = 2)]
    pub walls: u8,
    /// Choose the metal of the tube for the wait: steel, stainless or aluminium
    #[arg(long, default_value = "steel", value_parser = super::procedure::metal)]
    pub material: Metal,
    /// Print in these units
    #[arg(long, default_value = "mm", value_parser = ["mm", "inch"])]
    pub units: String,
    /// Print JSON (always in mm, s and °C) instead of text
    #[arg(long)]
    pub json: bool,
}

/// Name and version of what `metal --json` prints.
pub const FORMAT: &str = "coldsquare metal 1";

const CAUTIONS: &str = "\
These are estimates for planning. For structural work the qualified procedure and the code that applies decide; have it \
seen by somebody licensed. Preheated and freshly welded metal burns and does not look hot: mark it, keep wood jigs, rags \
and paint away from it, and keep a fire watch after the last arc.";

fn heat(text: &str) -> Result<JoulesPerMillimetre, String> {
    coldsquare_engine::units::Units::Metric
        .parse_heat_input(text)
        .ok_or_else(|| "give a heat input, such as 0.25 or \"6 kJ/in\"".into())
}

fn degrees(text: &str) -> Result<Celsius, String> {
    coldsquare_engine::units::Units::Metric
        .parse_temperature(text)
        .ok_or_else(|| "give a temperature, such as 150 or \"300 F\"".into())
}

/// Typical analyses of thin hot-rolled sections; common practice, no source. A certificate is better.
fn grade(text: &str) -> Result<Composition, String> {
    let steel = |carbon, silicon, manganese| Composition {
        carbon,
        silicon,
        manganese,
        ..Composition::default()
    };
    match text.to_uppercase().as_str() {
        "S235" => Ok(steel(0.12, 0.2, 0.6)),
        "S355" => Ok(steel(0.17, 0.3, 1.4)),
        _ => Err("choose S235 or S355, or give --composition from the certificate".into()),
    }
}

/// "C 0.17, Si 0.2" or "C=0.17 Mn=1.3".
fn composition(text: &str) -> Result<Composition, String> {
    let mut steel = Composition::default();
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '=' | ':' | '%'))
        .filter(|part| !part.is_empty())
        .collect();
    if parts.is_empty() || !parts.len().is_multiple_of(2) {
        return Err("give pairs of element and per cent, such as \"C 0.17, Mn 1.3\"".into());
    }
    for pair in parts.chunks_exact(2) {
        let [element, percent] = pair else { continue };
        let field = match element.to_lowercase().as_str() {
            "c" => &mut steel.carbon,
            "si" => &mut steel.silicon,
            "mn" => &mut steel.manganese,
            "cr" => &mut steel.chromium,
            "mo" => &mut steel.molybdenum,
            "v" => &mut steel.vanadium,
            "ni" => &mut steel.nickel,
            "cu" => &mut steel.copper,
            "nb" => &mut steel.niobium,
            "b" => &mut steel.boron,
            // They count in none of the equivalents.
            "p" | "s" | "n" | "al" | "ti" => continue,
            other => {
                return Err(format!(
                    "'{other}' is not an element of a carbon equivalent: C, Si, Mn, Cr, Mo, V, Ni, Cu, Nb, B"
                ));
            }
        };
        *field = percent
            .parse()
            .map_err(|_| format!("'{percent}' is not a number; write decimals with a point"))?;
    }
    Ok(steel)
}

const JOINTS: [(&str, JointRun); 9] = [
    ("plate", JointRun::BeadOnPlate),
    ("tee", JointRun::TeeFillet),
    ("cruciform", JointRun::CruciformFillet),
    ("corner", JointRun::CornerFillet),
    ("lap", JointRun::LapFillet),
    ("v-root", JointRun::VRoot),
    ("double-v-root", JointRun::DoubleVRoot),
    ("fill", JointRun::Fill),
    ("cap", JointRun::Cap),
];

fn joint(text: &str) -> Result<JointRun, String> {
    let found = JOINTS.iter().find(|(name, _)| *name == text);
    found
        .map(|(_, joint)| *joint)
        .ok_or_else(|| JOINTS.map(|(name, _)| name).join(", "))
}

/// An answer as text and as JSON.
type Answer = (String, Value);

/// Answers as they are printed, and what the formulas refused.
#[derive(Default)]
struct Answers {
    rows: Vec<(&'static str, String)>,
    values: Map<String, Value>,
    refused: Vec<String>,
}

impl Answers {
    /// `name` stands before the printed text, `key` (with its unit) before the value of the JSON.
    fn row(&mut self, name: &'static str, key: &str, answer: Result<Answer, FormulaError>) {
        match answer {
            Ok((text, value)) => {
                self.rows.push((name, text));
                self.values.insert(key.into(), value);
            }
            Err(error) => {
                self.rows.push((name, "-".into()));
                self.values.insert(key.into(), Value::Null);
                let said = error.to_string();
                if !self.refused.contains(&said) {
                    self.refused.push(said);
                }
            }
        }
    }
}

/// Answers every question the arguments are enough for.
///
/// # Errors
/// [`Failure::Usage`] when they are enough for none, [`Failure::Input`] when a value is out of the range of a formula:
/// its message names range and clause.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let units = if arguments.units == "inch" {
        Units::UsCustomary
    } else {
        Units::Metric
    };
    let answers = answer(arguments, units);
    if answers.rows.is_empty() {
        return Err(Failure::Usage(
            "give --grade or --composition for carbon equivalents, --thickness and --heat-input for the cooling time, \
             all of these for the preheat, and --interpass with --girth and --length for the wait"
                .into(),
        ));
    }
    if arguments.json {
        let all =
            json!({ "format": FORMAT, "answers": answers.values, "refused": answers.refused });
        io.print_json(&all)?;
    } else {
        let mut table = super::table::Table::new("<<");
        for (name, text) in answers.rows {
            table.row([name.to_string(), text]);
        }
        table.print(io.out)?;
    }
    if answers.refused.is_empty() {
        return Ok(());
    }
    Err(Failure::Input(answers.refused.join("\n")))
}

fn answer(arguments: &Arguments, units: Units) -> Answers {
    let mut answers = Answers::default();
    if let Some(steel) = arguments.composition.or(arguments.grade) {
        equivalents(&steel, &mut answers);
        if let (Some(thickness), Some(heat_input)) = (arguments.thickness, arguments.heat_input) {
            preheat(
                arguments,
                &steel,
                thickness,
                heat_input,
                units,
                &mut answers,
            );
        }
    }
    if let (Some(thickness), Some(heat_input)) = (arguments.thickness, arguments.heat_input) {
        cooling(arguments, thickness, heat_input, units, &mut answers);
        if let (Some(limit), Some(girth), Some(length)) =
            (arguments.interpass, arguments.girth, arguments.length)
        {
            let pulse = HeatPulse {
                heat_input,
                length,
                ended: Seconds(0.0),
            };
            answers.row(
                "wait until below",
                "wait",
                wait(arguments, thickness, girth, pulse, limit, units),
            );
        }
    }
    answers
}

fn equivalents(steel: &Composition, answers: &mut Answers) {
    let percent = |value: Result<f64, FormulaError>| {
        value.map(|value| (format!("{value:.3} %"), json!(value)))
    };
    answers.row("CE (IIW)", "ce_percent", percent(steel.ce()));
    answers.row("CET (EN 1011-2)", "cet_percent", percent(steel.cet()));
    answers.row("Pcm", "pcm_percent", percent(steel.pcm()));
    answers.row("CEN", "cen_percent", percent(steel.cen()));
}

fn preheat(
    arguments: &Arguments,
    steel: &Composition,
    thickness: Millimetres,
    heat_input: JoulesPerMillimetre,
    units: Units,
    answers: &mut Answers,
) {
    let Ok(cet_percent) = steel.cet() else { return };
    let case = PreheatCase {
        cet_percent,
        thickness,
        hydrogen_ml_100g: arguments.hydrogen,
        heat_input,
    };
    let advice = advise(&case, arguments.work).map(|advice| match advice {
        PreheatAdvice::NotNeeded { at_most } => (
            format!(
                "not needed: the rule asks for {} at most, and the work is at {}",
                units.temperature(at_most),
                units.temperature(arguments.work)
            ),
            json!({ "needed": false, "at_most_c": at_most.0 }),
        ),
        PreheatAdvice::To(to) => (
            format!(
                "{} before every run (EN 1011-2 method B)",
                units.temperature(to)
            ),
            json!({ "needed": true, "to_c": to.0 }),
        ),
    });
    answers.row("preheat", "preheat", advice);
    if let Ok(shares) = case.shares() {
        let share = |t: Celsius| match units {
            Units::Metric => format!("{:.0}", t.0),
            // A difference: no zero to shift.
            Units::UsCustomary => format!("{:.0}", FAHRENHEIT_PER_KELVIN * t.0),
        };
        let text = format!(
            "composition {}, thickness {}, hydrogen {}, heat input {} {}",
            share(shares.composition),
            share(shares.thickness),
            share(shares.hydrogen),
            share(shares.heat_input),
            if units == Units::Metric { "K" } else { "°F" },
        );
        let value = json!({
            "composition_k": shares.composition.0,
            "thickness_k": shares.thickness.0,
            "hydrogen_k": shares.hydrogen.0,
            "heat_input_k": shares.heat_input.0,
        });
        answers.row("  made of", "preheat_made_of", Ok((text, value)));
    }
}

fn cooling(
    arguments: &Arguments,
    thickness: Millimetres,
    heat_input: JoulesPerMillimetre,
    units: Units,
    answers: &mut Answers,
) {
    let [least, most] = arguments.joint.shape_factors();
    let at = |shape: ShapeFactors| Cooling::new(arguments.work, shape);
    let both =
        |of: &dyn Fn(Cooling) -> Result<f64, FormulaError>| -> Result<(f64, f64), FormulaError> {
            Ok((of(at(least)?)?, of(at(most)?)?))
        };
    let span = |(a, b): (f64, f64), unit: &str| {
        if (a - b).abs() < 5e-3 {
            format!("{a:.2} {unit}")
        } else {
            format!("{:.2} to {:.2} {unit}", a.min(b), a.max(b))
        }
    };
    let range = |(a, b): (f64, f64)| json!([a.min(b), a.max(b)]);
    let timed = |both: (f64, f64)| (span(both, "s"), range(both));
    let flow = at(most)
        .and_then(|cooling| cooling.time(heat_input, thickness))
        .map(|(_, flow)| match flow {
            HeatFlow::ThinPlate => ("two-dimensional heat flow governs", 2),
            HeatFlow::ThickPlate => ("three-dimensional heat flow governs", 3),
        });
    let seconds = both(&|cooling| Ok(cooling.time(heat_input, thickness)?.0.0));
    let governed = seconds.and_then(|both| {
        let (said, dimensions) = flow?;
        Ok((
            format!("{}, {said}", span(both, "s")),
            json!({ "range_s": range(both), "heat_flow_dimensions": dimensions }),
        ))
    });
    answers.row("t8/5", "t85", governed);
    let two = both(&|cooling| Ok(cooling.thin_plate_time(heat_input, thickness)?.0));
    answers.row("  two-dimensional", "t85_two_dimensional_s", two.map(timed));
    let three = both(&|cooling| Ok(cooling.thick_plate_time(heat_input)?.0));
    answers.row(
        "  three-dimensional",
        "t85_three_dimensional_s",
        three.map(timed),
    );
    let (printed, to) = format::length(units);
    let transition = both(&|cooling| Ok(cooling.transition_thickness(heat_input)?.0));
    answers.row(
        "  transition thickness",
        "transition_thickness_mm",
        transition.map(|both| {
            let shown = (to(Millimetres(both.0)), to(Millimetres(both.1)));
            (span(shown, printed.symbol), range(both))
        }),
    );
}

fn wait(
    arguments: &Arguments,
    wall: Millimetres,
    girth: Millimetres,
    pulse: HeatPulse,
    limit: Celsius,
    units: Units,
) -> Result<Answer, FormulaError> {
    let material = match arguments.material {
        Metal::MildSteel => Material::mild_steel(),
        Metal::Stainless => Material::stainless_304(),
        Metal::Aluminium => Material::aluminium_6061_t6(),
    };
    let joint = TubeJoint {
        metal: Conduction {
            conductivity_w_mk: material.conductivity_w_mk,
            volumetric_heat_j_mm3k: material.volumetric_heat_j_mm3k,
        },
        wall,
        girth,
        walls: arguments.walls,
        start: arguments.work,
        loss_w_m2k: STILL_AIR_W_M2K,
    };
    let seconds = joint.wait_until_below(limit, &[pulse])?;
    let text = format!(
        "{}: {:.0} s after the arc, in still air (an estimate; touch nothing, measure)",
        units.temperature(limit),
        seconds.0
    );
    Ok((
        text,
        json!({ "until_below_c": limit.0, "seconds": seconds.0 }),
    ))
}
