//! Reader of a unit's source side: relay, pass-through, reconnection, inputs, export.

use quantity::{Current, Duration};
use reading::Section;

use super::check;
use super::common::{amperes, band, delay, in_order, may, need, need_flag, short_times, span};
use crate::{
    Export, FaultRating, InputLimit, IslandBond, LimitScope, NeutralPole, PassThrough, PathResistance,
    SecondInput, SourceBand, TransferRelay,
};

/// How the unit meets the sources.
pub(super) struct SourceSide {
    pub relay: TransferRelay,
    pub pass_through: PassThrough,
    pub transfer_gap: Duration,
    pub reconnect_earliest: Duration,
    pub reconnect_latest: Option<Duration>,
    pub input_inhibit: bool,
    pub second_input: Option<SecondInput>,
    pub accepts: Option<SourceBand>,
    pub input_limit: InputLimit,
    pub contributes: bool,
    pub export: Export,
    pub leaves_together: bool,
    pub neutral: Option<NeutralPole>,
    pub island_bond: Option<IslandBond>,
    pub decides_together: Option<bool>,
    pub input_breaker: Current,
    pub bypass_breakers_up_to: u32,
}

pub(super) fn source_side(s: &Section<'_>) -> Option<SourceSide> {
    let relay = s.need_section("relay", "the transfer relay inside the unit, per leg", relay);
    let pass_through =
        s.need_section("pass_through", "how the pass-through of paralleled units adds up", pass_through);
    let doc = "longest time without power at the output when the utility fails";
    let transfer_gap = need(s, "transfer_gap", doc, span(0.0, 60.0));
    let reconnect = s.need_section("reconnect", "reconnection after the utility is back and good", delay);
    let doc = "an external contact can hold the unit off its input";
    let input_inhibit = need_flag(s, "input_inhibit", doc);
    let second_input = s.section("second_input", "AC input for a generator with a relay of its own", |i| {
        let continuous = need(i, "continuous", "continuous current per leg", amperes());
        let make = may(i, "make", "makes onto; leave out if not published", amperes());
        let breaking = may(i, "breaking", "breaks; leave out if not published", amperes());
        let short_time = short_times(i, continuous);
        let doc = "shortest time from good voltage here, the first input given up, to its closing; leave out if not published";
        let closes_after = may(i, "closes_after", doc, span(0.0, 3600.0));
        if let Some(continuous) = continuous {
            check::relay(i, continuous, make, breaking);
        }
        Some(SecondInput { continuous: continuous?, make, breaking, short_time, closes_after })
    });
    let doc = "voltage and frequency that it accepts at its inputs; leave out if not published";
    let accepts = s.section("accepts", doc, band);
    let input_limit =
        s.need_section("input_limit", "settable limit of the current drawn from a source", input_limit);
    let doc = "gives battery power beside a source when the load exceeds the input limit";
    let contributes = need_flag(s, "contributes", doc);
    let export = s.need_section("export", "what the unit may give back to the utility", export);
    let doc = "trouble on one phase of the utility takes the whole group off it";
    let leaves_together = need_flag(s, "leaves_together", doc);
    let words = [("solid", NeutralPole::Solid), ("switched", NeutralPole::Switched)];
    let doc = "what the relays of both inputs do with the neutral; left out, not known";
    let neutral = s.choice("neutral", doc, &words);
    let words = [("none", IslandBond::None), ("while forming", IslandBond::WhileForming)];
    let doc =
        "whether the units join neutral and earth by themselves (the lead unit does); left out, not known";
    let island_bond = s.choice("island_bond", doc, &words);
    let doc = "linked units decide as one: none forms a voltage while a relay of any is closed, none closes onto \
               one input while another is closed onto the other; left out, not known";
    let decides_together = s.flag("decides_together", doc);
    let input_breaker = need(s, "input_breaker", "largest breaker ahead of the unit's input", amperes());
    let doc = "most units that a bypass of interlocked breakers may serve";
    let bypass = s.need_count("bypass_breakers_up_to", doc, 0..=256);
    if let (Some(relay), Some(limit)) = (&relay, &input_limit) {
        check::input_limit_within_relay(s, limit, relay);
    }
    let reconnect = reconnect?;
    Some(SourceSide {
        relay: relay?,
        pass_through: pass_through?,
        transfer_gap: transfer_gap?,
        reconnect_earliest: reconnect.earliest,
        reconnect_latest: reconnect.latest,
        input_inhibit: input_inhibit?,
        second_input,
        accepts,
        input_limit: input_limit?,
        contributes: contributes?,
        export: export?,
        leaves_together: leaves_together?,
        neutral: neutral.map(|n| n.value),
        island_bond: island_bond.map(|n| n.value),
        decides_together: decides_together.map(|n| n.value),
        input_breaker: input_breaker?,
        bypass_breakers_up_to: bypass?.value,
    })
}

fn relay(s: &Section<'_>) -> Option<TransferRelay> {
    let continuous = need::<Current>(s, "continuous", "carries for any time", amperes());
    let make = may(s, "make", "makes onto; leave out if not published", amperes());
    let breaking = may(s, "breaking", "breaks; leave out if not published", amperes());
    let short_time = short_times(s, continuous);
    let fault = s.section("fault", "conditional short-circuit rating; leave out if not published", |f| {
        let current = need::<Current>(f, "current", "prospective fault current, RMS", amperes());
        let breaker = need::<Current>(f, "behind_breaker", "largest breaker ahead", amperes());
        if let (Some(current), Some(breaker)) = (current, breaker) {
            in_order(f, "current", "`current` is below `behind_breaker`", breaker, current);
        }
        Some(FaultRating { current: current?, breaker: breaker? })
    });
    let doc =
        "longest time between the first and the last relay of a group moving; leave out if not published";
    let group_moves_within = may(s, "group_moves_within", doc, span(0.0, 60.0));
    if let Some(continuous) = continuous {
        check::relay(s, continuous, make, breaking);
    }
    Some(TransferRelay { continuous: continuous?, make, breaking, short_time, fault, group_moves_within })
}

fn pass_through(s: &Section<'_>) -> Option<PassThrough> {
    let words = [("one relay", false), ("matched paths", true)];
    let doc = "\"one relay\": the group passes no more than one; \"matched paths\": paths add up as wired";
    let counts = s.need_choice("counts", doc, &words);
    let new = s.section("new", "matched paths only: resistance of one path when new", path);
    let end_of_life = s.section("end_of_life", "matched paths only: at the end of life", path);
    let wiring = s.text("wiring", "matched paths only: wiring conditions, in words");
    let matched = counts?.value;
    for key in ["new", "end_of_life", "wiring"] {
        check::key_of_matched_paths(s, key, matched);
    }
    if !matched {
        return Some(PassThrough::OneRelay);
    }
    let (new, end_of_life) = (new?, end_of_life?);
    check::path_ageing(s, &new, &end_of_life);
    Some(PassThrough::Matched { new, end_of_life, wiring: wiring?.value })
}

fn path(s: &Section<'_>) -> Option<PathResistance> {
    let lowest = need(s, "lowest", "lowest of the family", span(1e-6, 1.0));
    let highest = need(s, "highest", "highest of the family", span(1e-6, 1.0));
    let (lowest, highest) = (lowest?, highest?);
    in_order(s, "highest", "`highest` is below `lowest`", lowest, highest)
        .then_some(PathResistance { lowest, highest })
}

fn input_limit(s: &Section<'_>) -> Option<InputLimit> {
    let words = [("unit", LimitScope::Unit), ("group", LimitScope::Group)];
    let scope = s.need_choice("scope", "whose current: each unit's own, or the sum of the group", &words);
    let lowest = need(s, "lowest", "lowest setting, per leg", span(0.0, 2000.0));
    let highest = need(s, "highest", "highest setting, per leg and unit", span(0.1, 2000.0));
    if let (Some(lowest), Some(highest)) = (lowest, highest) {
        in_order(s, "highest", "`highest` is below `lowest`", lowest, highest);
    }
    Some(InputLimit { scope: scope?.value, lowest: lowest?, highest: highest? })
}

fn export(s: &Section<'_>) -> Option<Export> {
    let highest =
        may(s, "highest", "highest power per unit; leave out if it cannot export", span(1.0, 200_000.0));
    let limit_settable = need_flag(s, "limit_settable", "whether a limit for the group can be set");
    Some(Export { highest, limit_settable: limit_settable? })
}
