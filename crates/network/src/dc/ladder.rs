//! The bus in plain numbers: nodes, conductances, and the factors that solve them.
//!
//! Landings with no resistance between them are one node; a unit whose cable has resistance adds a node for its
//! terminals.

/// A string of the bank.
#[derive(Debug, Clone, Copy)]
pub(super) struct Branch {
    pub landing: usize,
    pub ocv_v: f64,
    /// Internal, management system and cable together; above zero.
    pub loop_ohm: f64,
    /// Connected.
    pub on: bool,
}

/// A unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Draw {
    pub landing: usize,
    /// Positive draws, negative charges.
    pub power_w: f64,
    pub cable_ohm: f64,
}

/// The bus.
#[derive(Debug, Clone)]
pub(super) struct Ladder {
    pub segments_ohm: Vec<f64>,
    pub strings: Vec<Branch>,
    pub draws: Vec<Draw>,
}

/// Nodes of a ladder.
#[derive(Debug, Clone)]
pub(super) struct Nodes {
    pub count: usize,
    /// Node of each landing.
    pub landing: Vec<usize>,
    /// Node of each unit's terminals.
    pub terminal: Vec<usize>,
}

impl Ladder {
    pub fn nodes(&self) -> Nodes {
        let mut landing = vec![0];
        let mut last = 0;
        for ohm in &self.segments_ohm {
            if *ohm > 0.0 {
                last += 1;
            }
            landing.push(last);
        }
        let mut count = last + 1;
        let mut terminal = Vec::new();
        for draw in &self.draws {
            if draw.cable_ohm > 0.0 {
                terminal.push(count);
                count += 1;
            } else {
                terminal.push(landing[draw.landing]);
            }
        }
        Nodes { count, landing, terminal }
    }

    /// Conductances between nodes: (from, to, siemens), from where segments and unit cables have resistance.
    fn links(&self, nodes: &Nodes) -> Vec<(usize, usize, f64)> {
        let segments = self.segments_ohm.iter().enumerate().filter(|(_, ohm)| **ohm > 0.0);
        let mut links: Vec<(usize, usize, f64)> =
            segments.map(|(k, ohm)| (nodes.landing[k], nodes.landing[k + 1], 1.0 / ohm)).collect();
        for (draw, terminal) in self.draws.iter().zip(&nodes.terminal) {
            if draw.cable_ohm > 0.0 {
                links.push((nodes.landing[draw.landing], *terminal, 1.0 / draw.cable_ohm));
            }
        }
        links
    }

    /// Nodal conductances, row by row, in siemens.
    pub fn conductances(&self, nodes: &Nodes) -> Vec<f64> {
        let n = nodes.count;
        let mut g = vec![0.0; n * n];
        for string in self.strings.iter().filter(|s| s.on) {
            let k = nodes.landing[string.landing];
            g[k * n + k] += 1.0 / string.loop_ohm;
        }
        for (i, j, siemens) in self.links(nodes) {
            g[i * n + i] += siemens;
            g[j * n + j] += siemens;
            g[i * n + j] -= siemens;
            g[j * n + i] -= siemens;
        }
        g
    }

    /// Current that the strings would drive into each node held at zero volts, in amperes.
    pub fn driven_a(&self, nodes: &Nodes) -> Vec<f64> {
        let mut driven = vec![0.0; nodes.count];
        for string in self.strings.iter().filter(|s| s.on) {
            driven[nodes.landing[string.landing]] += string.ocv_v / string.loop_ohm;
        }
        driven
    }

    /// What is left of Kirchhoff's current law at each node with voltages `v` and `share` of the units' power,
    /// summed branch by branch, in amperes.
    pub fn mismatch_a(&self, nodes: &Nodes, v: &[f64], share: f64) -> Vec<f64> {
        let mut f = vec![0.0; nodes.count];
        for string in self.strings.iter().filter(|s| s.on) {
            let k = nodes.landing[string.landing];
            f[k] += (string.ocv_v - v[k]) / string.loop_ohm;
        }
        for (i, j, siemens) in self.links(nodes) {
            let current = (v[i] - v[j]) * siemens;
            f[i] -= current;
            f[j] += current;
        }
        for (draw, k) in self.draws.iter().zip(&nodes.terminal) {
            let power_w = share * draw.power_w;
            // no power is no current, also at the 0 V of a fault
            if power_w.abs() > 0.0 {
                f[*k] -= power_w / v[*k];
            }
        }
        f
    }
}

/// L of a symmetric matrix A = L · L^T (Cholesky).
#[derive(Debug, Clone)]
pub(super) struct Factor {
    n: usize,
    l: Vec<f64>,
}

impl Factor {
    /// Factors a symmetric matrix of n rows; `None` where it is not positive definite to working precision. For a
    /// matrix whose entries off the diagonal are not positive that is the same as being a non-singular M-matrix.
    pub fn of(n: usize, a: &[f64]) -> Option<Self> {
        let mut l = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
                let rest = a[i * n + j] - known;
                if i == j {
                    if rest.is_nan() || rest <= 1e-14 * a[i * n + i].abs() {
                        return None;
                    }
                    l[i * n + i] = rest.sqrt();
                } else {
                    l[i * n + j] = rest / l[j * n + j];
                }
            }
        }
        Some(Self { n, l })
    }

    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let (n, l) = (self.n, &self.l);
        let mut x = b.to_vec();
        for i in 0..n {
            let known: f64 = (0..i).map(|k| l[i * n + k] * x[k]).sum();
            x[i] = (x[i] - known) / l[i * n + i];
        }
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|k| l[k * n + i] * x[k]).sum();
            x[i] = (x[i] - known) / l[i * n + i];
        }
        x
    }
}
