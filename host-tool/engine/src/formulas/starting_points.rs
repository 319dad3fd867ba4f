//! Published settings for thin metal: **starting settings to try on scrap first**, not a procedure.
//!
//! They are tables of makers of power sources and gases, row by row as printed, so they differ from each other. Every
//! machine, wire, gas, gap and hand shifts them. A weld that carries people or loads follows a qualified procedure
//! (ISO 15609-1, ISO 15614-1) and licensed practice, never this table. The full references are beside the checks in
//! `tests/evidence/starting_points.rs`. Missing: MIG settings for aluminium and stainless steel.
//!
//! ```
//! use coldsquare_core::process::Process;
//! use coldsquare_core::units::Millimetres;
//! use coldsquare_engine::formulas::metal::Metal;
//! use coldsquare_engine::formulas::starting_points::{Joint, nearest};
//!
//! let row = nearest(Process::MagSolid, Metal::MildSteel, Joint::Fillet, Millimetres(1.6));
//! assert_eq!(row.expect("in the tables").current.middle().0, 105.0);
//! ```

use crate::formulas::heat_input::arc_energy_from_means;
use crate::formulas::metal::Metal;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::process::Process;
use coldsquare_core::units::{
    Amperes, JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Volts,
};

/// From the least to the greatest value, both included; equal where one value was printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span<T> {
    /// Least value.
    pub least: T,
    /// Greatest value.
    pub greatest: T,
}

impl<T> Span<T>
where
    T: Copy + core::ops::Add<Output = T> + core::ops::Mul<f64, Output = T>,
{
    /// Half way between least and greatest.
    #[must_use]
    pub fn middle(self) -> T {
        (self.least + self.greatest) * 0.5
    }
}

/// The joint a setting is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joint {
    /// Butt weld.
    Butt,
    /// Fillet in a T joint.
    Fillet,
    /// Fillet in a lap joint.
    Lap,
    /// Outside corner.
    Corner,
    /// Root run of a butt weld between small tubes.
    TubeRoot,
}

/// Where a row was printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Operating instructions of a 350 A MAG power source, p. 52.
    MagInstructions,
    /// Manual of a 400 A MAG power source, pp. 161-162.
    MagManual,
    /// A gas maker's welder's handbook, pp. 40-41.
    GasHandbook,
    /// A welding dictionary's table (vol. 1, ed. 2, p. 150), quoted in a power-source manual.
    WeldingDictionary,
    /// Manual of a TIG power source, p. 54.
    TigManual,
    /// Manual of a TIG power source that quotes settings for pipe, p. 167.
    PipeSettings,
    /// Common practice, printed nowhere; none of the rows here is.
    Practice,
}

/// One row of a setting table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartingPoint {
    /// Process.
    pub process: Process,
    /// Metal.
    pub metal: Metal,
    /// Joint.
    pub joint: Joint,
    /// Thickness of the thinner member; `None` if the table lists legs or tubes instead.
    pub thickness: Option<Millimetres>,
    /// Fillet leg.
    pub leg: Option<Span<Millimetres>>,
    /// Diameter of wire, or of tungsten for TIG.
    pub electrode: Option<Span<Millimetres>>,
    /// Diameter of filler rod.
    pub rod: Option<Millimetres>,
    /// Current.
    pub current: Span<Amperes>,
    /// Arc voltage.
    pub voltage: Option<Span<Volts>>,
    /// Travel speed.
    pub travel_speed: Option<Span<MillimetresPerSecond>>,
    /// Shielding gas.
    pub gas: &'static str,
    /// Flow of shielding gas, litres per minute.
    pub gas_l_min: Option<Span<f64>>,
    /// Where it was printed.
    pub source: Source,
}

impl StartingPoint {
    /// Arc energy at the middle of current, voltage and speed; `None` if the table omits one of them.
    #[must_use]
    pub fn arc_energy(&self) -> Option<Result<JoulesPerMillimetre, FormulaError>> {
        let (voltage, speed) = (self.voltage?.middle(), self.travel_speed?.middle());
        Some(arc_energy_from_means(voltage, self.current.middle(), speed))
    }
}

/// The row for this process, metal and joint whose thickness is nearest by ratio; `None` if none is within a quarter,
/// thinner or thicker. Between equals the first table wins.
#[must_use]
pub fn nearest(
    process: Process,
    metal: Metal,
    joint: Joint,
    thickness: Millimetres,
) -> Option<&'static StartingPoint> {
    let distance = |row: &StartingPoint| {
        let ratio = row.thickness.map_or(0.0, |known| known / thickness);
        libm::fabs(libm::log(ratio))
    };
    POINTS
        .iter()
        .filter(|row| row.process == process && row.metal == metal && row.joint == joint)
        .filter(|row| distance(row) <= libm::log(1.25))
        .min_by(|a, b| distance(a).total_cmp(&distance(b)))
}

const fn span<T>(least: T, greatest: T) -> Span<T> {
    Span { least, greatest }
}

const fn mm(least: f64, greatest: f64) -> Option<Span<Millimetres>> {
    Some(span(Millimetres(least), Millimetres(greatest)))
}

/// One column of the printed tables each, so that a row below reads as a row.
impl StartingPoint {
    const fn metal(self, metal: Metal) -> Self {
        Self { metal, ..self }
    }

    const fn joint(self, joint: Joint) -> Self {
        Self { joint, ..self }
    }

    const fn thick(self, thickness: f64) -> Self {
        let thickness = Some(Millimetres(thickness));
        Self { thickness, ..self }
    }

    const fn leg(self, least: f64, greatest: f64) -> Self {
        let leg = mm(least, greatest);
        Self { leg, ..self }
    }

    const fn electrode(self, least: f64, greatest: f64) -> Self {
        let electrode = mm(least, greatest);
        Self { electrode, ..self }
    }

    const fn rod(self, diameter: f64) -> Self {
        let rod = Some(Millimetres(diameter));
        Self { rod, ..self }
    }

    const fn amps(self, least: f64, greatest: f64) -> Self {
        let current = span(Amperes(least), Amperes(greatest));
        Self { current, ..self }
    }

    const fn volts(self, least: f64, greatest: f64) -> Self {
        let voltage = Some(span(Volts(least), Volts(greatest)));
        Self { voltage, ..self }
    }

    const fn cm_min(self, least: f64, greatest: f64) -> Self {
        let travel_speed = Some(span(
            MillimetresPerSecond::from_millimetres_per_minute(10.0 * least),
            MillimetresPerSecond::from_millimetres_per_minute(10.0 * greatest),
        ));
        Self {
            travel_speed,
            ..self
        }
    }

    const fn l_min(self, least: f64, greatest: f64) -> Self {
        let gas_l_min = Some(span(least, greatest));
        Self { gas_l_min, ..self }
    }

    const fn source(self, source: Source) -> Self {
        Self { source, ..self }
    }
}

const MAG: StartingPoint = StartingPoint {
    process: Process::MagSolid,
    metal: Metal::MildSteel,
    joint: Joint::Fillet,
    thickness: None,
    leg: None,
    electrode: None,
    rod: None,
    current: span(Amperes(0.0), Amperes(0.0)),
    voltage: None,
    travel_speed: None,
    gas: "80 % Ar + 20 % CO2",
    gas_l_min: Some(span(10.0, 15.0)),
    source: Source::MagInstructions,
};

const LAP: StartingPoint = StartingPoint {
    joint: Joint::Lap,
    gas: "CO2",
    source: Source::MagManual,
    ..MAG
};

const SHORT_ARC_BUTT: StartingPoint = StartingPoint {
    joint: Joint::Butt,
    gas: "Ar + CO2",
    gas_l_min: None,
    source: Source::MagManual,
    ..MAG
};

const CORED: StartingPoint = StartingPoint {
    process: Process::MagFluxCored,
    electrode: mm(1.2, 1.2),
    gas: "CO2",
    gas_l_min: None,
    source: Source::MagManual,
    ..MAG
};

const TIG: StartingPoint = StartingPoint {
    process: Process::Tig,
    gas: "Ar",
    gas_l_min: None,
    source: Source::GasHandbook,
    ..MAG
};

const STAINLESS: StartingPoint = TIG.metal(Metal::Stainless);

const DICTIONARY: StartingPoint = STAINLESS.source(Source::WeldingDictionary);

const TIG_MANUAL: StartingPoint = STAINLESS.source(Source::TigManual);

const ALUMINIUM: StartingPoint = TIG.metal(Metal::Aluminium);

/// All rows, table by table as printed.
#[rustfmt::skip]
pub const POINTS: [StartingPoint; 46] = [
    MAG.thick(1.0).leg(2.0, 2.5).electrode(0.6, 0.8).amps(85.0, 90.0).volts(19.0, 19.0).cm_min(50.0, 60.0),
    MAG.thick(1.6).leg(3.0, 3.0).electrode(0.6, 0.8).amps(100.0, 110.0).volts(18.0, 19.5).cm_min(50.0, 60.0),
    MAG.thick(2.4).leg(3.5, 3.5).electrode(0.8, 1.0).amps(115.0, 125.0).volts(19.5, 20.0).cm_min(50.0, 60.0),
    MAG.thick(3.2).leg(4.0, 4.0).electrode(0.8, 1.2).amps(130.0, 140.0).volts(19.5, 21.0).cm_min(50.0, 60.0),
    MAG.joint(Joint::Butt).thick(1.2).electrode(0.8, 0.9).amps(60.0, 70.0).volts(15.0, 16.0).cm_min(30.0, 50.0),
    MAG.joint(Joint::Butt).thick(1.6).electrode(0.8, 0.9).amps(100.0, 110.0).volts(16.0, 17.0).cm_min(40.0, 60.0),
    // Gap 1 to 1.5 mm.
    MAG.joint(Joint::Butt).thick(3.2).electrode(0.8, 1.2).amps(120.0, 140.0).volts(16.0, 17.0).cm_min(25.0, 30.0),
    LAP.thick(1.2).amps(80.0, 100.0).volts(18.0, 19.0).cm_min(45.0, 55.0),
    LAP.thick(1.6).amps(100.0, 120.0).volts(18.0, 20.0).cm_min(45.0, 55.0),
    LAP.thick(2.0).amps(100.0, 130.0).volts(18.0, 20.0).cm_min(45.0, 55.0).l_min(15.0, 20.0),
    LAP.thick(2.3).amps(120.0, 140.0).volts(19.0, 21.0).cm_min(45.0, 50.0).l_min(15.0, 20.0),
    LAP.thick(3.2).amps(130.0, 160.0).volts(19.0, 22.0).cm_min(45.0, 50.0).l_min(15.0, 20.0),
    SHORT_ARC_BUTT.thick(1.0).amps(50.0, 55.0).volts(13.0, 15.0).cm_min(40.0, 55.0),
    SHORT_ARC_BUTT.thick(1.2).amps(60.0, 70.0).volts(14.0, 16.0).cm_min(30.0, 50.0),
    SHORT_ARC_BUTT.thick(1.6).amps(100.0, 110.0).volts(16.0, 17.0).cm_min(40.0, 60.0),
    SHORT_ARC_BUTT.thick(2.3).amps(110.0, 120.0).volts(17.0, 18.0).cm_min(30.0, 40.0),
    SHORT_ARC_BUTT.thick(3.2).amps(120.0, 140.0).volts(17.0, 19.0).cm_min(25.0, 30.0),
    CORED.leg(4.0, 4.0).amps(250.0, 250.0).volts(27.0, 27.0).cm_min(50.0, 50.0),
    CORED.leg(5.0, 5.0).amps(270.0, 270.0).volts(29.0, 29.0).cm_min(50.0, 50.0),
    CORED.leg(6.0, 6.0).amps(270.0, 270.0).volts(29.0, 29.0).cm_min(45.0, 45.0),
    CORED.leg(8.0, 8.0).amps(300.0, 300.0).volts(31.0, 31.0).cm_min(30.0, 30.0),
    TIG.joint(Joint::Butt).thick(1.6).electrode(1.6, 1.6).rod(1.6).amps(60.0, 70.0).l_min(5.0, 5.0),
    TIG.joint(Joint::Fillet).thick(1.6).electrode(1.6, 1.6).rod(1.6).amps(50.0, 70.0).l_min(5.0, 5.0),
    TIG.joint(Joint::Butt).thick(3.2).electrode(2.4, 2.4).rod(2.4).amps(75.0, 95.0).l_min(6.0, 6.0),
    TIG.joint(Joint::Fillet).thick(3.2).electrode(2.4, 2.4).rod(2.4).amps(90.0, 120.0).l_min(5.0, 5.0),
    TIG.joint(Joint::Butt).thick(4.8).electrode(2.4, 2.4).rod(3.2).amps(110.0, 130.0).l_min(7.0, 7.0),
    TIG.joint(Joint::Fillet).thick(4.8).electrode(2.4, 2.4).rod(3.2).amps(135.0, 175.0).l_min(6.0, 6.0),
    STAINLESS.joint(Joint::Butt).thick(1.6).electrode(1.6, 1.6).rod(1.6).amps(60.0, 70.0).l_min(5.0, 5.0),
    STAINLESS.joint(Joint::Fillet).thick(1.6).electrode(1.6, 1.6).rod(1.6).amps(50.0, 70.0).l_min(5.0, 5.0),
    STAINLESS.joint(Joint::Butt).thick(3.2).electrode(2.4, 2.4).rod(2.4).amps(70.0, 95.0).l_min(6.0, 6.0),
    STAINLESS.joint(Joint::Fillet).thick(3.2).electrode(2.4, 2.4).rod(2.4).amps(85.0, 105.0).l_min(5.0, 5.0),
    ALUMINIUM.joint(Joint::Butt).thick(1.6).electrode(2.4, 2.4).rod(1.6).amps(60.0, 80.0).l_min(6.0, 6.0),
    ALUMINIUM.joint(Joint::Fillet).thick(1.6).electrode(2.4, 2.4).rod(1.6).amps(60.0, 80.0).l_min(5.0, 5.0),
    ALUMINIUM.joint(Joint::Butt).thick(3.2).electrode(3.2, 3.2).rod(2.4).amps(125.0, 145.0).l_min(7.0, 7.0),
    ALUMINIUM.joint(Joint::Fillet).thick(3.2).electrode(3.2, 3.2).rod(2.4).amps(125.0, 145.0).l_min(6.0, 6.0),
    DICTIONARY.joint(Joint::Butt).thick(1.0).amps(50.0, 80.0).cm_min(56.0, 56.0).l_min(5.0, 5.0),
    DICTIONARY.joint(Joint::Butt).thick(1.5).amps(65.0, 105.0).cm_min(30.0, 30.0),
    DICTIONARY.joint(Joint::Corner).thick(1.5).amps(75.0, 125.0).cm_min(25.0, 25.0),
    DICTIONARY.joint(Joint::Butt).thick(2.4).amps(85.0, 125.0).cm_min(30.0, 30.0),
    DICTIONARY.joint(Joint::Corner).thick(2.4).amps(95.0, 135.0).cm_min(25.0, 25.0),
    DICTIONARY.joint(Joint::Butt).thick(3.2).amps(100.0, 135.0).cm_min(30.0, 30.0),
    DICTIONARY.joint(Joint::Corner).thick(3.2).amps(115.0, 145.0).cm_min(25.0, 25.0).l_min(7.0, 7.0),
    TIG_MANUAL.joint(Joint::Butt).thick(1.5).amps(60.0, 100.0).cm_min(15.0, 30.0),
    TIG_MANUAL.joint(Joint::Butt).thick(3.0).amps(120.0, 140.0).cm_min(30.0, 30.0),
    TIG_MANUAL.joint(Joint::Fillet).thick(3.0).amps(120.0, 140.0).cm_min(30.0, 30.0),
    // Outside diameter 38 to 42 mm.
    TIG.source(Source::PipeSettings).joint(Joint::TubeRoot).amps(75.0, 95.0).volts(11.0, 13.0).cm_min(4.0, 5.0).l_min(6.0, 8.0),
];
