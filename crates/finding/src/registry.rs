//! Every kind of finding, with what `explain` says of it.

/// A kind of finding.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// Stable id in words.
    pub id: &'static str,
    /// One line.
    pub title: &'static str,
    /// Why it matters and how it is found.
    pub why: &'static str,
    /// What usually mends it.
    pub remedies: &'static str,
}

/// The kind with an id.
pub fn kind(id: &str) -> Option<&'static Kind> {
    kinds().iter().find(|k| k.id == id)
}

/// All kinds, by id.
pub fn kinds() -> &'static [Kind] {
    KINDS
}

const KINDS: &[Kind] = &[
    Kind {
        id: "additive-pass-through",
        title: "Pass-through is counted for several relays",
        why: "The family states that the pass-through of paralleled units adds up, and the site says that the wiring conditions are met. The limit is then set by the hottest path with one path open, with the highest path resistance at the end of life against the lowest new one.",
        remedies: "nothing to mend; build the wiring exactly as the conditions say",
    },
    Kind {
        id: "balance-not-proven",
        title: "Loads may be spread over the legs a little better",
        why: "Loads without a stated leg are placed by a search with a limit of effort. It stopped before it could show that no other placement has a smaller worst leg; the gap to the best possible is stated.",
        remedies: "State the legs of the larger loads, or take the placement as it is.",
    },
    Kind {
        id: "bypass-too-many-units",
        title: "The bypass is not made for so many units",
        why: "Interlocked breakers isolate and bypass only as many units as the family says; more units have more inputs and outputs than the interlock holds.",
        remedies: "a manual bypass switch",
    },
    Kind {
        id: "charging-limited",
        title: "Charging is held below what the units could draw",
        why: "The input current limit is shared by the load that passes through and by charging; relays, service or generator leave less for charging than the chargers could take.",
        remedies: "nothing, if the time to recharge is acceptable; else fewer passed-through loads or a larger service",
    },
    Kind {
        id: "coincidence-bounded",
        title: "Demand is an upper bound, not the exact worst case",
        why: "Loads exclude one another in so many ways that not every permitted subset was looked at. Of each group that excludes itself the largest counts, which is never below the truth.",
        remedies: "State never_with only where it matters.",
    },
    Kind {
        id: "continuous-contradicted",
        title: "A load stated as not continuous may run three hours or more",
        why: "The site says that the load is not continuous, and its times let it run three hours or more in one go (NEC 2023 article 100): so many hours a day without `lasts` and `rests`, or three hours of its hourly profile at 1 in a row. It is counted as continuous.",
        remedies: "State its longest run and shortest pause (`lasts`, `rests`), or leave `continuous` out.",
    },
    Kind {
        id: "dead-source-energised",
        title: "The group stays joined to a source that is gone",
        why: "In a settled state the group stays joined to the utility or a generator after it has failed, and would energise it.",
        remedies: "an interlock, or a relay that opens",
    },
    Kind {
        id: "export-impossible",
        title: "The family cannot export",
        why: "The site asks for export and the units cannot give power back to the utility.",
        remedies: "another family, or no export",
    },
    Kind {
        id: "export-limit-not-settable",
        title: "The utility limits export and the units have no limit to set",
        why: "Without a settable limit the units may give back more than the utility allows.",
        remedies: "a family with a settable export limit",
    },
    Kind {
        id: "fault-current-unknown",
        title: "The available fault current is not known",
        why: "Relays and transfer gear must withstand the fault current at their place; without the utility's figure or the transformer's data it cannot be held against their ratings.",
        remedies: "the utility's statement of the fault current at the service, or rating and impedance of the transformer",
    },
    Kind {
        id: "fault-over-withstand",
        title: "The fault current exceeds what a part withstands",
        why: "A short circuit behind the part lets the full fault current through it. Only a stated current, or the transformer's data at an infinite bus, is used; cable ahead of the service would lower it.",
        remedies: "the utility's figure at the service itself, gear with a higher rating, or current-limiting fuses shown to protect it",
    },
    Kind {
        id: "fixed-but-unused",
        title: "Something the site fixes is not used",
        why: "The arrangement that is chosen has no use for it.",
        remedies: "taking it out, or fixing the arrangement as well",
    },
    Kind {
        id: "flow-not-covered",
        title: "The currents of a state cannot be told",
        why: "In this position the closed gear makes a loop, and a power balance does not tell how the current divides.",
        remedies: "other gear positions or interlocks",
    },
    Kind {
        id: "formation-not-understood",
        title: "The formation does not fit family and service",
        why: "One-leg units are written as a number for each leg (`2+2+2`), two-leg units as one number (`4`).",
        remedies: "the number of units for each leg, in leg order",
    },
    Kind {
        id: "formation-over-limits",
        title: "More units than the family allows",
        why: "The family states how many units work as one, on a leg and in all.",
        remedies: "fewer, larger units",
    },
    Kind {
        id: "formation-uneven",
        title: "The family asks for as many units on every leg",
        why: "Some families only work with the same number of units on every leg.",
        remedies: "an even formation",
    },
    Kind {
        id: "gap-assumed",
        title: "Loads without a stated tolerance are taken to bear the transfer",
        why: "A load that states no `gap` is assumed to bear the time without power at a transfer.",
        remedies: "a `gap` for every load that an interruption harms",
    },
    Kind {
        id: "gap-not-covered",
        title: "The longest transfer is not known",
        why: "The transfer switch states no latest time, so it cannot be said that the load tolerates it.",
        remedies: "a transfer switch with a stated latest time",
    },
    Kind {
        id: "gap-not-tolerated",
        title: "A load does not tolerate the time without power at transfer",
        why: "When the utility fails, the panel is without power until the units (inline) or the transfer switch (outboard) have moved.",
        remedies: "the inline arrangement, or an uninterruptible supply ahead of the load",
    },
    Kind {
        id: "gear-over-rating",
        title: "Transfer or bypass gear carries more than its rating",
        why: "In some settled state that the gear can reach, more flows through a pole than it is rated for.",
        remedies: "larger gear, or fewer loads on the backup panel",
    },
    Kind {
        id: "gear-under-panel",
        title: "The transfer switch is rated below the panel",
        why: "Gear ahead of a panel is rated for the panel's main breaker or busbar, since the panel may be loaded up to that.",
        remedies: "a larger transfer switch, or a smaller main breaker in the panel",
    },
    Kind {
        id: "gear-wrong-system",
        title: "The gear is not made for this voltage system",
        why: "Poles, neutral and control of the gear must fit the system.",
        remedies: "gear made for the system",
    },
    Kind {
        id: "generator-over",
        title: "The backup panel asks for more than the generator gives",
        why: "The generator is derated for altitude and held against the worst leg. Where the units can contribute, the battery may help while it lasts; an empty battery cannot.",
        remedies: "a larger generator, or shedding while it runs",
    },
    Kind {
        id: "generator-relay-over",
        title: "The units' second inputs pass more than one of them is rated for",
        why: "As with the transfer relays, paralleled second-input relays count as one without the catalogue's word.",
        remedies: "a source transfer switch ahead of the units, or a smaller panel",
    },
    Kind {
        id: "generator-system",
        title: "The generator's system is not the group's",
        why: "Legs and voltages of the generator must be those of the group.",
        remedies: "a generator of the same system",
    },
    Kind {
        id: "group-continuous-over",
        title: "The demand exceeds the continuous rating of the group",
        why: "The rating is the catalogue's at the room temperature and altitude of the site, times the units that may be counted with their sharing tolerance, on the worst leg.",
        remedies: "another unit, or loads moved off the leg or the panel",
    },
    Kind {
        id: "group-overload-over",
        title: "The demand exceeds what the group carries for a time",
        why: "Overload ratings are power-and-time ratings and shrink with temperature and altitude like the continuous one.",
        remedies: "another unit, or loads that exclude each other (never_with, at_once)",
    },
    Kind {
        id: "group-peak-over",
        title: "The current peaks exceed what the bridges can give",
        why: "Loads with a high crest factor draw their current in short peaks; the bridge trips on the instantaneous sum.",
        remedies: "another unit, or such loads moved off the leg",
    },
    Kind {
        id: "inhibit-impossible",
        title: "The input cannot be held off by an auxiliary contact",
        why: "The switch needs a free auxiliary contact and the unit an input for it.",
        remedies: "another switch or family, or delays whose ranges cannot overlap",
    },
    Kind {
        id: "input-limit-below-load",
        title: "The input limit is below the load that passes through",
        why: "The units make up for the rest from the battery while it lasts; then the limit is not kept.",
        remedies: "fewer loads on the backup panel, or more room in the service",
    },
    Kind {
        id: "input-limit-not-settable",
        title: "The input limit is outside what the family can be set to",
        why: "The limit shares the input between the load that passes through and charging; the family has a lowest and a highest setting.",
        remedies: "another limit, or room in the service",
    },
    Kind {
        id: "inverts-more-than-passes",
        title: "The group inverts more than it can pass through",
        why: "Inverting capacity grows with the number of units while pass-through stays with one relay. Inline, a load that has grown on the battery does not fit through the relays when the utility is back (common practice).",
        remedies: "the outboard arrangement",
    },
    Kind {
        id: "leg-without-unit",
        title: "A leg has no unit",
        why: "Every leg of the system needs at least one unit.",
        remedies: "at least one unit a leg",
    },
    Kind {
        id: "lifeline-load",
        title: "A load that law or code makes someone's lifeline",
        why: "Emergency, legally required standby, essential health care and critical operations systems have their own rules of source, transfer, separation and testing. This tool designs optional standby and stand-alone systems and refuses them.",
        remedies: "Have the load supplied by a system designed and listed for its class, and leave it out of this site.",
    },
    Kind {
        id: "load-not-placed",
        title: "A load could not be connected",
        why: "It asks for legs that the service does not have, or for a panel that the site does not have. It is in none of the figures.",
        remedies: "Correct its legs or its panel.",
    },
    Kind {
        id: "locked-rotor-assumed",
        title: "A motor's starting current is assumed",
        why: "Neither a locked-rotor current nor a usable code letter or table gives it; eight times the running power is taken, the upper end of common practice.",
        remedies: "State locked_rotor_current or code_letter from the nameplate.",
    },
    Kind {
        id: "locked-rotor-open-ended",
        title: "A motor's code letter has no upper end",
        why: "Code letter V begins at 22.4 kVA per hp and ends nowhere: the start may take more than is reckoned with.",
        remedies: "State locked_rotor_current from the nameplate.",
    },
    Kind {
        id: "matched-wiring-without-word",
        title: "Matched wiring counts for nothing here",
        why: "Only a family that states how its pass-through adds up lets several relays be counted.",
        remedies: "leave it out, or use a family that states it",
    },
    Kind {
        id: "measured-legs-unknown",
        title: "Measured demand without its legs",
        why: "Only the total was recorded. The worst leg decides, and all of it might be on one.",
        remedies: "Record each leg.",
    },
    Kind {
        id: "measured-no-starts",
        title: "Interval data cannot show motor starts",
        why: "Means over minutes hide the seconds of a start. Only motors that are listed as loads are started on top of the measured demand.",
        remedies: "List the motors inside the measured demand as loads with in_measured = true.",
    },
    Kind {
        id: "measured-short-unknown",
        title: "Interval data do not show short demands",
        why: "A mean over an interval hides what is higher for seconds or minutes within it, and the overload limits of the group are about just that.",
        remedies: "the ratio of short peaks to interval means (short_peak_factor), or the loads themselves",
    },
    Kind {
        id: "measured-unusable",
        title: "The measured demand cannot be used",
        why: "Its file is missing or has mistakes, which are listed with their lines. Without it the demand of its panel is not known.",
        remedies: "Mend the file, or choose another method under [demand].",
    },
    Kind {
        id: "motor-contradiction",
        title: "Figures of a motor contradict each other",
        why: "Its full-load current does not carry its shaft power, its locked-rotor current or the limit of its soft starter is below its full-load current, or its current is more than 30 % apart from its efficiency and power factor. One of the figures is wrong, so its running power and its start cannot be trusted.",
        remedies: "Copy power, current, efficiency, power factor and locked-rotor current from the nameplate again.",
    },
    Kind {
        id: "motor-start-collapse",
        title: "A motor cannot start: the voltage collapses",
        why: "At its current limit an inverter is no stiff source. The starting motor and what runs with it ask for more current than the group gives at any voltage, so no steady voltage exists.",
        remedies: "a soft starter or drive, staggered starts, or more units",
    },
    Kind {
        id: "motor-start-not-covered",
        title: "A motor start cannot be computed",
        why: "Some figure of the start is missing or outside the model.",
        remedies: "locked-rotor current or code letter, and power factor, of the motor",
    },
    Kind {
        id: "motor-start-too-long",
        title: "A start lasts longer than the group holds its current",
        why: "Run-up time grows with 1/V²; the group holds the current only as long as its overload or surge rating says.",
        remedies: "a soft starter or drive, or more units",
    },
    Kind {
        id: "motor-start-torque",
        title: "A motor does not start even at full voltage",
        why: "A soft starter that limits the current also takes the square of that share from the torque. What is left must move the machine.",
        remedies: "a higher start current, a drive, or an unloaded start (starting_torque)",
    },
    Kind {
        id: "motor-start-voltage",
        title: "A motor start pulls the voltage too low",
        why: "Torque goes with V²; contactors drop out (below 70 %, common practice), and the units trip on under-voltage if the start outlasts their delay.",
        remedies: "a soft starter or drive, or more units",
    },
    Kind {
        id: "neutral-former-inrush",
        title: "The neutral former's inrush exceeds the group's limit",
        why: "Energising a transformer draws a magnetising inrush; a bridge at its current limit may not get the island up.",
        remedies: "more units, or a former with a smaller inrush",
    },
    Kind {
        id: "neutral-former-keeps-lines",
        title: "Losing the neutral former would leave lines without a neutral",
        why: "With the lines live and no neutral, line-to-neutral loads see up to the full line voltage.",
        remedies: "a former whose contact opens the lines with it",
    },
    Kind {
        id: "neutral-former-missing",
        title: "The units form no neutral and there is no neutral former",
        why: "A bridge between the two lines gives no neutral; loads from line to neutral need an autotransformer on the island side.",
        remedies: "a neutral former in the catalogue, or a family that forms the neutral",
    },
    Kind {
        id: "neutral-former-over",
        title: "The neutral former carries more than it is rated for",
        why: "The neutral carries the difference of the legs over every permitted set of loads, at least the larger leg's line-to-neutral load.",
        remedies: "a larger former, or loads connected line to line",
    },
    Kind {
        id: "neutral-over-rating",
        title: "The neutral carries more than a pole is rated for",
        why: "The neutral carries the difference of the legs over every permitted set of loads, and triplen harmonics on top.",
        remedies: "loads spread over the legs or connected line to line, or larger gear",
    },
    Kind {
        id: "no-bypass",
        title: "The panel cannot be served while the units are serviced",
        why: "Without a bypass, work on the units means an outage of the panel, or improvising.",
        remedies: "a bypass with an interlock",
    },
    Kind {
        id: "no-number",
        title: "A figure is missing",
        why: "A value came out as no number, for example by a division by zero. It is never taken as fine.",
        remedies: "the inputs of its derivation",
    },
    Kind {
        id: "no-second-input",
        title: "The family has no second input",
        why: "A generator on the units needs a second input with relays of its own.",
        remedies: "a source transfer switch ahead of the units",
    },
    Kind {
        id: "no-transfer-switch",
        title: "No transfer switch fits",
        why: "The catalogue has none for this system and rating.",
        remedies: "a record in a catalogue of your own",
    },
    Kind {
        id: "nothing-to-carry",
        title: "The backup panel has no demand",
        why: "There is nothing to design for.",
        remedies: "loads on the backup panel",
    },
    Kind {
        id: "one-phase-takes-all",
        title: "One phase takes the whole group",
        why: "In this family trouble on one phase of the utility takes the whole group off it, so the battery carries all three phases.",
        remedies: "nothing to mend; count on it for the battery",
    },
    Kind {
        id: "one-unit-out-leaves-none",
        title: "With one unit out a leg has none",
        why: "The site asks that one unit may be out of service; the leg that it fed would be dead.",
        remedies: "another unit on every leg, or giving up the wish",
    },
    Kind {
        id: "order-rests-on-delays",
        title: "Only delays keep the panel off the units' relays",
        why: "The latest return of the transfer switch lies under the earliest reconnection of the units. That holds as long as both are set so and the units keep their delay in every condition.",
        remedies: "an auxiliary contact that holds the units off",
    },
    Kind {
        id: "outside-scope",
        title: "Not looked at",
        why: "Named so that nobody thinks it was checked. It has no effect on the exit status.",
        remedies: "the other means by which you check it",
    },
    Kind {
        id: "outside-unit-rating",
        title: "Room or altitude is outside the unit's rating",
        why: "The catalogue gives no rating there, and none is guessed.",
        remedies: "cooling, or a family rated for it",
    },
    Kind {
        id: "overload-budget-over",
        title: "The overload budget is spent",
        why: "At a power above continuous, 1/t of the budget is spent each second, with t the time allowed at the next higher listed power; it recovers only below continuous and only as stated (an assumption of the model). The worst course of all permitted loads is bounded over every window up to a day.",
        remedies: "another unit, or fewer loads at once",
    },
    Kind {
        id: "overload-recovery-unknown",
        title: "It is not stated when a spent overload budget is whole again",
        why: "The loads overload the group, and without a stated recovery time repeated overloads add up without end.",
        remedies: "the maker's recovery time, or a unit more",
    },
    Kind {
        id: "panel-over-rating",
        title: "A panel carries more than its rating",
        why: "The demand of a panel, with its continuous share counted as the code asks, is held against the main breaker and the busbar that the site states.",
        remedies: "loads moved to another panel, exclusions, or a larger panel",
    },
    Kind {
        id: "panel-stranded",
        title: "A source is there and the panel stays dead",
        why: "Some state that the gear reaches by itself leaves the panel without power although a source is there, until another failure or a hand changes it.",
        remedies: "another way in for the generator, or a clear instruction",
    },
    Kind {
        id: "pass-through-over-relay",
        title: "More flows through the transfer relays than they pass",
        why: "N paralleled relays do not share evenly: contact resistance drifts, one path may be open, contacts never move together. Unless the catalogue states how pass-through adds up, the group passes no more than one relay. Every settled state counts, also the one after the utility is back and before a separate transfer switch returns.",
        remedies: "a smaller panel, the outboard arrangement, an auxiliary contact that holds the units off their input, or delays that cannot overlap",
    },
    Kind {
        id: "relay-breaking-over",
        title: "One relay may have to break more than it is rated for",
        why: "When the utility collapses, bridges and grid exchange current up to the bridges' limit; the last contact to open breaks it. With an empty battery the relay breaks the load.",
        remedies: "fewer, larger units, or another family",
    },
    Kind {
        id: "relay-breaking-unknown",
        title: "The breaking rating of the relays is not published",
        why: "Whether a relay survives the collapse of the utility cannot be said without it.",
        remedies: "the maker's figure, in a catalogue of your own",
    },
    Kind {
        id: "relay-make-over",
        title: "One relay may have to make more than it is rated for",
        why: "With an empty battery the utility's return closes the first relay onto the waiting panel, motors at standstill included.",
        remedies: "the outboard arrangement, soft starters, shedding before the return",
    },
    Kind {
        id: "relay-make-unknown",
        title: "The making rating of the relays is not published",
        why: "Whether a relay survives closing onto the panel cannot be said without it.",
        remedies: "the maker's figure, in a catalogue of your own",
    },
    Kind {
        id: "relay-order-not-covered",
        title: "What one relay carries while the others follow is not known",
        why: "Relays of a group close one after the other; the first one carries everything until the others have followed.",
        remedies: "the family's figures, or counting one relay only",
    },
    Kind {
        id: "relay-withstand-unknown",
        title: "The relays' short-circuit rating is not published",
        why: "A short circuit behind the relay lets the fault current of the utility through it.",
        remedies: "the maker's conditional rating and its breaker",
    },
    Kind {
        id: "retransfer-not-settable",
        title: "The switch cannot be set to this return delay",
        why: "The record of the switch states the range of its return delay.",
        remedies: "a delay within the range, or another switch",
    },
    Kind {
        id: "retransfer-open",
        title: "A delay without a latest time proves nothing",
        why: "An order of moves is excluded only if the latest time of one is under the earliest of the other.",
        remedies: "a latest time",
    },
    Kind {
        id: "series-above-size",
        title: "A measured series is above the stated size of its load",
        why: "The load draws more than the site file says; its size enters every limit.",
        remedies: "State the size that was measured.",
    },
    Kind {
        id: "service-not-covered",
        title: "The demand that sizes the service is not covered",
        why: "The chosen method does not apply to this site, or its conditions are not met.",
        remedies: "Choose another method under [demand], or meet the conditions that the finding names.",
    },
    Kind {
        id: "service-over-rating",
        title: "The demand exceeds the service",
        why: "The demand is found by the method that the site names.",
        remedies: "a larger service, or the true coincidence of the loads",
    },
    Kind {
        id: "short-time-over",
        title: "A motor start exceeds what relays or gear carry for its time",
        why: "On the utility or a generator the motor draws its full locked-rotor current through whatever feeds it.",
        remedies: "a soft starter or drive, or an arrangement that keeps it off the relays",
    },
    Kind {
        id: "short-time-unknown",
        title: "The short-time current of relays or gear is not stated",
        why: "A start above the continuous rating needs a stated current for its time.",
        remedies: "the maker's figure, or a soft starter or drive",
    },
    Kind {
        id: "source-switch-too-fast",
        title: "The source switch is faster than the units' relays",
        why: "The units are still joined to the input when the switch has already put the other source on it.",
        remedies: "a switch with a longer travel",
    },
    Kind {
        id: "sources-meet",
        title: "Two sources meet",
        why: "Utility and generator are not synchronised with each other; joined, they destroy each other.",
        remedies: "an interlock",
    },
    Kind {
        id: "stage-unknown",
        title: "A growth stage that the site does not have",
        why: "The loads of all stages are counted instead.",
        remedies: "Name a stage of the site file.",
    },
    Kind {
        id: "states-not-covered",
        title: "Too many states",
        why: "The search was ended before every state was seen.",
        remedies: "a smaller plant",
    },
    Kind {
        id: "transformer-over",
        title: "The supply transformer is smaller than the demand of the service",
        why: "The utility sizes its transformer by diversity; a large steady demand should be told to it.",
        remedies: "a word with the utility",
    },
    Kind {
        id: "unbalance-over-cap",
        title: "The phases differ by more than the utility accepts",
        why: "The largest difference over every permitted set of loads counts.",
        remedies: "single-phase loads spread over the phases",
    },
    Kind {
        id: "unit-cannot-serve",
        title: "The units cannot serve this system",
        why: "The outputs of the family do not form the system of the service: for instance legs that stand 180 degrees apart on two legs of a wye.",
        remedies: "a family that forms it",
    },
    Kind {
        id: "unknown-equipment",
        title: "The catalogue has no such record",
        why: "Ids are those of the demo catalogue and of the folders given.",
        remedies: "the id, or a catalogue of your own",
    },
];
