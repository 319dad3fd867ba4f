//! Circles: modules that know each other, one way and the other.

use crate::dependencies::Dependency;
use crate::house::House;
use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};
use std::collections::BTreeMap;

/// Modules of which each uses the next and the last the first, by any way round.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Circle {
    /// The package.
    pub package: String,
    /// Names of modules, or paths of files from the folder of the package; in order.
    pub members: Vec<String>,
    /// One use for each step between two members, as `from -> to, file:line: path`; in order.
    pub uses: Vec<String>,
}

/// Circles among the modules that stand right under the root of their target.
pub fn between_modules(house: &House, dependencies: &[Dependency]) -> Vec<Circle> {
    let node = |module: usize| house.top_of(module);
    let kept = |from: usize, to: usize| house.root_of(from) == house.root_of(to);
    circles(house, dependencies, node, kept, |module| {
        house.modules[module].name.clone()
    })
}

/// Circles among the files of one such module.
pub fn between_files(house: &House, dependencies: &[Dependency]) -> Vec<Circle> {
    let node = |module: usize| house.modules[module].place.0;
    let kept = |from: usize, to: usize| house.top_of(from) == house.top_of(to);
    circles(house, dependencies, node, kept, |file| {
        let file = &house.files[file];
        let folder = &house.packages[file.package].folder;
        let path = file
            .source
            .path
            .strip_prefix(folder)
            .unwrap_or(&file.source.path);
        path.display().to_string()
    })
}

fn circles(
    house: &House,
    dependencies: &[Dependency],
    node: impl Fn(usize) -> usize,
    kept: impl Fn(usize, usize) -> bool,
    name: impl Fn(usize) -> String,
) -> Vec<Circle> {
    let mut graph = DiGraph::<(usize, usize), &Dependency>::new();
    let mut indices = BTreeMap::<usize, NodeIndex>::new();
    let defining = dependencies
        .iter()
        .filter(|dependency| !dependency.handed_on);
    for dependency in defining.filter(|dependency| kept(dependency.from, dependency.to)) {
        let mut at = |module: usize| {
            let new = || graph.add_node((node(module), house.package_of(module)));
            *indices.entry(node(module)).or_insert_with(new)
        };
        let (from, to) = (at(dependency.from), at(dependency.to));
        if from != to && !graph.contains_edge(from, to) {
            graph.add_edge(from, to, dependency);
        }
    }
    let mut circles = Vec::new();
    for members in tarjan_scc(&graph)
        .iter()
        .filter(|members| members.len() > 1)
    {
        let mut names = members
            .iter()
            .map(|&member| name(graph[member].0))
            .collect::<Vec<_>>();
        names.sort();
        let within = graph.edge_indices().filter_map(|edge| {
            let (from, to) = graph.edge_endpoints(edge)?;
            let [user, used] = [from, to].map(|end| name(graph[end].0));
            let within = members.contains(&from) && members.contains(&to);
            within.then(|| format!("{user} -> {used}, {}", place(house, graph[edge])))
        });
        let mut uses = within.collect::<Vec<_>>();
        uses.sort();
        circles.push(Circle {
            package: house.packages[graph[members[0]].1].name.clone(),
            members: names,
            uses,
        });
    }
    circles.sort();
    circles
}

/// Where a use stands and what it says.
pub fn place(house: &House, dependency: &Dependency) -> String {
    let path = house.file_of(dependency.from).source.path.display();
    format!("{path}:{}: {}", dependency.line, dependency.path)
}
