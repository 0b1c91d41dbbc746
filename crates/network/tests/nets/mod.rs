//! Random networks from a seed: trees with chords, some buses on fewer legs, loads of all kinds.

// not every test uses every part
#![allow(dead_code)]

use network::solve::Conductor::{L1, L2, L3, N};
use network::solve::{
    BusIx, Conductor, ElementIx, LoadIx, ModelError, Network, Solution, SourceIx, SourceSpec, Zip,
};
use num_complex::Complex64;

/// A generator of numbers (splitmix64).
#[derive(Debug, Clone)]
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From low to high.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    pub fn chance(&mut self, p: f64) -> bool {
        self.within(0.0, 1.0) < p
    }
}

/// What a random network shall be like.
#[derive(Debug, Clone, Copy)]
pub struct Recipe {
    pub buses: usize,
    /// Chords per bus.
    pub chords: f64,
    pub three_phase: bool,
    /// Power of a load at most, in VA.
    pub load_va: f64,
    /// Only constant impedance.
    pub linear: bool,
}

/// A network with the numbers of its parts.
#[derive(Debug, Clone)]
pub struct Net {
    pub network: Network,
    pub buses: Vec<(BusIx, Vec<Conductor>)>,
    pub elements: Vec<(ElementIx, Vec<(BusIx, Conductor)>)>,
    pub loads: Vec<(LoadIx, BusIx, (Conductor, Conductor), Zip)>,
    pub source: SourceIx,
}

pub fn magnitude(z: Complex64) -> f64 {
    libm::hypot(z.re, z.im)
}

fn line(net: &mut Net, dice: &mut Dice, a: usize, b: usize) -> Result<(), ModelError> {
    let both: Vec<Conductor> =
        net.buses[b].1.iter().copied().filter(|c| net.buses[a].1.contains(c)).collect();
    let n = both.len();
    let r = dice.within(0.002, 0.05);
    let x = dice.within(0.1, 1.0) * r;
    let coupling = dice.within(0.0, 0.5);
    let z: Vec<Complex64> = (0..n * n)
        .map(|k| if k / n == k % n { Complex64::new(r, x) } else { Complex64::new(0.0, x * coupling) })
        .collect();
    let (from, to) = (net.buses[a].0, net.buses[b].0);
    let ix = net.network.line("line", from, to, &both, &z)?;
    let ends = both.iter().flat_map(|c| [(from, *c), (to, *c)]).collect();
    net.elements.push((ix, ends));
    Ok(())
}

fn zip(dice: &mut Dice, recipe: &Recipe, nominal_v: f64) -> Zip {
    let va = dice.within(0.05, 1.0) * recipe.load_va;
    let pf = dice.within(0.6, 1.0);
    let s = Complex64::new(va * pf, va * (1.0 - pf * pf).sqrt());
    let kind = if recipe.linear { 2 } else { dice.below(4) };
    match kind {
        0 => Zip::power(s),
        1 => Zip::current(s, nominal_v),
        2 => Zip::impedance_of(s, nominal_v),
        _ => Zip {
            power_va: s * 0.4,
            current_a: Zip::current(s * 0.3, nominal_v).current_a,
            admittance_s: Zip::impedance_of(s * 0.3, nominal_v).admittance_s,
        },
    }
}

pub fn random(seed: u64, recipe: &Recipe) -> Result<Net, ModelError> {
    let mut dice = Dice(seed);
    let mut network = Network::new();
    let all: &[Conductor] = if recipe.three_phase { &[L1, L2, L3, N] } else { &[L1, L2, N] };
    let legs: Vec<Conductor> = all.iter().copied().filter(|c| *c != N).collect();
    let first = network.bus("0", all)?;
    let z = Complex64::new(dice.within(0.005, 0.02), dice.within(0.0, 0.02));
    let spec = if recipe.three_phase {
        SourceSpec::wye(first, 120.0, z)
    } else {
        SourceSpec::split_phase(first, 120.0, z)
    };
    let source = network.source(spec.with_neutral_impedance(z * 0.3))?;
    let bond = if dice.chance(0.5) { Some(Complex64::new(dice.within(0.1, 20.0), 0.0)) } else { None };
    let bond = network.bond("bond", first, N, bond)?;
    let mut net = Net {
        network,
        buses: vec![(first, all.to_vec())],
        elements: vec![(bond, vec![(first, N)])],
        loads: Vec::new(),
        source,
    };
    for k in 1..recipe.buses {
        let parent = if dice.chance(0.6) { k - 1 } else { dice.below(k) };
        let mut conductors = net.buses[parent].1.clone();
        if conductors.len() > 2 && dice.chance(0.15) {
            conductors.remove(dice.below(conductors.len() - 1));
        }
        let ix = net.network.bus(&k.to_string(), &conductors)?;
        net.buses.push((ix, conductors));
        line(&mut net, &mut dice, parent, k)?;
        if dice.chance(recipe.chords) && k > 2 {
            let other = dice.below(k - 1);
            line(&mut net, &mut dice, other, k)?;
        }
        loads(&mut net, &mut dice, recipe, k, &legs)?;
    }
    Ok(net)
}

fn loads(
    net: &mut Net,
    dice: &mut Dice,
    recipe: &Recipe,
    k: usize,
    legs: &[Conductor],
) -> Result<(), ModelError> {
    let (bus, conductors) = net.buses[k].clone();
    let here: Vec<Conductor> = legs.iter().copied().filter(|c| conductors.contains(c)).collect();
    for leg in &here {
        if dice.chance(0.6) {
            let load = zip(dice, recipe, 120.0);
            let ix = net.network.load(bus, (*leg, N), load)?;
            net.loads.push((ix, bus, (*leg, N), load));
        }
    }
    if here.len() > 1 && dice.chance(0.4) {
        let load = zip(dice, recipe, if recipe.three_phase { 208.0 } else { 240.0 });
        let ix = net.network.load(bus, (here[0], here[1]), load)?;
        net.loads.push((ix, bus, (here[0], here[1]), load));
    }
    Ok(())
}

impl Net {
    /// Largest mismatch of Kirchhoff's current law, counted through what the solution tells of each part.
    pub fn kirchhoff_a(&self, solution: &Solution) -> f64 {
        let mut worst: f64 = 0.0;
        for (bus, conductors) in &self.buses {
            for conductor in conductors {
                let mut sum = Complex64::default();
                for (element, ends) in &self.elements {
                    if ends.contains(&(*bus, *conductor)) {
                        sum += solution.into_element(*element, *bus, *conductor).unwrap_or_default();
                    }
                }
                for (load, at, (from, to), _) in self.loads.iter().filter(|l| l.1 == *bus) {
                    debug_assert!(at == bus);
                    let i = solution.load_current(*load).unwrap_or_default();
                    sum += if from == conductor { i } else { Complex64::default() };
                    sum -= if to == conductor { i } else { Complex64::default() };
                }
                if *bus == self.buses[0].0 {
                    let given = solution.source_currents(self.source).unwrap_or_default();
                    for (leg, i) in [L1, L2, L3].iter().zip(&given) {
                        sum -= if leg == conductor { *i } else { Complex64::default() };
                        sum += if *conductor == N { *i } else { Complex64::default() };
                    }
                }
                worst = worst.max(magnitude(sum));
            }
        }
        worst
    }

    /// All voltages.
    pub fn voltages(&self, solution: &Solution) -> Vec<Complex64> {
        let of = |(bus, conductors): &(BusIx, Vec<Conductor>)| {
            conductors.iter().map(|c| solution.voltage(*bus, *c).unwrap_or_default()).collect::<Vec<_>>()
        };
        self.buses.iter().flat_map(of).collect()
    }
}

/// Largest difference of two lists.
pub fn apart(a: &[Complex64], b: &[Complex64]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter().zip(b).map(|(a, b)| magnitude(a - b)).fold(0.0, f64::max)
}
