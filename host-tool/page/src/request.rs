//! What the page can ask.

use coldsquare_engine::job::edit::Edit;
use serde::Deserialize;

/// A request. Every job is given as the text of its file.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "snake_case", tag = "ask")]
pub enum Request {
    /// The style sheet that the page shares with those of the command.
    Style,
    /// What can be begun with: the shapes, and the sizes that each asks for.
    StartingPoints {
        /// "mm" or "inch".
        #[serde(default)]
        units: String,
    },
    /// A job of one of these shapes.
    Begin(Begin),
    /// The frame, its form, and how it moves.
    Look(Look),
    /// The text with a change made.
    Edit {
        /// The job.
        text: String,
        /// The change.
        edit: Edit,
    },
    /// The order to weld in.
    Plan(Planning),
    /// The weld map of a log that was put.
    Map(Built),
    /// The build record of a log that was put.
    Record(Built),
    /// The text of the measurements with one more entry.
    Measure(Measured),
    /// How to straighten the frame.
    Correct(Straighten),
    /// A message to the logger, and what it answered.
    Link(Link),
}

/// A job to begin.
#[derive(Clone, Debug, Deserialize)]
pub struct Begin {
    /// The word of the shape.
    pub shape: String,
    /// What the job is called.
    pub title: String,
    /// "mm" or "inch".
    pub units: String,
    /// What was typed for each size that the shape asks for; what is left out is as usual.
    #[serde(default)]
    pub sizes: std::collections::BTreeMap<String, String>,
}

/// A look at a job.
#[derive(Clone, Debug, Deserialize)]
pub struct Look {
    /// The job.
    pub text: String,
    /// Numbers of the welds in the order to predict with; all of them, or none for file order.
    #[serde(default)]
    pub order: Vec<u16>,
    /// Factor on the planned heat of every weld.
    #[serde(default = "one")]
    pub heat: f64,
    /// Whether the members that bow most are bent the other way before welding.
    #[serde(default)]
    pub pre_camber: bool,
    /// What to work out.
    #[serde(default = "everything")]
    pub parts: Vec<LookPart>,
}

/// A part of a look, the quickest first.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "snake_case")]
pub enum LookPart {
    /// The form, the facts and the frame as drawn.
    Frame,
    /// Where the frame moves to, and nothing of how sure that is.
    Movement,
    /// Where it moves to, how sure that is, and what to do.
    Answer,
}

fn everything() -> Vec<LookPart> {
    vec![LookPart::Frame, LookPart::Answer]
}

fn one() -> f64 {
    1.0
}

/// A plan.
#[derive(Clone, Debug, Deserialize)]
pub struct Planning {
    /// The job.
    pub text: String,
    /// How hard to try, 1 to 1000, as for the command.
    pub effort: u64,
    /// Seed of the search.
    pub seed: u64,
    /// Numbers of the welds that are done, in the order welded.
    #[serde(default)]
    pub done: Vec<u16>,
    /// Whether to look for further measures, which takes longer.
    #[serde(default)]
    pub further: bool,
}

/// A build with its log.
#[derive(Clone, Debug, Deserialize)]
pub struct Built {
    /// The job.
    pub text: String,
    /// Name of the job's file.
    pub file: String,
    /// Name of the log, as it was put.
    pub log: String,
    /// Text of the measurements; may be empty.
    #[serde(default)]
    pub measured: String,
    /// Numbers of the welds in the planned order; none for file order.
    #[serde(default)]
    pub order: Vec<u16>,
    /// Columns of a recording by name or number: time, volts, amps; empty to find them.
    #[serde(default)]
    pub columns: [String; 3],
    /// Who makes the record.
    #[serde(default)]
    pub by: String,
    /// Who welded.
    #[serde(default)]
    pub welder: String,
    /// When the record is made, seconds since 1970.
    #[serde(default)]
    pub at_unix_s: u64,
}

/// Readings to note.
#[derive(Clone, Debug, Deserialize)]
pub struct Measured {
    /// The job.
    pub text: String,
    /// Text of the measurements so far; may be empty.
    pub measured: String,
    /// Name of the measure, and what was read.
    pub readings: Vec<(String, String)>,
    /// The day, as 2026-11-25.
    pub on: String,
    /// Keep readings that are implausible.
    #[serde(default)]
    pub anyway: bool,
}

/// A frame to straighten.
#[derive(Clone, Debug, Deserialize)]
pub struct Straighten {
    /// The job.
    pub text: String,
    /// Text of the measurements; empty to go by the prediction.
    pub measured: String,
    /// Greatest force of the press, as "10 kN"; empty for the usual one.
    #[serde(default)]
    pub press_force: String,
    /// Whether the metal is coated.
    #[serde(default)]
    pub coated: bool,
    /// Whether something near it burns.
    #[serde(default)]
    pub near_combustibles: bool,
    /// Whether people or a code depend on the frame.
    #[serde(default)]
    pub structural: bool,
}

/// What goes over the cable.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "snake_case", tag = "message")]
pub enum Link {
    /// Begin with a new cable.
    Open,
    /// Who are you?
    Identify,
    /// Live readings.
    Live,
    /// Is anything wrong with your memory?
    Memory,
    /// The log from its next missing byte on.
    Pull,
    /// Bytes that came, in base 64.
    Came {
        /// The bytes.
        bytes: String,
    },
    /// Keep the log that was pulled, under this name.
    Keep {
        /// The name.
        name: String,
    },
}
