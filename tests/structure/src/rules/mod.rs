//! The rules that hold the direction: each gives a sentence for each place that breaks it.

mod circles;
mod direction;
mod packages;

use crate::dependencies::{Dependencies, dependencies};
use crate::house::House;
use crate::layers::Layers;

/// Everything a rule needs to know.
struct Facts<'a> {
    house: &'a House,
    layers: &'a Layers,
    uses: Dependencies,
}

/// Sentences that say where a rule is broken, and by what, each once; none when all hold.
pub fn broken(house: &House, layers: &Layers) -> Vec<String> {
    let uses = dependencies(house);
    let facts = Facts {
        house,
        layers,
        uses,
    };
    let rules = [
        packages::needs_what_it_must_not,
        packages::uses_more_than_it_may,
        packages::names_what_is_forbidden,
        direction::reaches_up,
        direction::stands_in_no_layer,
        direction::is_listed_in_vain,
        circles::of_modules,
        circles::of_files,
        circles::listed_in_vain,
    ];
    let mut broken = rules
        .iter()
        .flat_map(|rule| rule(&facts))
        .collect::<Vec<_>>();
    broken.dedup();
    broken
}

impl Facts<'_> {
    fn package(&self, module: usize) -> &str {
        &self.house.packages[self.house.package_of(module)].name
    }

    /// Name of the module right under the root.
    fn top(&self, module: usize) -> &str {
        &self.house.modules[self.house.top_of(module)].name
    }

    /// Where a module uses something, as `file:line`.
    fn place(&self, module: usize, line: usize) -> String {
        let path = self.house.file_of(module).source.path.display();
        format!("{path}:{line}")
    }
}
