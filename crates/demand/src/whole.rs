//! The loads of the site all together, and those beside the group's panel: built as a panel is.

use std::collections::{BTreeMap, BTreeSet};

use site::DemandMethod;

use crate::assess::{Spread, Work};
use crate::model::PanelDemand;

/// Panel id of all loads together.
const WHOLE: &str = "service";
/// Panel id of the loads beside the group's panel.
const BESIDE: &str = "beside the backup panel";

impl Work<'_> {
    /// Every panel of the site.
    pub(crate) fn all_panels(&self) -> BTreeSet<String> {
        self.site.panels.iter().map(|p| p.id.value.clone()).collect()
    }

    /// Every panel that is neither the group's nor fed by it.
    pub(crate) fn panels_beside(&self) -> BTreeSet<String> {
        let group = self.subtree(&self.site.group.panel.value);
        self.all_panels().difference(&group).cloned().collect()
    }

    /// The panel whose measured demand stands for its loads.
    fn measured_panel(&self) -> Option<&str> {
        match &self.site.demand {
            DemandMethod::Measured(m) => Some(&m.panel.value),
            DemandMethod::Itemised
            | DemandMethod::DwellingStandard(_)
            | DemandMethod::DwellingOptional(_) => None,
        }
    }

    /// All loads together. Where one panel feeds all others it is that panel.
    pub(crate) fn whole(
        &mut self,
        spread: &Spread<'_>,
        panels: &BTreeMap<String, PanelDemand>,
    ) -> Option<PanelDemand> {
        if self.measured_panel().is_some() && spread.measured.is_none() {
            return None;
        }
        let all = self.all_panels();
        if let Some((_, root)) = panels.iter().find(|(id, _)| self.subtree(id) == all) {
            return Some(PanelDemand { panel: WHOLE.to_owned(), ..root.clone() });
        }
        Some(self.panel(WHOLE, &all, spread))
    }

    /// The loads beside the group's panel and all that it feeds.
    pub(crate) fn beside(&mut self, spread: &Spread<'_>) -> Option<PanelDemand> {
        let others = self.panels_beside();
        if let Some(measured) = self.measured_panel().filter(|panel| others.contains(*panel)) {
            let holds_the_group = self.subtree(measured).contains(&self.site.group.panel.value);
            if spread.measured.is_none() || holds_the_group {
                return None;
            }
        }
        Some(self.panel(BESIDE, &others, spread))
    }
}
