//! The shortest order of units along a cable.

/// Up to so many units every order is looked at.
const EXACT: usize = 12;

/// An order of points with the least cable between neighbours, each step along the wall's edges (across and up). Exact up
/// to twelve points, and then it says so; beyond, the best of a search that need not end at the shortest. `first` fixes
/// the point that the cable starts at. Points are in metres; ties go to the smaller number.
pub fn shortest_order(points_m: &[(f64, f64)], first: Option<usize>) -> (Vec<usize>, bool) {
    let n = points_m.len();
    let step = |a: usize, b: usize| match (points_m.get(a), points_m.get(b)) {
        (Some(p), Some(q)) => (p.0 - q.0).abs() + (p.1 - q.1).abs(),
        _ => f64::INFINITY,
    };
    if n <= 1 {
        return ((0..n).collect(), true);
    }
    if n <= EXACT { (exact(n, &step, first), true) } else { (good(n, &step, first), false) }
}

/// Best way through every set of points to each of its members.
fn exact(n: usize, step: &dyn Fn(usize, usize) -> f64, first: Option<usize>) -> Vec<usize> {
    let sets = 1usize << n;
    let at = |set: usize, last: usize| set * n + last;
    let mut best = vec![(f64::INFINITY, usize::MAX); sets * n];
    let allowed = |k: usize| first.is_none_or(|f| f == k);
    for k in (0..n).filter(|&k| allowed(k)) {
        if let Some(cell) = best.get_mut(at(1 << k, k)) {
            *cell = (0.0, usize::MAX);
        }
    }
    for set in 1..sets {
        for last in (0..n).filter(|k| set & (1 << k) != 0) {
            let Some(&(length, _)) = best.get(at(set, last)) else { continue };
            if !length.is_finite() {
                continue;
            }
            for next in (0..n).filter(|k| set & (1 << k) == 0) {
                let longer = length + step(last, next);
                if let Some(cell) = best.get_mut(at(set | (1 << next), next))
                    && longer < cell.0 - 1e-12
                {
                    *cell = (longer, last);
                }
            }
        }
    }
    let mut set = sets - 1;
    let ends = (0..n).filter_map(|k| best.get(at(set, k)).map(|cell| (cell.0, k)));
    let mut last = ends.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))).map_or(0, |e| e.1);
    let mut order = vec![last];
    while let Some(&(_, before)) = best.get(at(set, last))
        && before != usize::MAX
    {
        set &= !(1 << last);
        last = before;
        order.push(last);
    }
    order.reverse();
    // a free cable has two directions: the one that begins with the smaller number
    if first.is_none() && order.last() < order.first() {
        order.reverse();
    }
    order
}

/// Nearest neighbours from every start, then stretches turned round as long as that shortens.
fn good(n: usize, step: &dyn Fn(usize, usize) -> f64, first: Option<usize>) -> Vec<usize> {
    let length = |order: &[usize]| -> f64 {
        order.windows(2).map(|w| if let [a, b] = w { step(*a, *b) } else { 0.0 }).sum()
    };
    let mut best: Option<(f64, Vec<usize>)> = None;
    for start in (0..n).filter(|&k| first.is_none_or(|f| f == k)) {
        let mut order = vec![start];
        while let Some(&last) = order.last() {
            let left = (0..n).filter(|k| !order.contains(k));
            match left.min_by(|a, b| step(last, *a).total_cmp(&step(last, *b)).then(a.cmp(b))) {
                Some(next) => order.push(next),
                None => break,
            }
        }
        let from = usize::from(first.is_some());
        let mut shorter = true;
        while shorter {
            shorter = false;
            for i in from..n {
                for j in i + 1..n {
                    let mut turned = order.clone();
                    if let Some(stretch) = turned.get_mut(i..=j) {
                        stretch.reverse();
                    }
                    if length(&turned) < length(&order) - 1e-9 {
                        order = turned;
                        shorter = true;
                    }
                }
            }
        }
        let found = length(&order);
        if best.as_ref().is_none_or(|(l, _)| found < l - 1e-9) {
            best = Some((found, order));
        }
    }
    best.map_or_else(|| (0..n).collect(), |(_, order)| order)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn length(points: &[(f64, f64)], order: &[usize]) -> f64 {
        let step = |a: usize, b: usize| (points[a].0 - points[b].0).abs() + (points[a].1 - points[b].1).abs();
        order.windows(2).map(|w| step(w[0], w[1])).sum()
    }

    fn orders(n: usize) -> Vec<Vec<usize>> {
        if n == 0 {
            return vec![Vec::new()];
        }
        let shorter = orders(n - 1);
        let with = |order: &Vec<usize>, k: usize| {
            let mut longer = order.clone();
            longer.insert(k, n - 1);
            longer
        };
        shorter.iter().flat_map(|o| (0..n).map(move |k| with(o, k))).collect()
    }

    /// Two rows of two: across, up, and back, 1 + 1.1 + 1.
    #[test]
    fn a_square_is_walked_round() {
        let points = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.1), (1.0, 1.1)];
        assert_eq!(shortest_order(&points, None), (vec![0, 1, 3, 2], true));
        assert!((length(&points, &[0, 1, 3, 2]) - 3.1).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn no_order_is_shorter(points in prop::collection::vec((0.0..6.0_f64, 0.0..2.0_f64), 2..7), fixed in any::<bool>()) {
            let first = fixed.then_some(0);
            let (found, exact) = shortest_order(&points, first);
            prop_assert!(exact);
            let best = orders(points.len()).into_iter().filter(|o| first.is_none_or(|f| o[0] == f))
                .map(|o| length(&points, &o)).fold(f64::INFINITY, f64::min);
            prop_assert!((length(&points, &found) - best).abs() < 1e-9);
            let mut all = found.clone();
            all.sort_unstable();
            prop_assert_eq!(all, (0..points.len()).collect::<Vec<_>>());
        }

        #[test]
        fn many_points_are_all_visited_and_the_start_is_kept(points in prop::collection::vec((0.0..9.0_f64, 0.0..2.0_f64), 13..20)) {
            let (found, exact) = shortest_order(&points, Some(3));
            prop_assert!(!exact && found[0] == 3);
            let mut all = found;
            all.sort_unstable();
            prop_assert_eq!(all, (0..points.len()).collect::<Vec<_>>());
        }
    }
}
