//! The ways for one fault, each with how much, where, effort and risk.

mod before;
mod heat;
mod leave;
mod opposite;
mod press;
mod whole;

pub(super) use before::add_clamps;

use super::bar::bar;
use super::model::{Degree, Kind, Place, PlaceKind, Way};
use super::press::usual_span_mm;
use super::show::Show;
use super::{Change, Options};
use crate::job::model::{Job, Point};
use crate::movement::answers::{Measure, MeasureKind, towards};
use crate::formulas::bending::{Bar, Press, bearing_limit};
use coldsquare_core::uncertainty::Uncertain;
use std::collections::BTreeMap;

/// One change with all that decides how it can be mended.
#[derive(Clone, Copy)]
pub(super) struct Case<'a> {
    pub job: &'a Job,
    pub change: &'a Change<'a>,
    /// Measured; otherwise predicted.
    pub measured: bool,
    pub tolerance_mm: f64,
    pub options: &'a Options,
}

impl Case<'_> {
    fn show(&self) -> Show {
        Show(self.options.units)
    }

    /// Whether the member it is of is structural.
    fn structural(&self) -> bool {
        let of_job = |member| self.job.structural.has(member);
        self.options.structural || self.change.measure.member.is_some_and(of_job)
    }
}

/// A bowed member.
struct Bowed<'a> {
    case: &'a Case<'a>,
    bar: Bar,
    /// The side it bows to.
    side: Point,
    length_mm: f64,
}

impl Bowed<'_> {
    fn side(&self) -> &'static str {
        towards(self.side)
    }

    /// The nearest that blocks may stand for what presses to be strong enough and the wall not to dent: pushed at its
    /// thirds, the force is six moments over the span. A tenth more, for metal that hardens.
    fn least_span_mm(&self) -> f64 {
        let options = self.case.options;
        let dent = bearing_limit(self.bar.profile(), self.bar.metal(), options.packing_mm);
        let most = options
            .press_n
            .min(dent.map_or(f64::INFINITY, |each| 2.0 * each.0));
        1.1 * 6.0 * self.bar.plastic_moment_n_mm() / most
    }

    fn press(&self) -> Press {
        let (options, change) = (self.case.options, self.case.change);
        // Blocks stay where they were from push to push.
        let bow_mm = change.history_mm.first().unwrap_or(&change.change_mm.value);
        let span_mm = match options.span_mm {
            Some(given) => given.clamp(0.1 * self.length_mm, self.length_mm),
            None => usual_span_mm(&self.bar, self.length_mm, bow_mm.abs())
                .max(self.least_span_mm())
                .min(0.9 * self.length_mm),
        };
        Press {
            span_mm,
            apart_mm: (span_mm / 3.0).max(options.packing_mm.min(0.9 * span_mm)),
            length_mm: self.length_mm,
        }
    }
}

/// Every way for a change, open ones first, the cheapest sound one first.
pub(super) fn ways(case: &Case<'_>) -> Vec<Way> {
    let mut ways = vec![leave::leave(case)];
    match case.change.measure.kind {
        MeasureKind::Bow => ways.extend(for_bow(case)),
        MeasureKind::Size => ways.push(whole::cut_length(case)),
        _ => ways.push(whole::pull(case)),
    }
    sort(&mut ways);
    ways
}

fn sort(ways: &mut [Way]) {
    ways.sort_by_key(|way| {
        (
            !way.open,
            way.kind != Kind::Leave,
            way.effort as u8 + way.risk as u8,
            way.risk,
        )
    });
}

fn for_bow(case: &Case<'_>) -> Vec<Way> {
    let Some(member) = case
        .change
        .measure
        .member
        .and_then(|m| case.job.members.get(m))
    else {
        return Vec::new();
    };
    let bow = case.change.change_mm.value;
    if case.structural() {
        let kinds = if case.measured {
            &[Kind::Press, Kind::Heat, Kind::OppositeWeld][..]
        } else {
            &[Kind::PreSet][..]
        };
        return kinds.iter().map(|&kind| shut(kind, STRUCTURAL)).collect();
    }
    let side = case.change.measure.terms[0].direction * if bow < 0.0 { -1.0 } else { 1.0 };
    let bar = match bar(member, side, &case.job.material) {
        Ok(bar) => bar,
        Err(error) => return vec![shut(Kind::Press, error.to_string())],
    };
    let bowed = Bowed {
        case,
        bar,
        side,
        length_mm: (member.to - member.from).length(),
    };
    if case.measured {
        let mut ways = heat::heat(&bowed);
        ways.push(press::press(&bowed));
        ways.push(opposite::opposite(&bowed));
        ways
    } else {
        vec![before::pre_set(&bowed)]
    }
}

/// Whether a member can be bowed the other way before welding, against a bow that is expected of it: it is not
/// structural, the bow is more than its own doubt, and its wall is not strained too far.
#[must_use]
pub fn can_be_pre_set(job: &Job, measure: &Measure, expected_mm: Uncertain) -> bool {
    let change = Change {
        measure,
        change_mm: expected_mm,
        history_mm: Vec::new(),
    };
    let case = Case {
        job,
        change: &change,
        measured: false,
        tolerance_mm: 0.0,
        options: &Options::default(),
    };
    let is_it = |way: &Way| way.kind == Kind::PreSet && way.open;
    for_bow(&case).iter().any(is_it)
}

/// A way that is shut, with the reason.
fn shut(kind: Kind, why: impl Into<String>) -> Way {
    Way {
        kind,
        open: false,
        says: vec![why.into()],
        steps: Vec::new(),
        cautions: Vec::new(),
        effort: Degree::Low,
        risk: Degree::High,
        places: Vec::new(),
        figures: BTreeMap::new(),
    }
}

fn place(at_mm: f64, what: PlaceKind) -> Place {
    Place {
        at_mm,
        amount_mm: 0.0,
        what,
    }
}

const STRUCTURAL: &str =
    "Refused: structural. The code that applies and a licensed engineer decide.";

const LOADED: &str = "A frame under a clamp or jack stores energy: stand aside, never in line with it, wear eye \
    protection, chain down what could fly, and let go slowly.";
