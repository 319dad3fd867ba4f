//! What was learned, as a revision of the shop factors file, with the digests of every file it rests on.

use coldsquare_engine::learn::gather::Gathered;
use coldsquare_engine::learn::report::Taught;
use coldsquare_engine::shop::file::{Digest, Recorded, Revision};
use std::path::{Path, PathBuf};

/// A revision of the file `shop`, from these jobs with their planned orders, one for each gathered job.
#[must_use]
pub fn revision(taught: &Taught, on: String, shop: &Path, jobs: &[(PathBuf, String)]) -> Revision {
    let both = jobs.iter().zip(&taught.gathered);
    let records = both.map(|((path, order), one)| recorded(taught, shop, path, order, one));
    Revision::new(
        on,
        [taught.learned.used.len(), taught.readings()],
        records.collect(),
        &taught.learned.knowledge,
    )
}

fn recorded(taught: &Taught, shop: &Path, path: &Path, order: &str, one: &Gathered) -> Recorded {
    let misfits = taught.learned.misfits.iter();
    let left_out = misfits.map(|misfit| &taught.builds[misfit.build].name);
    let own: Vec<&String> = one.builds.iter().map(|build| &build.name).collect();
    let digest = |(file, sha256): &(PathBuf, String)| Digest {
        file: seen_from(shop, file),
        sha256: sha256.clone(),
    };
    let order_file = !order.is_empty() && Path::new(order).is_file();
    Recorded {
        job: seen_from(shop, path),
        order: if order_file {
            seen_from(shop, Path::new(order))
        } else {
            order.to_owned()
        },
        left_out: left_out
            .filter(|name| own.contains(name))
            .cloned()
            .collect(),
        digest: one.files.iter().map(digest).collect(),
    }
}

/// A path relative to the shop factors file if it lies in its folder or below, else the whole path.
fn seen_from(shop: &Path, path: &Path) -> String {
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let folder = match shop.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let (folder, path) = (real(folder), real(path));
    let seen = path.strip_prefix(&folder).unwrap_or(&path);
    // Write the same separator on every system.
    seen.display().to_string().replace('\\', "/")
}
