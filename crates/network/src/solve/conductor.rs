//! What a bus is made of, and how parts of a network are named.

/// A conductor of a bus, or the earth that all voltages are measured against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Conductor {
    /// First leg or phase.
    L1,
    /// Second leg or phase.
    L2,
    /// Third phase.
    L3,
    /// Neutral: a conductor like the others, with its own impedance and voltage.
    N,
    /// Earth, at 0 V everywhere. It belongs to no bus; bonds and shunts lead to it.
    Earth,
}

impl Conductor {
    /// As it is written to people.
    pub fn name(self) -> &'static str {
        match self {
            Conductor::L1 => "L1",
            Conductor::L2 => "L2",
            Conductor::L3 => "L3",
            Conductor::N => "N",
            Conductor::Earth => "earth",
        }
    }
}

macro_rules! index {
    ($(#[$doc:meta] $name:ident)*) => {$(
        #[$doc]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub struct $name(pub(super) usize);

        impl $name {
            /// Number in the order of adding, from 0.
            pub fn number(self) -> usize {
                self.0
            }
        }
    )*};
}

index! {
    /// A bus of a network.
    BusIx
    /// A line, transformer, bond or shunt of a network.
    ElementIx
    /// A load or injection of a network.
    LoadIx
    /// A source of a network.
    SourceIx
}
