//! By which method the service is sized.

use std::collections::BTreeMap;

use codebook::NotCovered;
use derivation::Known;
use finding::{Finding, Severity};
use quantity::Current;
use saying::say;
use site::{DemandMethod, Measured};

use crate::assess::Work;
use crate::dwelling;
use crate::measured::MeasuredDemand;
use crate::model::ServiceDemand;
use crate::panel::Members;
use crate::pieces::Piece;
use crate::series::Series;
use crate::service;

impl Work<'_> {
    /// Demand that sizes the service; none off grid, and none with a finding where the method does not reach.
    pub(crate) fn service(
        &mut self,
        pieces: &[Piece],
        measured: Option<&MeasuredDemand>,
        series: &BTreeMap<String, Series>,
    ) -> Option<ServiceDemand> {
        if !self.site.service.utility.value {
            return None;
        }
        let system = self.site.service.system.value;
        let rating = self.site.service.rating.as_ref().map(|r| r.known("I_r", "rating of the service"));
        let found = match &self.site.demand {
            DemandMethod::Itemised => self.itemised(pieces, None),
            DemandMethod::DwellingStandard(d) => dwelling::standard(d, system, &mut self.assumptions),
            DemandMethod::DwellingOptional(d) => {
                dwelling::optional(d, system, rating.as_ref(), &mut self.assumptions)
            }
            // an unusable file was reported with its lines
            DemandMethod::Measured(m) if !self.us => {
                series.get(&m.file.value)?;
                let method = "measured, with the loads that are not in it";
                let found = self.itemised(pieces, measured);
                // a record does not tell which of its loads are beside the backup panel
                let none = BTreeMap::new;
                found.map(|found| ServiceDemand { method, legs: none(), beside: none(), ..found })
            }
            DemandMethod::Measured(m) => self.by_220_87(pieces, m, series.get(&m.file.value)?, rating?),
        };
        found.map_err(|why| self.not_covered(&why)).ok()
    }

    fn by_220_87(
        &mut self,
        pieces: &[Piece],
        measured: &Measured,
        series: &Series,
        rating: Known<Current>,
    ) -> Result<ServiceDemand, NotCovered> {
        let system = self.site.service.system.value;
        let inner = self.subtree(&measured.panel.value);
        let new: Vec<&Piece> =
            pieces.iter().filter(|p| !(p.in_measured && inner.contains(&p.panel))).collect();
        let seasonal_loads_listed = new.iter().any(|p| p.season.is_some());
        let new_load = service::itemised(&mut Members::new(system, new), None, self.site)?.current;
        let facts = service::MeasuredService { measured, series, new_load, seasonal_loads_listed, rating };
        service::measured(&facts, system, &mut self.assumptions)
    }

    fn itemised(
        &self,
        pieces: &[Piece],
        measured: Option<&MeasuredDemand>,
    ) -> Result<ServiceDemand, NotCovered> {
        let system = self.site.service.system.value;
        let (running, _, _) = self.counted(&self.all_panels(), pieces, measured);
        let (others, _, _) = self.counted(&self.panels_beside(), pieces, measured);
        let beside = &mut Members::new(system, others);
        service::itemised(&mut Members::new(system, running), Some(beside), self.site)
    }

    fn not_covered(&mut self, why: &NotCovered) {
        let place = match &self.site.demand {
            DemandMethod::Itemised => None,
            DemandMethod::DwellingStandard(d) | DemandMethod::DwellingOptional(d) => Some(&d.place),
            DemandMethod::Measured(m) => Some(&m.place),
        };
        self.findings.push(
            Finding::new(
                "service-not-covered",
                Severity::NotCovered,
                "service",
                say!("the demand that sizes the service is not covered: {reason}", reason = why.reason),
            )
            .by(&why.clause)
            .at(place, say!("this method does not reach the case"))
            .fix(say!("use another demand method: itemised from the loads reaches every site")),
        );
    }
}
