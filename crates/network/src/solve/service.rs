//! What the legs of a service get when their loads differ: a source without impedance, bonded at its neutral, one
//! run to one panel, constant-impedance loads. The smallest network that shows how a weak neutral shifts.
//!
//! A neutral on its way to open lifts the lightly loaded leg above its nominal voltage. (Kirchhoff; solved as a
//! network, with the mismatch of its current law in the derivation.)

use std::sync::Arc;

use derivation::{Known, Node};
use num_complex::Complex64;
use quantity::{Current, Leg, LineVoltage, PhaseVoltage, Quantity, VoltageSystem};

use super::{Conductor, Config, ModelError, Network, Solution, Solver, SourceSpec, Status, Zip};
use crate::error::above_zero;
use crate::impedance::{magnitude, polar_deg, solved};
use crate::{Impedance, NetworkError};

/// The open voltage of the source.
#[derive(Debug, Clone)]
pub enum OpenVoltage {
    /// From a leg to neutral.
    Leg(Known<PhaseVoltage>),
    /// From leg to leg.
    Line(Known<LineVoltage>),
}

/// A service and what hangs on it.
#[derive(Debug, Clone)]
pub struct Service {
    /// Legs and their angles.
    pub system: VoltageSystem,
    /// Voltage without load.
    pub open: OpenVoltage,
    /// Impedance of the run on each leg.
    pub line: Impedance,
    /// Impedance of the run on the neutral.
    pub neutral: Impedance,
    /// Load from each leg to neutral; none where there is none.
    pub loads: Vec<Option<Impedance>>,
    /// Load from L1 to L2.
    pub across: Option<Impedance>,
}

/// Voltages at the panel and currents of the run.
#[derive(Debug, Clone)]
pub struct ServiceVoltages {
    /// From each leg to the panel's neutral.
    pub legs: Vec<Known<PhaseVoltage>>,
    /// From L1 to L2, where there is an L2.
    pub across: Option<Known<LineVoltage>>,
    /// Of the panel's neutral against the source's.
    pub shift: Known<PhaseVoltage>,
    /// On each leg.
    pub currents: Vec<Known<Current>>,
    /// On the neutral.
    pub neutral: Known<Current>,
}

const EQUATION: &str = "Y · V = y · E at each conductor of the panel";

/// Solves a service.
///
/// # Errors
/// A voltage that is not above zero, a negative resistance, an impedance of zero, more loads than legs, a load from
/// L1 to L2 on one leg, or a line-to-line voltage there.
pub fn service(case: &Service) -> Result<ServiceVoltages, NetworkError> {
    let legs = case.system.legs();
    if case.loads.len() > legs.len() {
        let needed = "at most one for each leg of the system";
        return Err(NetworkError::Count {
            what: "loads from leg to neutral",
            count: case.loads.len(),
            needed,
        });
    }
    if legs.len() < 2 && case.across.is_some() {
        return Err(NetworkError::Leg(format!("{} has no L2", case.system.name())));
    }
    let leg_v = leg_v(case)?;
    let (mut solver, panel, line) = network(case, leg_v).map_err(|why| match why {
        Refused::Value(error) => error,
        Refused::Model(error) => NetworkError::Leg(error.to_string()),
    })?;
    let Status::Converged { residual_a, .. } = solver.solve() else {
        return Err(NetworkError::NoSolution("the impedances leave no single solution (a resonance)"));
    };
    let Some(solution) = solver.solution() else {
        return Err(NetworkError::NoSolution("the impedances leave no single solution (a resonance)"));
    };
    Ok(read(case, &solution, panel, line, residual_a))
}

enum Refused {
    Value(NetworkError),
    Model(ModelError),
}

impl From<NetworkError> for Refused {
    fn from(error: NetworkError) -> Self {
        Refused::Value(error)
    }
}

impl From<ModelError> for Refused {
    fn from(error: ModelError) -> Self {
        Refused::Model(error)
    }
}

fn leg_v(case: &Service) -> Result<f64, NetworkError> {
    match (&case.open, case.system) {
        (OpenVoltage::Leg(v), _) => above_zero(v),
        (OpenVoltage::Line(v), VoltageSystem::Split120_240) => Ok(above_zero(v)? / 2.0),
        (OpenVoltage::Line(_), VoltageSystem::Single120 | VoltageSystem::Single230) => {
            Err(NetworkError::Leg(format!("{} has no line-to-line voltage", case.system.name())))
        }
        (OpenVoltage::Line(v), _) => Ok(above_zero(v)? / 3.0_f64.sqrt()),
    }
}

fn conductor(leg: Leg) -> Conductor {
    match leg {
        Leg::L1 => Conductor::L1,
        Leg::L2 => Conductor::L2,
        Leg::L3 => Conductor::L3,
    }
}

/// The impedance, refused where it is zero.
fn not_zero(z: &Impedance) -> Result<Complex64, NetworkError> {
    let z = z.z_ohm()?;
    if magnitude(z) > 0.0 {
        return Ok(z);
    }
    Err(NetworkError::NoSolution("an impedance of zero is a short or no run at all: give its resistance"))
}

fn network(case: &Service, leg_v: f64) -> Result<(Solver, super::BusIx, super::ElementIx), Refused> {
    let legs: Vec<Conductor> = case.system.legs().iter().map(|leg| conductor(*leg)).collect();
    let mut conductors = legs.clone();
    conductors.push(Conductor::N);
    let mut net = Network::new();
    let source = net.bus("source", &conductors)?;
    let panel = net.bus("panel", &conductors)?;
    net.bond("source's neutral", source, Conductor::N, None)?;
    for leg in case.system.legs() {
        let emf_v = polar_deg(leg_v, case.system.angle_deg(*leg));
        let none = Complex64::default();
        net.source(SourceSpec::single(source, conductor(*leg), Conductor::N, emf_v, none).ideal())?;
    }
    let z = not_zero(&case.line)?;
    let mut run: Vec<(Conductor, Complex64)> = legs.iter().map(|leg| (*leg, z)).collect();
    run.push((Conductor::N, not_zero(&case.neutral)?));
    let line = net.plain_line("run", source, panel, &run)?;
    for (leg, load) in legs.iter().zip(&case.loads) {
        if let Some(load) = load {
            net.load(panel, (*leg, Conductor::N), Zip::impedance(not_zero(load)?))?;
        }
    }
    if let Some(load) = &case.across {
        net.load(panel, (Conductor::L1, Conductor::L2), Zip::impedance(not_zero(load)?))?;
    }
    Ok((Solver::new(net, Config::default())?, panel, line))
}

/// What the case rests on.
fn nodes(case: &Service) -> Vec<Arc<Node>> {
    let mut nodes = match &case.open {
        OpenVoltage::Leg(v) => vec![v.node().clone()],
        OpenVoltage::Line(v) => vec![v.node().clone()],
    };
    nodes.extend(case.line.nodes());
    nodes.extend(case.neutral.nodes());
    nodes.extend(case.loads.iter().flatten().chain(&case.across).flat_map(Impedance::nodes));
    nodes
}

fn read(
    case: &Service,
    solution: &Solution,
    panel: super::BusIx,
    line: super::ElementIx,
    residual_a: f64,
) -> ServiceVoltages {
    let from = nodes(case);
    let of = |z: Option<Complex64>| z.map_or(f64::NAN, magnitude);
    let legs = case.system.legs();
    let voltage = |leg: &Leg| {
        let v = of(solution.between(panel, conductor(*leg), Conductor::N));
        known(&format!("V_{leg}"), format!("voltage from {leg} to neutral"), v, residual_a, &from)
    };
    let current = |leg: &Leg| {
        let i = of(solution.line_current(line, conductor(*leg)));
        known(&format!("I_{leg}"), format!("current on {leg}"), i, residual_a, &from)
    };
    let across = of(solution.between(panel, Conductor::L1, Conductor::L2));
    let shift = of(solution.neutral_shift(panel));
    let neutral = of(solution.line_current(line, Conductor::N));
    let shift_of = "voltage of the panel's neutral against the source's";
    ServiceVoltages {
        legs: legs.iter().map(voltage).collect(),
        across: (legs.len() > 1)
            .then(|| known("V_L1L2", "voltage from L1 to L2".to_owned(), across, residual_a, &from)),
        shift: known("V_N", shift_of.to_owned(), shift, residual_a, &from),
        currents: legs.iter().map(current).collect(),
        neutral: known("I_N", "current on the neutral".to_owned(), neutral, residual_a, &from),
    }
}

fn known<Q: Quantity>(symbol: &str, what: String, si: f64, residual_a: f64, from: &[Arc<Node>]) -> Known<Q> {
    solved(symbol, what, si, EQUATION, residual_a, from.to_vec())
}
