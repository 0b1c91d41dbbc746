//! Labels and signs that a site asks for.
//!
//! ## Clause and edition
//! NEC 2023; 110.16(A), 110.21(B), 110.24, 480.7, 690, 702.7, 705.10, 706.15, 710.
//! ## Applies when
//! A site has an array, energy storage, standby supply, or several sources.
//! ## Why
//! Who comes later, with a meter or a hose, must see what is live after the main is off.
//! ## Formula
//! None: facts of the site give a list of labels, each with place, content and clause.
//! ## Example
//! Passing: a roof array gets the sign of rapid shutdown at the service. Failing: none can fail; whether a label is there
//! is seen on site.
//! ## Limits of our reading
//! Content in our words: prescribed wording, letters and colours stand in the code, and the utility and the fire service
//! may ask for more. Labels of makers and of listings are not in the list.
//! ## Source
//! Public guides to labels: one source each; others from memory; confirm in the adopted code.

use saying::{Text, say};
use tables::Sign;
use tables::us::label::label;

use crate::NotCovered;

/// What decides which labels are asked for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LabelFacts {
    /// An array stands here.
    pub array: bool,
    /// It stands on or in a building.
    pub array_on_building: bool,
    /// Energy storage by Article 706.
    pub storage: bool,
    /// A standby battery by Article 480.
    pub standby_battery: bool,
    /// Panelboards or other equipment that may be opened while live.
    pub panels: bool,
    /// A one- or two-family dwelling.
    pub dwelling: bool,
    /// The utility supplies the site, too.
    pub utility: bool,
    /// Sources work in parallel with the utility.
    pub parallel: bool,
    /// A source feeds a busbar through a breaker at its far end.
    pub source_breaker_at_end: bool,
    /// Optional standby supply by Article 702.
    pub standby: bool,
    /// The standby source has its grounding electrode connection elsewhere.
    pub standby_bonded_elsewhere: bool,
    /// A single 120 V supply feeds a 120/240 V panel.
    pub single_120: bool,
    /// Power is limited by energy management.
    pub managed: bool,
}

/// The labels that facts ask for.
///
/// # Errors
/// A combination of facts that contradict each other, or the table cannot be used.
pub fn labels(facts: &LabelFacts) -> Result<Vec<Sign>, NotCovered> {
    contradictions(facts)?;
    let sources = facts.array || facts.storage || facts.standby;
    let asked = [
        ("array-rapid-shutdown-building", facts.array && facts.array_on_building),
        ("array-rapid-shutdown-switch", facts.array && facts.array_on_building),
        ("array-disconnect", facts.array),
        ("array-disconnect-live", facts.array),
        ("array-voltage", facts.array),
        ("array-wiring", facts.array && facts.array_on_building),
        ("arc-flash", facts.panels && !facts.dwelling),
        ("service-fault-current", facts.utility && !facts.dwelling),
        ("source-directory", facts.parallel || (facts.utility && sources)),
        ("source-breaker", facts.source_breaker_at_end),
        ("storage-disconnect", facts.storage),
        // dwellings need no arc-flash and fault-current data there
        ("storage-disconnect-facts", facts.storage && !facts.dwelling),
        ("storage-shutdown", facts.storage && facts.dwelling),
        ("standby-battery-disconnect", facts.standby_battery && facts.dwelling),
        ("standby-sign", facts.standby),
        ("standby-neutral-sign", facts.standby && facts.standby_bonded_elsewhere),
        ("stand-alone-sign", !facts.utility && sources),
        ("single-120-panel", facts.single_120),
        ("power-management", facts.managed),
    ];
    let keys: Vec<&str> = asked.iter().filter(|(_, asked)| *asked).map(|(key, _)| *key).collect();
    let durable = (!keys.is_empty()).then_some("durable");
    keys.into_iter().chain(durable).map(|key| Ok(label(key)?)).collect()
}

fn contradictions(facts: &LabelFacts) -> Result<(), NotCovered> {
    let refuse = |reason: Text| Err(NotCovered::new("NEC 2023 705.10", reason));
    if facts.parallel && !facts.utility {
        return refuse(say!("sources in parallel with a utility that is not there"));
    }
    if facts.array_on_building && !facts.array {
        return refuse(say!("an array on a building that is not there"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use tables::us::label::keys;

    fn asked(facts: LabelFacts) -> BTreeSet<&'static str> {
        labels(&facts).unwrap().iter().map(|label| label.key).collect()
    }

    fn everything() -> LabelFacts {
        LabelFacts {
            array: true,
            array_on_building: true,
            storage: true,
            standby_battery: true,
            panels: true,
            dwelling: true,
            utility: true,
            parallel: true,
            source_breaker_at_end: true,
            standby: true,
            standby_bonded_elsewhere: true,
            single_120: true,
            managed: true,
        }
    }

    #[test]
    fn every_label_of_the_table_can_be_asked_for() {
        let mut found = asked(everything());
        found.extend(asked(LabelFacts { dwelling: false, ..everything() }));
        found.extend(asked(LabelFacts { utility: false, parallel: false, ..everything() }));
        assert_eq!(found, keys().unwrap().into_iter().collect());
    }

    #[test]
    fn no_facts_no_labels_and_contradictions_are_refused() {
        assert!(asked(LabelFacts::default()).is_empty());
        assert!(labels(&LabelFacts { parallel: true, ..LabelFacts::default() }).is_err());
        assert!(labels(&LabelFacts { array_on_building: true, ..LabelFacts::default() }).is_err());
        let cabin = asked(LabelFacts { storage: true, dwelling: true, ..LabelFacts::default() });
        assert!(cabin.contains("stand-alone-sign") && !cabin.contains("source-directory"));
    }

    #[test]
    fn a_place_asks_for_its_own_labels_alone() {
        let shop = asked(LabelFacts { storage: true, utility: true, ..LabelFacts::default() });
        assert!(shop.contains("storage-disconnect-facts") && !shop.contains("storage-shutdown"));
        assert!(shop.contains("source-directory"), "a source beside the utility, never in parallel");
        let home = asked(LabelFacts { storage: true, dwelling: true, ..LabelFacts::default() });
        assert!(!home.contains("storage-disconnect-facts") && home.contains("storage-shutdown"));
        let field = asked(LabelFacts { array: true, dwelling: true, ..LabelFacts::default() });
        assert!(field.contains("array-disconnect") && !field.contains("storage-shutdown"));
        for building in ["array-rapid-shutdown-building", "array-rapid-shutdown-switch", "array-wiring"] {
            assert!(!field.contains(building), "{building}");
        }
    }
}
