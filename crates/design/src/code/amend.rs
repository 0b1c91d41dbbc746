//! Changes that the place makes to the code, and what they come to.

use codebook::figure;
use derivation::Known;
use finding::{Finding, Severity};
use place::wall::Depth;
use quantity::{Current, Duration, Energy, Length, Quantity, Ratio, VoltageSystem};
use reading::Placed;
use saying::{Text, say};
use site::{Amendment, Change, Site};
use tables::us::{conductor_rule, load_rule};

use super::Holding;
use crate::Held;
use crate::compliance::Verdict;
use crate::wiring::DROP_SHARE;

fn of<'s>(site: &'s Site, rule: &str) -> Option<&'s Amendment> {
    site.amendments.iter().find(|amendment| amendment.rule.value == rule)
}

/// The depth before live parts as the place has it.
pub(crate) fn depth(site: &Site) -> Depth {
    const RULE: &str = "working-space";
    match of(site, RULE).map(|amendment| (&amendment.change, amendment)) {
        Some((Change::Falls, _)) => Depth::Waived,
        Some((Change::Length(own), amendment)) => {
            let what = format!("depth of working space, {}", amendment.words());
            Depth::Own(Known::input("d", what, own.value, &own.place))
        }
        _ => Depth::AsTheCode,
    }
}

/// A verdict that is found after the amendments were told, as the place has it.
pub(crate) fn told(site: &Site, mut held: Held) -> Held {
    if let Some(amendment) = of(site, held.rule) {
        if matches!(amendment.change, Change::Falls) {
            held.verdict = Verdict::DoesNotApply;
        }
        held.why = Some(beside(held.why, &amendment.words()));
    }
    held
}

fn beside(why: Option<Text>, words: &str) -> Text {
    let words = Text::from(words.to_owned());
    match why {
        Some(why) => why.then("; ", words),
        None => words,
    }
}

/// The share of a rule as the place has it; none where the place does not apply the rule.
pub(crate) fn share(site: &Site, rule: &str, code: Known<Ratio>) -> Option<Known<Ratio>> {
    let Some(amendment) = of(site, rule) else { return Some(code) };
    match &amendment.change {
        Change::Falls => None,
        Change::Share(_) => site.amended_share(rule, &code.node().symbol, &code.node().what),
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
        let what = format!("{}, {}", code.node().what, amendment.words());
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
        "continuous-load" => Some(load_rule::ratio("f", "continuous-feeder").ok()?.value().si()),
        "dwelling-service" => Some(conductor_rule::ratio("f", "dwelling-share").ok()?.value().si()),
        _ => None,
    }
}

/// Whether the rule would be held on anything here.
fn used(h: &Holding<'_, '_>, id: &str) -> bool {
    let mut entries = h.held_before.iter().chain(&h.held).filter(|held| held.rule == id);
    let listed = id == "working-space" && !h.work.spaces.is_empty();
    // where it falls, nothing is left of this one
    let fell = id == "dwelling-service"
        && h.dwelling()
        && h.case.system() == VoltageSystem::Split120_240
        && h.wire("service.conductor").is_some();
    // a verdict of a part, not the reason why there is none
    let of_part = |held: &Held| held.verdict == Verdict::DoesNotApply && held.part != "site";
    listed || fell || entries.any(|held| held.verdict.is_held() || of_part(held))
}

/// Says of every amendment what it does here: a loosening is a warning.
pub(super) fn tell(h: &mut Holding<'_, '_>) {
    for amendment in &h.case.site.amendments {
        let id = amendment.rule.value.as_str();
        let Some(rule) = codebook::rule(id) else { continue };
        let used = used(h, id);
        let (loosens, what) = match &amendment.change {
            // without this rule the conductors carry the whole rating
            Change::Falls => (id != "dwelling-service", "the rule is not applied".to_owned()),
            Change::Share(share) => {
                let own = share.value.share().si();
                let code = code_share(id).unwrap_or(0.0);
                (looser(id, code, own), format!("{} in place of {:.0} %", share.value, code * 100.0))
            }
            _ => {
                // a rule is used on several parts: the severest counts
                let loosens = h.changed.iter().any(|(rule, loosens)| *rule == id && *loosens);
                (loosens, "the figure of the place is held".to_owned())
            }
        };
        let falls = matches!(amendment.change, Change::Falls);
        if falls {
            for held in h.held.iter_mut().filter(|held| held.rule == rule.id) {
                held.verdict = Verdict::DoesNotApply;
            }
        }
        for held in h.held.iter_mut().filter(|held| held.rule == rule.id) {
            held.why = Some(beside(held.why.take(), &amendment.words()));
        }
        let severity = if loosens { Severity::Warning } else { Severity::Note };
        let way = if loosens { "looser than the code" } else { "no looser than the code" };
        let here = if used { "" } else { "; the rule is not used here" };
        let message = say!(
            "{title}: {what} {amendment}, {way}{here}",
            title = rule.title,
            what,
            amendment = amendment.words(),
            way,
            here
        );
        h.found.push(
            Finding::new("local-amendment", severity, format!("rule {id}"), message)
                .by(format!("{} {}", rule.edition, rule.clause))
                .at(Some(&amendment.rule.place), say!("amended here")),
        );
    }
}
