//! Where neutral and earth are joined, by the earthing system and what the gear does by itself.

use catalog::IslandBond;
use site::Earthing;

use super::build::{Builder, FullGear};
use super::{Bond, BondPlace};
use crate::{Condition, NodeIx, SourceKind};

fn always() -> Condition {
    Condition::All(Vec::new())
}

fn add(b: &mut Builder, (id, name): (&str, &str), node: NodeIx, place: BondPlace, while_: Condition) {
    b.plant.bonds.push(Bond { id: id.to_owned(), name: name.to_owned(), node, place, while_ });
}

/// The supplier's or the service's bond, the group's, the generator's.
pub(super) fn bonds(b: &mut Builder, gear: &FullGear<'_>, main: Option<NodeIx>, output: NodeIx) {
    if let (Some(main), Some(utility)) = (main, b.plant.supply(SourceKind::Utility)) {
        match gear.earthing {
            Earthing::Us | Earthing::TnCS => {
                add(b, ("service.bond", "bond at the service"), main, BondPlace::Service, always());
            }
            Earthing::TnS | Earthing::Tt => {
                let words = ("supplier.bond", "earthed neutral of the supplier");
                add(b, words, utility, BondPlace::Supplier, always());
            }
            Earthing::It => {}
        }
    }
    let formed = b.plant.node_ix("group.output").filter(|_| !b.plant.formers.is_empty()).unwrap_or(output);
    match gear.unit.island_bond {
        Some(IslandBond::WhileForming) => {
            let words = ("group.bond", "bond that the lead unit makes in the island");
            add(b, words, formed, BondPlace::Group, Condition::GroupForms);
        }
        // without a utility nothing else earths the neutral: the design puts one link at the group's distribution
        _ if main.is_none() && gear.earthing != Earthing::It => {
            let words = ("group.bond", "bond at the group's distribution");
            add(b, words, formed, BondPlace::Group, always());
        }
        _ => {}
    }
    let bonded = gear.generator.as_ref().and_then(|g| g.model.neutral_bonded) == Some(true);
    if let Some(node) = b.plant.supply(SourceKind::Generator).filter(|_| bonded) {
        add(b, ("generator.bond", "bond in the generator"), node, BondPlace::Generator, always());
    }
}
