//! Solves networks from standard input to standard output, both JSON: the door for outside checks (`peers/`).
//!
//! In: a list of `{buses, lines, bonds, shunts, centre_tapped, sources, loads, tolerance_a, scenarios}`; complex
//! numbers are `[real, imaginary]`, buses are numbers, conductors `"L1"`, `"L2"`, `"L3"`, `"N"`, `"earth"`.
//! `scenarios` is a list of lists of the loads' powers: they are solved one after the other on one factorisation
//! and timed. Out: for each network its status, the voltages of each bus in the order of its conductors, the
//! currents of the sources, and the times.

use std::error::Error;
use std::io::{Read, Write};
use std::time::Instant;

use network::solve::{
    BusIx, CentreTapped, Conductor, Config, Emf, LoadIx, Network, Solver, SourceSpec, Status, Zip,
};
use num_complex::Complex64;
use serde_json::{Value, json};

type Fallible<T> = Result<T, Box<dyn Error>>;

fn main() -> Fallible<()> {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text)?;
    let networks: Vec<Value> = serde_json::from_str(&text)?;
    let answers: Fallible<Vec<Value>> = networks.iter().map(answer).collect();
    writeln!(std::io::stdout(), "{}", Value::Array(answers?))?;
    Ok(())
}

fn number(value: &Value) -> Fallible<f64> {
    value.as_f64().ok_or_else(|| format!("{value} is no number").into())
}

fn complex(value: &Value) -> Fallible<Complex64> {
    Ok(Complex64::new(number(&value[0])?, number(&value[1])?))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn complexes(value: &Value) -> Fallible<Vec<Complex64>> {
    list(value).iter().map(complex).collect()
}

fn conductor(value: &Value) -> Fallible<Conductor> {
    let all = [Conductor::L1, Conductor::L2, Conductor::L3, Conductor::N, Conductor::Earth];
    let name = value.as_str().unwrap_or_default();
    all.into_iter().find(|c| c.name() == name).ok_or_else(|| format!("{value} is no conductor").into())
}

fn conductors(value: &Value) -> Fallible<Vec<Conductor>> {
    list(value).iter().map(conductor).collect()
}

fn bus(buses: &[BusIx], value: &Value) -> Fallible<BusIx> {
    let at = value.as_u64().and_then(|n| buses.get(usize::try_from(n).ok()?));
    at.copied().ok_or_else(|| format!("{value} is no bus").into())
}

/// A network, its buses with their conductors, its loads.
type Parts = (Network, Vec<(BusIx, Vec<Conductor>)>, Vec<LoadIx>);

fn read(input: &Value) -> Fallible<Parts> {
    let mut net = Network::new();
    let mut buses = Vec::new();
    for b in list(&input["buses"]) {
        let mut of = conductors(b)?;
        of.sort_unstable();
        buses.push((net.bus(&buses.len().to_string(), &of)?, of));
    }
    let ix: Vec<BusIx> = buses.iter().map(|b| b.0).collect();
    for l in list(&input["lines"]) {
        let (from, to) = (bus(&ix, &l["from"])?, bus(&ix, &l["to"])?);
        net.line("line", from, to, &conductors(&l["conductors"])?, &complexes(&l["z"])?)?;
    }
    for b in list(&input["bonds"]) {
        let z = if b["z"].is_null() { None } else { Some(complex(&b["z"])?) };
        net.bond("bond", bus(&ix, &b["bus"])?, conductor(&b["conductor"])?, z)?;
    }
    for s in list(&input["shunts"]) {
        let ends = (conductor(&s["from"])?, conductor(&s["to"])?);
        net.shunt("shunt", bus(&ix, &s["bus"])?, ends, complex(&s["y"])?)?;
    }
    for t in list(&input["centre_tapped"]) {
        let first = (conductor(&t["from"])?, conductor(&t["to"])?);
        let half = complex(&t["half_ohm"])?;
        let data = CentreTapped {
            first,
            ratio: number(&t["ratio"])?,
            first_ohm: complex(&t["first_ohm"])?,
            half_ohm: [half, half],
        };
        net.centre_tapped("transformer", bus(&ix, &t["first"])?, bus(&ix, &t["second"])?, &data)?;
    }
    for s in list(&input["sources"]) {
        let emf = |e: &Value| -> Fallible<Emf> {
            let (from, to) = (conductor(&e["from"])?, conductor(&e["to"])?);
            Ok(Emf { from, to, emf_v: complex(&e["emf"])?, limit_a: e["limit_a"].as_f64() })
        };
        let emfs: Fallible<Vec<Emf>> = list(&s["emfs"]).iter().map(emf).collect();
        net.source(SourceSpec { bus: bus(&ix, &s["bus"])?, emfs: emfs?, z_ohm: complexes(&s["z"])? })?;
    }
    let mut loads = Vec::new();
    for l in list(&input["loads"]) {
        let ends = (conductor(&l["from"])?, conductor(&l["to"])?);
        let part = |key: &str| if l[key].is_null() { Ok(Complex64::default()) } else { complex(&l[key]) };
        let zip =
            Zip { power_va: part("power")?, current_a: part("current")?, admittance_s: part("admittance")? };
        loads.push(net.load(bus(&ix, &l["bus"])?, ends, zip)?);
    }
    Ok((net, buses, loads))
}

fn answer(input: &Value) -> Fallible<Value> {
    let (net, buses, loads) = read(input)?;
    let tolerance_a = input["tolerance_a"].as_f64().unwrap_or(1e-9);
    let config = Config { tolerance_a, ..Config::default() };
    let mut solver = Solver::new(net.clone(), config)?;
    let status = solver.solve();
    let pair = |z: Complex64| json!([z.re, z.im]);
    let mut out = match &status {
        Status::Converged { iterations, residual_a } => {
            json!({ "status": "converged", "iterations": iterations, "residual_a": residual_a })
        }
        other => json!({ "status": format!("{other:?}") }),
    };
    if let Some(solution) = solver.solution() {
        let of = |(bus, conductors): &(BusIx, Vec<Conductor>)| -> Value {
            conductors.iter().filter_map(|c| solution.voltage(*bus, *c)).map(pair).collect()
        };
        out["voltages"] = buses.iter().map(of).collect();
        let mut each = Vec::new();
        for spec in net.source_numbers() {
            each.push(solution.source_currents(spec).unwrap_or_default().into_iter().map(pair).collect());
        }
        out["source_currents"] = Value::Array(each);
    }
    if !list(&input["scenarios"]).is_empty() {
        let scenarios: Fallible<Vec<Vec<Complex64>>> =
            list(&input["scenarios"]).iter().map(complexes).collect();
        out["times"] = time(&net, config, &loads, &scenarios?)?;
    }
    Ok(out)
}

/// Nanoseconds: median of rounds over all scenarios on one factorisation, and of preparing anew.
fn time(net: &Network, config: Config, loads: &[LoadIx], scenarios: &[Vec<Complex64>]) -> Fallible<Value> {
    let mut solver = Solver::new(net.clone(), config)?;
    let (mut rounds, mut prepares, mut steps) = (Vec::new(), Vec::new(), 0);
    for _ in 0..15 {
        let start = Instant::now();
        for powers in scenarios {
            for (load, power) in loads.iter().zip(powers) {
                solver.set_load(*load, Zip::power(*power))?;
            }
            let status = solver.solve();
            steps += solver.work().fixed_point_steps;
            if !status.converged() {
                return Err(format!("{status:?}").into());
            }
        }
        rounds.push(start.elapsed().as_secs_f64() * 1e9 / scenarios.len() as f64);
        let copy = net.clone();
        let start = Instant::now();
        let fresh = Solver::new(copy, config)?;
        prepares.push(start.elapsed().as_secs_f64() * 1e9);
        drop(fresh);
    }
    let mean_steps = steps as f64 / (15 * scenarios.len()) as f64;
    Ok(json!({ "solve_ns": median(rounds), "prepare_ns": median(prepares), "steps": mean_steps }))
}

fn median(mut of: Vec<f64>) -> f64 {
    of.sort_by(f64::total_cmp);
    of.get(of.len() / 2).copied().unwrap_or(f64::NAN)
}
