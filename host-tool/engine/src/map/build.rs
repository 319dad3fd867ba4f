//! From a job and a log to the weld map.

use super::model::{MappedBead, MappedWeld, WeldMap};
use super::totals::{source, totals};
use super::weld::{flag_weld, map_weld};
use super::{holes, measure, order, warn};
use crate::job::model::Job;
use crate::log::Log;
use crate::matching::{
    self, Assignment, BeadTime, ExpectedWeld, MatchError, MatchInput, Matching, match_beads,
};
use coldsquare_core::record::{Marker, MarkerKind};
use coldsquare_core::units::{Millimetres, Seconds};

/// What the user can set.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Weld numbers in the planned order, each once; empty for the file order.
    pub order: Vec<u16>,
    /// Beads that the user assigns by hand.
    pub by_hand: Vec<Assignment>,
    /// Arc times below this are tacks; `None` to let the job decide.
    pub tack_below: Option<Seconds>,
    /// By how much a weld can be longer or shorter than drawn, all lengths between being equally likely: the arc starts
    /// and stops by hand. 0 or more.
    pub length_within: Millimetres,
    /// Maximum number of points in the trace of a bead, 2 or more.
    pub trace_points: usize,
}

impl Default for Settings {
    /// File order, nothing by hand, lengths within 1 mm (common practice, no source), 120 points.
    fn default() -> Self {
        Self {
            order: Vec::new(),
            by_hand: Vec::new(),
            tack_below: None,
            length_within: Millimetres(1.0),
            trace_points: 120,
        }
    }
}

/// Matches, measures and judges.
///
/// ```
/// use coldsquare_engine::{log::read_from, recording::RecordingOptions};
/// use coldsquare_engine::map::{Settings, build};
/// # use coldsquare_engine::{example::GARDEN_GATE, job::from_text};
/// # let job = from_text("gate.toml", GARDEN_GATE).unwrap();
/// # let mut recording = String::from("time_ms,volts,amps");
/// # for k in 0..5000 {
/// #     recording += &format!("\n{k},{}", if k < 4000 { "19,120" } else { "0,0" });
/// # }
/// # let options = RecordingOptions::default();
/// # let log = read_from("weld.csv".as_ref(), recording.as_bytes(), std::io::empty(), &options).unwrap();
///
/// let map = build(&job, &log, &Settings::default())?;
/// assert_eq!(map.welds.len(), job.welds.len());
/// assert_eq!(map.beads.len(), 1);
/// # Ok::<(), coldsquare_engine::matching::MatchError>(())
/// ```
///
/// # Errors
/// [`MatchError`] when an assignment or the order does not fit the job and the log.
pub fn build(job: &Job, log: &Log, settings: &Settings) -> Result<WeldMap, MatchError> {
    let planned = if settings.order.is_empty() {
        job.welds.iter().map(|weld| weld.number).collect()
    } else {
        crate::order::check_numbers(&settings.order, job.welds.len())?;
        settings.order.clone()
    };
    let matching = matched(job, log, settings, &planned)?;
    let beads: Vec<MappedBead> = log
        .beads
        .iter()
        .zip(&matching.beads)
        .map(|(logged, found)| measure::bead(log, logged, found, settings.trace_points))
        .collect();
    let order = order::order(&planned, &beads);
    let welds = job.welds.iter().map(|weld| {
        let mut mapped = map_weld(job, log, settings.length_within, weld, &beads);
        mapped.planned_place = place_in(&order.planned, weld.number).unwrap_or_default();
        mapped.done_place = place_in(&order.done, weld.number);
        flag_weld(&mut mapped, &matching, &order.out_of_order, &beads);
        mapped
    });
    let mut welds: Vec<MappedWeld> = welds.collect();
    holes::flag(log, &beads, &mut welds);
    Ok(WeldMap {
        measured: None,
        title: job.name.clone(),
        source: source(log),
        totals: totals(&welds, &beads),
        warnings: warn::warnings(job, log, &matching, &order, &beads),
        welds,
        beads,
        order,
    })
}

fn place_in(order: &[u16], weld: u16) -> Option<usize> {
    order
        .iter()
        .position(|&other| other == weld)
        .map(|index| index + 1)
}

fn matched(
    job: &Job,
    log: &Log,
    settings: &Settings,
    planned: &[u16],
) -> Result<Matching, MatchError> {
    let welds: Vec<ExpectedWeld> = planned
        .iter()
        .filter_map(|&number| job.welds.get(usize::from(number).checked_sub(1)?))
        .map(|weld| ExpectedWeld {
            number: weld.number,
            arc_time: weld.planned_arc_time(&job.procedures[weld.procedure]),
            runs: weld.runs,
        })
        .collect();
    let beads: Vec<BeadTime> = log
        .beads
        .iter()
        .map(|logged| BeadTime {
            number: logged.bead.number,
            start: logged.start,
            end: logged.start + logged.duration,
            arc_time: Seconds(logged.arc_time.value),
            may_be_missing: holes::may_be_missing(log, logged),
        })
        .collect();
    let holes: Vec<matching::Hole> = log
        .holes
        .iter()
        .map(|hole| matching::Hole {
            from: log.seconds(hole.from),
            until: log.seconds(hole.until),
            beads: hole.beads,
        })
        .collect();
    let markers: Vec<matching::Marker> = log
        .markers
        .iter()
        .filter_map(|marker| for_matching(log, marker))
        .collect();
    match_beads(&MatchInput {
        welds: &welds,
        beads: &beads,
        markers: &markers,
        holes: &holes,
        by_hand: &settings.by_hand,
        tack_below: settings.tack_below,
    })
}

fn for_matching(log: &Log, marker: &Marker) -> Option<matching::Marker> {
    use matching::MarkerKind as Kind;
    let kind = match marker.kind {
        MarkerKind::NextWeld => Kind::Next,
        MarkerKind::Done => Kind::Done,
        MarkerKind::Skip => Kind::Skip,
        MarkerKind::Redo => Kind::Redo,
        MarkerKind::Scrap => Kind::Scrap,
        MarkerKind::Undo => Kind::Undo,
        MarkerKind::Note => return None,
    };
    Some(matching::Marker {
        at: log.seconds(marker.position),
        kind,
        weld: marker.weld,
    })
}
