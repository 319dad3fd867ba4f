//! How long each step takes: measured where there is a log, else from a table, corrected by what the shop has noted.

use super::basis::Basis;
use super::model::{JobMoney, StepTime, TimeBasis};
use crate::job::model::EndCut;
use crate::shop::hours::Pace;

/// The steps, in order: the words that notes of hours take.
pub const STEPS: [&str; 12] = [
    "opening", "rip", "cut", "clean", "fixture", "tack", "weld", "measure", "dress", "drill",
    "finish", "hang",
];

/// Minutes for one of each; all of them common practice, no source. What a shop notes of its own hours replaces them.
mod each {
    pub const OPENING: f64 = 20.0;
    pub const RIP_A_METRE: f64 = 6.0;
    pub const SQUARE_CUT: f64 = 1.5;
    pub const MITRE_CUT: f64 = 2.5;
    pub const CLEAN_AN_END: f64 = 1.5;
    pub const TABLE: f64 = 10.0;
    pub const BLOCK: f64 = 2.5;
    pub const SPACER: f64 = 1.0;
    pub const PLACE_A_MEMBER: f64 = 1.0;
    pub const TACK_A_JOINT: f64 = 1.0;
    pub const BETWEEN_WELDS: f64 = 0.75;
    pub const MEASURE: f64 = 15.0;
    pub const DRESS_A_METRE: f64 = 25.0;
    pub const HOLE: f64 = 4.0;
    pub const KEYHOLE_OR_THREAD: f64 = 8.0;
    pub const CLEAN_A_METRE: f64 = 3.0;
    pub const COAT_A_METRE: f64 = 4.0;
    pub const PANEL: f64 = 20.0;
    pub const HANG: f64 = 30.0;
}

/// The time of every step of this job; a step that the job does not have takes none and is left out.
pub(super) fn times(basis: &Basis<'_>) -> Vec<StepTime> {
    STEPS
        .iter()
        .filter_map(|&id| {
            let table_min = table_minutes(basis, id);
            (table_min > 0.0).then(|| time(basis, id, table_min))
        })
        .collect()
}

fn time(basis: &Basis<'_>, id: &'static str, table_min: f64) -> StepTime {
    if let ("weld", Some(logged)) = (id, &basis.cost.logged) {
        return StepTime {
            id,
            table_min,
            minutes: logged.elapsed.0 / 60.0,
            range_min: [logged.elapsed.0 / 60.0; 2],
            basis: TimeBasis::Logged,
        };
    }
    let pace = Pace::of(basis.hours, id);
    let minutes = table_min * pace.factor;
    StepTime {
        id,
        table_min,
        minutes,
        range_min: [minutes / pace.spread, minutes * pace.spread],
        basis: match pace.count {
            0 => TimeBasis::Table,
            count => TimeBasis::Noted {
                factor: pace.factor,
                count,
            },
        },
    }
}

/// Minutes of a step by the table; 0 for a step that the job does not have.
fn table_minutes(basis: &Basis<'_>, id: &str) -> f64 {
    let job = basis.job;
    let count = |number: usize| number as f64;
    let metres: f64 = job
        .members
        .iter()
        .map(|member| member.cut_length.0 / 1000.0)
        .sum();
    match id {
        "opening" if job.opening.is_some() => each::OPENING,
        "rip" => {
            let cut = job
                .ripped
                .iter()
                .map(|one| one.length_mm / 1000.0 * f64::from(one.count));
            each::RIP_A_METRE * cut.sum::<f64>()
        }
        "cut" => {
            let ends = job.members.iter().flat_map(|member| member.ends);
            ends.map(|end| match end {
                EndCut::Square => each::SQUARE_CUT,
                EndCut::Mitre { .. } => each::MITRE_CUT,
            })
            .sum()
        }
        "clean" => each::CLEAN_AN_END * 2.0 * count(job.members.len()),
        "fixture" => {
            let spacers: usize = basis
                .fixture
                .spacers
                .iter()
                .map(|spacer| spacer.count)
                .sum();
            each::TABLE
                + each::BLOCK * count(basis.fixture.blocks.len())
                + each::SPACER * count(spacers)
                + each::PLACE_A_MEMBER * count(job.members.len())
        }
        "tack" => {
            let tacked = job
                .joints
                .iter()
                .filter(|joint| !joint.tacks.is_empty())
                .count();
            each::TACK_A_JOINT * count(tacked)
        }
        "weld" => {
            let arc_min = basis.cost.planned.used.arc_time.0 / 60.0;
            arc_min + each::BETWEEN_WELDS * count(job.welds.len())
        }
        "measure" => each::MEASURE,
        "dress" => {
            let dressed = |weld: &&crate::job::model::Weld| job.finish.flush.contains(&weld.number);
            let length: f64 = job
                .welds
                .iter()
                .filter(dressed)
                .map(|weld| weld.length().0)
                .sum();
            each::DRESS_A_METRE * length / 1000.0
        }
        "drill" => {
            use crate::job::finish::HoleKind;
            let holes = job.finish.holes.iter().map(|hole| match hole.kind {
                HoleKind::Plain { .. } => each::HOLE,
                HoleKind::Thread { .. } | HoleKind::Keyhole { .. } => each::KEYHOLE_OR_THREAD,
            });
            holes.sum()
        }
        "finish" => {
            let coated = match job.finish.coating {
                crate::job::finish::Coating::Bare => 0.0,
                _ => each::COAT_A_METRE,
            };
            (each::CLEAN_A_METRE + coated) * metres + each::PANEL * count(job.finish.panels.len())
        }
        "hang" => each::HANG,
        _ => 0.0,
    }
}

/// What it costs, if the job gives prices: labour of all steps, and what the welding uses up, as logged if there is a log.
pub(super) fn money(basis: &Basis<'_>, total_min: f64) -> Option<JobMoney> {
    let prices = basis.job.prices.as_ref()?;
    let build = basis.cost.logged.as_ref().unwrap_or(&basis.cost.planned);
    let used = build.money.as_ref();
    let known: Vec<f64> = used.map_or_else(Vec::new, |money| {
        [money.wire, money.gas, money.energy]
            .into_iter()
            .flatten()
            .collect()
    });
    let welding = (!known.is_empty()).then(|| known.iter().sum::<f64>());
    let labour = prices.labour_per_hour.map(|price| price * total_min / 60.0);
    Some(JobMoney {
        currency: prices.currency.clone(),
        labour,
        welding,
        known_total: welding.unwrap_or(0.0) + labour.unwrap_or(0.0),
    })
}
