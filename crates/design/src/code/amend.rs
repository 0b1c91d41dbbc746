//! Changes that the place makes to the code, and what they come to.

use codebook::figure;
use derivation::Known;
use finding::{Finding, Severity};
use quantity::{Current, Duration, Energy, Length, Quantity, Ratio};
use reading::Placed;
use site::{Amendment, Change, Site};
use tables::us::conductor_rule;

use super::Holding;
use crate::compliance::Verdict;
use crate::wiring::DROP_SHARE;

fn of<'s>(site: &'s Site, rule: &str) -> Option<&'s Amendment> {
    site.amendments.iter().find(|amendment| amendment.rule.value == rule)
}

fn words(amendment: &Amendment) -> String {
    format!("by local amendment: {} ({})", amendment.reason.value, amendment.authority.value)
}

/// The share of a rule as the place has it; none where the place does not apply the rule.
pub(crate) fn share(site: &Site, rule: &str, code: Known<Ratio>) -> Option<Known<Ratio>> {
    let Some(amendment) = of(site, rule) else { return Some(code) };
    match &amendment.change {
        Change::Falls => None,
        Change::Share(share) => {
            let what = format!("{}, {}", code.node().what, words(amendment));
            Some(Known::input(&code.node().symbol, what, share.value.share(), &share.place))
        }
        _ => Some(code),
    }
}

impl Holding<'_, '_> {
    /// The place does not apply a rule.
    pub(super) fn waived(&self, rule: &str) -> bool {
        of(self.case.site, rule).is_some_and(|a| matches!(a.change, Change::Falls))
    }

    fn amended<Q: Quantity>(
        &mut self,
        rule: &'static str,
        code: Known<Q>,
        pick: impl Fn(&Change) -> Option<&Placed<Q>>,
    ) -> Known<Q> {
        let Some(amendment) = of(self.case.site, rule) else { return code };
        let Some(value) = pick(&amendment.change) else { return code };
        let what = format!("{}, {}", code.node().what, words(amendment));
        let own = Known::input(&code.node().symbol, what, value.value, &value.place);
        self.changed.push((rule, looser(rule, code.value().si(), value.value.si())));
        own
    }

    pub(super) fn length(&mut self, rule: &'static str, code: Known<Length>) -> Known<Length> {
        self.amended(rule, code, |c| if let Change::Length(l) = c { Some(l) } else { None })
    }

    pub(super) fn current(&mut self, rule: &'static str, code: Known<Current>) -> Known<Current> {
        self.amended(rule, code, |c| if let Change::Current(i) = c { Some(i) } else { None })
    }

    pub(super) fn energy(&mut self, rule: &'static str, code: Known<Energy>) -> Known<Energy> {
        self.amended(rule, code, |c| if let Change::Energy(e) = c { Some(e) } else { None })
    }

    pub(super) fn time(&mut self, rule: &'static str, code: Known<Duration>) -> Known<Duration> {
        self.amended(rule, code, |c| if let Change::Duration(t) = c { Some(t) } else { None })
    }
}

/// Whether a figure asks for less than the code's.
fn looser(rule: &str, code: f64, own: f64) -> bool {
    let larger_is_stricter = figure(rule).is_some_and(|figure| figure.larger_is_stricter);
    if larger_is_stricter { own < code } else { own > code }
}

/// The code's own share, of rules whose figure is a share.
fn code_share(rule: &str) -> Option<f64> {
    match rule {
        "voltage-drop" => Some(DROP_SHARE),
        "dwelling-service" => Some(conductor_rule::ratio("f", "dwelling-share").ok()?.value().si()),
        _ => None,
    }
}

/// Says of every amendment what it does here: a loosening is a warning.
pub(super) fn tell(h: &mut Holding<'_, '_>) {
    for amendment in &h.case.site.amendments {
        let id = amendment.rule.value.as_str();
        let Some(rule) = codebook::rule(id) else { continue };
        let all = || h.held_before.iter().chain(&h.held);
        let used = all().any(|held| held.rule == rule.id && held.verdict.is_held());
        let (loosens, what) = match &amendment.change {
            // without this rule the conductors carry the whole rating
            Change::Falls => (id != "dwelling-service", "the rule is not applied".to_owned()),
            Change::Share(share) => {
                let own = share.value.share().si();
                let code = code_share(id).unwrap_or(0.0);
                (looser(id, code, own), format!("{} in place of {:.0} %", share.value, code * 100.0))
            }
            _ => {
                let loosens = h.changed.iter().find(|(rule, _)| *rule == id).map(|(_, loosens)| *loosens);
                (loosens.unwrap_or(false), "the figure of the place is held".to_owned())
            }
        };
        let falls = matches!(amendment.change, Change::Falls);
        if falls {
            for held in h.held.iter_mut().filter(|held| held.rule == rule.id) {
                held.verdict = Verdict::DoesNotApply;
            }
        }
        for held in h.held.iter_mut().filter(|held| held.rule == rule.id) {
            held.why = Some(words(amendment));
        }
        let severity = if loosens { Severity::Warning } else { Severity::Note };
        let way = if loosens { "looser than the code" } else { "no looser than the code" };
        let here = if used || falls { "" } else { "; the rule is not used here" };
        let message = format!("{}: {what} {}, {way}{here}", rule.title, words(amendment));
        h.found.push(
            Finding::new("local-amendment", severity, format!("rule {id}"), message)
                .by(format!("{} {}", rule.edition, rule.clause))
                .at(Some(&amendment.rule.place), "amended here"),
        );
    }
}
