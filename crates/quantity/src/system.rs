//! Voltage systems and the ways a load or a unit sits on them.

use std::fmt;
use std::str::FromStr;

use crate::{Frequency, LineVoltage, PhaseVoltage, QuantityError};

/// One live conductor of a service: a leg of split-phase, a phase of a wye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Leg {
    /// First leg or phase.
    L1,
    /// Second leg or phase.
    L2,
    /// Third phase.
    L3,
}

impl Leg {
    /// All three, in order.
    pub const ALL: [Leg; 3] = [Leg::L1, Leg::L2, Leg::L3];

    /// 0, 1 or 2.
    pub fn index(self) -> usize {
        self as usize
    }
}

impl fmt::Display for Leg {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Leg::L1 => "L1",
            Leg::L2 => "L2",
            Leg::L3 => "L3",
        })
    }
}

/// Between which conductors something is connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Connection {
    /// One live conductor and neutral.
    LineToNeutral(Leg),
    /// Two live conductors.
    LineToLine(Leg, Leg),
    /// All three phases alike.
    ThreePhase,
}

impl Connection {
    /// The live conductors that it touches.
    pub fn legs(self) -> Vec<Leg> {
        match self {
            Connection::LineToNeutral(leg) => vec![leg],
            Connection::LineToLine(a, b) => vec![a, b],
            Connection::ThreePhase => Leg::ALL.to_vec(),
        }
    }
}

impl fmt::Display for Connection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Connection::LineToNeutral(leg) => leg.fmt(f),
            Connection::LineToLine(a, b) => f.pad(&format!("{a}-{b}")),
            Connection::ThreePhase => f.pad("L1-L2-L3"),
        }
    }
}

impl FromStr for Connection {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let leg = |part: &str| match part.trim() {
            "L1" => Some(Leg::L1),
            "L2" => Some(Leg::L2),
            "L3" => Some(Leg::L3),
            _ => None,
        };
        let parts: Option<Vec<Leg>> = text.split('-').map(leg).collect();
        match parts.as_deref() {
            Some(&[one]) => Ok(Connection::LineToNeutral(one)),
            Some(&[a, b]) if a != b => Ok(Connection::LineToLine(a.min(b), a.max(b))),
            Some(&[a, b, c]) if a != b && b != c && a != c => Ok(Connection::ThreePhase),
            _ => Err(QuantityError::new(
                format!("\"{text}\" names no legs"),
                "write \"L1\", \"L1-L2\", \"L1-L2-L3\", or \"any\" to let the tool balance",
            )),
        }
    }
}

/// The voltage system of a service, a panel or a unit's output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VoltageSystem {
    /// One leg and neutral at 120 V.
    Single120,
    /// One phase and neutral at 230 V.
    Single230,
    /// Two legs 180 degrees apart round a neutral: 120 V each, 240 V between them.
    Split120_240,
    /// Three phases at 120 V to neutral, 208 V between them.
    Wye120_208,
    /// Two phases of a 120/208 V wye and its neutral: 120 degrees apart.
    TwoLegs120_208,
    /// Three phases at 230 V to neutral, 400 V between them.
    Wye230_400,
}

impl VoltageSystem {
    /// Every system, in the order of the documentation.
    pub const ALL: [VoltageSystem; 6] = [
        VoltageSystem::Single120,
        VoltageSystem::Single230,
        VoltageSystem::Split120_240,
        VoltageSystem::Wye120_208,
        VoltageSystem::TwoLegs120_208,
        VoltageSystem::Wye230_400,
    ];

    /// As people write it.
    pub fn name(self) -> &'static str {
        match self {
            VoltageSystem::Single120 => "120 V single-phase",
            VoltageSystem::Single230 => "230 V single-phase",
            VoltageSystem::Split120_240 => "120/240 V split-phase",
            VoltageSystem::Wye120_208 => "120/208 V wye",
            VoltageSystem::TwoLegs120_208 => "120/208 V two legs",
            VoltageSystem::Wye230_400 => "230/400 V wye",
        }
    }

    /// The live conductors.
    pub fn legs(self) -> &'static [Leg] {
        match self {
            VoltageSystem::Single120 | VoltageSystem::Single230 => &[Leg::L1],
            VoltageSystem::Split120_240 | VoltageSystem::TwoLegs120_208 => &[Leg::L1, Leg::L2],
            VoltageSystem::Wye120_208 | VoltageSystem::Wye230_400 => &[Leg::L1, Leg::L2, Leg::L3],
        }
    }

    /// Angle of a leg's voltage to neutral in degrees: L1 at 0, sequence ABC, L2 of split-phase at 180.
    pub fn angle_deg(self, leg: Leg) -> f64 {
        match (self, leg) {
            (_, Leg::L1) => 0.0,
            (VoltageSystem::Split120_240, _) => 180.0,
            (_, Leg::L2) => -120.0,
            (_, Leg::L3) => 120.0,
        }
    }

    /// Nominal voltage from a leg to neutral.
    pub fn phase_voltage(self) -> PhaseVoltage {
        PhaseVoltage::of(match self {
            VoltageSystem::Single230 | VoltageSystem::Wye230_400 => 230.0,
            _ => 120.0,
        })
    }

    /// Nominal voltage between two legs; none with one leg.
    pub fn line_voltage(self) -> Option<LineVoltage> {
        match self {
            VoltageSystem::Single120 | VoltageSystem::Single230 => None,
            VoltageSystem::Split120_240 => Some(LineVoltage::of(240.0)),
            VoltageSystem::Wye120_208 | VoltageSystem::TwoLegs120_208 => Some(LineVoltage::of(208.0)),
            VoltageSystem::Wye230_400 => Some(LineVoltage::of(400.0)),
        }
    }

    /// The frequency usual with this system (an assumption until the site says otherwise).
    pub fn usual_frequency(self) -> Frequency {
        Frequency::of(match self {
            VoltageSystem::Single230 | VoltageSystem::Wye230_400 => 50.0,
            _ => 60.0,
        })
    }

    /// Whether a connection exists on it.
    pub fn has(self, connection: Connection) -> bool {
        match connection {
            Connection::ThreePhase => self.legs().len() == 3,
            other => other.legs().iter().all(|leg| self.legs().contains(leg)),
        }
    }
}

impl fmt::Display for VoltageSystem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for VoltageSystem {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let wanted = text.split_whitespace().collect::<Vec<_>>().join(" ");
        VoltageSystem::ALL.into_iter().find(|s| s.name() == wanted).ok_or_else(|| {
            QuantityError::new(
                format!("\"{text}\" is no voltage system that the model covers"),
                format!("one of {}", VoltageSystem::ALL.map(|s| format!("\"{s}\"")).join(", ")),
            )
        })
    }
}
