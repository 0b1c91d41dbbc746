//! What the tests of rules share.

use quantity::{Ratio, Temperature};
use tables::iec::cable::{Cable, Insulation, Loaded23, Metal, Method};

use super::cable_ampacity::CableRun;
use crate::us::testing::given;

/// A copper cable with PVC and three loaded conductors alone, at a temperature in degC.
pub(crate) fn run(method: Method, degc: f64) -> CableRun {
    CableRun {
        cable: Cable { metal: Metal::Copper, insulation: Insulation::Pvc, method, loaded: Loaded23::Three },
        ambient: given(Temperature::of(degc)),
        soil: None,
        together: None,
        beside: given(Ratio::of(0.0)),
        third_harmonic: None,
    }
}
