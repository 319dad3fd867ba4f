//! Which columns of a recording are time, volts and amps: named by the user, by the headings, or by what they hold.

use super::content::content;
use super::evidence::{Weighed, pair, rises, weigh};
use super::headings::{Meaning, meaning};
use super::instrument::Sample;
use super::layout::{Factors, Layout, LayoutError, rows_layout};
use super::number::date_order;
use super::rows::fields;
use super::told::{refused, told};
use crate::recording::{ColumnRef, RecordingOptions};

/// Finds the layout from the first lines of a file.
pub(super) fn detect(
    lines: &[(u64, String)],
    options: &RecordingOptions,
) -> Result<Layout, Refused> {
    let (mut layout, width) = rows_layout(lines, options).map_err(Refused::Rows)?;
    let rows = || {
        let rows = lines
            .iter()
            .filter(|(number, _)| *number >= layout.first_row);
        rows.map(|(_, line)| line.as_str())
    };
    let (dates, unclear) = date_order(
        rows()
            .take(2000)
            .flat_map(|line| fields(line, layout.separator).map(|(_, field)| field)),
    );
    let content = content(
        rows(),
        &Layout {
            dates,
            ..layout.clone()
        },
        width,
    );
    layout.dates = dates;
    if unclear {
        layout.notes.push(format!(
            "dates can be read day first or month first; they are read {} first",
            if dates == super::number::DateOrder::DayFirst {
                "day"
            } else {
                "month"
            }
        ));
    }
    Search {
        layout,
        width,
        options,
        content,
    }
    .found()
    .map_err(Refused::Columns)
}

/// Why no layout was found.
pub(super) enum Refused {
    /// There are no rows of numbers.
    Rows(LayoutError),
    /// There are, and it is not clear which columns are which; more rows may tell.
    Columns(LayoutError),
}

/// The search for the columns.
struct Search<'a> {
    layout: Layout,
    width: usize,
    options: &'a RecordingOptions,
    content: Vec<Vec<f64>>,
}

impl Search<'_> {
    fn found(mut self) -> Result<Layout, LayoutError> {
        let meanings: Vec<Meaning> = (0..self.width)
            .map(|at| self.layout.heading(at).map_or(Meaning::Unknown, meaning))
            .collect();
        let time = self.time(&meanings)?;
        let volts = self.candidates(&self.options.volts, &meanings, time, |one| {
            matches!(one, Meaning::Volts(_))
        })?;
        let clamp = self.options.amps_scale.is_some();
        let amps = self.candidates(&self.options.amps, &meanings, time, |one| {
            matches!(one, Meaning::Amps(_)) || clamp && *one == Meaning::AmpsAsVolts
        })?;
        let as_volts = meanings.iter().position(|one| *one == Meaning::AmpsAsVolts);
        let named =
            |wanted: &[usize], is: fn(&Meaning) -> bool| wanted.iter().all(|&at| is(&meanings[at]));
        if let Some(column) = as_volts
            && self.options.amps.is_none()
            && !clamp
            && !named(&amps, |one| matches!(one, Meaning::Amps(_)))
        {
            return Err(format!(
                "column {} '{}' gives the current in volts: say how many amperes a volt stands for with --amps-scale",
                column + 1,
                self.layout.headings[column]
            ));
        }
        self.layout.time = time;
        match (volts.as_slice(), amps.as_slice()) {
            (&[volts], &[amps]) if volts != amps => self.check_named(volts, amps)?,
            _ => self.choose(&volts, &amps, time, &meanings)?,
        }
        let chosen = [
            self.layout.time,
            Some(self.layout.volts),
            Some(self.layout.amps),
        ];
        if chosen[0].is_some() && (chosen[0] == chosen[1] || chosen[0] == chosen[2])
            || chosen[1] == chosen[2]
        {
            return Err("time, volts and amps must be three different columns".into());
        }
        self.scale(&meanings);
        self.layout.sample = Sample {
            volts: std::mem::take(&mut self.content[self.layout.volts]),
            amps: std::mem::take(&mut self.content[self.layout.amps]),
        };
        Ok(self.layout)
    }

    /// The column of time: named by the user or a heading, or the one that rises most evenly.
    fn time(&mut self, meanings: &[Meaning]) -> Result<Option<usize>, LayoutError> {
        if self.options.rate_hz.is_some() && self.options.time.is_none() {
            return Ok(None);
        }
        if let Some(wanted) = &self.options.time {
            return self.wanted(wanted).map(Some);
        }
        let named: Vec<usize> = (0..self.width)
            .filter(|&at| matches!(meanings[at], Meaning::Time(_)))
            .collect();
        if let [only] = named.as_slice() {
            return Ok(Some(*only));
        }
        let open: Vec<usize> = match named.is_empty() {
            true => (0..self.width)
                .filter(|&at| meanings[at] == Meaning::Unknown)
                .collect(),
            false => named,
        };
        let mut rising: Vec<(usize, f64)> = open
            .iter()
            .filter_map(|&at| Some((at, rises(&self.content[at])?)))
            .collect();
        rising.sort_by(|a, b| b.1.total_cmp(&a.1));
        // A counter rises evenly too; anything finer is time.
        let is_counter = |at: usize| {
            self.content[at]
                .windows(2)
                .take(200)
                .all(|pair| pair[1] - pair[0] == 1.0)
        };
        let best = rising
            .iter()
            .find(|(at, _)| !is_counter(*at))
            .or(rising.first());
        match best {
            Some(&(at, _)) => {
                let others: Vec<String> = rising
                    .iter()
                    .filter(|one| one.0 != at)
                    .map(|one| (one.0 + 1).to_string())
                    .collect();
                if !others.is_empty() && (self.width > 3 || at != 0) {
                    self.layout.notes.push(format!(
                        "time is column {}; column {} rises too (--time)",
                        at + 1,
                        others.join(", ")
                    ));
                }
                Ok(Some(at))
            }
            None if meanings.iter().all(|one| *one == Meaning::Unknown) && self.width == 3 => {
                Ok(Some(0))
            }
            None => Err(self
                .refusal("no column rises as time does; without one, give the rate with --rate")),
        }
    }

    /// Columns that may be volts, or amps: those that are named so, or all of which nothing is known.
    fn candidates(
        &self,
        wanted: &Option<ColumnRef>,
        meanings: &[Meaning],
        time: Option<usize>,
        is_named: impl Fn(&Meaning) -> bool,
    ) -> Result<Vec<usize>, LayoutError> {
        if let Some(wanted) = wanted {
            return Ok(vec![self.wanted(wanted)?]);
        }
        let named: Vec<usize> = (0..self.width)
            .filter(|&at| is_named(&meanings[at]) && Some(at) != time)
            .collect();
        if !named.is_empty() {
            return Ok(named);
        }
        let holds_numbers = |at: &usize| self.content[*at].iter().any(|value| value.is_finite());
        Ok((0..self.width)
            .filter(|&at| meanings[at] == Meaning::Unknown && Some(at) != time)
            .filter(holds_numbers)
            .collect())
    }

    fn wanted(&self, wanted: &ColumnRef) -> Result<usize, LayoutError> {
        match wanted {
            ColumnRef::Number(number) if *number <= self.width => Ok(number - 1),
            ColumnRef::Number(number) => Err(format!(
                "there is no column {number}: rows have {}",
                self.width
            )),
            ColumnRef::Name(name) => self
                .layout
                .named(name)
                .ok_or_else(|| format!("there is no column '{name}'; {}", self.layout.listed())),
        }
    }

    /// The pair is named; what it holds may say that it is the wrong way round.
    fn check_named(&mut self, volts: usize, amps: usize) -> Result<(), LayoutError> {
        (self.layout.volts, self.layout.amps) = (volts, amps);
        let own = pair(volts, amps, &self.content[volts], &self.content[amps]);
        let swapped = pair(amps, volts, &self.content[amps], &self.content[volts]);
        let (Some(own), Some(swapped)) = (own, swapped) else {
            return Ok(());
        };
        let unscaled = self.options.volts_scale.is_none() && self.options.amps_scale.is_none();
        if !(unscaled && swapped.steps && swapped.points >= 4.0 && own.points < 0.0) {
            return Ok(());
        }
        let by_user = self.options.volts.is_some() && self.options.amps.is_some();
        let told = format!(
            "volts and amps look swapped: column {} holds about {:.0} and column {} about {:.0} while the arc burns",
            volts + 1,
            swapped.levels.1,
            amps + 1,
            swapped.levels.0
        );
        if by_user {
            self.layout.notes.push(told);
            return Ok(());
        }
        Err(format!(
            "{told}; say which is which with --volts {} --amps {}, or the other way round",
            amps + 1,
            volts + 1
        ))
    }

    /// Weighs what may be volts and amps.
    fn choose(
        &mut self,
        volts: &[usize],
        amps: &[usize],
        time: Option<usize>,
        meanings: &[Meaning],
    ) -> Result<(), LayoutError> {
        if volts.is_empty() || amps.is_empty() {
            let what = match (volts.is_empty(), amps.is_empty()) {
                (true, true) => "no column is known to be volts or amps",
                (true, false) => "no column is known to be volts",
                _ => "no column is known to be amps",
            };
            return Err(self.refusal(what));
        }
        let scaled = |at: usize, scale: Option<f64>| -> Vec<f64> {
            self.content[at]
                .iter()
                .map(|value| value * scale.unwrap_or(1.0))
                .collect()
        };
        let content: Vec<Vec<f64>> = (0..self.width)
            .map(|at| match (volts.contains(&at), amps.contains(&at)) {
                (true, false) => scaled(at, self.options.volts_scale),
                (false, true) => scaled(at, self.options.amps_scale),
                _ => self.content[at].clone(),
            })
            .collect();
        // Two columns beside time, or two in all, without headings: volts, then amps, unless what they hold is against it.
        let first = usize::from(time.is_some());
        let plain = self.width == first + 2 && time.is_none_or(|time| time == 0);
        let may_be_tenths =
            |at: usize| self.options.volts_scale.is_none() && !has_unit(meanings[at]);
        match weigh(&content, volts, amps, may_be_tenths) {
            Weighed::Clear { best, next } => {
                self.layout.notes.push(told(&best, next.as_ref()));
                (self.layout.volts, self.layout.amps) = (best.volts, best.amps);
                Ok(())
            }
            Weighed::Unclear { .. }
                if plain && volts.contains(&first) && amps.contains(&(first + 1)) =>
            {
                (self.layout.volts, self.layout.amps) = (first, first + 1);
                self.layout.by_order = true;
                Ok(())
            }
            Weighed::Unclear { best, next } => {
                let why = match (best, next) {
                    (Some(best), Some(next)) if best.points > 0.0 => format!(
                        "several columns can be volts and amps: {} and {}, or {} and {}",
                        best.volts + 1,
                        best.amps + 1,
                        next.volts + 1,
                        next.amps + 1
                    ),
                    _ => "no two columns hold volts and amps of an arc for certain".to_owned(),
                };
                Err(self.refusal(&why))
            }
        }
    }

    /// A column without a unit whose level suits an arc only in tenths, thousandths or thousands.
    fn scale(&mut self, meanings: &[Meaning]) {
        let (v, a) = (self.layout.volts, self.layout.amps);
        let unit_told = |at: usize| has_unit(meanings[at]);
        let Some(level) = pair(v, a, &self.content[v], &self.content[a]).filter(|pair| pair.steps)
        else {
            return;
        };
        self.layout.arc_seen = true;
        let free_v = self.options.volts_scale.is_none()
            && self.options.volts_offset.is_none()
            && !unit_told(v);
        let free_a = self.options.amps_scale.is_none()
            && self.options.amps_offset.is_none()
            && !unit_told(a);
        let (volts, amps) = level.levels;
        let mut factors = Factors::ONE;
        if free_v && (120.0..=400.0).contains(&volts) && (12.0..=1000.0).contains(&amps) {
            factors.volts = 0.1;
        } else if free_v && (12_000.0..=40_000.0).contains(&volts) {
            factors.volts = 0.001;
        }
        let volts_suit = (8.0..=50.0).contains(&(volts * factors.volts));
        // Below 28 V no arc carries as much as 700 A.
        let most_amps = if volts * factors.volts < 28.0 {
            700.0
        } else {
            1200.0
        };
        if free_a && volts_suit && (0.02..=0.7).contains(&amps) {
            factors.amps = 1000.0;
        } else if free_a && volts_suit && (most_amps..=7000.0).contains(&amps) {
            factors.amps = 0.1;
        } else if free_a && volts_suit && (20_000.0..=700_000.0).contains(&amps) {
            factors.amps = 0.001;
        }
        for (factor, what, level, option) in [
            (factors.volts, "volts", volts, "--volts-scale"),
            (factors.amps, "amps", amps, "--amps-scale"),
        ] {
            if factor != 1.0 {
                self.layout.notes.push(format!(
                    "{what} are read times {factor}: the column names no unit, and its {level:.3} suits no arc; if not, \
                     use {option} 1"
                ));
            }
        }
        self.layout.factors = factors;
    }

    /// Why the columns were not found, with a table of them.
    fn refusal(&self, why: &str) -> LayoutError {
        refused(why, &self.layout, &self.content)
    }
}

fn has_unit(meaning: Meaning) -> bool {
    matches!(meaning, Meaning::Volts(Some(_)) | Meaning::Amps(Some(_)))
}
