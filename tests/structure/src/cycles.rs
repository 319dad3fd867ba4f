//! Dependency cycles between modules and between files.

use crate::dependencies::Dependency;
use crate::workspace::Workspace;
use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};
use std::collections::BTreeMap;

/// A strongly connected component of the dependency graph.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cycle {
    /// Name of the package.
    pub package: String,
    /// Module names, or file paths relative to the package; sorted.
    pub members: Vec<String>,
    /// One use for each dependency between two members, as `from -> to, file:line: path`; sorted.
    pub uses: Vec<String>,
}

/// Cycles between the top-level modules of a crate.
pub fn between_modules(workspace: &Workspace, dependencies: &[Dependency]) -> Vec<Cycle> {
    let node = |module: usize| workspace.top_of(module);
    let kept = |from: usize, to: usize| workspace.root_of(from) == workspace.root_of(to);
    cycles(workspace, dependencies, node, kept, |module| {
        workspace.modules[module].name.clone()
    })
}

/// Cycles between the files of one top-level module.
pub fn between_files(workspace: &Workspace, dependencies: &[Dependency]) -> Vec<Cycle> {
    let node = |module: usize| workspace.modules[module].section.0;
    let kept = |from: usize, to: usize| workspace.top_of(from) == workspace.top_of(to);
    cycles(workspace, dependencies, node, kept, |file| {
        workspace.path_in_package(&workspace.files[file])
    })
}

/// Nodes are modules or files with their package, edges the first use of one by another.
type Graph<'a> = DiGraph<(usize, usize), &'a Dependency>;

/// Cycles of the nodes that modules belong to, over the dependencies that are `kept`.
fn cycles(
    workspace: &Workspace,
    dependencies: &[Dependency],
    node: impl Fn(usize) -> usize,
    kept: impl Fn(usize, usize) -> bool,
    name: impl Fn(usize) -> String,
) -> Vec<Cycle> {
    let mut graph = Graph::new();
    let mut indices = BTreeMap::<usize, NodeIndex>::new();
    let defining = dependencies.iter().filter(|used| !used.reexported);
    for used in defining.filter(|used| kept(used.from, used.to)) {
        let [from, to] = [used.from, used.to].map(|module| {
            let new = || graph.add_node((node(module), workspace.package_of(module)));
            *indices.entry(node(module)).or_insert_with(new)
        });
        if from != to && !graph.contains_edge(from, to) {
            graph.add_edge(from, to, used);
        }
    }
    let components = tarjan_scc(&graph).into_iter();
    let components = components.filter(|members| members.len() > 1);
    let cycles = components.map(|members| cycle(workspace, &graph, &members, &name));
    let mut cycles = cycles.collect::<Vec<_>>();
    cycles.sort();
    cycles
}

fn cycle(
    workspace: &Workspace,
    graph: &Graph<'_>,
    members: &[NodeIndex],
    name: impl Fn(usize) -> String,
) -> Cycle {
    let named = |index: NodeIndex| name(graph[index].0);
    let mut names = members
        .iter()
        .map(|&member| named(member))
        .collect::<Vec<_>>();
    names.sort();
    let uses = graph.edge_indices().filter_map(|edge| {
        let (from, to) = graph.edge_endpoints(edge)?;
        let inside = members.contains(&from) && members.contains(&to);
        let used = location(workspace, graph[edge]);
        inside.then(|| format!("{} -> {}, {used}", named(from), named(to)))
    });
    let mut uses = uses.collect::<Vec<_>>();
    uses.sort();
    Cycle {
        package: workspace.packages[graph[members[0]].1].name.clone(),
        members: names,
        uses,
    }
}

fn location(workspace: &Workspace, used: &Dependency) -> String {
    let path = workspace.file_of(used.from).source.path.display();
    format!("{path}:{}: {}", used.line, used.path)
}
