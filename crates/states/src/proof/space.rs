//! States as bits: which sources are there, where every device stands. A set of states is a decision diagram over
//! these bits.

use biodivine_lib_bdd::{Bdd, BddValuation, BddVariable, BddVariableSet};
use plant::full::FullPlant;
use plant::{DeviceIx, SourceKind};

use crate::State;

/// The bits of a plant.
pub(super) struct Space {
    set: BddVariableSet,
    utility: Option<BddVariable>,
    generator: Option<BddVariable>,
    battery: BddVariable,
    /// Bits of each device, lowest first.
    gear: Vec<Vec<BddVariable>>,
    positions: Vec<u8>,
}

/// Bits for so many positions.
fn bits(positions: u8) -> u16 {
    (0..8).find(|b| 1u16 << b >= u16::from(positions)).unwrap_or(8)
}

impl Space {
    pub fn new(plant: &FullPlant) -> Self {
        let positions: Vec<u8> =
            plant.gear.iter().map(|g| u8::try_from(g.positions.len()).unwrap_or(u8::MAX)).collect();
        let sources = [SourceKind::Utility, SourceKind::Generator]
            .iter()
            .filter(|k| plant.supply(**k).is_some())
            .count();
        let total: u16 =
            1 + u16::try_from(sources).unwrap_or(2) + positions.iter().map(|p| bits(*p)).sum::<u16>();
        let set = BddVariableSet::new_anonymous(total);
        let mut free = set.variables().into_iter();
        let mut next = || free.next().unwrap_or_else(|| BddVariable::from_index(0));
        let utility = plant.supply(SourceKind::Utility).map(|_| next());
        let generator = plant.supply(SourceKind::Generator).map(|_| next());
        let battery = next();
        // what all units share first, then unit by unit: diagrams over alike units stay narrow
        let mut order: Vec<usize> = (0..plant.gear.len()).collect();
        order.sort_by_key(|k| plant.gear.get(*k).and_then(|g| g.unit));
        let mut gear = vec![Vec::new(); plant.gear.len()];
        for k in order {
            if let (Some(slot), Some(n)) = (gear.get_mut(k), positions.get(k)) {
                *slot = (0..bits(*n)).map(|_| next()).collect();
            }
        }
        Self { set, utility, generator, battery, gear, positions }
    }

    pub fn yes(&self) -> Bdd {
        self.set.mk_true()
    }

    pub fn no(&self) -> Bdd {
        self.set.mk_false()
    }

    /// The bit of a source; none where the plant has no such source.
    pub fn source(&self, kind: SourceKind) -> Option<BddVariable> {
        match kind {
            SourceKind::Utility => self.utility,
            SourceKind::Generator => self.generator,
            SourceKind::Group => Some(self.battery),
        }
    }

    /// States in which a source is there.
    pub fn present(&self, kind: SourceKind) -> Bdd {
        self.source(kind).map_or_else(|| self.no(), |v| self.set.mk_var(v))
    }

    /// Bits of a device.
    pub fn bits(&self, device: DeviceIx) -> &[BddVariable] {
        self.gear.get(device.0).map_or(&[], Vec::as_slice)
    }

    /// Positions of a device.
    pub fn positions(&self, device: DeviceIx) -> u8 {
        self.positions.get(device.0).copied().unwrap_or_default()
    }

    /// States in which a device stands in a position.
    pub fn at(&self, device: DeviceIx, position: u8) -> Bdd {
        if position >= self.positions(device) {
            return self.no();
        }
        self.bits(device)
            .iter()
            .enumerate()
            .fold(self.yes(), |all, (k, bit)| all.and(&self.set.mk_literal(*bit, position >> k & 1 == 1)))
    }

    /// States in which a device stands in any of its positions: three positions leave one code of two bits unused.
    pub fn somewhere(&self, device: DeviceIx) -> Bdd {
        (0..self.positions(device)).fold(self.no(), |any, p| any.or(&self.at(device, p)))
    }

    /// One state as a set.
    pub fn only(&self, state: &State) -> Bdd {
        Bdd::from(self.valuation(state))
    }

    /// One state as bits.
    pub fn valuation(&self, state: &State) -> BddValuation {
        let mut v = BddValuation::all_false(self.set.num_vars());
        for (bit, on) in [
            (self.utility, state.utility),
            (self.generator, state.generator),
            (Some(self.battery), state.battery),
        ] {
            if let Some(bit) = bit {
                v.set_value(bit, on);
            }
        }
        for (bits, at) in self.gear.iter().zip(&state.positions) {
            for (k, bit) in bits.iter().enumerate() {
                v.set_value(*bit, at >> k & 1 == 1);
            }
        }
        v
    }

    /// Whether a state is in a set.
    pub fn holds(&self, set: &Bdd, state: &State) -> bool {
        set.eval_in(&self.valuation(state))
    }

    /// Some state of a set, the same one for the same set.
    pub fn some(&self, set: &Bdd) -> Option<State> {
        let v = set.sat_witness()?;
        let on = |bit: Option<BddVariable>| bit.is_some_and(|b| v.value(b));
        let positions = self
            .gear
            .iter()
            .map(|bits| bits.iter().enumerate().fold(0, |at, (k, bit)| at | u8::from(v.value(*bit)) << k));
        Some(State {
            utility: on(self.utility),
            generator: on(self.generator),
            battery: v.value(self.battery),
            positions: positions.collect(),
        })
    }

    /// How many states a set has, exactly.
    pub fn count(&self, set: &Bdd) -> String {
        set.exact_cardinality().to_string()
    }
}
