//! The shop factors of a job: reads the file that it names, and finds the factors of each weld.

use super::model::{Job, Weld};
use crate::failure::Failure;
use crate::files::Files;
use crate::shop::factor::Factors;
use crate::shop::file::{beside, load};
use crate::shop::{Class, ShopFactors};
use std::path::Path;

/// Reads the shop factors file that a job names, if it names one, and stores the job's factors with the job.
///
/// # Errors
/// [`Failure`] when the file has errors or lacks the revision that the job names.
pub fn attach_shop_factors(
    files: &dyn Files,
    job: &mut Job,
    job_path: &Path,
) -> Result<(), Failure> {
    let Some(named) = job.shop_file.clone() else {
        return Ok(());
    };
    let path = beside(job_path, &named.path);
    let history = load(files, &path)?;
    let revision = named.revision.unwrap_or_else(|| history.latest());
    if revision > history.latest() {
        return Err(Failure::Input(format!(
            "{}: shop_factors_revision = {revision}, but {} has {} so far",
            job_path.display(),
            path.display(),
            history.latest()
        )));
    }
    let meant = history.meant(revision);
    let knowledge = history.knowledge(revision);
    let classes = job.classes();
    let digests = meant.iter().flat_map(|one| &one.builds);
    let digests = digests.flat_map(|build| &build.digest);
    job.shop = Some(ShopFactors {
        file: named.path,
        is_there: files.exists(&path),
        revision: meant.map_or(0, |_| revision),
        on: meant.map_or_else(String::new, |_| history.0[revision - 1].on.clone()),
        used: meant.map_or(0, |one| one.used),
        rests_on: digests.map(|digest| digest.sha256.clone()).collect(),
        factors: knowledge.for_welds(&classes),
        knowledge,
        classes,
    });
    Ok(())
}

impl Job {
    /// The class of every weld.
    #[must_use]
    pub fn classes(&self) -> Vec<Class> {
        let one = |weld: &Weld| {
            let wall = weld.members.map(|member| {
                let section = &self.members[member].section;
                section.properties().thinnest_wall_mm
            });
            let process = self.procedures[weld.procedure].process;
            Class::new(process, weld.kind.name(), wall[0].min(wall[1]))
        };
        self.welds.iter().map(one).collect()
    }

    /// The shrinkage factors of every weld: the shop's if the job names its file, else the published ones.
    #[must_use]
    pub fn shrinkage_factors(&self) -> Vec<Factors> {
        match &self.shop {
            Some(shop) => shop.factors.each.clone(),
            None => vec![Factors::starting(); self.welds.len()],
        }
    }

    /// Where the shrinkage factors come from, for a sentence.
    #[must_use]
    pub fn factors_in_use(&self) -> String {
        match &self.shop {
            Some(shop) if shop.revision > 0 => format!("the factors of {}", shop.source()),
            Some(shop) if !shop.is_there => {
                format!("the published factors ({} does not exist)", shop.file)
            }
            _ => "the published factors".to_owned(),
        }
    }
}
