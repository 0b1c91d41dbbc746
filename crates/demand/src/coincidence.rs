//! Which loads may run together, and the heaviest permitted subset.
//!
//! Loads are the vertices of a graph, an edge joins two that never run together, and a permitted subset is an
//! independent set. The heaviest one is found component by component by branch and bound. Where a component asks
//! for more effort than [`EFFORT`], the value is replaced by an upper bound: the vertices are covered with cliques,
//! of each of which one vertex runs at most.
//!
//! Seasons are kept apart: a subset holds loads of one season and loads without a season.

use site::Season;

/// Branch-and-bound nodes spent on one component before it is only bounded. A count, not a time: the same input
/// gives the same answer on every machine.
pub(crate) const EFFORT: usize = 4_000;

/// The conflict graph.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Coincidence {
    adjacent: Vec<Vec<bool>>,
    season: Vec<Option<Season>>,
    /// Seasons to be looked at one by one; `None` where no load has a season.
    seasons: Vec<Option<Season>>,
    parts: Vec<Part>,
    /// Component of each vertex that is not alone in its own.
    part_of: Vec<Option<usize>>,
    effort: usize,
}

/// A connected component and a cover of it by cliques.
#[derive(Debug, Clone, PartialEq)]
struct Part {
    vertices: Vec<usize>,
    cliques: Vec<Vec<usize>>,
}

/// The heaviest permitted subset.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Heaviest {
    /// Its weight, or an upper bound of it.
    pub value: f64,
    /// The subset, or the best that was found.
    pub chosen: Vec<usize>,
    /// The value is the weight of the subset, not a bound.
    pub exact: bool,
}

impl Coincidence {
    /// A graph of vertices 0.. with a season each and an edge for each pair that never runs together.
    pub fn new(season: Vec<Option<Season>>, edges: &[(usize, usize)]) -> Self {
        let n = season.len();
        let mut adjacent = vec![vec![false; n]; n];
        for &(a, b) in edges {
            if a != b && a < n && b < n {
                adjacent[a][b] = true;
                adjacent[b][a] = true;
            }
        }
        let parts: Vec<Part> = components(&adjacent)
            .into_iter()
            .map(|vertices| Part { cliques: clique_cover(&adjacent, &vertices), vertices })
            .collect();
        let mut part_of = vec![None; n];
        for (k, part) in parts.iter().enumerate().filter(|(_, part)| part.vertices.len() > 1) {
            for v in &part.vertices {
                part_of[*v] = Some(k);
            }
        }
        let mut seasons: Vec<Option<Season>> = season.iter().copied().flatten().map(Some).collect();
        seasons.sort();
        seasons.dedup();
        if seasons.is_empty() {
            seasons.push(None);
        }
        Self { adjacent, season, seasons, parts, part_of, effort: EFFORT }
    }

    /// The same with another limit of effort.
    #[cfg(test)]
    pub fn with_effort(mut self, effort: usize) -> Self {
        self.effort = effort;
        self
    }

    /// Whether two vertices may be in one permitted subset.
    pub fn compatible(&self, a: usize, b: usize) -> bool {
        let seasons = match (self.season.get(a), self.season.get(b)) {
            (Some(Some(x)), Some(Some(y))) => x == y,
            _ => true,
        };
        seasons && !self.adjacent.get(a).and_then(|row| row.get(b)).copied().unwrap_or(false)
    }

    fn runs_in(&self, vertex: usize, season: Option<Season>) -> bool {
        self.season.get(vertex).copied().flatten().is_none_or(|its| Some(its) == season)
    }

    /// The heaviest permitted subset. Vertices without positive weight are left out of it.
    pub fn heaviest(&self, weights: &[f64]) -> Heaviest {
        let mut best = Heaviest { value: 0.0, chosen: Vec::new(), exact: true };
        for season in &self.seasons {
            let found = self.heaviest_in(weights, *season);
            if found.value > best.value {
                best = found;
            }
        }
        best
    }

    fn heaviest_in(&self, weights: &[f64], season: Option<Season>) -> Heaviest {
        let mut total = Heaviest { value: 0.0, chosen: Vec::new(), exact: true };
        for part in &self.parts {
            if let [only] = part.vertices[..] {
                let weight = weights.get(only).copied().unwrap_or(0.0);
                if weight > 0.0 && self.runs_in(only, season) {
                    total.value += weight;
                    total.chosen.push(only);
                }
                continue;
            }
            let found = self.heaviest_of(part, weights, season);
            total.value += found.value;
            total.exact &= found.exact;
            total.chosen.extend(found.chosen);
        }
        total.chosen.sort_unstable();
        total
    }

    fn heaviest_of(&self, part: &Part, weights: &[f64], season: Option<Season>) -> Heaviest {
        let weight = |v: usize| weights.get(v).copied().unwrap_or(0.0);
        let counts = |v: usize| weight(v) > 0.0 && self.runs_in(v, season);
        let cliques: Vec<Vec<usize>> = part
            .cliques
            .iter()
            .map(|clique| {
                let mut kept: Vec<usize> = clique.iter().copied().filter(|v| counts(*v)).collect();
                kept.sort_by(|a, b| weight(*b).total_cmp(&weight(*a)).then(a.cmp(b)));
                kept
            })
            .filter(|clique| !clique.is_empty())
            .collect();
        let mut rest = vec![0.0; cliques.len() + 1];
        for k in (0..cliques.len()).rev() {
            rest[k] = rest[k + 1] + cliques[k].first().map_or(0.0, |v| weight(*v));
        }
        let mut search = Search {
            graph: self,
            cliques: &cliques,
            rest: &rest,
            weights,
            chosen: Vec::new(),
            best: Vec::new(),
            best_value: 0.0,
            left: self.effort,
        };
        let exact = search.branch(0, 0.0);
        let value = if exact { search.best_value } else { rest[0] };
        Heaviest { value, chosen: search.best, exact }
    }

    /// Upper bound of the energy (weight x seconds) within a window of `window_s` seconds, when vertex v runs at
    /// most at weight `top[v]` and takes at most `energy[v]` of it.
    ///
    /// Two loads that exclude each other may still take turns within the window, so the heaviest subset alone would
    /// be no bound. Of each clique one vertex runs at a time: its time is given to the heaviest first, each no
    /// longer than its own energy lasts. No component takes more than its heaviest subset all the time.
    pub fn energy_bound(&self, top: &[f64], energy: &[f64], window_s: f64) -> f64 {
        self.seasons.iter().map(|s| self.energy_bound_in(top, energy, window_s, *s)).fold(0.0, f64::max)
    }

    fn energy_bound_in(&self, top: &[f64], energy: &[f64], window_s: f64, season: Option<Season>) -> f64 {
        let at = |values: &[f64], v: usize| values.get(v).copied().unwrap_or(0.0).max(0.0);
        let mut total = 0.0;
        for part in &self.parts {
            if let [only] = part.vertices[..] {
                if self.runs_in(only, season) {
                    total += at(energy, only).min(at(top, only) * window_s);
                }
                continue;
            }
            let always = self.heaviest_of(part, top, season).value * window_s;
            total += always.min(self.turns_in(part, top, energy, window_s, season));
        }
        total
    }

    /// Energy of a component whose cliques are filled with the heaviest of their loads first.
    fn turns_in(
        &self,
        part: &Part,
        top: &[f64],
        energy: &[f64],
        window_s: f64,
        season: Option<Season>,
    ) -> f64 {
        let at = |values: &[f64], v: usize| values.get(v).copied().unwrap_or(0.0).max(0.0);
        let mut turns = 0.0;
        for clique in &part.cliques {
            let mut order: Vec<usize> =
                clique.iter().copied().filter(|v| at(top, *v) > 0.0 && self.runs_in(*v, season)).collect();
            order.sort_by(|a, b| at(top, *b).total_cmp(&at(top, *a)).then(a.cmp(b)));
            let mut left_s = window_s;
            for v in order {
                let taken = at(energy, v).min(at(top, v) * left_s);
                turns += taken;
                left_s = (left_s - taken / at(top, v)).max(0.0);
            }
        }
        turns
    }

    /// Number of seasons to be looked at, one at least.
    pub fn seasons(&self) -> usize {
        self.seasons.len()
    }

    fn season_at(&self, season: usize) -> Option<Season> {
        self.seasons.get(season).copied().flatten()
    }

    /// Whether a vertex counts in the season of that number.
    pub fn runs_in_season(&self, vertex: usize, season: usize) -> bool {
        self.runs_in(vertex, self.season_at(season))
    }

    /// Component of a vertex; none where it excludes no other.
    pub fn part_of(&self, vertex: usize) -> Option<usize> {
        self.part_of.get(vertex).copied().flatten()
    }

    /// Weight of the heaviest permitted subset of one component, or an upper bound of it.
    pub fn heaviest_in_part(&self, part: usize, weights: &[f64], season: usize) -> f64 {
        self.parts.get(part).map_or(0.0, |p| self.heaviest_of(p, weights, self.season_at(season)).value)
    }

    /// Of one component: the energy when of each clique one vertex runs at a time (see [`Self::energy_bound`]).
    pub fn turns(&self, part: usize, top: &[f64], energy: &[f64], window_s: f64, season: usize) -> f64 {
        let season = self.season_at(season);
        self.parts.get(part).map_or(0.0, |p| self.turns_in(p, top, energy, window_s, season))
    }
}

struct Search<'a> {
    graph: &'a Coincidence,
    cliques: &'a [Vec<usize>],
    rest: &'a [f64],
    weights: &'a [f64],
    chosen: Vec<usize>,
    best: Vec<usize>,
    best_value: f64,
    left: usize,
}

impl Search<'_> {
    /// From clique `k` on, with `value` chosen so far: one vertex of each clique, or none. False when out of effort.
    fn branch(&mut self, k: usize, value: f64) -> bool {
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        if value > self.best_value {
            self.best_value = value;
            self.best = self.chosen.clone();
        }
        let (Some(clique), Some(bound)) = (self.cliques.get(k), self.rest.get(k)) else { return true };
        if value + bound <= self.best_value {
            return true;
        }
        for &v in clique {
            if self.chosen.iter().all(|c| !self.graph.adjacent[*c][v]) {
                self.chosen.push(v);
                let done = self.branch(k + 1, value + self.weights.get(v).copied().unwrap_or(0.0));
                self.chosen.pop();
                if !done {
                    return false;
                }
            }
        }
        self.branch(k + 1, value)
    }
}

fn components(adjacent: &[Vec<bool>]) -> Vec<Vec<usize>> {
    let mut seen = vec![false; adjacent.len()];
    let mut parts = Vec::new();
    for start in 0..adjacent.len() {
        if seen[start] {
            continue;
        }
        seen[start] = true;
        let mut part = vec![start];
        let mut at = 0;
        while let Some(&v) = part.get(at) {
            for w in 0..adjacent.len() {
                if adjacent[v][w] && !seen[w] {
                    seen[w] = true;
                    part.push(w);
                }
            }
            at += 1;
        }
        part.sort_unstable();
        parts.push(part);
    }
    parts
}

/// Puts each vertex into the first clique that it completes.
fn clique_cover(adjacent: &[Vec<bool>], vertices: &[usize]) -> Vec<Vec<usize>> {
    let mut cliques: Vec<Vec<usize>> = Vec::new();
    for &v in vertices {
        match cliques.iter_mut().find(|clique| clique.iter().all(|c| adjacent[*c][v])) {
            Some(clique) => clique.push(v),
            None => cliques.push(vec![v]),
        }
    }
    cliques
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn brute_force(season: &[Option<Season>], edges: &[(usize, usize)], weights: &[f64]) -> f64 {
        let n = weights.len();
        (0u32..1 << n)
            .filter(|set| edges.iter().all(|(a, b)| a == b || set >> a & 1 == 0 || set >> b & 1 == 0))
            .filter(|set| {
                let in_set = |s| (0..n).any(|v| set >> v & 1 == 1 && season[v] == Some(s));
                !(in_set(Season::Summer) && in_set(Season::Winter))
            })
            .map(|set| (0..n).filter(|v| set >> v & 1 == 1).map(|v| weights[v]).sum::<f64>())
            .fold(0.0, f64::max)
    }

    fn any_season() -> impl Strategy<Value = Option<Season>> {
        prop_oneof![Just(None), Just(Some(Season::Summer)), Just(Some(Season::Winter))]
    }

    type Case = (Vec<Option<Season>>, Vec<(usize, usize)>, Vec<f64>);

    fn any_case() -> impl Strategy<Value = Case> {
        (2usize..11).prop_flat_map(|n| {
            (
                proptest::collection::vec(any_season(), n),
                proptest::collection::vec((0..n, 0..n), 0..25),
                proptest::collection::vec((-10i32..100).prop_map(f64::from), n),
            )
        })
    }

    proptest! {
        #[test]
        fn heaviest_subset_is_that_of_brute_force((season, edges, weights) in any_case()) {
            let graph = Coincidence::new(season.clone(), &edges);
            let found = graph.heaviest(&weights);
            prop_assert!(found.exact);
            prop_assert!((found.value - brute_force(&season, &edges, &weights)).abs() < 1e-9);
            let sum: f64 = found.chosen.iter().map(|v| weights[*v]).sum();
            prop_assert!((sum - found.value).abs() < 1e-9);
            for a in &found.chosen {
                for b in &found.chosen {
                    prop_assert!(a == b || graph.compatible(*a, *b));
                }
            }
        }

        #[test]
        fn out_of_effort_never_falls_below_the_truth((season, edges, weights) in any_case()) {
            let bounded = Coincidence::new(season.clone(), &edges).with_effort(2).heaviest(&weights);
            prop_assert!(bounded.value >= brute_force(&season, &edges, &weights) - 1e-9);
        }
    }

    #[test]
    fn loads_that_take_turns_both_count_in_a_long_window() {
        // 1 kW each, an hour each, never together: in two hours they take 2 kWh, in half an hour 0.5 kWh
        let graph = Coincidence::new(vec![None, None], &[(0, 1)]);
        let hours = |h: f64| graph.energy_bound(&[1.0, 1.0], &[h.min(1.0), h.min(1.0)], h);
        assert!((hours(2.0) - 2.0).abs() < 1e-12);
        assert!((hours(0.5) - 0.5).abs() < 1e-12);
        assert!((hours(4.0) - 2.0).abs() < 1e-12);
    }
}
