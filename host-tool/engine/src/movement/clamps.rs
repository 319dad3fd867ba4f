//! Which clamps are on. A clamp may be released on the way, after some welds or before some others.

use crate::job::model::{Job, Point};

/// When each clamp is released, by index of the clamp; one without welds is released at the end.
#[derive(Clone, Debug, Default)]
pub struct Releases(Vec<Release>);

#[derive(Clone, Debug)]
struct Release {
    at: Point,
    /// Indices of welds: released as soon as all of them are done.
    after: Vec<usize>,
    /// Indices of welds: released before the first of them.
    before: Vec<usize>,
}

/// What changes the frame during a build.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BuildStep {
    /// A weld, by index.
    Weld(usize),
    /// Clamps released together, by index. Those that stay to the end are in none.
    Release(Vec<usize>),
}

/// When in an order a clamp is released that does not stay to the end; the weld by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EarlyRelease {
    /// As soon as this weld is done.
    After(usize),
    /// Before this weld.
    Before(usize),
}

/// When each clamp is released in an order, by index; `None` for those that stay to the end.
pub(crate) fn early_releases(job: &Job, order: &[usize]) -> Vec<Option<EarlyRelease>> {
    let releases = Releases::of(job);
    let mut clamps = ClampsOn::all(&releases);
    let mut when = vec![None; job.clamps.len()];
    for &weld in order {
        for clamp in clamps.release_before(&releases, weld) {
            when[clamp] = Some(EarlyRelease::Before(weld));
        }
        for clamp in clamps.release_after(&releases, weld) {
            when[clamp] = Some(EarlyRelease::After(weld));
        }
    }
    when
}

/// How one clamp is used when another way of clamping is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ClampUse<'a> {
    /// As the job says.
    AsInJob,
    /// Off for every weld.
    Never,
    /// On until all is cold.
    UntilCold,
    /// On until these welds are done.
    After(&'a [usize]),
}

impl Releases {
    /// The clamps of a job, each used in the given way.
    pub(crate) fn with_uses(job: &Job, uses: &[ClampUse<'_>]) -> Self {
        let mut releases = Self::of(job);
        for (release, one) in releases.0.iter_mut().zip(uses) {
            let (after, before) = match *one {
                ClampUse::AsInJob => continue,
                ClampUse::Never => (Vec::new(), (0..job.welds.len()).collect()),
                ClampUse::UntilCold => (Vec::new(), Vec::new()),
                ClampUse::After(welds) => (welds.to_vec(), Vec::new()),
            };
            (release.after, release.before) = (after, before);
        }
        releases
    }

    /// Whether any clamp is released before the end.
    pub(crate) fn any_on_the_way(&self) -> bool {
        let stays = |release: &Release| release.after.is_empty() && release.before.is_empty();
        !self.0.iter().all(stays)
    }

    /// As the job says.
    pub(crate) fn of(job: &Job) -> Self {
        let index = |number: &u16| usize::from(*number).saturating_sub(1);
        let release = |clamp: &crate::job::model::Clamp| Release {
            at: clamp.at,
            after: clamp.release_after.iter().map(index).collect(),
            before: clamp.release_before.iter().map(index).collect(),
        };
        Self(job.clamps.iter().map(release).collect())
    }
}

/// The clamps that are on during a build.
#[derive(Clone, Debug)]
pub(crate) struct ClampsOn {
    on: Vec<bool>,
    /// For each clamp the number of welds it still waits for.
    waits: Vec<usize>,
}

impl ClampsOn {
    /// Before the first weld.
    pub(crate) fn all(releases: &Releases) -> Self {
        Self {
            on: vec![true; releases.0.len()],
            waits: releases.0.iter().map(|r| r.after.len()).collect(),
        }
    }

    /// After the last weld, when all are off.
    #[cfg(test)]
    pub(crate) fn none(releases: &Releases) -> Self {
        Self {
            on: vec![false; releases.0.len()],
            waits: vec![0; releases.0.len()],
        }
    }

    /// Whether a clamp is on.
    pub(crate) fn is_on(&self, clamp: usize) -> bool {
        self.on[clamp]
    }

    /// Releases the clamps that must be off for this weld, and returns them.
    pub(crate) fn release_before(&mut self, releases: &Releases, weld: usize) -> Vec<usize> {
        self.release(|clamp, _| releases.0[clamp].before.contains(&weld))
    }

    /// Releases the clamps that waited for this weld last, and returns them. To be called once for each weld.
    pub(crate) fn release_after(&mut self, releases: &Releases, weld: usize) -> Vec<usize> {
        self.release(|clamp, waits| {
            let awaited = releases.0[clamp].after.contains(&weld);
            *waits -= usize::from(awaited);
            awaited && *waits == 0
        })
    }

    fn release(&mut self, is_due: impl Fn(usize, &mut usize) -> bool) -> Vec<usize> {
        let clamps = self.on.iter_mut().zip(&mut self.waits).enumerate();
        clamps
            .filter_map(|(clamp, (on, waits))| {
                (is_due(clamp, waits) && std::mem::replace(on, false)).then_some(clamp)
            })
            .collect()
    }

    /// Whether the clamps that are on restrain the frame: three of them that are not in a line.
    pub(crate) fn restrain(&self, releases: &Releases) -> bool {
        let on = releases.0.iter().zip(&self.on).filter(|(_, on)| **on);
        let points: Vec<Point> = on.map(|(release, _)| release.at).collect();
        let Some((&first, rest)) = points.split_first() else {
            return false;
        };
        rest.iter().any(|&a| {
            rest.iter()
                .any(|&b| (a - first).cross(b - first).length() > 1.0)
        })
    }
}
