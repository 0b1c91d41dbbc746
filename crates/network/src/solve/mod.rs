//! Unbalanced phasor solve of a network with real neutrals and sources that have current limits. Knows no plant.
//!
//! # The mathematics
//!
//! Nodes are the conductors of buses; earth is at 0 V. Linear parts are loops with u = A V and i = y u, so their
//! nodal admittance is Y = A^T y A (`part.rs`). Sources are E behind z, injected as y E. Then
//!
//! 1. `topology.rs`: what no source reaches is at 0 V; what is energised without a path of admittances to earth
//!    floats, and the network is not solved.
//! 2. `order.rs`, `block.rs`: buses are eliminated least degree first, as dense blocks of their conductors; a tree
//!    does not fill in.
//! 3. `fixed_point.rs`: Y V = I(V) on one factorisation.
//! 4. `newton.rs`, `path.rs`: where that does not contract, the solutions are followed from no load.
//! 5. `limits.rs`: loops over their limit are brought down to it, the solutions followed on the way.
//! 6. `mismatch.rs`: the answer counts only if the parts themselves, evaluated at it, keep Kirchhoff's law.
//!
//! Phasors are RMS with e^{+jwt}; power is positive into loads; line currents are positive from the first to the
//! second bus. Plain numbers inside, in SI: callers record the ends in derivations.
//!
//! # Limits of the model
//!
//! One frequency, steady state. No line charging, no magnetising current, no earth impedance between buses (earth
//! is one node). A source at its limit is the assumption told in `newton.rs`. A conductor held only by loads of
//! constant power or current counts as floating. A source's limit holds for the current of each of its loops (each
//! line conductor), not for its neutral. Where sources at their limits allow several answers, one is found.
//! [`NoSolution`] means that the branch of solutions from no load ends, which is proven by following it round its
//! end; another branch is not looked for.
//!
//! The fixed point allocates nothing; continuations do, once a step.
//!
//! ```
//! use network::solve::{Config, Conductor::*, Network, Solver, SourceSpec, Zip};
//! use num_complex::Complex64;
//! let ohm = |r| Complex64::new(r, 0.0);
//! let mut net = Network::new();
//! let main = net.bus("main", &[L1, L2, N])?;
//! let panel = net.bus("panel", &[L1, L2, N])?;
//! net.bond("main bonding jumper", main, N, None)?;
//! net.source(SourceSpec::split_phase(main, 120.0, ohm(0.01)))?;
//! let feeder = net.plain_line("feeder", main, panel, &[(L1, ohm(0.05)), (L2, ohm(0.05)), (N, ohm(0.05))])?;
//! net.load(panel, (L1, N), Zip::power(Complex64::new(3000.0, 0.0)))?;
//! let mut solver = Solver::new(net, Config::default())?;
//! assert!(solver.solve().converged());
//! let solution = solver.solution().unwrap();
//! let shift = solution.neutral_shift(panel).unwrap();
//! let neutral = solution.line_current(feeder, N).unwrap();
//! assert!((shift + neutral * 0.05).re.abs() < 1e-6);
//! # Ok::<(), network::solve::ModelError>(())
//! ```

mod block;
mod conductor;
mod config;
mod dense;
mod error;
mod event;
mod fixed_point;
mod flat;
mod limits;
mod linear;
mod mismatch;
mod model;
mod newton;
mod order;
mod part;
mod path;
mod scalar;
pub mod service;
mod solution;
mod solver;
mod status;
mod topology;
mod transformer;

pub use conductor::{BusIx, Conductor, ElementIx, LoadIx, SourceIx};
pub use config::Config;
pub use error::ModelError;
pub use event::{Event, Go};
pub use model::Network;
pub use part::{Emf, SourceSpec, Zip};
pub use solution::Solution;
pub use solver::{Solver, Work};
pub use status::{NoSolution, Status, Stopped};
pub use transformer::{CentreTapped, Windings};
