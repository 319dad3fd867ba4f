//! The printed table, and the locations behind its figures.

use crate::cycles::{self, Cycle};
use crate::dependencies::dependencies;
use crate::duplicates::{Duplicate, Duplicates, duplicates};
use crate::functions::{Function, functions};
use crate::layers::Layers;
use crate::public_items::{PublicItem, public_items};
use crate::sizes::{MAX_FILE_LINES, Sizes, by_folder};
use crate::workspace::Workspace;
use std::fmt::{self, Display, Formatter};

/// Functions over these lengths are counted.
const LONG_FUNCTIONS: [usize; 2] = [40, 60];

/// All measurements.
#[derive(Clone, Debug)]
pub struct Report {
    sizes: Vec<(String, Sizes)>,
    functions: Vec<Function>,
    duplicates: Duplicates,
    cycles: [Vec<Cycle>; 2],
    public_items: Vec<PublicItem>,
    layers: Layers,
    /// Print locations too.
    pub with_locations: bool,
}

impl Report {
    /// Measures a workspace. Items that the layers list as offered do not count as unused.
    pub fn of(workspace: &Workspace, layers: Layers) -> Self {
        let uses = dependencies(workspace).inside;
        Self {
            sizes: by_folder(workspace),
            functions: functions(workspace),
            duplicates: duplicates(workspace),
            cycles: [
                cycles::between_modules(workspace, &uses),
                cycles::between_files(workspace, &uses),
            ],
            public_items: public_items(workspace),
            layers,
            with_locations: false,
        }
    }

    fn locations<T: Display>(
        &self,
        out: &mut Formatter<'_>,
        locations: impl Iterator<Item = T>,
    ) -> fmt::Result {
        let shown = locations.take(if self.with_locations { usize::MAX } else { 0 });
        shown
            .into_iter()
            .try_for_each(|location| writeln!(out, "    {location}"))
    }

    fn sizes(&self, out: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            out,
            "{:<36}{:>8}{:>8}{:>8}{:>8}{:>8}",
            "code lines", "total", "files", "median", "p90", "max"
        )?;
        for (name, sizes) in &self.sizes {
            let [median, p90, max] = [50, 90, 100].map(|percent| sizes.percentile(percent));
            let (lines, files) = (sizes.lines(), sizes.files.len());
            writeln!(
                out,
                "{name:<36}{lines:>8}{files:>8}{median:>8}{p90:>8}{max:>8}"
            )?;
        }
        writeln!(out)?;
        let too_long = self.sizes[0].1.too_long().collect::<Vec<_>>();
        figure(
            out,
            &format!("files over {MAX_FILE_LINES} lines"),
            too_long.len(),
        )?;
        self.locations(
            out,
            too_long
                .iter()
                .map(|(lines, path)| format!("{lines:>4} {path}")),
        )
    }

    fn long_functions(&self, out: &mut Formatter<'_>) -> fmt::Result {
        figure(out, "functions", self.functions.len())?;
        for max in LONG_FUNCTIONS {
            let longer = self
                .functions
                .iter()
                .filter(|function| function.lines > max)
                .count();
            figure(out, &format!("functions over {max} lines"), longer)?;
        }
        let longer = self
            .functions
            .iter()
            .filter(|function| function.lines > LONG_FUNCTIONS[0]);
        self.locations(
            out,
            longer.map(|one| format!("{:>4} {} {}", one.lines, one.location, one.name)),
        )
    }

    fn duplicates(&self, out: &mut Formatter<'_>) -> fmt::Result {
        let lines = |duplicates: &[Duplicate]| {
            let describe = |duplicate: &Duplicate| {
                format!(
                    "{:>4} {} = {}",
                    duplicate.lines, duplicate.locations[0], duplicate.locations[1]
                )
            };
            duplicates.iter().map(describe).collect::<Vec<_>>()
        };
        let Duplicates {
            identical,
            same_shape,
        } = &self.duplicates;
        figure(out, "duplicates, identical lines", identical.len())?;
        self.locations(out, lines(identical).iter())?;
        figure(out, "duplicates, same shape", same_shape.len())?;
        self.locations(out, lines(same_shape).iter())
    }

    fn cycles(&self, out: &mut Formatter<'_>) -> fmt::Result {
        for (what, cycles) in ["cycles of modules", "cycles of files within a module"]
            .iter()
            .zip(&self.cycles)
        {
            figure(out, what, cycles.len())?;
            let members = cycles.iter().map(|cycle| cycle.members.len()).sum();
            figure(out, "    members", members)?;
            let lines = cycles.iter().flat_map(|cycle| {
                let members = format!("{}: {}", cycle.package, cycle.members.join(", "));
                std::iter::once(members).chain(cycle.uses.iter().map(|used| format!("    {used}")))
            });
            self.locations(out, lines)?;
        }
        Ok(())
    }

    fn public_items(&self, out: &mut Formatter<'_>) -> fmt::Result {
        figure(out, "public items", self.public_items.len())?;
        let (offered, unused) = self
            .public_items
            .iter()
            .filter(|item| !item.is_used)
            .partition::<Vec<_>, _>(|item| self.layers.offers(item));
        figure(out, "    offered to others", offered.len())?;
        figure(out, "public items without a user", unused.len())?;
        self.locations(
            out,
            unused
                .iter()
                .map(|item| format!("{} {}", item.location, item.what)),
        )
    }
}

impl Display for Report {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        self.sizes(out)?;
        self.long_functions(out)?;
        self.duplicates(out)?;
        self.cycles(out)?;
        self.public_items(out)
    }
}

fn figure(out: &mut Formatter<'_>, what: &str, count: usize) -> fmt::Result {
    writeln!(out, "{what:<36}{count:>8}")
}
