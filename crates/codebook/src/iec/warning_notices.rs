//! Warning notices and labels that a site asks for.
//!
//! ## Clause and edition
//! IEC 60364; 4-46 462.3, 5-51 514, 5-551, 5-57, 7-712 712.514, with IEC 62485-2:2010 clause 12.
//! ## Applies when
//! A site has an array, a battery, or a source beside the utility.
//! ## Why
//! Who comes later, with a meter or a hose, must see what stays live after the main switch is off.
//! ## Formula
//! None: facts of the site give a list of notices, each with place, content and clause.
//! ## Example
//! Passing: vented cells ask for the notice on gas at the door of their room. Failing: none can fail; whether a notice is
//! there is seen on site.
//! ## Limits of our reading
//! Content in our words: prescribed wording, signs and colours stand in the standards; national annexes, the network
//! operator and the fire service ask for more. Which voltage a battery must reach for a notice is not read: every battery
//! gets one.
//! ## Source
//! All rows from memory; confirm in the adopted standards.

use saying::{Text, say};
use tables::Sign;
use tables::iec::notice::notice;

use crate::NotCovered;

/// What decides which notices are asked for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct NoticeFacts {
    /// An array stands here.
    pub array: bool,
    /// A battery stands here.
    pub battery: bool,
    /// Its cells give off gas in service.
    pub vented: bool,
    /// A utility supplies the site.
    pub utility: bool,
    /// Sources work in parallel with the utility.
    pub parallel: bool,
    /// A generator can feed the site.
    pub generator: bool,
}

/// The notices that facts ask for. The group of inverters is always there.
///
/// # Errors
/// Facts that contradict each other, or the table cannot be used.
pub fn warning_notices(facts: &NoticeFacts) -> Result<Vec<Sign>, NotCovered> {
    let refuse = |reason: Text| Err(NotCovered::new("IEC 60364-5-551:2009", reason));
    if facts.parallel && !facts.utility {
        return refuse(say!("sources in parallel with a utility that is not there"));
    }
    if facts.vented && !facts.battery {
        return refuse(say!("cells that give off gas without a battery"));
    }
    let several = facts.utility || facts.generator || facts.array;
    let asked = [
        ("array-present", facts.array),
        ("array-live-by-day", facts.array),
        ("array-isolator", facts.array),
        ("several-sources", several),
        ("sources-directory", several),
        ("parallel-supply", facts.parallel),
        ("standby-returns", facts.utility),
        ("island-alone", !facts.utility),
        ("battery-isolator", facts.battery),
        ("battery-place", facts.battery),
        ("battery-gas", facts.vented),
        ("battery-acid", facts.vented),
        ("durable", true),
    ];
    asked.iter().filter(|(_, asked)| *asked).map(|(key, _)| Ok(notice(key)?)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use tables::iec::notice::keys;

    fn asked(facts: NoticeFacts) -> BTreeSet<&'static str> {
        warning_notices(&facts).unwrap().iter().map(|notice| notice.key).collect()
    }

    #[test]
    fn every_notice_of_the_table_can_be_asked_for() {
        let all = NoticeFacts {
            array: true,
            battery: true,
            vented: true,
            utility: true,
            parallel: true,
            generator: true,
        };
        let mut found = asked(all);
        found.extend(asked(NoticeFacts { utility: false, parallel: false, ..all }));
        assert_eq!(found, keys().unwrap().into_iter().collect());
    }

    #[test]
    fn a_site_asks_for_its_own_notices_alone() {
        let hut = asked(NoticeFacts { battery: true, ..NoticeFacts::default() });
        assert!(hut.contains("island-alone") && hut.contains("battery-place"));
        for none in ["battery-gas", "array-present", "several-sources", "standby-returns"] {
            assert!(!hut.contains(none), "{none}");
        }
        assert!(warning_notices(&NoticeFacts { parallel: true, ..NoticeFacts::default() }).is_err());
        assert!(warning_notices(&NoticeFacts { vented: true, ..NoticeFacts::default() }).is_err());
    }
}
