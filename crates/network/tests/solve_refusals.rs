//! What is never solved: conductors that float, parts without supply, values without sense.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

mod nets;

use nets::magnitude;
use network::solve::Conductor::{Earth, L1, L2, L3, N};
use network::solve::{
    BusIx, CentreTapped, Config, ModelError, Network, NoSolution, Solver, SourceSpec, Status, Zip,
};
use num_complex::Complex64;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

/// One leg against an earthed neutral.
fn leg(net: &mut Network) -> BusIx {
    let bus = net.bus("leg", &[L1, N]).unwrap();
    net.bond("bond", bus, N, None).unwrap();
    bus
}

/// Energised conductors without a path to earth are named, whatever else is there; nothing is solved.
#[test]
fn floating_islands_are_named() {
    let service = |bond: bool| {
        let mut net = Network::new();
        let a = net.bus("utility", &[L1, N]).unwrap();
        let b = net.bus("panel", &[L1, L2, N]).unwrap();
        net.bond("utility", a, N, None).unwrap();
        net.source(SourceSpec::single(a, L1, N, c(240.0, 0.0), c(0.01, 0.0))).unwrap();
        let t = CentreTapped {
            first: (L1, N),
            ratio: 2.0,
            first_ohm: c(0.01, 0.01),
            half_ohm: [c(0.01, 0.01); 2],
        };
        net.centre_tapped("isolating", a, b, &t).unwrap();
        if bond {
            net.bond("panel", b, N, Some(c(25.0, 0.0))).unwrap();
        }
        let load = net.load(b, (L1, N), Zip::impedance(c(10.0, 0.0))).unwrap();
        (Solver::new(net, Config::default()).unwrap(), b, load)
    };
    let (mut floats, b, _) = service(false);
    assert_eq!(floats.solve(), Status::Floating { buses: vec![b] });
    assert!(floats.solution().is_none() && floats.best_effort().is_none());
    let (mut bonded, b, _) = service(true);
    assert!(bonded.solve().converged());
    assert!(magnitude(bonded.solution().unwrap().between(b, L1, N).unwrap()) > 115.0);

    // a neutral held by constant power alone has no voltage that anything determines
    let mut net = Network::new();
    let a = net.bus("a", &[L1, N]).unwrap();
    let cut = net.bus("cut", &[L1, N]).unwrap();
    net.bond("bond", a, N, None).unwrap();
    net.source(SourceSpec::single(a, L1, N, c(120.0, 0.0), c(0.01, 0.0))).unwrap();
    net.plain_line("line", a, cut, &[(L1, c(0.1, 0.0))]).unwrap();
    let load = net.load(cut, (L1, N), Zip::power(c(100.0, 0.0))).unwrap();
    let mut solver = Solver::new(net, Config::default()).unwrap();
    assert_eq!(solver.solve(), Status::Floating { buses: vec![cut] });
    // an admittance holds it; taking it away again lets it float again
    solver.set_load(load, Zip::impedance(c(100.0, 0.0))).unwrap();
    assert!(solver.solve().converged());
    solver.set_load(load, Zip::power(c(100.0, 0.0))).unwrap();
    assert_eq!(solver.solve(), Status::Floating { buses: vec![cut] });
}

/// What no source reaches is at 0 V and named; a unit that follows cannot stand there.
#[test]
fn dead_parts_are_told() {
    let mut net = Network::new();
    let a = leg(&mut net);
    let off = net.bus("off", &[L1, N]).unwrap();
    net.source(SourceSpec::single(a, L1, N, c(120.0, 0.0), c(0.01, 0.0))).unwrap();
    let load = net.load(off, (L1, N), Zip::power(c(100.0, 0.0))).unwrap();
    let mut with_unit = net.clone();
    let mut solver = Solver::new(net, Config::default()).unwrap();
    assert!(solver.solve().converged());
    let s = solver.solution().unwrap();
    assert_eq!((s.unserved(), s.dead_buses()), (vec![load], vec![off]));
    assert_eq!(s.voltage(off, L1), Some(c(0.0, 0.0)));
    let injection = with_unit.injection(off, (L1, N), c(500.0, 0.0), None).unwrap();
    let mut solver = Solver::new(with_unit, Config::default()).unwrap();
    let reason = NoSolution::FollowsNothing { injection };
    assert_eq!(solver.solve(), Status::NoSolution { reason });
}

/// What is not a number, or has no sense, never enters a network.
#[test]
fn values_without_sense_are_refused() {
    let mut net = Network::new();
    let a = net.bus("a", &[L1, N]).unwrap();
    let b = net.bus("b", &[L1, N]).unwrap();
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let z = c(0.1, bad);
        let refused = [
            net.plain_line("x", a, b, &[(L1, z)]).err(),
            net.bond("x", a, N, Some(z)).err(),
            net.shunt("x", a, (L1, N), z).err(),
            net.wye_wye("x", a, b, bad, c(0.1, 0.1)).err(),
        ];
        assert!(refused.iter().all(Option::is_some), "{refused:?}");
        assert!(net.load(a, (L1, N), Zip::power(z)).is_err());
        assert!(net.load(a, (L1, N), Zip { current_a: z, ..Zip::default() }).is_err());
        assert!(net.injection(a, (L1, N), z, None).is_err());
        assert!(net.injection(a, (L1, N), c(1.0, 0.0), Some(bad)).is_err());
        assert!(net.source(SourceSpec::single(a, L1, N, z, c(1.0, 0.0))).is_err());
        assert!(net.source(SourceSpec::single(a, L1, N, c(1.0, 0.0), z)).is_err());
        assert!(net.source(SourceSpec::single(a, L1, N, c(1.0, 0.0), c(1.0, 0.0)).limited(bad)).is_err());
        assert!(Solver::new(net.clone(), Config { tolerance_a: bad, ..Config::default() }).is_err());
    }
    assert!(matches!(net.plain_line("x", a, b, &[(L1, c(0.0, 0.0))]), Err(ModelError::NoInverse { .. })));
    assert!(net.plain_line("x", a, b, &[(L1, c(-0.1, 0.0))]).is_err());
    assert!(net.plain_line("x", a, a, &[(L1, c(0.1, 0.0))]).is_err());
    assert!(net.plain_line("x", a, b, &[(L2, c(0.1, 0.0))]).is_err());
    assert!(net.plain_line("x", a, b, &[(L1, c(0.1, 0.0)), (L1, c(0.1, 0.0))]).is_err());
    assert!(net.load(a, (L1, L1), Zip::default()).is_err());
    assert!(net.load(a, (L3, N), Zip::default()).is_err());
    assert!(net.bus("x", &[L1, Earth]).is_err());
    // division by a zero impedance
    assert!(net.load(a, (L1, N), Zip::impedance(c(0.0, 0.0))).is_err());
    // an ideal source needs a return that is held, no limit, and a conductor of its own
    let ideal = || SourceSpec::single(a, L1, N, c(120.0, 0.0), c(0.0, 0.0)).ideal();
    assert!(net.source(ideal().limited(10.0)).is_err());
    let mut unbonded = net.clone();
    unbonded.source(ideal()).unwrap();
    assert!(matches!(Solver::new(unbonded, Config::default()), Err(ModelError::IdealSource { .. })));
    net.bond("bond", a, N, None).unwrap();
    net.source(ideal()).unwrap();
    assert!(Solver::new(net.clone(), Config::default()).is_ok());
    net.source(ideal()).unwrap();
    assert!(matches!(Solver::new(net, Config::default()), Err(ModelError::IdealSource { .. })));
}
