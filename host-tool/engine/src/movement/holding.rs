//! Which clamps are on: a clamp may come off on the way, after some welds or before some others.

use super::prepare::clamps_hold;
use crate::job::model::{Job, Point};

/// When each clamp comes off, by index of the clamp; without welds it comes off with the others in the end.
#[derive(Clone, Debug, Default)]
pub struct Releases(Vec<Release>);

#[derive(Clone, Debug)]
struct Release {
    at: Point,
    /// Indices of welds: off as soon as all of them are done.
    after: Vec<usize>,
    /// Indices of welds: off before the first of them is begun.
    before: Vec<usize>,
}

/// One thing that happens to the frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Moment {
    /// A weld is laid, by index.
    Weld(usize),
    /// Clamps come off together, by index. Those that stay to the end are in none.
    ClampsOff(Vec<usize>),
}

/// When in an order a clamp comes off that does not stay to the end; a weld by its index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnTheWay {
    /// As soon as this weld is done.
    After(usize),
    /// Before this weld is begun.
    Before(usize),
}

/// When each clamp comes off, by index; nothing for those that stay to the end of this order.
#[must_use]
pub fn on_the_way(job: &Job, order: &[usize]) -> Vec<Option<OnTheWay>> {
    let releases = Releases::of(job);
    let mut clamps = ClampsOn::all(&releases);
    let mut when = vec![None; job.clamps.len()];
    for &weld in order {
        for clamp in clamps.off_before(&releases, weld) {
            when[clamp] = Some(OnTheWay::Before(weld));
        }
        for clamp in clamps.off_after(&releases, weld) {
            when[clamp] = Some(OnTheWay::After(weld));
        }
    }
    when
}

/// What a way of clamping does with one clamp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use<'a> {
    /// As the job says.
    AsTold,
    /// Off for every weld.
    Never,
    /// On until all is cold.
    UntilCold,
    /// On until these welds are done.
    After(&'a [usize]),
}

impl Releases {
    /// The clamps of a job used in another way: one use a clamp.
    #[must_use]
    pub fn used(job: &Job, uses: &[Use<'_>]) -> Self {
        let mut releases = Self::of(job);
        for (release, one) in releases.0.iter_mut().zip(uses) {
            let (after, before) = match *one {
                Use::AsTold => continue,
                Use::Never => (Vec::new(), (0..job.welds.len()).collect()),
                Use::UntilCold => (Vec::new(), Vec::new()),
                Use::After(welds) => (welds.to_vec(), Vec::new()),
            };
            (release.after, release.before) = (after, before);
        }
        releases
    }

    /// Whether any clamp comes off before the end.
    pub(super) fn any_on_the_way(&self) -> bool {
        let stays = |release: &Release| release.after.is_empty() && release.before.is_empty();
        !self.0.iter().all(stays)
    }

    /// As the job says.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let index = |number: &u16| usize::from(*number).saturating_sub(1);
        let release = |clamp: &crate::job::model::Clamp| Release {
            at: clamp.at,
            after: clamp.release_after.iter().map(index).collect(),
            before: clamp.release_before.iter().map(index).collect(),
        };
        Self(job.clamps.iter().map(release).collect())
    }
}

/// The clamps of a build under way.
#[derive(Clone, Debug)]
pub struct ClampsOn {
    on: Vec<bool>,
    /// For each clamp the welds it still waits for.
    waits: Vec<usize>,
}

impl ClampsOn {
    /// Before the first weld.
    #[must_use]
    pub fn all(releases: &Releases) -> Self {
        Self {
            on: vec![true; releases.0.len()],
            waits: releases.0.iter().map(|r| r.after.len()).collect(),
        }
    }

    /// After the last weld, when all are off.
    pub(super) fn none(releases: &Releases) -> Self {
        Self {
            on: vec![false; releases.0.len()],
            waits: vec![0; releases.0.len()],
        }
    }

    /// Whether a clamp is on.
    pub(super) fn is_on(&self, clamp: usize) -> bool {
        self.on[clamp]
    }

    /// The clamps that come off before this weld is begun; they are off now.
    pub fn off_before(&mut self, releases: &Releases, weld: usize) -> Vec<usize> {
        self.off(|clamp, _| releases.0[clamp].before.contains(&weld))
    }

    /// The clamps that come off because this weld is done; they are off now. To be asked once a weld.
    pub fn off_after(&mut self, releases: &Releases, weld: usize) -> Vec<usize> {
        self.off(|clamp, waits| {
            let awaited = releases.0[clamp].after.contains(&weld);
            *waits -= usize::from(awaited);
            awaited && *waits == 0
        })
    }

    fn off(&mut self, comes_off: impl Fn(usize, &mut usize) -> bool) -> Vec<usize> {
        let clamps = self.on.iter_mut().zip(&mut self.waits).enumerate();
        clamps
            .filter_map(|(clamp, (on, waits))| {
                (comes_off(clamp, waits) && std::mem::replace(on, false)).then_some(clamp)
            })
            .collect()
    }

    /// Whether those that are on keep the frame from moving.
    pub(super) fn hold(&self, releases: &Releases) -> bool {
        let on = releases.0.iter().zip(&self.on).filter(|(_, on)| **on);
        clamps_hold(&on.map(|(release, _)| release.at).collect::<Vec<_>>())
    }
}
