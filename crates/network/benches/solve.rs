//! Nanoseconds per solve on random three-phase networks with neutrals: `cargo bench -p network --bench solve`.
//! Prints what it finds and compares nothing. Figures of one machine on one day stand in `benches/README.md`.

// a bench prints
#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../tests/nets/mod.rs"]
mod nets;

use std::hint::black_box;
use std::time::Instant;

use nets::{Recipe, random};
use network::solve::{Config, Solver};

/// Median over rounds of the time of one call, in nanoseconds.
fn median_ns(calls: usize, mut call: impl FnMut()) -> f64 {
    let mut rounds: Vec<f64> = (0..21)
        .map(|_| {
            let start = Instant::now();
            (0..calls).for_each(|_| call());
            start.elapsed().as_secs_f64() * 1e9 / calls as f64
        })
        .collect();
    rounds.sort_by(f64::total_cmp);
    rounds[rounds.len() / 2]
}

fn main() {
    println!("buses  nodes  steps   prepare us   solve us  per step us   dense solve us   dense / blocks");
    for buses in [20, 60, 150, 300] {
        let recipe =
            Recipe { buses, chords: 0.1, three_phase: true, load_va: 3000.0 / buses as f64, linear: false };
        let net = random(7, &recipe).unwrap().network;
        let mut solver = Solver::new(net.clone(), Config::default()).unwrap();
        assert!(solver.solve().converged());
        let steps = solver.work().fixed_point_steps;
        let prepare = median_ns(3, || {
            black_box(Solver::new(black_box(net.clone()), Config::default()).unwrap());
        });
        let solve = median_ns(2000 / buses, || {
            black_box(solver.solve());
        });
        let mut dense = Solver::new(net.clone(), Config { dense: true, ..Config::default() }).unwrap();
        let slow = median_ns(1, || {
            black_box(dense.solve());
        });
        println!(
            "{buses:>5}  {:>5}  {steps:>5}  {:>11.1}  {:>9.1}  {:>11.2}  {:>15.1}  {:>15.1}",
            net.nodes(),
            prepare / 1e3,
            solve / 1e3,
            solve / 1e3 / steps as f64,
            slow / 1e3,
            slow / solve
        );
    }
}
