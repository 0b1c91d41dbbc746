//! `[[amendment]]`.

use codebook::{Measure, amendable, amendable_rules, figure, may_fall, rule};
use quantity::{Current, Duration, Energy, Length, Percent, Quantity};
use reading::{Diagnostic, Placed, Section};

use super::label::{need_name, percent_in};
use crate::{Amendment, Change};

/// Keys of which an amendment has one.
const CHANGES: [&str; 6] = ["applies", "share", "length", "energy", "time", "current"];

pub(super) fn amendment(s: &Section<'_>) -> Option<Amendment> {
    let id = need_name(s, "rule", "id of the rule, as `wattwright explain` lists it");
    let applies = s.flag("applies", "false: the place does not apply the rule");
    let share = percent_in(s, "share", "the rule's share, as the place has it", 0.0..=2.0);
    let length = s.quantity_in("length", "the rule's length", Length::of(0.0)..=Length::of(100.0));
    let energy = s.quantity_in("energy", "the rule's energy", Energy::of(0.0)..=Energy::of(1e9));
    let time = s.quantity_in("time", "the rule's time", Duration::of(0.0)..=Duration::of(3600.0));
    let current = s.quantity_in("current", "the rule's current", Current::of(0.0)..=Current::of(6000.0));
    let reason = need_name(s, "reason", "why, in the words of the place");
    let authority = need_name(s, "authority", "who amended: ordinance, official, number");
    let there: Vec<&str> = CHANGES.into_iter().filter(|key| s.has(key)).collect();
    let all = CHANGES.map(|key| format!("`{key}`")).join(", ");
    if there.len() != 1 {
        if let Some(place) = s.place() {
            let message = format!("an amendment makes one change; this one makes {}", there.len());
            s.mistake(
                Diagnostic::new("missing-key", message).at(&place, format!("expected exactly one of {all}")),
            );
        }
        return None;
    }
    if let Some(applies) = applies.as_ref().filter(|applies| applies.value) {
        s.mistake(
            Diagnostic::new("contradiction", "a rule that applies is not amended")
                .at(&applies.place, "every rule applies")
                .help("drop the table, or write applies = false"),
        );
        return None;
    }
    let change = applies
        .map(|_| Change::Falls)
        .or(share.map(Change::Share))
        .or(length.map(Change::Length))
        .or(energy.map(Change::Energy))
        .or(time.map(Change::Duration))
        .or(current.map(Change::Current))?;
    let id = id?;
    known(s, &id, &change)?;
    Some(Amendment { rule: id, change, reason: reason?, authority: authority? })
}

/// The rule is one of a book, and the change one that this reading can make.
fn known(s: &Section<'_>, id: &Placed<String>, change: &Change) -> Option<()> {
    if rule(&id.value).is_none() {
        let near = codebook::rules()
            .iter()
            .map(|rule| (strsim::damerau_levenshtein(&id.value, &rule.id), rule.id.as_str()))
            .filter(|(distance, rule)| distance * 5 <= 2 * rule.len())
            .min();
        let help = match near {
            Some((_, rule)) => format!("did you mean \"{rule}\"?"),
            None => "`wattwright explain` lists the rules".to_owned(),
        };
        s.mistake(
            Diagnostic::new("unknown-rule", format!("no rule is called \"{}\"", id.value))
                .at(&id.place, "in no book")
                .help(help),
        );
        return None;
    }
    let fits = match change {
        Change::Falls => may_fall(&id.value),
        Change::Share(_) => is(&id.value, Measure::Share),
        Change::Length(_) => is(&id.value, Measure::Length),
        Change::Energy(_) => is(&id.value, Measure::Energy),
        Change::Duration(_) => is(&id.value, Measure::Duration),
        Change::Current(_) => is(&id.value, Measure::Current),
    };
    if fits {
        return sensible(s, &id.value, change);
    }
    s.mistake(
        Diagnostic::new("not-amendable", format!("this change of \"{}\" would have no effect", id.value))
            .at(&id.place, format!("may be changed: {}", amendable(&id.value)))
            .help(format!("rules of which something may be changed: {}", amendable_rules().join(", "))),
    );
    None
}

/// A share outside what the rule's figure can be is a slip: it would be taken, and do nothing.
fn sensible(s: &Section<'_>, id: &str, change: &Change) -> Option<()> {
    let Change::Share(share) = change else { return Some(()) };
    let Some((least, most)) = figure(id).and_then(|figure| figure.shares) else { return Some(()) };
    if (least..=most).contains(&share.value.share().si()) {
        return Some(());
    }
    let (least, most) = (Percent::of_share(least), Percent::of_share(most));
    s.mistake(
        Diagnostic::new("out-of-range", format!("`share` of \"{id}\" is {}", share.value))
            .at(&share.place, format!("expected {least} to {most}")),
    );
    None
}

fn is(rule: &str, measure: Measure) -> bool {
    figure(rule).is_some_and(|figure| figure.measure == measure)
}

/// Two amendments of one rule would contradict each other.
pub(super) fn once(root: &Section<'_>, all: &[Amendment]) {
    for (k, one) in all.iter().enumerate() {
        if let Some(before) = all.iter().take(k).find(|other| other.rule.value == one.rule.value) {
            root.mistake(
                Diagnostic::new("duplicate-name", format!("rule \"{}\" is amended twice", one.rule.value))
                    .at(&one.rule.place, "again here")
                    .also(&before.rule.place, "first here")
                    .help("keep one of them"),
            );
        }
    }
}
