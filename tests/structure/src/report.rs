//! The table that is printed, and the places behind its figures.

use crate::circles::{self, Circle};
use crate::dependencies::dependencies;
use crate::functions::{Function, functions};
use crate::house::House;
use crate::publics::{PublicItem, publics};
use crate::repeats::{FEWEST_LINES, Repeat, Repeats, repeats};
use crate::sizes::{MOST_LINES_A_FILE, Sizes, by_folder};
use std::fmt::{self, Display, Formatter};

/// Lines of a function that call for a second look, and those that none should pass.
const LONG_FUNCTIONS: [usize; 2] = [40, 60];

/// Everything that is measured.
#[derive(Clone, Debug)]
pub struct Report {
    sizes: Vec<(String, Sizes)>,
    functions: Vec<Function>,
    repeats: Repeats,
    circles: [Vec<Circle>; 2],
    publics: Vec<PublicItem>,
    /// Whether the places are printed too.
    pub with_places: bool,
}

impl Report {
    /// Measures the product.
    pub fn of(house: &House) -> Self {
        let uses = dependencies(house).inside;
        Self {
            sizes: by_folder(house),
            functions: functions(house),
            repeats: repeats(house),
            circles: [
                circles::between_modules(house, &uses),
                circles::between_files(house, &uses),
            ],
            publics: publics(house),
            with_places: false,
        }
    }

    fn places<T: Display>(
        &self,
        out: &mut Formatter<'_>,
        places: impl Iterator<Item = T>,
    ) -> fmt::Result {
        let shown = places.take(if self.with_places { usize::MAX } else { 0 });
        shown
            .into_iter()
            .try_for_each(|place| writeln!(out, "    {place}"))
    }

    fn sizes(&self, out: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            out,
            "{:<36}{:>8}{:>8}{:>8}{:>8}{:>8}",
            "code lines", "lines", "files", "median", "90 %", "most"
        )?;
        for (name, sizes) in &self.sizes {
            let [median, most_files, most] = [50, 90, 100].map(|percent| sizes.percentile(percent));
            let (lines, files) = (sizes.lines(), sizes.files.len());
            writeln!(
                out,
                "{name:<36}{lines:>8}{files:>8}{median:>8}{most_files:>8}{most:>8}"
            )?;
        }
        writeln!(out)?;
        let too_long = self.sizes[0].1.too_long().collect::<Vec<_>>();
        figure(
            out,
            &format!("files past {MOST_LINES_A_FILE} lines"),
            too_long.len(),
        )?;
        self.places(
            out,
            too_long
                .iter()
                .map(|(lines, path)| format!("{lines:>4} {path}")),
        )
    }

    fn long_functions(&self, out: &mut Formatter<'_>) -> fmt::Result {
        figure(out, "functions", self.functions.len())?;
        for most in LONG_FUNCTIONS {
            let longer = self
                .functions
                .iter()
                .filter(|function| function.lines > most)
                .count();
            figure(out, &format!("functions past {most} lines"), longer)?;
        }
        let longer = self
            .functions
            .iter()
            .filter(|function| function.lines > LONG_FUNCTIONS[0]);
        self.places(
            out,
            longer.map(|one| format!("{:>4} {} {}", one.lines, one.place, one.name)),
        )
    }

    fn repeated(&self, out: &mut Formatter<'_>) -> fmt::Result {
        let told = |repeats: &[Repeat]| {
            let tell = |repeat: &Repeat| {
                format!(
                    "{:>4} {} = {}",
                    repeat.lines, repeat.places[0], repeat.places[1]
                )
            };
            repeats.iter().map(tell).collect::<Vec<_>>()
        };
        let Repeats {
            identical,
            same_shape,
        } = &self.repeats;
        figure(
            out,
            &format!("repeats of {FEWEST_LINES} lines, identical"),
            identical.len(),
        )?;
        self.places(out, told(identical).iter())?;
        figure(
            out,
            &format!("repeats of {FEWEST_LINES} lines, same shape"),
            same_shape.len(),
        )?;
        self.places(out, told(same_shape).iter())
    }

    fn circles(&self, out: &mut Formatter<'_>) -> fmt::Result {
        for (what, circles) in ["circles of modules", "circles of files in a module"]
            .iter()
            .zip(&self.circles)
        {
            figure(out, what, circles.len())?;
            let members = circles.iter().map(|circle| circle.members.len()).sum();
            figure(out, "    members of them", members)?;
            let told = circles.iter().flat_map(|circle| {
                let members = format!("{}: {}", circle.package, circle.members.join(", "));
                std::iter::once(members).chain(circle.uses.iter().map(|used| format!("    {used}")))
            });
            self.places(out, told)?;
        }
        Ok(())
    }

    fn public_items(&self, out: &mut Formatter<'_>) -> fmt::Result {
        figure(out, "public items", self.publics.len())?;
        let uncalled = self
            .publics
            .iter()
            .filter(|item| !item.called)
            .collect::<Vec<_>>();
        figure(out, "public items without a caller", uncalled.len())?;
        self.places(
            out,
            uncalled
                .iter()
                .map(|item| format!("{} {}", item.place, item.what)),
        )
    }
}

impl Display for Report {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        self.sizes(out)?;
        self.long_functions(out)?;
        self.repeated(out)?;
        self.circles(out)?;
        self.public_items(out)
    }
}

fn figure(out: &mut Formatter<'_>, what: &str, count: usize) -> fmt::Result {
    writeln!(out, "{what:<36}{count:>8}")
}
